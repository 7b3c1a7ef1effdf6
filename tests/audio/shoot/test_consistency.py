"""Which clips are compared with which: cameras, clocks of recording, doubts and suspicions."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from fractions import Fraction
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from audio.errors import Stopped, Unreadable
from audio.files.media import MediaInfo, Sound
from audio.line import Line
from audio.placement.answer import Placement, PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode
from audio.placement.search import SongIndex
from audio.shoot import consistency
from audio.shoot.cameras import cameras
from audio.shoot.contradictions import Comparison, Finding, contradicted
from audio.shoot.run_throughs import Answered, together

SONG_S = 200.0
MORNING = datetime(2026, 5, 1, 9, 0, 0)
DOUBT = PlaceVerdict.DOUBTFUL
PLACED = PlaceVerdict.PLACED


def info(name: str, duration_s: float = 230.0, **more: object) -> MediaInfo:
    facts: dict[str, object] = {
        "path": Path("/shoot") / name,
        "size_bytes": 1,
        "duration_s": duration_s,
        "frame_rate": Fraction(25),
        "variable_frame_rate": False,
        "width": 1920,
        "height": 1080,
        "sound_tracks": 1,
        "start_timecode": None,
        "make": None,
        "model": None,
        "created": None,
        "sound_rate": 48000,
    }
    return MediaInfo(**(facts | more))  # type: ignore[arg-type]


def take(
    clip_s: tuple[float, float],
    song_s: float,
    verdict: PlaceVerdict = PLACED,
    *rivals_s: float,
    strength: float = 50.0,
) -> TakeFit:
    return TakeFit(
        Line(clip_s[0], song_s, 1.0),
        clip_s[1],
        1e-4,
        5e-6,
        verdict,
        None,
        strength,
        tuple(PlaceRival(r, 1.0, open=True) for r in rivals_s),
        (),
    )


def answered(file: MediaInfo, *takes: TakeFit) -> Answered:
    verdict = DOUBT if any(one.verdict is DOUBT for one in takes) else PLACED
    return Answered(file, Placement(verdict, None, takes, 0))


def camera_clips(
    folder: str, wrong_by_s: float, run_throughs_s: Sequence[float], at_end: bool = False
) -> list[Answered]:
    """One whole clip a run-through; the camera starts some seconds before the song, its clock is off."""
    clips = []
    for number, song_began_s in enumerate(run_throughs_s):
        before = 3.0 + number % 3
        told = MORNING + timedelta(seconds=song_began_s - before + wrong_by_s + (230.0 if at_end else 0.0))
        created = told.replace(microsecond=0).isoformat()
        clips.append(
            answered(
                info(f"{folder}/C{number:04}.MP4", created=created), take((before, before + SONG_S), 0.0)
            )
        )
    return clips


RUN_THROUGHS = (100.3, 700.8, 1500.1, 2100.6, 3333.0)


def test_cameras_by_what_files_tell() -> None:
    files = [
        info("a/C0001.MP4", make="Northlight", model="NL-4"),
        info("a/C0002.MP4", make="Northlight", model="NL-4", frame_rate=Fraction(50), width=1280),
        info("a/P1.MP4", make="Northlight", model="NL-4"),
        info("a/C0003.MP4", make="Northlight", model="NL-5"),
        info("b/C0001.MP4", make="Northlight", model="NL-4"),
        info("a/C0004.WAV", make="Northlight", model="NL-4"),
    ]
    assert cameras(files) == ((0, 1), (2,), (3,), (4,), (5,))
    assert cameras([]) == ()


@pytest.mark.parametrize("at_end", [False, True])
def test_takes_recorded_together_though_the_clocks_are_hours_apart(at_end: bool) -> None:
    one, other = camera_clips("a", 0.0, RUN_THROUGHS), camera_clips("b", -7283.0, RUN_THROUGHS[1:], at_end)
    hints = together([*one, *other])
    pairs = {(hint.one[0], hint.other[0]) for hint in hints}
    assert pairs == {(1, 5), (2, 6), (3, 7), (4, 8)}
    assert all(abs(hint.apart_s) < 2.5 for hint in hints)


def test_timecode_tells_to_the_frame() -> None:
    """25 frames a second, non-drop: label and time are the same (SMPTE ST 12-1)."""
    one = [
        answered(info(f"a/C{n}.MP4", start_timecode=f"10:{n}0:00:00"), take((2.0, 202.0), 0.0))
        for n in range(1, 4)
    ]
    other = [
        answered(info(f"b/D{n}.MP4", start_timecode=f"10:{n}0:01:00"), take((1.0, 201.0), 0.0))
        for n in range(1, 4)
    ]
    hints = together([*one, *other])
    assert len(hints) == 3
    assert [hint.apart_s for hint in hints] == pytest.approx([0, 0, 0], abs=1e-6)


def test_without_clocks_or_repeats_there_is_no_hint() -> None:
    bare = [answered(info(f"{name}/C1.MP4"), take((0.0, 200.0), 0.0)) for name in "ab"]
    assert together(bare) == ()
    one = camera_clips("a", 0.0, RUN_THROUGHS)
    other = camera_clips("b", 0.0, [20000.0, 20900.0, 23456.0, 26000.0])
    assert together([*one, *other]) == ()


def test_corroborating_clips_by_what_they_cover_and_by_the_clocks() -> None:
    clips = [*camera_clips("a", 0.0, RUN_THROUGHS), *camera_clips("b", 500.0, RUN_THROUGHS[:4])]
    # A pick-up of the second camera in the third run-through, 60 s into the song.
    created = (MORNING + timedelta(seconds=500.0 + RUN_THROUGHS[2] + 60)).replace(microsecond=0).isoformat()
    pick_up = take((0.0, 8.0), 60.0, DOUBT, 120.0)
    clips.append(answered(info("b/C0044.MP4", 8.0, created=created), pick_up))
    asked = consistency.doubts(clips)
    assert [doubt.clip for doubt in asked] == [len(clips) - 1]
    # By the clocks only one clip of the other camera ran then; of its own camera nothing is known.
    assert asked[0].corroborators[0] == 2
    assert asked[0].simultaneous == 1
    assert not set(asked[0].corroborators) & {0, 1, 3, 4}
    assert len(asked[0].corroborators) <= consistency.MOST_CORROBORATORS


def test_a_clip_that_does_not_cover_all_positions_is_not_asked() -> None:
    whole = answered(info("a/C1.MP4"), take((0.0, 200.0), 0.0))
    half = answered(info("b/C1.MP4"), take((0.0, 100.0), 0.0))
    doubtful = answered(info("c/C1.MP4", 8.0), take((0.0, 8.0), 60.0, DOUBT, 120.0))
    assert consistency.doubts([half, doubtful]) == ()
    assert consistency.doubts([half, doubtful, whole]) == (consistency.Doubt(1, (2,)),)
    assert consistency.doubts([half, whole]) == ()


def test_suspicions_only_where_the_clocks_see_a_take_elsewhere() -> None:
    one, other = camera_clips("a", 0.0, RUN_THROUGHS), camera_clips("b", 90.0, RUN_THROUGHS)
    assert consistency.suspicions([*one, *other]) == ()
    # The fourth clip of the second camera is placed 30 s later in the song than the clocks have it.
    moved = answered(other[3].info, take((6.0, 176.0), 33.0, strength=30.0))
    found = consistency.suspicions([*one, *other[:3], moved, other[4]])
    assert found == (consistency.Suspicion((8, 0), (3, 0)),)


def test_one_run_through_sets_no_clock_to_suspect_others_by() -> None:
    """A camera with two starts in one clip, and one with a single clip: one start always fits."""
    one = answered(
        info("a/C0001.MP4", created="2026-05-01T09:00:00"), take((5.0, 25.0), 0.0), take((50.0, 250.0), 0.0)
    )
    other = answered(info("b/C0001.MP4", created="2026-05-01T12:00:00"), take((5.0, 205.0), 0.0))
    assert max(abs(hint.apart_s) for hint in together([one, other])) > consistency.SUSPECT_S
    assert consistency.suspicions([one, other]) == ()


def silence(number: int) -> Sound:
    return Sound(np.zeros((1, 8000), np.float32), 8000, 0.0, ("track 1, channel 1",))


@cache
def nothing_much() -> SongIndex:
    return SongIndex.build(np.ones(80000, np.float32), 8000)


def asking(sound_of: consistency.SoundOf, song: SongIndex) -> consistency.Ask:
    """Questions answered one after the other."""
    return lambda questions, clips: [consistency.answer(one, clips, sound_of, song) for one in questions]


def test_two_takes_of_a_clip_may_both_be_suspected() -> None:
    one = camera_clips("a", 0.0, RUN_THROUGHS)
    other = camera_clips("b", 90.0, RUN_THROUGHS)
    # The fourth clip of the second camera was stopped and goes on; both its takes lie 30 s too late.
    file = other[3].info
    both = answered(file, take((6.0, 86.0), 33.0, strength=30.0), take((96.0, 176.0), 123.0, strength=30.0))

    def ask(questions: Sequence[consistency.Question], clips: Sequence[Answered]) -> list[Placement]:
        assert [question.clip for question in questions] == [8, 8]
        return [
            contradicted(clips[8].placement, question.one[1], -30.0, "C0003.MP4")
            for question in questions
            if isinstance(question, consistency.Suspicion)
        ]

    answers = consistency.cross_checked([*one, *other[:3], both, other[4]], ask)
    assert [fit.verdict for fit in answers[8].takes] == [DOUBT, DOUBT]
    counts = (("doubtful", 2), ("takes", 2), ("reason", "contradicted"))
    figures = (*counts, ("clip", "C0003.MP4"), ("off_s", -30.0))
    assert answers[8].reason == Reason(ReasonCode.SOME_TAKES, figures)


@pytest.mark.parametrize("comparison", list(Comparison))
def test_a_suspicion_stands_only_if_the_sound_contradicts(
    comparison: Comparison, monkeypatch: pytest.MonkeyPatch
) -> None:
    clips = [answered(info(f"a/{n}.MP4"), take((0.0, 20.0), 40.0)) for n in range(2)]
    monkeypatch.setattr(consistency, "compare_takes", lambda *_: Finding(comparison, -12.5))
    suspicion = consistency.Suspicion((0, 0), (1, 0))
    answer = consistency.answer_suspicion(suspicion, clips, silence, nothing_much())
    if comparison is Comparison.CONTRADICT:
        assert answer.verdict is DOUBT
        assert answer.reason == Reason(ReasonCode.CONTRADICTED, (("clip", "1.MP4"), ("off_s", -12.5)))
        assert answer.takes[0].rivals[0].song_start_s == 27.5
    else:
        assert answer is clips[0].placement


def test_clips_that_cannot_be_read_again_keep_their_answers() -> None:
    whole = answered(info("a/C1.MP4"), take((0.0, 200.0), 0.0))
    doubtful = answered(info("b/C1.MP4", 8.0), take((0.0, 8.0), 60.0, DOUBT, 120.0))

    def gone(number: int) -> Sound:
        raise Unreadable("The disk is not connected.")

    def changed(number: int) -> Sound:
        return replace(silence(number), samples=np.zeros((0, 8000), np.float32))

    kept = (whole.placement, doubtful.placement)
    for sound_of in (gone, changed, silence):
        assert consistency.cross_checked([whole, doubtful], asking(sound_of, nothing_much())) == kept

    def stopped(number: int) -> Sound:
        raise Stopped("Stopped.")

    with pytest.raises(Stopped):
        consistency.cross_checked([whole, doubtful], asking(stopped, nothing_much()))


def test_where_nothing_is_open_nothing_is_read() -> None:
    clips = [*camera_clips("a", 0.0, RUN_THROUGHS), *camera_clips("b", 90.0, RUN_THROUGHS)]

    def never_asked(*_: object) -> list[Placement]:
        raise AssertionError("clips are to be read")

    answers = consistency.cross_checked(clips, never_asked)
    assert [answer.verdict for answer in answers] == [PLACED] * len(clips)


def test_one_clock_goes_over_the_files_of_a_camera() -> None:
    def run(ppm: float, sd: float, seconds: float) -> Placement:
        one = TakeFit(Line(0.0, 10.0, 1 + ppm * 1e-6), seconds, 5e-3, sd, PLACED, None, 50.0, (), ())
        return Placement(PLACED, None, (one,), 0)

    files = [info(f"a/C{n}.MP4") for n in range(3)] + [info("b/C0.MP4")]
    answers = [run(80, 1e-6, 200), run(81, 1e-6, 180), run(0, 99e-6, 5), run(0, 99e-6, 5)]
    new = consistency.one_clock_each(files, answers)
    assert new[2].takes[0].speed == pytest.approx(1 + 80.5e-6, abs=2e-6)
    assert new[3] == answers[3]
    empty = Placement(PlaceVerdict.NO_SONG, None, (), 0)
    assert consistency.one_clock_each(files[:1], [empty]) == (empty,)
