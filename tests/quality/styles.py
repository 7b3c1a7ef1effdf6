"""Every style of song by name, and those nobody tunes the engine on."""

from collections.abc import Callable

from tests.quality.compositions import ballad, choir, loops, pop, rock, rubato, wall, waltz
from tests.quality.instruments import Wave
from tests.quality.odd_songs import duo, hush, pause, suite
from tests.quality.studio import Studio

STYLES: dict[str, Callable[[Studio], Wave]] = {
    "rock": rock, "pop": pop, "loops": loops, "ballad": ballad, "waltz": waltz, "choir": choir,
    "rubato": rubato, "wall": wall, "hush": hush, "pause": pause, "duo": duo, "suite": suite,
}  # fmt: skip
"""In the order in which a run takes them."""
APART = ("pop", "waltz", "pause", "duo")
