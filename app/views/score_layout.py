"""Where everything of the score lies: systems, bars, staves and takes as plain figures, without painting.

A section is a system; a long section takes several lines. Within a line time runs evenly, so a take begins
where it begins, not at the nearest bar line. All lengths are logical pixels.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from app.model.coverage import BarCoverage, SectionCoverage, ThinPlace, counted_clips
from app.model.shoot import Angle, Clip, Section, Shoot, Take, Verdict

HAIR = 0.1
"""Part of a bar: less than this of a take leaves the bar a rest."""


@dataclass(frozen=True, slots=True)
class Metrics:
    """The measures of the score, derived from the height of a line of text."""

    em: float
    width: float = 0.0
    """Width of the score: on wide paper pictures are larger."""

    @property
    def margin(self) -> float:
        """Paper left free around the score."""
        return round(self.em * 0.8)

    @property
    def label(self) -> float:
        """Width of the column of angle names."""
        return round(min(max(0.16 * self.width, 4.5 * self.em), 8 * self.em) if self.width else 8 * self.em)

    @property
    def heading(self) -> float:
        """Height of the row with letter, name and margin words."""
        return round(self.em * 2.1)

    @property
    def depths(self) -> float:
        """Height of the row of bar numbers and depth figures."""
        return round(self.em * 1.6)

    @property
    def picture(self) -> float:
        """Height of a picture on a stave."""
        return round(self.em * min(max(2.3 + (self.width / self.em - 70) / 60, 2.3), 3.6))

    @property
    def silent(self) -> float:
        """Height of a stave that has nothing in the whole line."""
        return round(self.em * 1.35)

    @property
    def second(self) -> float:
        """Height of a further take lying over the same bars of the same angle."""
        return round(self.em * 1.25)

    @property
    def gap(self) -> float:
        """Paper between staves."""
        return round(self.em * 0.6)

    @property
    def after(self) -> float:
        """Paper after a system."""
        return round(self.em * 1.6)

    @property
    def narrowest_bar(self) -> float:
        """A line is broken before bars get narrower."""
        return round(self.em * 3.4)

    @property
    def widest_bar(self) -> float:
        """Bars are not stretched beyond this."""
        return round(self.em * 14.0)


@dataclass(frozen=True, slots=True)
class BarBox:
    """One bar on a line."""

    coverage: BarCoverage
    x0: float
    x1: float
    thin: bool


@dataclass(frozen=True, slots=True)
class TakeBox:
    """A take, as far as it runs through one line."""

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

    @property
    def doubtful(self) -> bool:
        """Not counted; drawn dashed."""
        return self.take.verdict is Verdict.DOUBTFUL


@dataclass(frozen=True, slots=True)
class Stave:
    """One angle on one line."""

    angle: Angle
    order: int
    """Index of the angle among the shoot's angles: picks its colour."""
    y: float
    height: float
    takes: tuple[TakeBox, ...]
    rests: tuple[tuple[float, float], ...]
    """Bars (left, right) in which the angle has nothing."""


@dataclass(frozen=True, slots=True)
class System:
    """One line of a section."""

    section: Section
    first: bool
    """The first line of its section, with its heading in full."""
    top: float
    bottom: float
    x0: float
    x1: float
    start_s: float
    end_s: float
    bars: tuple[BarBox, ...]
    staves: tuple[Stave, ...]
    thin: tuple[ThinPlace, ...]

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


@dataclass(frozen=True, slots=True)
class ScoreLayout:
    """The whole score at one width."""

    systems: tuple[System, ...] = ()
    height: float = 0.0

    def visible(self, top: float, bottom: float) -> Sequence[System]:
        """The systems of which something lies between two heights."""
        return [s for s in self.systems if s.bottom > top and s.top < bottom]

    def find_bar(self, number: int) -> tuple[System, BarBox] | None:
        """The line and box of a bar."""
        for system in self.systems:
            for bar in system.bars:
                if bar.coverage.bar.number == number:
                    return system, bar
        return None

    def hit(self, x: float, y: float) -> Hit | None:
        """What lies under a point; None between systems and beyond them."""
        for system in self.systems:
            if system.top <= y < system.bottom:
                bar = next((b for b in system.bars if b.x0 <= x < b.x1), None)
                stave = next((s for s in system.staves if s.y <= y < s.y + s.height), None)
                boxes = reversed(stave.takes) if stave else ()
                take = next((t for t in boxes if t.x0 <= x < t.x1 and t.y <= y < t.y + t.height), None)
                return Hit(system, bar, stave, take)
        return None


def lay_out(
    shoot: Shoot, sections: Sequence[SectionCoverage], width: float, metrics: Metrics, *, silent: bool = True
) -> ScoreLayout:
    """Lay the score out for a width; ``silent`` keeps the staves that have nothing in their whole section."""
    clips_of: dict[str, list[Clip]] = {}
    for clip in counted_clips(shoot):
        if clip.takes:  # an angle without any take has no stave
            clips_of.setdefault(clip.angle_id, []).append(clip)
    angles = [(n, angle) for n, angle in enumerate(shoot.angles) if angle.id in clips_of]
    angles.sort(key=lambda numbered: numbered[1].safety)
    left = metrics.margin + metrics.label
    room = max(width - left - metrics.margin, metrics.narrowest_bar)
    # Without bars a section is one span and takes the whole width.
    counted = shoot.song is not None and bool(shoot.song.map.bars_s)
    systems: list[System] = []
    y = metrics.margin
    for section in sections:
        for first, bars in _lines(section.bars, room, metrics):
            place = (left, room, y)
            system = _system(section, first, bars, angles, clips_of, place, metrics, silent, counted)
            systems.append(system)
            y = system.bottom + metrics.after
    return ScoreLayout(tuple(systems), y)


