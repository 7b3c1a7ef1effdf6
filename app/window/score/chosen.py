"""What the person is at in the score: a bar, a range of bars, an angle."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Chosen:
    """The bar and angle the person is at."""

    bar: int | None = None
    angle_id: str | None = None
    anchor: int | None = None
    """The other end of a range of bars; None where one bar is chosen."""
    take_id: str | None = None
    """The take that was pointed at among those of the angle; holds wherever it runs."""

    @property
    def span(self) -> tuple[int, int] | None:
        """First and last bar of the range; None where one bar or none is chosen."""
        if self.bar is None or self.anchor is None or self.anchor == self.bar:
            return None
        return min(self.bar, self.anchor), max(self.bar, self.anchor)
