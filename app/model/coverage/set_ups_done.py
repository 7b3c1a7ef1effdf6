"""Which set-ups of the plan are done: takes of their angle cover their passage usably."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.model.angles import same_name
from app.model.coverage.needs import NeedState, SeenBars, need_result
from app.model.coverage.passages import passage_parts
from app.model.coverage.subjects import ANY_ANGLE, shows_anything
from app.model.coverage.usable import UsableTake, usable_bars, usable_takes
from app.model.document.plan import SetUp
from app.model.on_song import SongView
from app.model.song_map.bar_spans import BarSpan, bar_spans
from app.model.speeds import LARGEST_DRIFT_PPM


@dataclass(frozen=True, slots=True)
class SetUpResult:
    """How far a set-up is shot."""

    set_up: SetUp
    state: NeedState
    missing_bars: tuple[int, ...]
    """Numbers of the bars that no take of its angle shows usably."""


def set_up_results(shoot: SongView) -> tuple[SetUpResult, ...]:
    """How far every set-up of the song is shot, in the order of the day; empty without a song."""
    if shoot.song is None:
        return ()
    bars = bar_spans(shoot.song)
    takes = [one for one in usable_takes(shoot) if not one.doubtful]
    return tuple(_result(shoot, set_up, takes, bars) for set_up in shoot.plan.set_ups)


def _result(
    shoot: SongView, set_up: SetUp, takes: Sequence[UsableTake], bars: Sequence[BarSpan]
) -> SetUpResult:
    assert shoot.song is not None
    names = {angle.id: angle.name for angle in shoot.angles}
    wanted = {n for part in passage_parts(set_up.passage, shoot.song, bars) for n in part.bars}
    seen = {
        n
        for one in takes
        if same_name(names.get(one.angle_id, ""), set_up.angle)
        and abs(one.take.speed / set_up.speed - 1) * 1e6 <= LARGEST_DRIFT_PPM
        for n in usable_bars(one, bars)
    }
    if shows_anything(set_up.subjects) and not seen:
        # It stands for whichever angle will do: it is done as soon as no bar of it lacks one.
        seen = wanted - _lacking_any(shoot, takes, bars)
    missing = wanted - seen
    done = bool(wanted) and not missing
    state = NeedState.MET if done else NeedState.PARTLY if wanted & seen else NeedState.UNMET
    return SetUpResult(set_up, state, tuple(bars[n].number for n in sorted(missing)))


def _lacking_any(shoot: SongView, takes: Sequence[UsableTake], bars: Sequence[BarSpan]) -> set[int]:
    """Indices of the bars that nothing shows, or fewer angles than the plan asks for."""
    shown = SeenBars(shoot, takes, bars)
    dark = {n for n in range(len(bars)) if not shown.sure(n, ANY_ANGLE)}
    asked = [need for need in shoot.plan.needs if same_name(need.subject, ANY_ANGLE)]
    results = [need_result(shoot, need, shown, bars) for need in asked]
    return dark | {n for result in results for part in result.parts for n in part.missing}
