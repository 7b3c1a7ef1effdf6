"""What a laid-out score consists of: lines, bars, staves and takes as plain figures (logical pixels)."""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from app.model.coverage.coverage import BarCoverage, ThinPlace
from app.model.coverage.need_bars import SubjectBars
from app.model.coverage.needs import NeedState
from app.model.coverage.thinness import NOT_NAMED
from app.model.document.angle import Angle
from app.model.document.marks import Mark
from app.model.document.song import Section
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, Take

NEAR = 3.0
"""Pixels beside a mark that still mean it."""


@dataclass(frozen=True, slots=True)
class BarBox:
    """One bar on a line; lengths and places in logical pixels."""

    coverage: BarCoverage
    x0: float
    x1: float
    thin: bool


@dataclass(frozen=True, slots=True)
class MarkBox:
    """A fault or keeper, as far as it runs through one take on one line; places in logical pixels."""

    mark: Mark
    x0: float
    x1: float
    begins: bool


@dataclass(frozen=True, slots=True)
class NeedRun:
    """Neighbouring bars in which a subject stands alike; left and right in logical pixels."""

    state: NeedState
    x0: float
    x1: float


@dataclass(frozen=True, slots=True)
class NeedRow:
    """Where the row of a subject lies on a line (logical pixels)."""

    bars: SubjectBars
    y: float
    height: float


@dataclass(frozen=True, slots=True)
class TakeBox:
    """A take, as far as it runs through one line; lengths and places in logical pixels."""

    clip: Clip
    take: Take
    x0: float
    x1: float
    y: float
    height: float
    begins: bool
    ends: bool
    slim: bool
    """Lies over another take of the same angle: drawn low, without pictures."""
    marks: tuple[MarkBox, ...] = ()
    """Its faults and keepers here, none that were dismissed."""

    @property
    def doubtful(self) -> bool:
        """Not counted; drawn dashed."""
        return self.take.verdict is Verdict.DOUBTFUL


@dataclass(frozen=True, slots=True)
class Stave:
    """One angle on one line; lengths and places in logical pixels."""

    angle: Angle
    y: float
    height: float
    takes: tuple[TakeBox, ...]
    rests: tuple[tuple[float, float], ...]
    """Bars (left, right; pixels) in which the angle has nothing."""
    sound_only: bool = False
    """Nothing of the angle has a picture: it is heard, and does not count."""


@dataclass(frozen=True)
class System:
    """One line of a section, or as much of it as stands there; places in logical pixels."""

    section: Section
    first: bool
    """The first line of its section, with its heading in full."""
    leads: bool
    """The leftmost on its line: angle names stand before it."""
    top: float
    bottom: float
    x0: float
    x1: float
    start_s: float
    end_s: float
    bars: tuple[BarBox, ...]
    thin: tuple[ThinPlace, ...]
    not_named: bool
    """Bars of it could be thin, but their angles are not named yet."""
    missing: tuple[str, ...]
    """What the plan asks for and nothing shows here, in a few words each."""
    need_rows: tuple[NeedRow, ...]
    """Rows of the subjects that the plan asks for on this line."""
    shots_y: float | None
    """Top of the row of the first pass; None where it is not shown."""
    lyrics: tuple[tuple[float, str], ...]
    """Lines of the lyrics, each with the place of the bar in which it begins."""
    bottom_of_shots: float
    """Bottom of that row."""
    make_staves: Callable[["System"], tuple[Stave, ...]] = field(compare=False, repr=False)

    @cached_property
    def staves(self) -> tuple[Stave, ...]:
        """The angles' staves; laid out when they are first asked for, most never come into view."""
        return self.make_staves(self)

    @property
    def remarks(self) -> list[str]:
        """What there is to say of it, in a few words each."""
        thin = [place.words for place in self.thin]
        return [*thin, *([NOT_NAMED] if self.not_named else []), *self.missing]

    def need_runs(self, row: NeedRow) -> list[NeedRun]:
        """The runs of a row of needs, from left to right."""
        found: list[NeedRun] = []
        for box in self.bars:
            state = row.bars.states.get(box.coverage.bar.number)
            if state is None:
                continue
            if found and found[-1].state is state and found[-1].x1 == box.x0:
                found[-1] = NeedRun(state, found[-1].x0, box.x1)
            else:
                found.append(NeedRun(state, box.x0, box.x1))
        return found

    def x(self, song_s: float) -> float:
        """Where a moment of the song lies on this line."""
        return self.x0 + (song_s - self.start_s) * (self.x1 - self.x0) / (self.end_s - self.start_s)

    def song_s(self, x: float) -> float:
        """The moment of the song at that place of the line."""
        return self.start_s + (x - self.x0) * (self.end_s - self.start_s) / (self.x1 - self.x0)


