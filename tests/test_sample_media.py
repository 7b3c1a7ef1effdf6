"""The sample shoot holds what its truth.json says: files, lengths, flashes on the beat, sound in place."""

import json
import re
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray
from scipy.signal import resample_poly

from audio.files.media import read_song

MEDIA = Path(__file__).resolve().parent.parent / "sample_media"
TRUTH: dict[str, Any] = json.loads((MEDIA / "truth.json").read_text(encoding="utf-8"))
SONG = TRUTH["song"]
CLIPS: dict[str, dict[str, Any]] = {clip["file"]: clip for clip in TRUTH["clips"]}
RATE = 8000

# ITU-R BT.1359-1 (1998), considering g): sound is noticed from about 45 ms before, 125 ms after its picture.
NOTICED_EARLY_S, NOTICED_LATE_S = 0.045, 0.125

FLASHES = [
    "clips/drums/P0230.MP4",  # 25 frames a second
    "clips/fiddle hands/G0021.MOV",  # 24000/1001
    "clips/bass/O0009.MP4",  # 30000/1001, a false start and a restart
]
SOUNDS = ["clips/fiddle hands/G0021.MOV", "clips/fiddle/G0018.MOV", "clips/recorder/R0005.WAV"]


def open_media(file: str) -> Any:
    """A file with its time stamps as they are (no edit list applied by the reader)."""
    return av.open(str(MEDIA / file), options={"advanced_editlist": "0"})


