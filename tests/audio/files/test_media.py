"""The sound of clips on the clip's clock: noise written at a known instant is found where it was written."""

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile
import soxr

from audio.errors import Stopped
from audio.files.media import Sound, read_song, read_sound
from tests.audio.media_files import SOUND_RATE, FloatArray, Recipe, low_noise, make

SECONDS = 3.0
SOURCE = low_noise(SECONDS)
LATE = Fraction(1, 2)
PICTURE_LATE = Fraction(3, 10)


def lag(later: FloatArray, source: FloatArray) -> float:
    """By how many samples ``later`` is later than ``source``, at one rate: the peak of their correlation."""
    size = 1 << int(np.ceil(np.log2(later.size + source.size)))
    spectrum = np.fft.rfft(later.astype(np.float64), size) * np.conj(
        np.fft.rfft(source.astype(np.float64), size)
    )
    match = np.abs(np.fft.irfft(spectrum, size))
    peak = int(np.argmax(match))
    before, top, after = match[peak - 1], match[peak], match[(peak + 1) % size]
    place = peak + 0.5 * (before - after) / (before - 2 * top + after)
    return float(place - size if place > size / 2 else place)


def source_starts_s(sound: Sound, channel: int = 0, source: FloatArray = SOURCE) -> float:
    """Clip time at which the source starts."""
    fine = soxr.resample(sound.samples[channel], sound.rate, SOUND_RATE, quality="VHQ")
    return sound.start_s + lag(fine, source) / SOUND_RATE


def recipe(codec: str, **more: object) -> Recipe:
    facts: dict[str, object] = {"picture_s": SECONDS, "picture_codec": "libx264"} | more
    return Recipe(tracks=[SOURCE], sound_codec=codec, **facts)  # type: ignore[arg-type]


# Tolerances: 0.1 ms where stamps are exact; a container with 1 ms stamps can be off by half of one at
# either end.
EXACT, ROUNDED = 1e-4, 7e-4
NTSC = Fraction(30000, 1001)
CLIPS = {
    "PCM 24 bit in MOV": ("clip.mov", recipe("pcm_s24le"), 0, EXACT),
    "PCM, high-frame-rate picture with B-frames in MOV": (
        "clip.mov",
        recipe("pcm_s16le", b_frames=2, frame_rate=Fraction(60000, 1001)),
        0,
        EXACT,
    ),
    "AAC and B-frames in MP4": ("clip.mp4", recipe("aac", b_frames=2, frame_rate=NTSC), 0, EXACT),
    "MP3 in MP4": ("clip.mp4", recipe("libmp3lame"), 0, EXACT),
    "AAC in TS": ("clip.mts", recipe("aac", b_frames=2, format="mpegts"), 0, EXACT),
    "AC-3 in TS": ("clip.m2ts", recipe("ac3", format="mpegts"), 0, EXACT),
    "PCM in MXF": ("clip.mxf", recipe("pcm_s16le", picture_codec="mpeg2video", b_frames=2), 0, EXACT),
    "PCM in AVI": ("clip.avi", recipe("pcm_s16le", picture_codec="mjpeg"), 0, EXACT),
    "AAC in MKV": ("clip.mkv", recipe("aac", b_frames=2), 0, ROUNDED),
    "PCM in MKV": ("clip.mkv", recipe("pcm_s16le"), 0, ROUNDED),
    "Opus in MKV": ("clip.mkv", recipe("libopus"), 0, ROUNDED),
    "FLAC in MKV": ("clip.mkv", recipe("flac"), 0, ROUNDED),
    "sound 500 ms later in MOV": ("clip.mov", recipe("pcm_s16le", sound_delay_s=LATE), LATE, EXACT),
    "sound 500 ms later in MP4": ("clip.mp4", recipe("aac", sound_delay_s=LATE), LATE, EXACT),
    "sound 500 ms later in MKV": ("clip.mkv", recipe("aac", sound_delay_s=LATE), LATE, ROUNDED),
    "sound 500 ms later in TS": ("clip.ts", recipe("aac", sound_delay_s=LATE), LATE, EXACT),
    "picture 300 ms later in MOV": (
        "clip.mov",
        recipe("pcm_s16le", picture_delay_s=PICTURE_LATE),
        -PICTURE_LATE,
        EXACT,
    ),
    "picture 300 ms later in MP4": (
        "clip.mp4",
        recipe("aac", picture_delay_s=PICTURE_LATE, b_frames=2),
        -PICTURE_LATE,
        EXACT,
    ),
    "picture 300 ms later in MKV": (
        "clip.mkv",
        recipe("aac", picture_delay_s=PICTURE_LATE),
        -PICTURE_LATE,
        ROUNDED,
    ),
    "picture 300 ms later in TS": (
        "clip.ts",
        recipe("aac", picture_delay_s=PICTURE_LATE),
        -PICTURE_LATE,
        EXACT,
    ),
    "44.1 kHz in MOV": ("clip.mov", recipe("pcm_s16le", sound_rate=44100), None, EXACT),
}


