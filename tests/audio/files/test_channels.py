"""Which channels are used: those with a signal, each once, and no timecode."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from audio.errors import NoSound
from audio.files.channels import correlation, distinct, mix_down, timecode_share
from audio.files.media import read_sound
from audio.files.sound_reader import MemoryBudget
from tests.audio.media_files import SOUND_RATE, FloatArray, Recipe, low_noise, make, noise

SOURCE = low_noise(5.0)
OTHER = low_noise(5.0, seed=2)


def linear_timecode(seconds: float, frames: int, rate: int = SOUND_RATE) -> FloatArray:
    """Linear timecode from 00:00:00:00 on (SMPTE ST 12-1: 80 bits a frame, bi-phase mark, sync word last)."""

    def digits(value: int, bits: int) -> list[int]:
        return [value >> n & 1 for n in range(bits)]

    halves: list[int] = []
    level = 1
    for number in range(round(seconds * frames)):
        second, frame = divmod(number, frames)
        bits = [0] * 64
        bits[0:4], bits[8:10] = digits(frame % 10, 4), digits(frame // 10, 2)
        bits[16:20], bits[24:27] = digits(second % 10, 4), digits(second // 10 % 6, 3)
        for bit in [*bits, 0, 0, *[1] * 12, 0, 1]:
            level = -level
            halves.append(level)
            if bit:
                level = -level
            halves.append(level)
    place = np.arange(round(seconds * rate)) * frames * 160 / rate
    return np.asarray(0.3 * np.array(halves)[place.astype(int)], dtype=np.float32)


def square(hertz: float, seconds: float = 2.0) -> FloatArray:
    return np.asarray(
        0.3 * np.sign(np.sin(2 * np.pi * hertz * np.arange(seconds * SOUND_RATE) / SOUND_RATE)), np.float32
    )


@pytest.mark.parametrize("frames", [24, 25, 30])
@pytest.mark.parametrize("rate", [44100, 48000])
def test_timecode_is_told_from_sound(frames: int, rate: int) -> None:
    rng = np.random.default_rng(4)
    tone = linear_timecode(2.0, frames, rate)
    assert timecode_share(tone, rate) > 0.95
    dirty = tone + rng.standard_normal(tone.size).astype(np.float32) * 0.01
    assert timecode_share(dirty, rate) > 0.9


@pytest.mark.parametrize(
    "sound", [noise(2.0), low_noise(2.0), square(1000), square(2000), square(1200), square(440)]
)
def test_sound_is_no_timecode(sound: FloatArray) -> None:
    """Plain tones of the very frequencies timecode is made of among them."""
    assert timecode_share(sound, SOUND_RATE) < 0.5


def clip(path: Path, *channels: FloatArray, codec: str = "pcm_s24le") -> Path:
    return make(path / "clip.mov", Recipe(tracks=[np.stack(channels)], sound_codec=codec, picture_s=5.0))


def test_timecode_and_silence_are_left_out(tmp_path: Path) -> None:
    silence = noise(5.0, level=10 ** (-80 / 20))
    path = make(
        tmp_path / "clip.mov",
        Recipe(tracks=[silence, np.stack([linear_timecode(5.0, 25), SOURCE]), SOURCE * 0], picture_s=5.0),
    )
    assert read_sound(path).labels == ("track 2, channel 2",)


@pytest.mark.parametrize("copy", [SOURCE, -SOURCE, SOURCE * np.float32(0.1), SOURCE * np.float32(-0.5)])
def test_copies_of_either_polarity_are_left_out(copy: FloatArray, tmp_path: Path) -> None:
    sound = read_sound(clip(tmp_path, SOURCE, copy))
    assert len(sound.labels) == 1
    assert np.std(sound.samples[0]) == pytest.approx(np.std(SOURCE), rel=0.02)


def test_of_two_copies_the_unclipped_one_stays(tmp_path: Path) -> None:
    """The safety track that cameras record softer: better than the loud one once that clips."""
    loud = np.clip(SOURCE * np.float32(2.5), -1, 1)
    assert correlation(loud, SOURCE) > 0.98
    assert read_sound(clip(tmp_path, loud, SOURCE * np.float32(0.25))).labels == ("track 1, channel 2",)


def test_different_microphones_both_stay_as_they_are(tmp_path: Path) -> None:
    near = SOURCE + np.float32(0.3) * OTHER
    sound = read_sound(clip(tmp_path, SOURCE, near), SOUND_RATE)
    assert sound.labels == ("track 1, channel 1", "track 1, channel 2")
    assert np.max(np.abs(sound.samples - np.stack([SOURCE, near]))) < 1e-5


def test_a_channel_that_starts_late_in_the_clip_has_a_signal(tmp_path: Path) -> None:
    late = np.concatenate([np.zeros(SOUND_RATE, np.float32), OTHER[SOUND_RATE:]])
    assert len(read_sound(clip(tmp_path, SOURCE, late)).labels) == 2


def test_a_click_is_no_live_channel(tmp_path: Path) -> None:
    click = np.zeros_like(SOURCE)
    click[1000:1020] = 0.5
    assert read_sound(clip(tmp_path, click, SOURCE)).labels == ("track 1, channel 2",)


def test_a_silent_clip_has_no_sound(tmp_path: Path) -> None:
    with pytest.raises(NoSound, match="silent"):
        read_sound(clip(tmp_path, SOURCE * 0, SOURCE * 0))


def test_timecode_alone_is_no_sound(tmp_path: Path) -> None:
    tone = linear_timecode(5.0, 25)
    with pytest.raises(NoSound, match="timecode only"):
        read_sound(clip(tmp_path, tone))


def test_a_very_soft_clip_is_read_with_a_warning(tmp_path: Path) -> None:
    soft = low_noise(5.0, level=10 ** (-78 / 20))
    sound = read_sound(clip(tmp_path, soft, soft * 0))
    assert sound.labels == ("track 1, channel 1",)
    assert any("soft" in warning for warning in sound.warnings)


def test_constant_offset_is_no_sound(tmp_path: Path) -> None:
    offset = np.full_like(SOURCE, 0.05)
    assert read_sound(clip(tmp_path, offset, SOURCE)).labels == ("track 1, channel 2",)


def test_a_long_clip_keeps_its_best_channel(tmp_path: Path) -> None:
    """With the memory for a third of what two channels need."""
    path = clip(tmp_path, OTHER * np.float32(0.3), SOURCE)
    sound = read_sound(path, memory=MemoryBudget(10**9, 4 * 8000 * 3))
    assert sound.labels == ("track 1, channel 2",)
    assert sound.samples.shape == (1, 40000)
    assert np.array_equal(sound.samples[0], read_sound(path).samples[1])
    softer = read_sound(path, memory=MemoryBudget(10**9, 4 * 8000 * 3, ("track 1, channel 1",)))
    assert softer.labels == ("track 1, channel 1",)


def test_a_long_clip_is_kept_in_half_the_memory(tmp_path: Path) -> None:
    """Before channels are given up. A step of IEEE 754 binary16 is at most 2**-10 of a value."""
    path = clip(tmp_path, OTHER * np.float32(0.3), SOURCE)
    whole, half = read_sound(path), read_sound(path, memory=MemoryBudget(4 * 8000 * 3, 10**9))
    assert half.labels == whole.labels
    assert (half.samples.dtype, half.samples.nbytes) == (np.float16, whole.samples.nbytes / 2)
    assert np.all(np.abs(half.samples - whole.samples) <= 2.0**-11 * np.abs(whole.samples) + 2.0**-25)
    best = read_sound(path, memory=MemoryBudget(4 * 8000 * 3, 2 * 8000 * 6))
    assert best.labels == ("track 1, channel 2",)
    assert np.array_equal(best.samples[0], half.samples[1])


def test_correlation_agrees_with_numpy() -> None:
    mixed = SOURCE + OTHER
    assert correlation(SOURCE, mixed) == pytest.approx(np.corrcoef(SOURCE, mixed)[0, 1], abs=1e-5)
    assert correlation(SOURCE, SOURCE * 0) == 0


def test_distinct_keeps_the_earlier_in_order() -> None:
    assert distinct([SOURCE, OTHER, -SOURCE], [2, 1, 0]) == [1, 2]


def test_mix_down_is_the_mean_of_live_channels() -> None:
    rows = np.stack([SOURCE, OTHER, SOURCE * 0])
    assert np.allclose(mix_down(rows.copy()), (SOURCE + OTHER) / 2, atol=1e-6)
    assert np.allclose(np.abs(mix_down(np.stack([SOURCE, -SOURCE]))), np.abs(SOURCE), atol=1e-6)


def test_rates_of_timecode_are_those_of_the_standard() -> None:
    """24, 25 and 30 frames of 80 bits; the 1000/1001 rates lie within the tolerance."""
    tone = linear_timecode(2.0, 30)
    slower = np.interp(np.arange(0, tone.size - 1, float(Fraction(1000, 1001))), np.arange(tone.size), tone)
    assert timecode_share(slower.astype(np.float32), SOUND_RATE) > 0.9
