"""The first pass as the score shows it: its shots, what is locked, and what could not be satisfied."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from app.model.coverage.passages import bars_words
from app.model.document.angle import Angle
from app.model.first_pass.fixed_bars import FixedBars, fixed_bars, is_met
from app.model.first_pass.result import FirstPass, Shot, Unsatisfied
from app.model.on_song import SongView


@dataclass(frozen=True, slots=True)
class CutShown:
    """A first pass with the names and colours of its angles; ``words`` where there is none."""

    cut: FirstPass | None = None
    angles: Mapping[str, Angle] = field(default_factory=dict)
    fixed: tuple[tuple[FixedBars, bool], ...] = ()
    """What is locked, and whether the first pass keeps it."""
    words: str = ""

    def name(self, angle_id: str) -> str:
        """What an angle is called."""
        angle = self.angles.get(angle_id)
        return "no angle" if angle is None else angle.name

    def locked(self, shot: Shot) -> bool:
        """Whether some of the bars of a shot are locked to its angle."""
        return any(
            one.lock.angle_id == shot.angle_id
            and one.first_bar <= shot.last_bar
            and shot.first_bar <= one.last_bar
            for one, _ in self.fixed
        )

    def troubles(self, first_bar: int, last_bar: int) -> tuple[Unsatisfied, ...]:
        """What could not be satisfied in these bars."""
        found = () if self.cut is None else self.cut.unsatisfied
        return tuple(one for one in found if one.first_bar <= last_bar and first_bar <= one.last_bar)

    def told(self, shot: Shot) -> str:
        """A shot in a line: what, where, and why."""
        lock = "locked, " if self.locked(shot) else ""
        place = bars_words(shot.first_bar, shot.last_bar)
        return f"First pass: {self.name(shot.angle_id)} ({lock}{place}) · {shot.reason}"


NO_CUT = CutShown()


def cut_shown(view: SongView, cut: FirstPass | None, words: str) -> CutShown:
    """How the score shows a first pass of a shoot."""
    angles = {angle.id: angle for angle in view.angles}
    if cut is None:
        return CutShown(angles=angles, words=words)
    return CutShown(cut, angles, tuple((one, is_met(one, cut)) for one in fixed_bars(view)), words)