def lamp_levels(clip: dict[str, Any]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Start of every frame (first presented one at 0) and how bright the lamp's glass is in it."""
    lamp = clip["lamp"]
    starts, levels = [], []
    with open_media(clip["file"]) as media:
        for frame in media.decode(video=0):
            luma = frame.to_ndarray(format="gray")
            x, y, half = (
                lamp["x"] * luma.shape[1],
                lamp["y"] * luma.shape[0],
                lamp["height"] * luma.shape[0] * 0.2,
            )
            glass = luma[round(y - half) : round(y + half), round(x - half) : round(x + half)]
            starts.append(float(frame.pts * frame.time_base))
            levels.append(float(glass.mean()))
    order = np.argsort(starts)
    return np.array(starts)[order] - min(starts), np.array(levels)[order]


def flash_times(clip: dict[str, Any]) -> NDArray[np.float64]:
    """Middles of the frames in which the lamp goes on."""
    starts, levels = lamp_levels(clip)
    rise = np.diff(levels, prepend=levels[0])
    lit = rise > 0.3 * (levels.max() - np.median(levels))
    return starts[lit] + 0.5 / float(Fraction(clip["fps"]))


def beats_in(clip: dict[str, Any]) -> NDArray[np.float64]:
    """Beats of the song that fall into the clip's takes, on the clip's clock."""
    found: list[float] = []
    for take in clip["takes"]:
        times = take["clip_start_s"] + (np.array(SONG["beats_s"]) - take["song_start_s"]) / take["speed"]
        found += [float(t) for t in times if take["clip_start_s"] - 1e-6 <= t < take["clip_end_s"] - 1e-6]
    return np.array(found)


def sound_of(file: str) -> tuple[NDArray[np.float64], float]:
    """Mono at 8 kHz and the time of its first sample in the clip."""
    with open_media(file) as media:
        track = media.streams.audio[0]
        shown = []
        if media.streams.video:
            shown = [f.pts * f.time_base for _, f in zip(range(8), media.decode(video=0), strict=False)]
            media.seek(0)
        frames = list(media.decode(track))
        first = frames[0].pts * frames[0].time_base
        samples = np.concatenate([f.to_ndarray().reshape(-1).astype(float) for f in frames])
        scale = 32768.0 if frames[0].format.name.startswith("s16") else 1.0
        start = float(first - min(shown)) if shown else 0.0
        return resample_poly(samples / scale, RATE, track.rate), start


def test_the_song_is_laid_out_without_gaps() -> None:
    beats, bars, sections = np.array(SONG["beats_s"]), np.array(SONG["bars_s"]), SONG["sections"]
    assert np.all(np.diff(beats) > 0)
    assert np.array_equal(beats[:: SONG["beats_per_bar"]], bars)
    assert sections[0]["start_s"] == 0
    assert sections[-1]["end_s"] == SONG["duration_s"]
    for section, following in pairwise(sections):
        assert section["end_s"] == following["start_s"] == bars[following["first_bar"] - 1]
    assert [s["letter"] for s in sections] == list("ABCDEFG")
    assert soundfile.info(MEDIA / "song.ogg").duration == pytest.approx(SONG["duration_s"], abs=1e-5)


def doubtful_take() -> tuple[dict[str, Any], float, float]:
    """The clip in doubt, and from when to when in the song its take runs."""
    (clip,) = (one for one in CLIPS.values() if one["verdict"] == "doubtful")
    (take,) = clip["takes"]
    length_s = (take["clip_end_s"] - take["clip_start_s"]) * take["speed"]
    return clip, take["song_start_s"], take["song_start_s"] + length_s


def test_the_take_in_doubt_lies_in_bars_that_are_there_twice() -> None:
    """Over all of the take the decoded song is the same to the sample in the other place."""
    _, start_s, end_s = doubtful_take()
    copied, bars = SONG["copied"], np.array(SONG["bars_s"])
    first, again = copied["first_bar"] - 1, copied["again_bar"] - 1
    assert bars[again] <= start_s < end_s <= bars[again + copied["bars"]]
    apart_s = bars[again : again + copied["bars"] + 1] - bars[first : first + copied["bars"] + 1]
    assert apart_s == pytest.approx(copied["apart_s"], abs=1e-5)
    song, rate = soundfile.read(MEDIA / "song.ogg")
    apart = round(copied["apart_s"] * rate)
    start, end = round(start_s * rate), round(end_s * rate)
    assert song[start:end].std() > 0.01
    assert np.array_equal(song[start:end], song[start - apart : end - apart])


def test_the_picture_of_the_take_in_doubt_tells_where_it_is_from() -> None:
    """A dark board with chalk on it, all through the clip; what it says is in the note."""
    clip, _, _ = doubtful_take()
    assert "board" in clip["note"]
    with open_media(clip["file"]) as media:
        for frame in media.decode(video=0):
            height, width = frame.height, frame.width
            board = frame.to_ndarray(format="gray")[
                round(0.59 * height) : round(0.93 * height), round(0.71 * width) : round(0.97 * width)
            ]
            assert np.median(board) < 70
            assert 0.05 < float((board > 170).mean()) < 0.4


def test_all_files_are_there_and_small() -> None:
    kept = [
        p
        for p in MEDIA.rglob("*")
        if p.is_file() and not re.search(r"(^|/)(\.|__pycache__)", p.relative_to(MEDIA).as_posix())
    ]
    assert sum(p.stat().st_size for p in kept) < 15_000_000
    on_disk = {p.relative_to(MEDIA).as_posix() for p in (MEDIA / "clips").rglob("*") if p.is_file()}
    assert on_disk == set(CLIPS)


@pytest.mark.parametrize("file", CLIPS)
def test_a_clip_is_as_long_and_as_fast_as_told(file: str) -> None:
    clip = CLIPS[file]
    with open_media(file) as media:
        if clip["fps"] is None:
            assert not media.streams.video
            assert media.duration / 1e6 == pytest.approx(clip["duration_s"], abs=1e-3)
        else:
            picture = media.streams.video[0]
            assert picture.average_rate == Fraction(clip["fps"])
            assert float(picture.frames / picture.average_rate) == pytest.approx(clip["duration_s"], abs=1e-5)
            assert picture.metadata.get("timecode") == clip["timecode"]
            assert media.metadata["make"] == clip["make"]
            assert bool(media.streams.audio) == (clip["angle"] != "Cutaways")
    for take in clip["takes"]:
        assert 0 <= take["clip_start_s"] < take["clip_end_s"] <= clip["duration_s"] + 1e-6
        song_end = take["song_start_s"] + (take["clip_end_s"] - take["clip_start_s"]) * take["speed"]
        assert 0 <= take["song_start_s"] < song_end <= SONG["duration_s"] + 1e-5
    assert bool(clip["takes"]) == (clip["verdict"] != "no song")


@pytest.mark.parametrize("file", FLASHES)
def test_the_lamp_flashes_on_every_beat_and_at_no_other_time(file: str) -> None:
    clip = CLIPS[file]
    flashes, beats = flash_times(clip), beats_in(clip)
    assert len(flashes) == len(beats)
    late = flashes - beats
    half_a_frame = 0.5 / float(Fraction(clip["fps"]))
    assert np.abs(late).max() <= half_a_frame + 1e-4
    assert late.max() < NOTICED_EARLY_S  # picture late is sound early
    assert late.min() > -NOTICED_LATE_S


def test_the_song_begins_where_another_decoder_says() -> None:
    """libsndfile decodes the same Vorbis file; its stamps waver by 10 ms where block lengths change."""
    song, rate = soundfile.read(MEDIA / "song.ogg")
    other = resample_poly(song.mean(axis=1), RATE // 100, rate // 100)
    ours = read_song(MEDIA / "song.ogg", RATE)
    assert abs(len(ours) - len(other)) <= 2
    for first in (30 * RATE, 90 * RATE):
        one, two = ours[first : first + 4 * RATE], other[first : first + 4 * RATE]
        assert np.corrcoef(one, two)[0, 1] > 0.99


@pytest.mark.parametrize("file", SOUNDS)
def test_the_song_is_heard_at_the_told_delay(file: str) -> None:
    song, rate = soundfile.read(MEDIA / "song.ogg")
    dry = resample_poly(song.mean(axis=1), RATE // 100, rate // 100)
    sound, start = sound_of(file)
    take = CLIPS[file]["takes"][0]
    half, reach, lags = 4 * RATE, 160, []
    for middle in np.linspace(take["clip_start_s"] + 4.5, take["clip_end_s"] - 4.5, 5):
        here = round((middle - start) * RATE)
        exact = take["song_start_s"] + (here / RATE + start - take["clip_start_s"]) * take["speed"]
        there = round(exact * RATE)
        block = sound[here - half : here + half]
        near = dry[there - half - reach : there + half + reach]
        block, near = block * np.hanning(len(block)), near * np.hanning(len(near))
        size = 1 << (len(near) + len(block)).bit_length()
        cross = np.fft.rfft(near, size) * np.conj(np.fft.rfft(block, size))
        hertz = np.fft.rfftfreq(size, 1 / RATE)
        # Phase transform (Knapp and Carter 1976): the band over the playback does not pull the peak.
        flat = np.where((hertz > 300) & (hertz < 3400), cross / (np.abs(cross) + 1e-15), 0)
        peaks = np.fft.irfft(flat, size)[: 2 * reach + 1]
        top = int(np.argmax(peaks))
        a, b, c = peaks[top - 1 : top + 2]
        lag = (top - reach + 0.5 * (a - c) / (a - 2 * b + c)) / RATE
        lags.append(lag - (exact - there / RATE))
    assert np.abs(lags).max() < 0.0002