def _lines(
    bars: Sequence[BarCoverage], room: float, metrics: Metrics
) -> list[tuple[bool, Sequence[BarCoverage]]]:
    """Break a section's bars into lines as even as can be, of a multiple of four bars where that fits."""
    if not bars:
        return []
    most = max(1, int(room // metrics.narrowest_bar))
    lines = ceil(len(bars) / most)
    each = ceil(len(bars) / lines)
    if lines > 1 and most >= 4:
        while ceil(each / 4) * 4 > most:
            lines += 1
            each = ceil(len(bars) / lines)
        each = ceil(each / 4) * 4
    return [(n == 0, bars[n : n + each]) for n in range(0, len(bars), each)]


def _system(
    section: SectionCoverage,
    first: bool,
    bars: Sequence[BarCoverage],
    angles: Sequence[tuple[int, Angle]],
    clips_of: dict[str, list[Clip]],
    place: tuple[float, float, float],
    metrics: Metrics,
    silent: bool,
    counted: bool,
) -> System:
    left, room, top = place
    start_s, end_s = bars[0].bar.start_s, bars[-1].bar.end_s
    right = left + (min(room, len(bars) * metrics.widest_bar) if counted else room)
    per_s = (right - left) / (end_s - start_s)
    thin = tuple(
        t for t in section.thin if bars[0].bar.number <= t.last_bar and t.first_bar <= bars[-1].bar.number
    )
    boxes = tuple(
        BarBox(
            bar,
            left + (bar.bar.start_s - start_s) * per_s,
            left + (bar.bar.end_s - start_s) * per_s,
            any(t.first_bar <= bar.bar.number <= t.last_bar for t in thin),
        )
        for bar in bars
    )
    y = top + metrics.heading + metrics.depths
    staves: list[Stave] = []
    for order, angle in angles:
        here = [
            (clip, take)
            for clip in clips_of[angle.id]
            for take in clip.takes
            if _shown(take, (start_s, end_s)) > HAIR * (end_s - start_s) / len(bars)
        ]
        if not here and not silent:
            continue
        if angle.safety and staves and not staves[-1].angle.safety:
            y += metrics.gap  # room for the double line
        stave = _stave(angle, order, here, boxes, (left, per_s, y), (start_s, end_s), metrics)
        staves.append(stave)
        y += stave.height + metrics.gap
    bottom = y if not staves else staves[-1].y + staves[-1].height
    return System(
        section.section, first, top, bottom, left, right, start_s, end_s, boxes, tuple(staves), thin
    )


def _stave(
    angle: Angle,
    order: int,
    here: Sequence[tuple[Clip, Take]],
    bars: Sequence[BarBox],
    place: tuple[float, float, float],
    span: tuple[float, float],
    metrics: Metrics,
) -> Stave:
    left, per_s, top = place
    if not here:
        return Stave(angle, order, top, metrics.silent, (), tuple((b.x0, b.x1) for b in bars))
    # The longest takes come first and get the pictures; what overlaps them is put on slim rows below.
    rows: list[list[Take]] = []
    row_of: dict[str, int] = {}
    for _, take in sorted(here, key=lambda ct: (ct[1].verdict is Verdict.DOUBTFUL, -_shown(ct[1], span))):
        row = next((n for n, row in enumerate(rows) if not any(_meet(take, t) for t in row)), len(rows))
        if row == len(rows):
            rows.append([])
        rows[row].append(take)
        row_of[take.id] = row
    boxes = []
    for clip, take in here:
        row = row_of[take.id]
        y = top + (metrics.picture + (row - 1) * metrics.second + 2 if row else 0)
        boxes.append(
            TakeBox(
                clip,
                take,
                left + (max(take.song_start_s, span[0]) - span[0]) * per_s,
                left + (min(take.song_end_s, span[1]) - span[0]) * per_s,
                y,
                metrics.second - 2 if row else metrics.picture,
                take.song_start_s >= span[0],
                take.song_end_s <= span[1],
                row > 0,
            )
        )
    height = metrics.picture + (len(rows) - 1) * metrics.second + (2 if len(rows) > 1 else 0)
    rests = tuple((b.x0, b.x1) for b in bars if not any(_in_bar(t, b) for t in boxes))
    return Stave(angle, order, top, height, tuple(boxes), rests)


def _in_bar(take: TakeBox, bar: BarBox) -> bool:
    """Whether more of a take lies in a bar than a hair's breadth at its edge."""
    return min(take.x1, bar.x1) - max(take.x0, bar.x0) > HAIR * (bar.x1 - bar.x0)


def _shown(take: Take, span: tuple[float, float]) -> float:
    return min(take.song_end_s, span[1]) - max(take.song_start_s, span[0])


def _meet(one: Take, other: Take) -> bool:
    return one.song_start_s < other.song_end_s and other.song_start_s < one.song_end_s


def system_index(layout: ScoreLayout, song_s: float) -> int:
    """Index of the line in which a moment of the song lies (the nearest, where none holds it)."""
    starts = [system.start_s for system in layout.systems]
    return max(0, bisect_right(starts, song_s) - 1)
