"""Broadcast Wave: samples as they were, the time reference where EBU Tech 3285 has it, read by others."""

import os
import struct
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from wavinfo import WavInfoReader

from audio.copies import wave_chunks
from audio.copies.broadcast_extension import Facts, is_signed, time_reference
from audio.copies.broadcast_wave import stamp_sound, write_wave
from audio.copies.wave_chunks import chunk_bytes, content, read_chunks
from audio.copies.whole_sound import Coding
from audio.errors import AudioError, CannotStamp, Stopped
from audio.files.media import probe
from audio.play.stereo import read_stereo
from tests.audio.media_files import Recipe, make, noise

# Offsets in the contents of ``bext``, and their order: EBU Tech 3285 (sums of the sizes of its fields).
DESCRIPTION, ORIGINATOR, DATE, TIME, LOW, HIGH, VERSION, HISTORY = 0, 256, 320, 330, 338, 342, 346, 602


def facts(
    reference: int = 1_728_012_345, description: str = "Ferry; the song starts at 10:00:00:00"
) -> Facts:
    return Facts(reference, description, "2031-05-04", "18:20:00")


def wave(
    path: Path, subtype: str = "PCM_24", channels: int = 2, rate: int = 48000, frames: int = 4801
) -> Path:
    sound = noise(frames / rate * channels, rate).reshape(-1, channels)
    soundfile.write(path, sound, rate, subtype)
    return path


def data_of(path: Path) -> bytes:
    return content(path, next(one for one in read_chunks(path) if one.kind == b"data"))


@pytest.mark.parametrize("subtype", ["PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE"])
@pytest.mark.parametrize("channels", [1, 2, 6])
def test_a_wave_file_keeps_every_sample(subtype: str, channels: int, tmp_path: Path) -> None:
    source, target = wave(tmp_path / "a.wav", subtype, channels), tmp_path / "b.wav"
    before = source.read_bytes()
    assert not stamp_sound(source, target, facts())
    assert source.read_bytes() == before
    assert data_of(target) == data_of(source)
    one, two = (soundfile.read(path, dtype="float64") for path in (source, target))
    assert one[1] == two[1]
    assert np.array_equal(one[0], two[0])
    assert soundfile.info(target).subtype == subtype
    assert WavInfoReader(str(target)).bext.time_reference == 1_728_012_345
    with av.open(str(target)) as media:
        assert media.metadata["time_reference"] == "1728012345"
    assert time_reference(target) == probe(target).time_reference == 1_728_012_345
    assert is_signed(target)
    assert not is_signed(source)
    assert target.stat().st_mtime_ns == source.stat().st_mtime_ns


@pytest.mark.skipif(os.name != "posix", reason="File names are bytes on some systems only.")
@pytest.mark.parametrize("suffix", [".wav", ".flac"])
def test_a_name_that_is_no_text_is_a_name(suffix: str, tmp_path: Path) -> None:
    source = tmp_path / f"s\udcf6ng{suffix}"
    wave(tmp_path / f"song{suffix}", "PCM_16").rename(source)
    stamp_sound(source, tmp_path / "b.wav", facts())
    assert len(data_of(tmp_path / "b.wav")) == 4801 * 2 * 2
    assert read_stereo(source, 48000).shape == (2, 4801)


def test_fields_stand_where_the_standard_has_them(tmp_path: Path) -> None:
    stamp_sound(wave(tmp_path / "a.wav"), tmp_path / "b.wav", facts(16_588_608_000, "Grüße"))
    chunks = read_chunks(tmp_path / "b.wav")
    assert [one.kind for one in chunks][:2] == [b"bext", b"fmt "]
    held = content(tmp_path / "b.wav", chunks[0])
    assert held[DESCRIPTION:8] == b"Gr??e\0\0\0"
    assert held[ORIGINATOR : ORIGINATOR + 10] == b"Anglebook\0"
    assert held[DATE : DATE + 18] == b"2031-05-0418:20:00"
    # 23:59:59 at 192 kHz, low word first: worked by hand, and what wavinfo 4.0.1 reads.
    assert struct.unpack_from("<II", held, LOW) == (3_703_706_112, 3)
    assert struct.unpack_from("<H", held, VERSION) == (1,)
    assert held[HISTORY:].rstrip(b"\0").endswith(b"\r\n")
    info = WavInfoReader(str(tmp_path / "b.wav")).bext
    assert (info.description, info.originator, info.originator_date, info.originator_time) == (
        *("Gr??e", "Anglebook"),
        *("2031-05-04", "18:20:00"),
    )
    assert info.time_reference == 16_588_608_000
    assert info.coding_history.strip() == "A=PCM,F=48000,W=24,M=stereo,T=Anglebook; stamped copy"


