"""What is done to the angles that are chosen: those of the list where it is open, else that of the score."""

from PySide6.QtCore import QObject, Signal

from app.window.parts.angle_steps import AngleSteps
from app.window.score.angles_panel import AnglesPanel
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.score_side import ScoreSide
from app.window.session import Session


class AngleCommands(QObject):
    """Names, hides, merges, groups and moves them."""

    gone_into = Signal(str)
    """The angle that was chosen has gone into another one, which is to be chosen now."""

    def __init__(
        self,
        session: Session,
        steps: AngleSteps,
        canvas: ScoreCanvas,
        angles: AnglesPanel,
        side: ScoreSide,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._steps = session, steps
        self._canvas, self._angles, self._side = canvas, angles, side

    @property
    def is_safety(self) -> bool:
        """Whether the first of them is kept as safety."""
        return any(self._session.view.angle(one).safety for one in self._chosen()[:1])

    @property
    def some_hidden(self) -> bool:
        """Whether any angle of the shoot is hidden."""
        return any(angle.hidden for angle in self._session.view.angles)

    def rename(self) -> None:
        """Ask for another name."""
        for angle_id in self._chosen()[:1]:
            self._tell_left(angle_id, self._steps.ask_name(angle_id))

    def take_name(self, angle_id: str, name: str) -> None:
        """Give an angle a name that was typed; it may go into another one of that name."""
        self._tell_left(angle_id, self._steps.rename(angle_id, name))

    def toggle_safety(self) -> None:
        """Keep as safety, or no longer."""
        for angle_id in self._chosen()[:1]:
            self._steps.set_safety(angle_id, not self.is_safety)

    def hide(self) -> None:
        """Hide, or show where they are hidden."""
        ids = self._chosen()
        if ids:
            self._steps.hide(ids, not all(self._session.view.angle(one).hidden for one in ids))

    def show_all(self) -> None:
        """Show all hidden angles of the shoot again."""
        self._steps.show_all()

    def merge(self) -> None:
        """Merge them, or the one into another."""
        left = self._steps.merge(self._chosen())
        if left is not None:
            self.gone_into.emit(left)

    def group(self) -> None:
        """Let them stand together."""
        ids = self._chosen()
        if ids:
            self._steps.ask_group(ids)

    def move(self, step: int) -> None:
        """Move the stave up (-1) or down (1)."""
        shown = None if self._side.lists_angles else {part.angle.id for part in self._canvas.parts}
        for angle_id in self._chosen()[:1]:
            self._steps.step(angle_id, step, shown)

    def _chosen(self) -> list[str]:
        ids = {angle.id for angle in self._session.view.angles}
        if self._side.lists_angles and self._angles.selected():
            return [one for one in self._angles.selected() if one in ids]
        chosen = self._canvas.chosen.angle_id
        return [chosen] if chosen in ids and chosen is not None else []

    def _tell_left(self, before: str, left: str) -> None:
        if left != before:
            self.gone_into.emit(left)
