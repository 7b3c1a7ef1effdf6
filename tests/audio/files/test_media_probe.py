"""What a file tells of itself: rates, lengths, shape, timecode, make, time of recording."""

from fractions import Fraction
from itertools import accumulate
from pathlib import Path

import av
import numpy as np
import opentimelineio.opentime as opentime
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from audio.files.media import probe
from audio.files.media_tags import advance_timecode, recording_time, timecode_frames
from tests.audio.media_files import Recipe, low_noise, make

SOURCE = low_noise(2.0)
NTSC = Fraction(30000, 1001)
FILM = Fraction(24000, 1001)


@pytest.mark.parametrize(
    "rate", [FILM, Fraction(24), Fraction(25), NTSC, Fraction(50), Fraction(60000, 1001)]
)
@pytest.mark.parametrize("file", ["clip.mov", "clip.mkv", "clip.ts"])
def test_rates_are_exact_even_where_stamps_are_rounded(file: str, rate: Fraction, tmp_path: Path) -> None:
    """1 ms stamps (MKV) and 90 kHz stamps (TS, ISO/IEC 13818-1) cannot write 1001/24000 s."""
    path = make(
        tmp_path / file,
        Recipe(tracks=[SOURCE], sound_codec="aac", picture_codec="libx264", frame_rate=rate, b_frames=2),
    )
    info = probe(path)
    assert info.frame_rate == rate
    assert not info.variable_frame_rate
    assert info.warnings == ()
    assert info.duration_s == pytest.approx(round(2 * rate) / rate, abs=0.002)


@pytest.mark.parametrize("file", ["clip.mp4", "clip.mkv", "clip.ts"])
def test_variable_frame_rate_is_recognised(file: str, tmp_path: Path) -> None:
    """As telephones write: mostly 30 a second, with frames left out and stamps that wander."""
    steps = np.random.default_rng(3).choice([1 / 30, 1 / 30, 1 / 30, 2 / 30, 1 / 29], size=120)
    times = [Fraction(float(one)).limit_denominator(60000) for one in accumulate([0.0, *steps])]
    path = make(
        tmp_path / file,
        Recipe(
            tracks=[low_noise(4.0)],
            sound_codec="aac",
            picture_codec="libx264",
            frame_rate=Fraction(30),
            frame_times_s=times,
        ),
    )
    info = probe(path)
    assert info.variable_frame_rate
    assert info.frame_rate == 30
    assert any("frame rate varies" in warning for warning in info.warnings)


def test_one_slow_clock_is_no_variable_rate(tmp_path: Path) -> None:
    """Stamps in whole ticks of 1/600 s, an old custom of MOV files: 20 and 21 ticks in turn at 29.97."""
    times = [Fraction(round(n * 600 / NTSC), 600) for n in range(90)]
    path = make(tmp_path / "clip.mov", Recipe(frame_times_s=times, picture_codec="libx264", frame_rate=NTSC))
    info = probe(path)
    assert not info.variable_frame_rate
    assert info.frame_rate == NTSC


@pytest.mark.parametrize(
    ("file", "codec", "rate", "text"),
    [
        ("clip.mov", "libx264", NTSC, "01:02:03;04"),
        ("clip.mp4", "libx264", NTSC, "00:59:59;29"),
        ("clip.mov", "libx264", Fraction(25), "10:00:00:12"),
        ("clip.mxf", "mpeg2video", Fraction(25), "23:59:58:00"),
    ],
)
def test_start_timecode(file: str, codec: str, rate: Fraction, text: str, tmp_path: Path) -> None:
    path = make(tmp_path / file, Recipe(timecode=text, picture_codec=codec, frame_rate=rate, tracks=[SOURCE]))
    assert probe(path).start_timecode == text


def test_timecode_is_that_of_the_first_picture(tmp_path: Path) -> None:
    """The timecode track counts from the start of the movie, here twelve frames before the first picture."""
    path = make(
        tmp_path / "clip.mov",
        Recipe(
            timecode="10:00:00:00", picture_codec="libx264", picture_delay_s=Fraction(12, 25), tracks=[SOURCE]
        ),
    )
    assert probe(path).start_timecode == "10:00:00:12"


