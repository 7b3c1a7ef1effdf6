"""The table of what can be done in Check with the reference take."""

from collections.abc import Sequence

from app.window.check.check_commands import CheckCommands
from app.window.check.compare_steps import CompareSteps
from app.window.parts.actions import Action, Line
from app.window.playing.watch_slot import PICTURES

COMPARE_BUTTONS = ("reference", "compare")
"""Those with a button on the page on which takes are compared."""


def compare_actions(do: CheckCommands, steps: CompareSteps) -> Sequence[Line]:
    """How a take is compared with the reference, and which take that is."""
    return (
        Line(
            "compare the take with the reference, or show the proof again",
            Action(
                lambda: "Back to Proof" if do.comparing else "Compare",
                "C",
                lambda: (
                    "Show song and take again"
                    if do.comparing
                    else "Exposure and colour beside the reference, before and after the match"
                ),
                do.toggle_comparing,
                name="compare",
                menu=PICTURES,
                enabled=lambda: do.comparing or not do.pinning,
            ),
        ),
        Line(
            "use the take as the reference, or have none",
            Action(
                lambda: "No Reference" if steps.is_reference else "Use as Reference",
                "Shift+C",
                lambda: (
                    "Compare takes with none"
                    if steps.is_reference
                    else "Compare all other takes with this one"
                ),
                steps.toggle_reference,
                name="reference",
                menu=PICTURES,
                enabled=lambda: steps.can_be_reference,
                repeats=False,
            ),
        ),
    )
