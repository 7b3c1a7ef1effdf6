"""The sway of a take: how its lag changes along it, where a camera moved or several loudspeakers were heard.

The engine's figures travel with the take's reason, whatever else that says.
"""

from collections.abc import Mapping
from dataclasses import dataclass

SOUND_M_S = 343.0
"""Speed of sound in air of 20 °C (m/s; textbook)."""
LARGEST, TYPICAL = "sway_largest_s", "sway_typical_s"
"""Names of the figures (`audio.placement.reason_codes`)."""


@dataclass(frozen=True, slots=True)
class Sway:
    """How far the lag gets off the take's line."""

    largest_s: float
    """At most."""
    typical_s: float
    """Root mean square."""

    @property
    def largest_m(self) -> float:
        """How far sound travels in that time (m)."""
        return self.largest_s * SOUND_M_S

    @property
    def words(self) -> str:
        """Both in words, the distance after them.

        >>> Sway(0.0068, 0.0031).words
        'up to 6.8 ms off its line (2.3 m of sound), typically 3.1 ms'
        """
        return (
            f"up to {self.largest_s * 1000:.1f} ms off its line ({self.largest_m:.1f} m of sound), "
            f"typically {self.typical_s * 1000:.1f} ms"
        )


def sway_in(figures: Mapping[str, float | str]) -> Sway | None:
    """The sway among the figures of a reason; None where there is none."""
    if LARGEST not in figures:
        return None
    return Sway(float(figures[LARGEST]), float(figures.get(TYPICAL, 0.0)))
