"""Doubtful takes decided by another clip of the same moment, and left alone by any other."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from functools import cache

import numpy as np
import pytest

from audio.files.media import Sound
from audio.line import Line
from audio.placement.align import place
from audio.placement.answer import Placement, PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode
from audio.shoot.consistency import cross_checked
from audio.shoot.contradictions import Comparison, compare_takes, contradicted
from audio.shoot.corroboration import ClipSound, corroborated, could_corroborate
from audio.shoot.run_throughs import Answered
from tests.audio.engine_songs import RATE, index, song
from tests.audio.moments import Moment, camera, moment
from tests.audio.shoot.test_consistency import asking, info

STYLE = "loops"
FIRST_S, SECOND_S = 15.484, 23.226
"""A passage of ``loops`` and the next, which is the same to the sample (see ``Song.twins``)."""
INTO_S, SHORT_S = 1.3, 5.5


@cache
def run_through(seed: int) -> Moment:
    return moment(song(STYLE), 0.0, song(STYLE).seconds, seed)


def clip_sound(
    name: str, wave: object, song_start_s: float, verdict: PlaceVerdict, *rivals_s: float
) -> ClipSound:
    """A clip that is a take from its first sample to its last."""
    sound = Sound(wave[None], RATE, 0.0, ("track 1, channel 1",))  # type: ignore[index]
    take = TakeFit(
        line=Line(0.0, song_start_s, 1.0),
        clip_end_s=sound.samples.shape[1] / RATE,
        uncertainty_s=1e-4,
        speed_sd=1e-6,
        verdict=verdict,
        reason=None if verdict is PlaceVerdict.PLACED else Reason(ReasonCode.FITS_ELSEWHERE),
        strength=40.0,
        rivals=tuple(PlaceRival(rival, 1.0, open=True) for rival in rivals_s),
        lags=(),
    )
    return ClipSound(name, sound, Placement(verdict, take.reason, (take,), 0))


@cache
def wide(seed: int, room: str = "cellar-6m") -> ClipSound:
    """A camera that ran through a whole run-through, and is placed."""
    wave = camera(run_through(seed), room, 0.0, song(STYLE).seconds, late_s=0.012, seed=9)
    return clip_sound("WIDE.MP4", wave, 0.0, PlaceVerdict.PLACED)


def pick_up(seed: int, true_s: float, told_s: float, other_s: float, band_db: float = 3.0) -> ClipSound:
    wave = camera(run_through(seed), "garage-4m", true_s + INTO_S, SHORT_S, band_db=band_db, seed=5)
    return clip_sound("CLOSE.MP4", wave, told_s + INTO_S, PlaceVerdict.DOUBTFUL, other_s + INTO_S)


@pytest.mark.parametrize(("true_s", "told_s"), [(FIRST_S, FIRST_S), (FIRST_S, SECOND_S), (SECOND_S, FIRST_S)])
def test_the_same_moment_decides_between_twins(true_s: float, told_s: float) -> None:
    other_s = FIRST_S + SECOND_S - told_s
    clip = pick_up(1, true_s, told_s, other_s)
    assert could_corroborate(clip.placement.takes[0], wide(1).placement)
    answer = corroborated(clip, [wide(1)], index(STYLE))
    take = answer.takes[0]
    assert answer.verdict is take.verdict is PlaceVerdict.PLACED
    assert take.reason == Reason(ReasonCode.CORROBORATED, (("clip", "WIDE.MP4"),))
    assert answer.reason is None
    assert take.song_start_s == pytest.approx(true_s + INTO_S, abs=0.002)
    assert (told_s == true_s) == (
        take == replace(clip.placement.takes[0], verdict=take.verdict, reason=take.reason)
    )


def test_sounds_of_hours_are_kept_in_16_bits_and_tell_the_same() -> None:
    def in_16_bits(clip: ClipSound) -> ClipSound:
        return replace(clip, sound=replace(clip.sound, samples=clip.sound.samples.astype(np.float16)))

    clip = pick_up(1, FIRST_S, SECOND_S, FIRST_S)
    (take,) = corroborated(in_16_bits(clip), [in_16_bits(wide(1))], index(STYLE)).takes
    assert take.verdict is PlaceVerdict.PLACED
    assert take.song_start_s == pytest.approx(FIRST_S + INTO_S, abs=0.002)


@pytest.mark.parametrize("simultaneous", [False, True])
def test_another_run_through_decides_nothing(simultaneous: bool) -> None:
    """Not even where clocks that are wrong speak for it."""
    clip = pick_up(1, SECOND_S, FIRST_S, SECOND_S)
    other = replace(wide(2), simultaneous=simultaneous)
    assert corroborated(clip, [other], index(STYLE)) is clip.placement


def test_without_anything_live_nothing_is_decided() -> None:
    """What is left of the playback is the same in both places."""
    clip = pick_up(1, SECOND_S, FIRST_S, SECOND_S, band_db=-40.0)
    assert corroborated(clip, [wide(1)], index(STYLE)) is clip.placement


def test_corroborating_clips_are_read_only_as_long_as_need_be() -> None:
    asked = []

    def corroborators() -> Iterator[ClipSound]:
        for seed in (2, 1, 3):
            asked.append(seed)
            yield wide(seed)

    assert corroborated(pick_up(1, FIRST_S, FIRST_S, SECOND_S), corroborators(), index(STYLE)).takes[0].rivals
    assert asked == [2, 1]
    placed = wide(1)
    assert corroborated(placed, corroborators(), index(STYLE)) is placed.placement
    assert asked == [2, 1]


def test_a_clip_that_covers_one_position_only_cannot_corroborate() -> None:
    take = pick_up(1, FIRST_S, FIRST_S, SECOND_S).placement.takes[0]
    half = replace(wide(1).placement.takes[0], clip_end_s=FIRST_S + 8)
    doubtful = replace(wide(1).placement.takes[0], verdict=PlaceVerdict.DOUBTFUL)
    for seen in (half, doubtful):
        assert not could_corroborate(take, replace(wide(1).placement, takes=(seen,)))


def test_doubts_of_another_kind_stay() -> None:
    """An echo as loud as the song: the place itself is not known well enough."""
    clip = pick_up(1, FIRST_S, FIRST_S, SECOND_S)
    loose = replace(clip.placement, takes=(replace(clip.placement.takes[0], uncertainty_s=0.05),))
    clip = replace(clip, placement=loose)
    assert corroborated(clip, [wide(1)], index(STYLE)) is loose


def test_a_place_that_leaps_is_not_taken() -> None:
    """Right after a take that runs on to the first passage, the second cannot follow without a rest."""
    clip = pick_up(1, SECOND_S, FIRST_S, SECOND_S)
    take = clip.placement.takes[0]
    before = replace(
        take,
        line=Line(-4.0, FIRST_S + INTO_S - 4, 1.0),
        clip_end_s=0.0,
        verdict=PlaceVerdict.PLACED,
    )
    clip = replace(clip, placement=replace(clip.placement, takes=(before, take)))
    assert corroborated(clip, [wide(1)], index(STYLE)) is clip.placement


def test_from_sound_to_decision() -> None:
    """The engine itself doubts the pick-up, and places the wide one; then the one decides the other."""
    sounds = [one.sound for one in (pick_up(1, SECOND_S, SECOND_S, FIRST_S), wide(1))]
    close, far = (
        ClipSound(name, one, place(one, index(STYLE))) for name, one in zip("ab", sounds, strict=True)
    )
    assert (close.placement.verdict, far.placement.verdict) == (PlaceVerdict.DOUBTFUL, PlaceVerdict.PLACED)
    take = corroborated(close, [far], index(STYLE)).takes[0]
    assert take.verdict is PlaceVerdict.PLACED
    assert take.song_start_s - take.clip_start_s == pytest.approx(SECOND_S + INTO_S, abs=0.002)


def test_placed_takes_of_one_moment_agree_or_contradict() -> None:
    right, wrong = (
        replace(
            clip,
            placement=replace(
                clip.placement, takes=(replace(clip.placement.takes[0], verdict=PlaceVerdict.PLACED),)
            ),
        )
        for clip in (pick_up(1, SECOND_S, told, FIRST_S) for told in (SECOND_S, FIRST_S))
    )
    found = compare_takes(right, 0, wide(1), 0, index(STYLE))
    assert found.comparison is Comparison.AGREE
    assert found.off_s == pytest.approx(0.012, abs=0.008)
    found = compare_takes(wrong, 0, wide(1), 0, index(STYLE))
    assert found.comparison is Comparison.CONTRADICT
    assert found.off_s == pytest.approx(SECOND_S - FIRST_S, abs=0.02)
    # A clip of another run-through has no say.
    assert compare_takes(wrong, 0, wide(2), 0, index(STYLE)).comparison is Comparison.UNDECIDED
    answer = contradicted(wrong.placement, 0, found.off_s, "WIDE.MP4")
    assert answer.verdict is answer.takes[0].verdict is PlaceVerdict.DOUBTFUL
    assert answer.reason == Reason(ReasonCode.CONTRADICTED, (("clip", "WIDE.MP4"), ("off_s", found.off_s)))
    assert answer.takes[0].rivals[0].song_start_s == pytest.approx(SECOND_S + INTO_S, abs=0.02)


@pytest.mark.parametrize("told_s", [SECOND_S, SECOND_S + 0.3, 4.0])
def test_a_faint_take_is_confirmed_where_both_hear_the_same(told_s: float) -> None:
    """The song is faint under the band, and there is one place only; the corroborating clip says whether it
    is right."""
    wave = camera(run_through(1), "garage-4m", SECOND_S + INTO_S, SHORT_S, band_db=12.0, seed=5)
    clip = clip_sound("CLOSE.MP4", wave, told_s + INTO_S, PlaceVerdict.DOUBTFUL)
    answer = corroborated(clip, [wide(1)], index(STYLE))
    if told_s == SECOND_S:
        assert answer.verdict is PlaceVerdict.PLACED
        assert answer.takes[0].song_start_s == told_s + INTO_S
    else:
        assert answer is clip.placement


def test_a_whole_shoot() -> None:
    """Two cameras, three run-throughs; of the second camera's pick-ups one is open, and one is placed wrong.

    The first camera's clock is an hour fast.
    """
    began_s = (0.0, 400.0, 900.0)
    whole, short = wide(1), (pick_up(1, SECOND_S, FIRST_S, SECOND_S), pick_up(1, SECOND_S, FIRST_S, SECOND_S))
    wrong = replace(short[1].placement.takes[0], verdict=PlaceVerdict.PLACED, strength=20.0)
    first = INTO_S + SECOND_S
    clips = [
        # Only the second run-through is heard; the others give the clocks away.
        *(_recorded(f"a/A{n}.MP4", at + 3600, whole.placement) for n, at in enumerate(began_s)),
        *(_recorded(f"b/B{n}.MP4", at, whole.placement) for n, at in enumerate(began_s)),
        _recorded("b/B3.MP4", began_s[1] + first, short[0].placement),
        _recorded(
            "b/B4.MP4",
            began_s[1] + first,
            replace(short[1].placement, verdict=PlaceVerdict.PLACED, takes=(wrong,)),
        ),
    ]
    read: list[int] = []

    def sound_of(number: int) -> Sound:
        read.append(number)
        return (whole.sound, short[0].sound)[number > 5]

    answers = cross_checked(clips, asking(sound_of, index(STYLE)))
    assert read == [6, 1, 7, 1]
    assert [answer.verdict for answer in answers[:6]] == [PlaceVerdict.PLACED] * 6
    assert answers[6].takes[0].song_start_s == pytest.approx(first, abs=0.002)
    assert answers[6].takes[0].reason == Reason(ReasonCode.CORROBORATED, (("clip", "A1.MP4"),))
    assert answers[7].verdict is PlaceVerdict.DOUBTFUL
    assert answers[7].reason is not None
    assert answers[7].reason.code is ReasonCode.CONTRADICTED
    assert dict(answers[7].reason.figures)["clip"] == "A1.MP4"


def _recorded(name: str, at_s: float, placement: Placement) -> Answered:
    created = (datetime(2026, 5, 1, 10) + timedelta(seconds=at_s)).replace(microsecond=0).isoformat()
    take = placement.takes[0]
    return Answered(info(name, take.clip_end_s - take.clip_start_s, created=created), placement)
