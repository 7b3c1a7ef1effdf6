"""The measures of the score, all derived from the height of a line of text and the size of two things."""

from dataclasses import dataclass

SLIM_ROOM = 5.0
"""The sub-staves of an angle share so many lines of text, as long as they can be seen."""

LEGIBLE = 8.5
"""Pixels from stave to stave that leave room for a name one can read."""
STRETCHED = 2.5
"""Bars of a short line are so many times as wide as those of the fullest one at the most: only a line with
less than two fifths of its bars leaves paper at its right."""
MANY_NEEDS = 8
"""Rows of more subjects are lower in a small score."""
ROOMY = 1.5
"""Sections share a line where bars are so many times as wide as the narrowest: on wide paper."""


@dataclass(frozen=True, slots=True)
class Metrics:
    """How large everything is. Lengths are logical pixels."""

    em: float
    """Height of a line of text."""
    width: float = 0.0
    """Width of the score: on wide paper pictures are larger."""
    bar: float = 0.0
    """A line is broken before bars get narrower; 0 for the usual width."""
    take: float = 0.0
    """Height of a take; 0 for the usual height."""
    name: float = 0.0
    """Width of the widest angle name."""
    counted: bool = True
    """The song has bars, which have numbers."""
    needs: int = 0
    """Subjects that the plan asks for, each with a row above the staves."""
    sung: bool = False
    """The song has lyrics, which have a row above the staves."""
    cut: bool = False
    """The first pass has a row above the staves."""
    flows: bool = False
    """Sections stand beside each other where there is room, to see much at once."""

    @property
    def margin(self) -> float:
        """Paper left free around the score."""
        return round(self.em * 0.8)

    @property
    def names(self) -> bool:
        """Staves are high enough for the names of angles."""
        return self.picture + self.gap >= LEGIBLE

    @property
    def name_size(self) -> float:
        """Size of the names, in parts of that of usual text: low staves have smaller ones."""
        return round(min(1.0, (self.picture + self.gap) / (0.9 * self.em)), 2)

    @property
    def label(self) -> float:
        """Width of the column of angle names."""
        if not self.names:
            return round(self.em * 1.4)
        wanted = self.name * self.name_size + self.em if self.name else 8 * self.em
        return round(min(max(wanted, 5.5 * self.em), max(0.2 * self.width, 8 * self.em), 14 * self.em))

    @property
    def heading(self) -> float:
        """Height of the row with letter, name and margin words."""
        return round(self.em * (1.5 if self.flows else 2.1))

    @property
    def figures(self) -> bool:
        """Bars are wide enough for depth figures."""
        return self.narrowest_bar >= 1.25 * self.em

    @property
    def numbered(self) -> bool:
        """Bars are counted, and wide enough for their numbers."""
        return self.counted and self.narrowest_bar >= 1.9 * self.em

    @property
    def numbers(self) -> float:
        """Height of the row of bar numbers."""
        return round(self.em * 0.95) if self.numbered else 0.0

    @property
    def depths(self) -> float:
        """Height of the row of bar numbers and the row of depth figures below it."""
        return self.numbers + round(self.em * (1.2 if self.flows else 1.5))

    @property
    def need(self) -> float:
        """Height of the row of a subject that the plan asks for; in a small score shapes without words."""
        if self.flows:
            return 5.0 if self.needs <= MANY_NEEDS else 3.0
        return round(self.em * 0.95)

    @property
    def after_needs(self) -> float:
        """Paper between these rows and the staves, where there are any."""
        return 2.0 if self.flows else round(self.em * 0.4)

    @property
    def lyrics(self) -> float:
        """Height of the row of lyrics; a small score has none."""
        return round(self.em * 0.95) if self.sung and not self.flows else 0.0

    @property
    def rows_high(self) -> float:
        """Height of the rows of lyrics, of the needs and of the first pass, where a line has all of them."""
        needs = self.needs * self.need + self.after_needs if self.needs else 0.0
        return self.lyrics + needs + (self.shots + self.after_shots if self.cut else 0.0)

    @property
    def shots(self) -> float:
        """Height of the row of the first pass; in a small score it has no words."""
        return 8.0 if self.flows else round(self.em * 1.5)

    @property
    def after_shots(self) -> float:
        """Paper between that row and the staves."""
        return 3.0 if self.flows else round(self.em * 0.5)

    @property
    def picture(self) -> float:
        """Height of a take that carries pictures."""
        return self.take or self.usual_take

    @property
    def usual_take(self) -> float:
        """Height of a take at the usual size."""
        return round(self.em * min(max(2.3 + (self.width / self.em - 70) / 60, 2.3), 3.6))

    @property
    def silent(self) -> float:
        """Height of a stave that has nothing in the whole line."""
        return min(round(self.em * 1.35), self.picture)

    @property
    def gap(self) -> float:
        """Paper between staves."""
        return min(round(self.em * 0.6), max(1.0, round(self.picture * 0.25)))

    @property
    def after(self) -> float:
        """Paper after a system."""
        return round(self.em * (0.7 if self.flows else 1.6))

    @property
    def beside(self) -> float:
        """Paper between sections on one line."""
        return round(self.em * 0.7)

    @property
    def narrowest_bar(self) -> float:
        """A line is broken before bars get narrower."""
        return self.bar or self.usual_bar

    @property
    def usual_bar(self) -> float:
        """The narrowest bar at the usual size."""
        return round(self.em * 3.4)

    def widest_bar(self, room: float, fullest: int) -> float:
        """Bars are not stretched beyond this where lines are so wide and hold so many bars at the most.

        A short section stays short.
        """
        if self.flows:
            return self.narrowest_bar * 2
        return max(min(round(self.em * 20.0), STRETCHED * room / fullest), self.narrowest_bar)

    def slim(self, further: int) -> float:
        """Height of each of so many further takes lying over the same bars of the same angle."""
        if self.picture < 1.6 * self.em:
            return max(1.0, self.picture * 0.5)
        return max(0.45 * self.em, min(1.25 * self.em, SLIM_ROOM * self.em / max(further, 1)))

    def lead(self, sound_only: bool) -> float:
        """Height of the uppermost take of a stave; without pictures two lines of text will do."""
        return min(self.picture, round(self.em * 1.95)) if sound_only else self.picture

    def stave(self, rows: int, sound_only: bool = False) -> float:
        """Height of a stave whose takes lie in so many rows."""
        return self.lead(sound_only) + (rows - 1) * self.slim(rows - 1)
