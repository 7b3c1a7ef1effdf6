"""Who shows a range of bars: which takes wholly, which in part, and how deep it is at its thinnest."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from app.model.coverage.coverage import BarCoverage, SectionCoverage
from app.model.coverage.showing import counted_clips, covers, touched
from app.model.coverage.thinness import Thin
from app.model.document.verdict import Verdict
from app.model.on_song import SongView


@dataclass(frozen=True, slots=True)
class TakeOnRange:
    """A placed take and the bars of a range that it covers."""

    take_id: str
    angle_id: str
    bars: tuple[int, ...]
    """Numbers of the bars covered, rising; never empty."""
    wholly: bool
    """It covers every bar of the range, without a cut."""


@dataclass(frozen=True, slots=True)
class RangeCoverage:
    """What is known of the bars from ``first`` to ``last``."""

    first: int
    last: int
    start_s: float
    end_s: float
    takes: tuple[TakeOnRange, ...]
    """Placed takes in stave order."""
    least: int
    most: int
    """The smallest and the largest depth among the bars."""
    thin: Mapping[Thin, tuple[int, ...]]
    """For each kind of thinness that there is, the worst first, the numbers of its bars."""
    not_named: tuple[int, ...]
    """Numbers of the bars that could be thin, but whose angles are not named yet."""
    doubtful: tuple[str, ...]
    """Ids of doubtful takes that would cover at least one of the bars; not counted."""

    @property
    def whole_angles(self) -> frozenset[str]:
        """Ids of angles of which one take covers the whole range."""
        return frozenset(take.angle_id for take in self.takes if take.wholly)


def range_coverage(
    shoot: SongView, sections: Sequence[SectionCoverage], first: int, last: int
) -> RangeCoverage | None:
    """Gather what shows the bars between two numbers, both included; None where there is no such bar."""
    first, last = min(first, last), max(first, last)
    bars: list[BarCoverage] = [
        bar for section in sections for bar in section.bars if first <= bar.bar.number <= last
    ]
    bars.sort(key=lambda bar: bar.bar.number)
    if not bars:
        return None
    spans = [bar.bar for bar in bars]
    takes, doubtful = [], []
    for clip in counted_clips(shoot):
        for take in clip.takes:
            numbers = tuple(spans[n].number for n in touched(take, spans) if covers(take, spans[n]))
            if not numbers:
                continue
            if take.verdict is Verdict.PLACED:
                takes.append(TakeOnRange(take.id, clip.angle_id, numbers, len(numbers) == len(spans)))
            elif take.verdict is Verdict.DOUBTFUL:
                doubtful.append(take.id)
    return RangeCoverage(
        first=spans[0].number,
        last=spans[-1].number,
        start_s=spans[0].start_s,
        end_s=spans[-1].end_s,
        takes=tuple(takes),
        least=min(bar.depth for bar in bars),
        most=max(bar.depth for bar in bars),
        thin={
            kind: numbers
            for kind in Thin
            if (numbers := tuple(bar.bar.number for bar in bars if bar.thin is kind))
        },
        not_named=tuple(bar.bar.number for bar in bars if bar.not_named),
        doubtful=tuple(doubtful),
    )


def runs(numbers: Sequence[int]) -> tuple[tuple[int, int], ...]:
    """Rising numbers as runs of neighbours, first and last of each.

    >>> runs((3, 4, 5, 9))
    ((3, 5), (9, 9))
    """
    found: list[tuple[int, int]] = []
    for number in numbers:
        if found and number == found[-1][1] + 1:
            found[-1] = (found[-1][0], number)
        else:
            found.append((number, number))
    return tuple(found)
