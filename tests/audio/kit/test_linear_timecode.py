"""Linear timecode, written and read: against the standard's bits, and against another decoder."""

import importlib.util
import wave
from fractions import Fraction
from io import BytesIO

import numpy as np
import pytest
from scipy import signal

from audio.kit.ltc_reader import timecode_in
from audio.kit.ltc_sound import LEVEL, ltc_sound
from audio.kit.ltc_words import SYNC, WORD, Label, label_in, word_of

RATES = [Fraction(24000, 1001), Fraction(24), Fraction(25), Fraction(30000, 1001), Fraction(30)]


def labels(first: int, count: int, base: int) -> list[Label]:
    out = []
    for number in range(first, first + count):
        seconds, frames = divmod(number, base)
        out.append(Label(seconds // 3600 % 24, seconds // 60 % 60, seconds % 60, frames))
    return out


def test_the_bits_of_a_word() -> None:
    """SMPTE ST 12-1:2014, table of the linear codeword (from memory): which bit says what."""
    bits = word_of(Label(23, 59, 48, 29, True), base=30)
    at = lambda first, size: sum(int(bits[first + n]) << n for n in range(size))  # noqa: E731
    assert (at(0, 4), at(8, 2)) == (9, 2)  # frames
    assert bits[10] == 1  # drop frame
    assert (at(16, 4), at(24, 3)) == (8, 4)  # seconds
    assert (at(32, 4), at(40, 3)) == (9, 5)  # minutes
    assert (at(48, 4), at(56, 2)) == (3, 2)  # hours
    assert "".join(map(str, bits[64:])) == "0011111111111101"
    for start in (4, 12, 20, 28, 36, 44, 52, 60):  # user bits
        assert at(start, 4) == 0


@pytest.mark.parametrize("base", [24, 25, 30])
def test_every_word_has_an_even_number_of_zeros(base: int) -> None:
    for number in range(0, 86_400 * base, 7919):
        (label,) = labels(number, 1, base)
        word = word_of(label, base=base)
        assert (word == 0).sum() % 2 == 0
        assert label_in(word) == label
        damaged = word.copy()
        damaged[-1 - number % len(SYNC)] ^= 1
        assert label_in(damaged) is None


@pytest.mark.parametrize("frame_rate", RATES)
@pytest.mark.parametrize("rate", [48_000, 44_100, 8_000])
def test_what_is_written_is_read(frame_rate: Fraction, rate: int) -> None:
    base = round(frame_rate)
    told = labels(3600 * base - 5, 3 * base, base)
    sound = ltc_sound(told, frame_rate, rate=48_000, begin_s=0.3337)
    if rate != 48_000:
        sound = signal.resample_poly(sound, rate, 48_000).astype(np.float32)
    noise = np.random.default_rng(1).standard_normal(len(sound)) * LEVEL * 0.03
    (run,) = timecode_in((sound + noise).astype(np.float32), rate, start_s=2.0)
    assert run.base == base
    assert len(run.labels) >= len(told) - 2
    number = told.index(run.labels[0])
    assert run.labels == tuple(told[number : number + len(run.labels)])
    truth = 2.3337 + np.arange(number, number + len(run.labels)) / float(frame_rate)
    line = np.polyfit(run.frames - run.frames[0], run.clip_s, 1)
    assert line[0] == pytest.approx(float(1 / frame_rate), abs=5e-7)
    assert line[1] == pytest.approx(truth[0], abs=30e-6)
    assert np.abs(run.clip_s - truth).max() < (60e-6 if rate > 8000 else 150e-6)


def test_drop_frame_counts_on() -> None:
    told = [Label(0, 0, 59, n, True) for n in range(20, 30)]
    told += [Label(0, 1, 0, n, True) for n in range(2, 20)]
    sound = ltc_sound(told, Fraction(30000, 1001), rate=48_000)
    (run,) = timecode_in(sound, 48_000)
    assert (np.diff(run.frames) == 1).all()


def test_music_and_noise_hold_no_timecode() -> None:
    rng = np.random.default_rng(2)
    time_s = np.arange(5 * 48_000) / 48_000
    for sound in (
        rng.standard_normal(len(time_s)),
        np.sin(2 * np.pi * 1000 * time_s),
        signal.square(2 * np.pi * 1200 * time_s),
        np.zeros(len(time_s)),
    ):
        assert timecode_in(sound.astype(np.float32), 48_000) == []


def test_a_gap_ends_a_run() -> None:
    told = labels(90_000, 60, 25)
    sound = ltc_sound(told, Fraction(25), rate=48_000)
    sound[48_000 : 48_000 + 9_600] = 0
    first, second = timecode_in(sound, 48_000)
    assert told.index(first.labels[-1]) < 25 <= 30 <= told.index(second.labels[0])


def test_no_more_than_thirty_frames_a_second() -> None:
    with pytest.raises(ValueError, match="at most 30"):
        ltc_sound(labels(0, 4, 30), Fraction(50), rate=48_000)


@pytest.mark.skipif(importlib.util.find_spec("ltc_reader") is None, reason="not for this Python")
@pytest.mark.parametrize("frame_rate", RATES)
def test_another_decoder_reads_it(frame_rate: Fraction) -> None:
    """ltc-reader of the registry, made apart from this."""
    from ltc_reader.Channel import ByteChannel
    from ltc_reader.LTCMap import LTCMap

    base = round(frame_rate)
    told = labels(3661 * base, 2 * base, base)
    sound = ltc_sound(told, frame_rate, rate=48_000, level=0.8)
    data = np.round(sound * 32767).astype("<i2").tobytes()
    with BytesIO() as file, wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(48_000)
        out.writeframes(data)
    found = LTCMap.from_channel(ByteChannel(data, 48_000, 2, "little", None)).get_map()
    assert len(found) >= len(told) - 2
    for sample, frame in found.items():
        number = round(sample / 48_000 * float(frame_rate))
        read = (frame.get_hours(), frame.get_minutes(), frame.get_seconds(), frame.get_frame_nr())
        near = [told[n] for n in (number - 1, number) if 0 <= n < len(told)]
        assert read in [(one.hours, one.minutes, one.seconds, one.frames) for one in near]
    assert WORD == 80
