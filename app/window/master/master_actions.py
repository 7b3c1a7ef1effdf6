"""What can be done where the song is replaced by its next master."""

from collections.abc import Sequence
from functools import partial
from typing import Protocol

from app.window.parts.actions import Action, Line

NUDGES = ("10 ms earlier", "1 ms earlier", "1 ms later", "10 ms later", "snap")
EDITING = ("add", "remove", "as found")


class Steps(Protocol):
    """What is done."""

    @property
    def some(self) -> bool:
        """Whether a piece is chosen."""
        ...

    @property
    def ready(self) -> bool:
        """Whether the song can be replaced now."""
        ...

    @property
    def corrected(self) -> bool:
        """Whether the pieces are others than those found."""
        ...

    def nudge(self, by_s: float) -> None: ...

    def snap(self) -> None: ...

    def add(self) -> None: ...

    def remove(self) -> None: ...

    def as_found(self) -> None: ...

    def replace(self) -> None: ...

    def cancel(self) -> None: ...


def master_actions(steps: Steps) -> Sequence[Line]:
    """The table of the window."""

    def some() -> bool:
        return steps.some

    def nudge(text: str, key: str, by_s: float) -> Action:
        name = text.replace("−", "").replace("+", "")
        way = "earlier" if by_s < 0 else "later"
        tip = f"Move the piece {name} {way} in the new master"
        return Action(text, key, tip, partial(steps.nudge, by_s), name=f"{name} {way}", enabled=some)

    return (
        Line(
            "move the piece by 1 or 10 ms",
            nudge("−10 ms", "Alt+Shift+Left", -0.010),
            nudge("−1 ms", "Alt+Left", -0.001),
            nudge("+1 ms", "Alt+Right", 0.001),
            nudge("+10 ms", "Alt+Shift+Right", 0.010),
        ),
        Line(
            "",
            Action(
                "Snap to Best Fit",
                "Alt+Return",
                "Move the piece to where both masters agree best, within half a second",
                steps.snap,
                name="snap",
                enabled=some,
            ),
            Action(
                "Add Piece…",
                "Alt+Insert",
                "Say where a stretch of the old master runs in the new one",
                steps.add,
                name="add",
            ),
            Action(
                "Remove Piece",
                "Alt+Delete",
                "Say that this stretch of the old master is not in the new one",
                steps.remove,
                name="remove",
                enabled=some,
            ),
            Action(
                "As Found",
                "Alt+Backspace",
                "Drop your corrections: the pieces as they were found",
                steps.as_found,
                name="as found",
                enabled=lambda: steps.corrected,
            ),
            Action("Cancel", "Escape", "Keep the song that is there", steps.cancel, name="cancel"),
            Action(
                "Replace",
                "Ctrl+Return",
                "Put the new master in the place of the song; takes, map and plan go along",
                steps.replace,
                name="replace",
                enabled=lambda: steps.ready,
            ),
        ),
    )
