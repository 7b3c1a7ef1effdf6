"""Conformed sound of the sample shoot: in step with the song from beginning to end."""

import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray
from wavinfo import WavInfoReader

from app.handoff.copied import conformed, stamped
from app.handoff.outcome import HandoffError, HandoffReport, HandoffStopped
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from tests.app.sample_takes import sample_takes
from tests.test_sample_media import CLIPS, MEDIA

HEARD = {
    "clips/accordion/B0004.MP4": "",  # drifts by 62 ppm
    "clips/fiddle/G0018.MOV": "",  # sound begins 0.4375 s after the picture
    "clips/bass/O0009.MP4": " take 2",
    "clips/recorder/R0005.WAV": "",  # drifts by -68 ppm
}


def chosen(clip: Clip, take: Take) -> bool:
    more = HEARD.get(str(Path(clip.media.path).relative_to(MEDIA)))
    return more is not None and (not more or clip.takes.index(take) == 1)


def never() -> bool:
    return False


def ignore(fraction: float) -> None:
    return None


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> HandoffReport:
    folder = tmp_path_factory.mktemp("conformed")
    return conformed.write(sample_takes(), folder, chosen, "10:00:00:00", stop=never, progress=ignore)


@pytest.fixture(scope="module")
def song() -> tuple[NDArray[np.float64], int]:
    samples, rate = soundfile.read(MEDIA / "song.ogg")
    return samples.mean(axis=1), rate


def lag_s(sound: NDArray[Any], song: NDArray[np.float64], at: int, rate: int) -> float:
    """How much later than the song a stretch of four seconds is; phase transform (Knapp and Carter 1976)."""
    half = 2 * rate
    one, two = (each[at - half : at + half] * np.hanning(2 * half) for each in (sound, song))
    cross = np.fft.rfft(one) * np.conj(np.fft.rfft(two))
    hertz = np.fft.rfftfreq(2 * half, 1 / rate)
    flat = np.where((hertz > 300) & (hertz < 3400), cross / (np.abs(cross) + 1e-15), 0)
    # Read off eight times as densely as the samples lie.
    peaks = np.fft.irfft(flat, 16 * half)
    reach = round(0.05 * rate) * 8
    near = np.concatenate([peaks[-reach:], peaks[: reach + 1]])
    return float(int(np.argmax(near)) - reach) / (8 * rate)


def test_every_file_is_as_long_as_the_song(
    written: HandoffReport, song: tuple[NDArray[np.float64], int]
) -> None:
    names = sorted(path.name for path in written.path.iterdir())
    assert names == sorted(f"{Path(file).stem}{more} conformed.wav" for file, more in HEARD.items())
    assert written.takes == len(HEARD)
    for name in names:
        info = soundfile.info(written.path / name)
        assert (info.frames, info.samplerate, info.channels) == (len(song[0]), song[1], 1)
        assert info.subtype == "FLOAT"
        assert WavInfoReader(str(written.path / name)).bext.time_reference == 36000 * song[1]


@pytest.mark.parametrize(("file", "more"), HEARD.items())
def test_it_is_in_step_at_beginning_middle_and_end(
    file: str, more: str, written: HandoffReport, song: tuple[NDArray[np.float64], int]
) -> None:
    """Within a tenth of a millisecond, three seconds from the take's ends and between."""
    samples, rate = song
    sound, _ = soundfile.read(written.path / f"{Path(file).stem}{more} conformed.wav")
    take = CLIPS[file]["takes"][-1]
    start_s = take["song_start_s"]
    end_s = start_s + (take["clip_end_s"] - take["clip_start_s"]) * take["speed"]
    for at_s in (start_s + 3, (start_s + end_s) / 2, end_s - 3):
        assert abs(lag_s(sound, samples, round(at_s * rate), rate)) < 0.0001
    before, after = round(start_s * rate), round(end_s * rate) + 1
    assert np.count_nonzero(sound[: max(0, before - 1)]) == np.count_nonzero(sound[after:]) == 0


def test_a_lag_would_be_found(song: tuple[NDArray[np.float64], int]) -> None:
    samples, rate = song
    moved = np.concatenate([np.zeros(9), samples])[: len(samples)]
    assert lag_s(moved, samples, 30 * rate, rate) == pytest.approx(9 / rate, abs=1e-5)


def test_what_has_no_sound_or_no_song_is_told(tmp_path: Path) -> None:
    shoot = sample_takes()
    boats = next(clip for clip in shoot.clips if clip.media.path.endswith("S0001.MP4"))
    hands = next(clip for clip in shoot.clips if clip.media.path.endswith("G0021.MOV"))
    boats = replace(boats, takes=(Take("t", 0.0, 2.0, 0.0),))
    hands = replace(hands, takes=(Take("u", 0.0, 2.0, 500.0), Take("v", 0.0, 2.0, -2.0)))
    gone = replace(
        hands, id="gone", media=replace(hands.media, path="/nowhere/gone.MOV"), takes=hands.takes[:1]
    )
    report = conformed.write(
        replace(shoot, clips=(boats, hands, gone)), tmp_path, _all, stop=never, progress=ignore
    )
    assert list(tmp_path.iterdir()) == []
    assert "S0001.MP4: no sound, because it has none." in report.lines
    assert "G0021.MOV, take 1: no sound, because it is outside the song." in report.lines
    assert "G0021.MOV, take 2: no sound, because it is outside the song." in report.lines
    assert report.takes == 0


def test_whose_sound_it_is_shows_where_clips_differ_in_their_suffix_only(tmp_path: Path) -> None:
    shoot = sample_takes()
    fiddle = next(clip for clip in shoot.clips if clip.media.path.endswith("G0018.MOV"))
    clips = []
    for name in ("drums/T.MOV", "keys/T.mp4"):
        (tmp_path / name).parent.mkdir()
        shutil.copy(fiddle.media.path, tmp_path / name)
        clips.append(replace(fiddle, id=name, media=replace(fiddle.media, path=str(tmp_path / name))))
    planned = conformed.plan(replace(shoot, clips=tuple(clips)), _all)
    assert [one.planned.name for one in planned.copies] == [
        "drums - T conformed.wav",
        "keys - T conformed.wav",
    ]


def test_a_take_in_doubt_is_not_left_out_without_a_word() -> None:
    shoot = sample_takes()
    bass = next(clip for clip in shoot.clips if clip.media.path.endswith("O0009.MP4"))
    one, two = bass.takes
    bass = replace(bass, takes=(one, replace(two, verdict=Verdict.DOUBTFUL)))
    shoot = replace(shoot, clips=(bass,))
    for room in (conformed, stamped):
        planned = room.plan(shoot, lambda _, take: take.verdict is Verdict.PLACED)
        why = "because it is in doubt; check it first."
        assert [line for line in planned.lines if why in line] == [
            f"O0009.MP4, take 2: no {'sound' if room is conformed else 'copy'}, {why}"
        ]


def test_stopping_and_what_is_missing(tmp_path: Path) -> None:
    shoot = sample_takes()
    with pytest.raises(HandoffStopped):
        conformed.write(shoot, tmp_path, chosen, stop=lambda: True, progress=ignore)
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(HandoffError, match="no song yet"):
        conformed.plan(SongView("x"), chosen)
    assert shoot.song is not None
    gone = replace(shoot.song, media=replace(shoot.song.media, path="/nowhere/song.ogg"))
    with pytest.raises(HandoffError, match="The song cannot be read"):
        conformed.plan(replace(shoot, song=gone), chosen)


def _all(clip: Clip, take: Take) -> bool:
    return True