@pytest.mark.parametrize("name", CLIPS)
def test_sound_lies_where_it_was_written(name: str, tmp_path: Path) -> None:
    file, what, starts_s, tolerance = CLIPS[name]
    path = make(tmp_path / file, what)
    sound = read_sound(path)
    if starts_s is None:
        # The same samples played at another rate are another sound.
        fine = soxr.resample(sound.samples[0], sound.rate, what.sound_rate, quality="VHQ")
        assert sound.start_s + lag(fine, SOURCE) / what.sound_rate == pytest.approx(0, abs=tolerance)
        return
    assert source_starts_s(sound) == pytest.approx(float(starts_s), abs=tolerance)
    assert sound.rate == 8000
    assert sound.gaps == ()
    assert sound.warnings == ()
    assert sound.samples.dtype == np.float32
    assert sound.labels == ("track 1, channel 1",)


def test_coder_delay_is_taken_from_the_edit_list(tmp_path: Path) -> None:
    """AAC needs at least 1024 samples to get going; 2112 are usual (QuickTime File Format, appendix G).

    The edit list tells how many this writer used; a reader that ignores it is late by just as many.
    """
    path = make(tmp_path / "clip.mp4", recipe("aac"))
    sound = read_sound(path, SOUND_RATE)
    assert sound.start_s == 0
    assert lag(sound.samples[0], SOURCE) == pytest.approx(0, abs=0.05)
    with av.open(str(path), options={"ignore_editlist": "1"}) as container:
        container.streams.audio[0].codec_context.flags2 |= 1 << 29  # do not skip samples
        ignorant = np.concatenate([frame.to_ndarray()[0] for frame in container.decode(audio=0)])
    assert lag(ignorant, SOURCE) == pytest.approx(1024, abs=0.05)


def test_sample_count_is_the_writers(tmp_path: Path) -> None:
    """The edit list also tells where the last packet's filling begins, which decoders cannot know."""
    for name, codec in (("clip.mov", "pcm_s16le"), ("clip.mp4", "aac")):
        sound = read_sound(make(tmp_path / name, recipe(codec)), SOUND_RATE)
        assert sound.samples.shape == (1, SOURCE.size)


@pytest.mark.parametrize(
    ("file", "codec"),
    [("song.wav", "pcm_s24le"), ("song.flac", "flac"), ("song.aiff", "pcm_s16be"), ("song.ogg", "libopus")],
)
def test_song_agrees_with_libsndfile(file: str, codec: str, tmp_path: Path) -> None:
    """An independent reader of these files: libsndfile, by way of the package soundfile."""
    stereo = np.stack([low_noise(2.0, seed=5), low_noise(2.0, seed=6)])
    path = make(tmp_path / file, Recipe(tracks=[stereo], sound_codec=codec, picture_s=0))
    theirs, rate = soundfile.read(path, dtype="float32", always_2d=True)
    ours = read_song(path, rate)
    assert ours.shape == (theirs.shape[0],)
    assert np.max(np.abs(ours - theirs.mean(axis=1))) < (1e-6 if codec != "libopus" else 2e-3)