def test_a_recorders_own_words_are_kept(tmp_path: Path) -> None:
    """Made by the media library: description and history stay, the time reference and a line are new."""
    plain, source, target = (tmp_path / name for name in ("plain.wav", "a.wav", "b.wav"))
    wave(plain, "PCM_16", 1)
    with av.open(str(plain)) as old, av.open(str(source), "w", options={"write_bext": "1"}) as new:
        new.metadata.update(
            {
                "description": "take seven",
                "originator": "Quayle",
                "time_reference": "77",
                "coding_history": "A=PCM",
            }
        )
        stream = new.add_stream_from_template(old.streams[0])
        for packet in old.demux():
            if packet.size:
                packet.stream = stream
                new.mux(packet)
    cue = chunk_bytes(b"cue ", struct.pack("<I", 0))
    ixml = chunk_bytes(
        b"iXML",
        b"<A><TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>0</TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_HI>"
        b"<TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO>77</TIMESTAMP_SAMPLES_SINCE_MIDNIGHT_LO><SCENE>4</SCENE></A>",
    )
    source.write_bytes(source.read_bytes() + cue + ixml)
    assert WavInfoReader(str(source)).bext.time_reference == 77
    stamp_sound(source, target, facts((1 << 32) + 5))
    info = WavInfoReader(str(target))
    assert (info.bext.description, info.bext.originator) == ("take seven", "Quayle")
    assert info.bext.time_reference == (1 << 32) + 5
    assert info.bext.coding_history.split("\r\n")[0] == "A=PCM"
    assert "stamped copy" in info.bext.coding_history
    assert data_of(target) == data_of(source)
    kinds = {one.kind: content(target, one) for one in read_chunks(target)}
    assert kinds[b"cue "] == cue[8:]
    assert b"_HI>1</" in kinds[b"iXML"]
    assert b"_LO>5</" in kinds[b"iXML"]
    assert b"<SCENE>4</SCENE>" in kinds[b"iXML"]


def test_large_files_are_written_with_long_sizes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """RF64 of EBU Tech 3306, with the border drawn lower so that a small file passes it."""
    monkeypatch.setattr(wave_chunks, "MOST", 10_000)
    source = wave(tmp_path / "a.wav")
    stamp_sound(source, tmp_path / "b.wav", facts())
    raw = (tmp_path / "b.wav").read_bytes()
    assert raw[:8] == b"RF64\xff\xff\xff\xff"
    assert raw[12:16] == b"ds64"
    riff, data, frames = struct.unpack_from("<QQQ", raw, 20)
    assert (riff, data, frames) == (len(raw) - 8, 4801 * 6, 4801)
    monkeypatch.undo()
    one, two = soundfile.read(source), soundfile.read(tmp_path / "b.wav")
    assert np.array_equal(one[0], two[0])
    assert soundfile.info(tmp_path / "b.wav").format == "RF64"
    with av.open(str(tmp_path / "b.wav")) as media:
        assert media.metadata["time_reference"] == "1728012345"
    # And such a file is a source like any other.
    stamp_sound(tmp_path / "b.wav", tmp_path / "c.wav", facts(5))
    assert data_of(tmp_path / "c.wav") == data_of(source)
    assert WavInfoReader(str(tmp_path / "c.wav")).bext.time_reference == 5