@settings(deadline=None)
@given(frame=st.integers(0, 2589407), step=st.integers(0, 200_000))
def test_drop_frame_agrees_with_opentime(frame: int, step: int) -> None:
    """An independent implementation of SMPTE ST 12-1: OpenTimelineIO's opentime."""

    def text(number: int) -> str:
        return str(
            opentime.to_timecode(opentime.RationalTime(number % 2589408, 30000 / 1001), 30000 / 1001, True)
        )

    assert timecode_frames(text(frame), NTSC) == frame
    assert advance_timecode(text(frame), step, NTSC) == text(frame + step)


def test_text_that_is_no_timecode() -> None:
    assert timecode_frames("10:00:00:25", Fraction(25)) is None
    assert timecode_frames("10:00:00;00", Fraction(25)) is None  # no drop-frame at 25
    assert advance_timecode("yesterday", 1, Fraction(25)) is None


def test_make_model_and_time(tmp_path: Path) -> None:
    tags = {
        "make": "Northlight",
        "model": "NL-4",
        "creation_time": "2026-05-01T19:30:05.000000Z",
    }
    path = make(
        tmp_path / "clip.mov",
        Recipe(tracks=[SOURCE], metadata=tags, options={"movflags": "use_metadata_tags"}),
    )
    info = probe(path)
    assert (info.make, info.model, info.created) == ("Northlight", "NL-4", "2026-05-01T19:30:05.000000Z")
    assert info.sound_tracks == 1
    assert info.sound_rate == 48000
    assert info.size_bytes == path.stat().st_size


def test_clocks_that_were_never_set_tell_nothing() -> None:
    for text in ("1904-01-01T00:00:00Z", "1970-01-01T00:00:00Z", "12:30:00", "noon"):
        assert recording_time([{"creation_time": text}]) is None


def test_time_reference_of_a_broadcast_wave_file(tmp_path: Path) -> None:
    """EBU Tech 3285: samples since midnight; ten o'clock at 48 kHz is 1 728 000 000."""
    tags = {"time_reference": "1728000000", "origination_date": "2026-05-01", "origination_time": "10:00:00"}
    path = make(
        tmp_path / "sound.wav",
        Recipe(tracks=[SOURCE], picture_s=0, metadata=tags, options={"write_bext": "1"}),
    )
    info = probe(path)
    assert info.time_reference == 1_728_000_000
    assert info.frame_rate is None
    assert (info.width, info.height) == (0, 0)
    assert info.duration_s == pytest.approx(2.0)
    assert info.created == "2026-05-01T10:00:00"


def test_size_is_that_shown(tmp_path: Path) -> None:
    path = make(tmp_path / "clip.mov", Recipe(rotation=90, size=(64, 32), pixel_shape=Fraction(4, 3)))
    info = probe(path)
    assert (info.width, info.height) == (32, 85)


def test_length_is_that_of_the_picture(tmp_path: Path) -> None:
    for file in ("clip.mov", "clip.mkv", "clip.ts", "clip.mxf"):
        codec = "mpeg2video" if file.endswith("mxf") else "libx264"
        sound = "pcm_s16le" if file.endswith("mxf") else "aac"
        path = make(
            tmp_path / file,
            Recipe(tracks=[low_noise(3.0)], picture_s=2.0, picture_codec=codec, sound_codec=sound),
        )
        assert probe(path).duration_s == pytest.approx(2.0, abs=0.002), file


def test_a_cover_picture_makes_no_clip(tmp_path: Path) -> None:
    path = tmp_path / "song.m4a"
    make(path, Recipe(tracks=[SOURCE], sound_codec="aac", picture_s=0))
    with_cover = tmp_path / "cover.m4a"
    with av.open(str(path)) as source, av.open(str(with_cover), "w", format="mp4") as out:
        sound = out.add_stream_from_template(source.streams.audio[0])
        cover = out.add_stream("mjpeg", rate=1)
        assert isinstance(cover, av.VideoStream)
        cover.width, cover.height, cover.pix_fmt = 64, 48, "yuvj420p"
        cover.disposition = av.stream.Disposition.attached_pic
        frame = av.VideoFrame.from_ndarray(np.zeros((48, 64, 3), np.uint8), format="rgb24")
        out.mux(cover.encode(frame.reformat(format="yuvj420p")))
        out.mux(cover.encode(None))
        for packet in source.demux():
            if packet.dts is not None:
                packet.stream = sound
                out.mux(packet)
    info = probe(with_cover)
    assert info.frame_rate is None
    assert info.width == 0