@dataclass(frozen=True, slots=True)
class Hit:
    """What lies under a point of the score."""

    system: System
    bar: BarBox | None
    stave: Stave | None
    take: TakeBox | None
    mark: Mark | None = None
    need: NeedRow | None = None
    shots: bool = False
    """It is the row of the first pass."""


@dataclass(frozen=True, slots=True)
class ScoreLayout:
    """The whole score at one size, in logical pixels. Systems stand in the order of the song; those on a line
    share top and bottom."""

    systems: tuple[System, ...] = ()
    height: float = 0.0
    places: dict[int, tuple[System, BarBox]] = field(default_factory=dict)
    """Line and box of each bar by its number."""

    def visible(self, top: float, bottom: float) -> Sequence[System]:
        """The systems of which something lies between two heights."""
        first = bisect_right(self.systems, top, key=lambda system: system.bottom)
        last = bisect_left(self.systems, bottom, key=lambda system: system.top)
        return self.systems[first:last]

    def find_bar(self, number: int) -> tuple[System, BarBox] | None:
        """The line and box of a bar."""
        return self.places.get(number)

    def at(self, song_s: float) -> System | None:
        """The line in which a moment of the song lies (the nearest, where none holds it)."""
        if not self.systems:
            return None
        return self.systems[max(0, bisect_right(self.systems, song_s, key=lambda s: s.start_s) - 1)]

    def hit(self, x: float, y: float) -> Hit | None:
        """What lies under a point; None between lines and beyond them."""
        line = [s for s in self.visible(y, y + 1) if s.top <= y < s.bottom]
        if not line:
            return None
        # Names stand before the leftmost; the paper between two belongs to the left one.
        system = next((s for s in reversed(line) if x >= s.x0), line[0])
        bar = next((b for b in system.bars if b.x0 <= x < b.x1), None)
        stave = next((s for s in system.staves if s.y <= y < s.y + s.height), None)
        boxes = reversed(stave.takes) if stave else ()
        take = next((t for t in boxes if t.x0 <= x < t.x1 and t.y <= y < t.y + t.height), None)
        # The shortest one lies on top; a mark of a hair's breadth can still be hit.
        marks = [m for m in take.marks if m.x0 - NEAR <= x < max(m.x1, m.x0) + NEAR] if take else []
        mark = min(marks, key=lambda m: m.x1 - m.x0).mark if marks else None
        need = next((row for row in system.need_rows if row.y <= y < row.y + row.height), None)
        shots = system.shots_y is not None and system.shots_y <= y < system.bottom_of_shots
        return Hit(system, bar, stave, take, mark, need, shots)

    def nearest_bar(self, x: float, y: float) -> BarBox | None:
        """The bar nearest to a point, on the line nearest to it."""
        if not self.systems:
            return None
        line = min(self.systems, key=lambda s: max(s.top - y, y - s.bottom, 0.0)).top
        bars = [bar for s in self.systems if s.top == line for bar in s.bars]
        return min(bars, key=lambda b: max(b.x0 - x, x - b.x1, 0.0))