@pytest.mark.parametrize(("suffix", "subtype"), [("flac", "PCM_24"), ("flac", "PCM_16"), ("aiff", "PCM_24")])
def test_lossless_files_are_decoded_to_their_very_samples(suffix: str, subtype: str, tmp_path: Path) -> None:
    source = wave(tmp_path / f"a.{suffix}", subtype)
    assert stamp_sound(source, tmp_path / "b.wav", facts())
    one, two = soundfile.read(source, dtype="int32"), soundfile.read(tmp_path / "b.wav", dtype="int32")
    assert np.array_equal(one[0], two[0])
    assert soundfile.info(tmp_path / "b.wav").subtype == subtype
    assert WavInfoReader(str(tmp_path / "b.wav")).bext.time_reference == 1_728_012_345


def test_lossy_files_become_floats(tmp_path: Path) -> None:
    vorbis = tmp_path / "a.ogg"
    soundfile.write(vorbis, noise(1.0, 44100), 44100, "VORBIS")
    stamp_sound(vorbis, tmp_path / "b.wav", facts())
    one, two = soundfile.read(vorbis, dtype="float32"), soundfile.read(tmp_path / "b.wav", dtype="float32")
    assert np.array_equal(one[0], two[0])
    aac = make(tmp_path / "a.m4a", Recipe([noise(1.0)], picture_s=0, sound_codec="aac"))
    stamp_sound(aac, tmp_path / "c.wav", facts())
    got, rate = soundfile.read(tmp_path / "c.wav", dtype="float32")
    assert rate == 48000
    assert abs(len(got) - 48000) < 2048
    lag = np.argmax(np.correlate(got[2000:12000], noise(1.0)[3000:11000], "valid")) - 1000
    assert lag == 0


def test_floats_over_full_scale_stay_over_it(tmp_path: Path) -> None:
    block = np.array([[1.5], [-3.0], [0.25]], np.float32)
    write_wave(
        tmp_path / "a.wav",
        [block],
        facts(),
        rate=8000,
        channels=1,
        frames=3,
        coding=Coding.FLOAT,
        words="made",
    )
    assert np.array_equal(soundfile.read(tmp_path / "a.wav", dtype="float32", always_2d=True)[0], block)


def test_a_length_that_is_not_kept_is_found_out(tmp_path: Path) -> None:
    block: NDArray[np.float32] = np.zeros((3, 1), np.float32)
    with pytest.raises(CannotStamp, match="not as long"):
        write_wave(
            tmp_path / "a.wav", [block], facts(), rate=8, channels=1, frames=4, coding=Coding.FLOAT, words=""
        )


def test_stopping(tmp_path: Path) -> None:
    for name in ("a.wav", "a.flac"):
        with pytest.raises(Stopped):
            stamp_sound(wave(tmp_path / name), tmp_path / "b.wav", facts(), stop=lambda: True)
        (tmp_path / "b.wav").unlink()


def test_a_recording_that_was_cut_off_gives_what_it_holds(tmp_path: Path) -> None:
    source = wave(tmp_path / "a.wav", "PCM_16", 2)
    source.write_bytes(source.read_bytes()[:-1001])
    stamp_sound(source, tmp_path / "b.wav", facts())
    held = data_of(tmp_path / "b.wav")
    assert len(held) % 4 == 0
    assert data_of(source).startswith(held)
    assert len(held) > 18_000


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(at=st.integers(0, 90), junk=st.binary(min_size=1, max_size=6))
def test_damaged_headers_end_in_a_sentence(at: int, junk: bytes, tmp_path: Path) -> None:
    source, target = tmp_path / "a.wav", tmp_path / "b.wav"
    data = bytearray(wave(source, "PCM_24", 1, frames=64).read_bytes())
    data[at : at + len(junk)] = junk
    source.write_bytes(data)
    target.unlink(missing_ok=True)
    try:
        stamp_sound(source, target, facts())
    except AudioError:
        return
    assert time_reference(target) == 1_728_012_345


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(reference=st.integers(0, 2**64 - 1), words=st.text(max_size=300))
def test_any_time_reference_is_read_back(reference: int, words: str, tmp_path: Path) -> None:
    source, target = tmp_path / "a.wav", tmp_path / "b.wav"
    if not source.exists():
        wave(source, frames=10)
    target.unlink(missing_ok=True)
    stamp_sound(source, target, facts(reference, words))
    assert WavInfoReader(str(target)).bext.time_reference == reference
