"""One recording heard: facts, trouble with a file, and the answer dealt out to the files of a recording."""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest

from app.engine import place_recording
from app.engine.place_recording import hear
from app.engine.probing import Looked, look
from app.model.answers import Answer
from app.model.document.verdict import Verdict
from app.model.reasons import NO_REASON, sentence
from audio.errors import BadSignal, Stopped
from audio.files.media import Sound
from audio.line import Line
from audio.placement.align import Hearing
from audio.placement.answer import Placement, PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode
from audio.progress import never
from audio.references.held import Held
from tests.app.engine.grounds import SONG, on_song
from tests.audio.engine_songs import RATE, camera_file
from tests.audio.media_files import Recipe, low_noise, make


def silent(path: Path, fraction: float) -> None:
    """Take progress and do nothing."""


def heard(*files: Looked, stop: Callable[[], bool] = never) -> list[Answer]:
    return hear(files, on_song(), stop=stop, progress=silent).songs[SONG].answers


def test_a_take_and_the_facts_of_its_file(tmp_path: Path) -> None:
    facts = {"timecode": "10:00:00:00", "frame_rate": Fraction(24000, 1001)}
    path = camera_file(tmp_path / "A 001.mov", (17.5, 15.0), **facts)
    progress: list[float] = []
    answer = hear([look(path)], on_song(), stop=never, progress=lambda _, fraction: progress.append(fraction))
    (clip,) = answer.songs[SONG].answers
    assert clip.verdict is Verdict.PLACED
    assert (clip.facts.frame_rate, clip.facts.start_timecode) == (Fraction(24000, 1001), "10:00:00:00")
    assert (clip.facts.width, clip.facts.height) == (64, 48)
    assert clip.media.size_bytes == path.stat().st_size
    assert (clip.recording, clip.reason) == (None, NO_REASON)
    (take,) = clip.takes
    assert take.line.song_time(5.0) == pytest.approx(22.5, abs=0.0001)
    assert progress == sorted(progress)
    assert progress[-1] == pytest.approx(1.0)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    looked = look(tmp_path / "gone.mov")
    assert looked.info is None
    (clip,) = heard(looked)
    assert clip.verdict is Verdict.UNREADABLE
    assert "is not there" in sentence(clip.reason)
    assert clip.media.path == str(tmp_path / "gone.mov")


def test_a_file_that_vanishes_after_it_was_looked_at(tmp_path: Path) -> None:
    looked = look(camera_file(tmp_path / "a.mov", (17.5, 3.0)))
    looked.path.unlink()
    (clip,) = heard(looked)
    assert clip.verdict is Verdict.UNREADABLE
    assert "not there" in sentence(clip.reason)
    assert clip.facts.duration_s == pytest.approx(3.0)


def test_a_file_without_sound_is_no_song(tmp_path: Path) -> None:
    (clip,) = heard(look(make(tmp_path / "quiet.mov", Recipe(picture_s=1.0))))
    assert clip.verdict is Verdict.NO_SONG
    assert "no sound" in sentence(clip.reason)
    assert clip.facts.duration_s == pytest.approx(1.0)


def test_one_file_of_a_recording_without_sound_leaves_the_others_alone(tmp_path: Path) -> None:
    """Without its middle a recording is no longer one: every file answers for itself."""
    quiet = look(make(tmp_path / "b.mov", Recipe(picture_s=1.0)))
    first, second, third = heard(
        look(camera_file(tmp_path / "a.mov", (17.5, 12.0))),
        quiet,
        look(camera_file(tmp_path / "c.mov", (40.0, 12.0))),
    )
    assert [clip.verdict for clip in (first, second, third)] == ["placed", "no song", "placed"]
    assert first.takes[0].line.song_time(0.0) == pytest.approx(17.5, abs=0.0001)
    assert third.takes[0].line.song_time(0.0) == pytest.approx(40.0, abs=0.0001)
    assert {clip.recording for clip in (first, second, third)} == {None}


WHY = Reason(ReasonCode.FAINT)
FAINT = "The song is only faintly audible. Listen and decide."


def made_up(verdict: PlaceVerdict = PlaceVerdict.DOUBTFUL) -> Placement:
    """One take from 2 to 14.3 s of a recording, at song second 30, with a rival at 50."""
    lags = tuple((float(t), 0.0, 9.0) for t in range(2, 15))
    rivals = (PlaceRival(50.0, 0.8, open=True),)
    fit = TakeFit(Line(2.0, 30.0, 1.001), 14.3, 0.001, 1e-6, verdict, WHY, 20.0, rivals, lags)
    return Placement(verdict, WHY, (fit,), 0)


def recording(tmp_path: Path, *seconds: float) -> list[Looked]:
    paths = [tmp_path / f"C{number}.mov" for number in range(len(seconds))]
    return [
        look(make(path, Recipe(tracks=[low_noise(length)], picture_s=length)))
        for path, length in zip(paths, seconds, strict=True)
    ]


def test_an_answer_is_dealt_out_to_the_files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Files of 6, 8 and 4 s: the take runs from 2 s of the first to 0.3 s into the third."""
    given: list[Sound] = []

    def held_against(hearing: Hearing, *_: object) -> dict[str, Held]:
        given.append(hearing.sound)
        return {SONG: Held(made_up())}

    monkeypatch.setattr(place_recording, "held_against", held_against)
    files = recording(tmp_path, 6.0, 8.0, 4.0)
    first, second, third = heard(*files)
    assert given[0].samples.shape[1] == pytest.approx(18 * RATE, abs=2)
    (one,), (two,) = first.takes, second.takes
    assert (one.clip_start_s, one.clip_end_s, one.song_start_s) == pytest.approx((2.0, 6.0, 30.0))
    assert (two.clip_start_s, two.clip_end_s) == pytest.approx((0.0, 8.0))
    assert two.song_start_s == pytest.approx(30.0 + 4.0 * 1.001)
    assert two.rivals[0].song_start_s == pytest.approx(50.0 + 4.0 * 1.001)
    assert one.line.song_time(one.clip_end_s) == pytest.approx(two.song_start_s)
    assert [lag.clip_s for lag in one.lags] == pytest.approx([2, 3, 4, 5, 6])
    assert [lag.clip_s for lag in two.lags] == pytest.approx([0, 1, 2, 3, 4, 5, 6, 7, 8])
    # Of the last file's 0.3 s nobody makes a take.
    assert (third.takes, third.verdict) == ((), Verdict.NO_SONG)
    assert sentence(third.reason) == "Song not found in this file."
    assert [clip.recording for clip in (first, second, third)] == [str(tmp_path / "C0.mov")] * 3
    assert [clip.verdict for clip in (first, second)] == ["doubtful", "doubtful"]
    assert (sentence(one.reason), sentence(two.reason)) == (FAINT, FAINT)


def test_what_the_engine_refuses_is_that_recording_s_answer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def held_against(*_: object) -> dict[str, Held]:
        raise BadSignal("The sound holds values that are not numbers.")

    monkeypatch.setattr(place_recording, "held_against", held_against)
    for clip in heard(*recording(tmp_path, 1.0, 1.0)):
        assert clip.verdict is Verdict.UNREADABLE
        assert sentence(clip.reason) == "The sound holds values that are not numbers."


def test_stop_goes_through(tmp_path: Path) -> None:
    looked = look(camera_file(tmp_path / "a.mov", (17.5, 3.0)))
    with pytest.raises(Stopped):
        heard(looked, stop=lambda: True)
