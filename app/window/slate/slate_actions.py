"""The table of what can be done on the slate page."""

from collections.abc import Sequence
from functools import partial
from typing import Protocol

from app.window.parts.actions import Action, Line


class SlateCommands(Protocol):
    """What the page does."""

    def toggle(self) -> None: ...

    def start_by_hand(self) -> None: ...

    def next_take(self, step: int) -> None: ...

    def next_section(self, step: int) -> None: ...

    def next_file(self, step: int) -> None: ...

    def next_rate(self) -> None: ...

    def turn(self, decibels: float) -> None: ...

    def end(self) -> None: ...


STEP_DB = 2.0


def slate_actions(do: SlateCommands) -> Sequence[Line]:
    """The keys; the page lists them at its foot while nothing plays."""
    return (
        Line(
            "",
            Action("Start or Stop", "Space", "Play for this take, or stop", do.toggle, repeats=False),
            Action(
                "Start by Hand",
                ("Return", "Enter"),
                "The song starts on another device just now: run along with it",
                do.start_by_hand,
                repeats=False,
            ),
            Action("Next Take", "N", "Count the take", partial(do.next_take, 1), repeats=False),
            Action(
                "Previous Take", "Shift+N", "Count down by one take", partial(do.next_take, -1), repeats=False
            ),
            Action("Next Section", "Right", "Begin with the next section", partial(do.next_section, 1)),
            Action("Previous Section", "Left", "Begin with the section before", partial(do.next_section, -1)),
            Action("Next File", "Down", "Play the next playback file", partial(do.next_file, 1)),
            Action("Previous File", "Up", "Play the file before", partial(do.next_file, -1)),
            Action(
                "Frame Rate",
                "F",
                "Change the timeline's frame rate, from which that of the cameras follows",
                do.next_rate,
            ),
            Action("Louder", "Ctrl+Up", "Turn playback up", partial(do.turn, STEP_DB)),
            Action("Softer", "Ctrl+Down", "Turn playback down", partial(do.turn, -STEP_DB)),
            Action("End", "Escape", "Stop and leave the slate", do.end, repeats=False),
        ),
    )
