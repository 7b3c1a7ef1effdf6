"""How the plan stands bar by bar: for each subject asked for, which bars show it, and which lack it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from app.model.angles import same_name
from app.model.coverage.missing_words import ranges_words
from app.model.coverage.needs import NeedResult, NeedState, need_results
from app.model.coverage.ranges import runs
from app.model.coverage.subjects import ANY_ANGLE
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans

_WORSE = {NeedState.MET: 0, NeedState.PARTLY: 1, NeedState.UNMET: 2}


@dataclass(frozen=True, slots=True)
class SubjectBars:
    """One subject that the plan asks for."""

    subject: str
    states: Mapping[int, NeedState]
    """For each bar (its number) in which it is asked for: seen by enough angles, by some, or by none. Bars
    that are not shown but need not be, since enough others are, are left out."""

    def within(self, first: int, last: int) -> dict[int, NeedState]:
        """The bars from one number to another in which it is asked for."""
        # Asked for every line of a score: by the bars of the line, not by all bars.
        return {n: self.states[n] for n in range(first, last + 1) if n in self.states}

    def open_bars(self, first: int, last: int) -> tuple[int, ...]:
        """Numbers of the bars between two in which it is missing, rising."""
        here = self.within(first, last)
        return tuple(n for n, state in here.items() if state is not NeedState.MET)


def subject_bars(shoot: SongView) -> tuple[SubjectBars, ...]:
    """Every subject asked for, in the plan's order; of several needs for one the worst counts in a bar."""
    if shoot.song is None or not shoot.plan.needs:
        return ()
    numbers = [bar.number for bar in bar_spans(shoot.song)]
    found: list[tuple[str, dict[int, NeedState]]] = []
    for result in need_results(shoot):
        subject = result.need.subject
        states = next((states for name, states in found if same_name(name, subject)), None)
        if states is None:
            states = {}
            found.append((subject, states))
        for bar, state in _bar_states(result).items():
            old = states.get(numbers[bar])
            if old is None or _WORSE[state] > _WORSE[old]:
                states[numbers[bar]] = state
    return tuple(SubjectBars(subject, states) for subject, states in found)


def missing_remarks(
    subjects: Sequence[SubjectBars], first: int, last: int, *, where: bool = True
) -> tuple[str, ...]:
    """What is missing between two bars, in a few words for each subject: ``fiddle missing in bars 12–14``.

    ``where`` is False where one knows, or where the song has no bars.
    """
    found = []
    for one in subjects:
        bars = one.open_bars(first, last)
        if not bars:
            continue
        any_angle = same_name(one.subject, ANY_ANGLE)
        some = any(one.states[n] is NeedState.PARTLY for n in bars)
        what = "more angles needed" if any_angle else f"{one.subject} missing"
        if some and not any_angle and all(one.states[n] is NeedState.PARTLY for n in bars):
            what = f"more angles of {one.subject} needed"
        found.append(f"{what} in {ranges_words(bars)}" if where else what)
    return tuple(found)


def open_starts(subjects: Sequence[SubjectBars], spans: Sequence[tuple[int, int]]) -> tuple[int, ...]:
    """Numbers of the bars in which something that is missing begins, rising.

    ``spans`` are the first and last bar of each section: what is missing across an edge begins anew there.
    """
    found = set()
    for first, last in spans:
        for one in subjects:
            found |= {run[0] for run in runs(one.open_bars(first, last))}
    return tuple(sorted(found))


def _bar_states(result: NeedResult) -> dict[int, NeedState]:
    """How a need stands in each of its bars, by their indices."""
    least = max(1, result.need.least_angles)
    states: dict[int, NeedState] = {}
    for part in result.parts:
        for bar, angles in part.seen.items():
            if len(angles) >= least:
                state = NeedState.MET
            elif bar not in part.missing:
                continue
            else:
                state = NeedState.PARTLY if angles else NeedState.UNMET
            if bar not in states or _WORSE[state] > _WORSE[states[bar]]:
                states[bar] = state
    return states