@pytest.mark.parametrize(
    ("file", "codec"),
    [
        ("song.wav", "pcm_s16le"),
        ("song.flac", "flac"),
        ("song.mp3", "libmp3lame"),
        ("song.m4a", "aac"),
        ("song.ogg", "libopus"),
    ],
)
def test_sound_only_starts_with_its_first_sample(file: str, codec: str, tmp_path: Path) -> None:
    path = make(tmp_path / file, Recipe(tracks=[SOURCE], sound_codec=codec, picture_s=0))
    song = read_song(path, SOUND_RATE)
    assert lag(song, SOURCE) == pytest.approx(0, abs=0.05)
    assert song.size == pytest.approx(SOURCE.size, abs=1200)
    clip = read_sound(path)
    assert clip.start_s == 0
    assert source_starts_s(clip) == pytest.approx(0, abs=EXACT)


def test_a_song_of_opposite_polarity_is_not_cancelled(tmp_path: Path) -> None:
    path = make(tmp_path / "song.wav", Recipe(tracks=[np.stack([SOURCE, -SOURCE])], picture_s=0))
    song = read_song(path, SOUND_RATE)
    assert np.std(song) == pytest.approx(np.std(SOURCE), rel=1e-3)


def test_a_hole_in_the_sound_is_silence_and_keeps_its_length(tmp_path: Path) -> None:
    """Packets lost in the middle, as by a bad card: what comes after stays where it was."""
    whole = make(tmp_path / "whole.mkv", recipe("aac"))
    path = tmp_path / "clip.mkv"
    with av.open(str(whole)) as source, av.open(str(path), "w") as out:
        streams = {one.index: out.add_stream_from_template(one) for one in source.streams}
        for packet in source.demux():
            if packet.dts is None and packet.pts is None:
                continue
            seconds = float((packet.pts or 0) * packet.time_base)
            if packet.stream.type == "audio" and 1.0 <= seconds < 1.4:
                continue
            packet.stream = streams[packet.stream.index]
            out.mux(packet)
    sound = read_sound(path, SOUND_RATE)
    ((first, last),) = sound.gaps
    assert first == pytest.approx(1.0, abs=0.03)
    assert last == pytest.approx(1.4, abs=0.03)
    after = sound.samples[0, round((1.5 - sound.start_s) * SOUND_RATE) :]
    assert lag(after, SOURCE[round(1.5 * SOUND_RATE) :]) == pytest.approx(0, abs=SOUND_RATE * 0.0011)
    inside = sound.samples[0, round((first + 0.01) * SOUND_RATE) : round((last - 0.01) * SOUND_RATE)]
    assert np.max(np.abs(inside)) < 1e-3


def test_tracks_of_one_clip_lie_on_one_clock(tmp_path: Path) -> None:
    other = low_noise(SECONDS, seed=9)
    path = make(
        tmp_path / "clip.mov", Recipe(tracks=[SOURCE, np.stack([other, other * 0])], picture_s=SECONDS)
    )
    sound = read_sound(path)
    assert sound.labels == ("track 1, channel 1", "track 2, channel 1")
    assert source_starts_s(sound, 0) == pytest.approx(0, abs=EXACT)
    assert source_starts_s(sound, 1, other) == pytest.approx(0, abs=EXACT)


def test_reading_tells_its_progress_and_stops(tmp_path: Path) -> None:
    path = make(tmp_path / "clip.mov", recipe("pcm_s16le"))
    reported: list[float] = []
    read_sound(path, progress=reported.append)
    assert reported == sorted(reported)
    assert reported[-1] == 1.0
    assert len(reported) > 1
    with pytest.raises(Stopped):
        read_sound(path, stop=lambda: True)
