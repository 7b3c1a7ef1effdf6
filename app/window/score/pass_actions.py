"""The table of what can be done in Score with the first pass."""

from collections.abc import Callable, Sequence

from app.window.parts.actions import Action, Line
from app.window.score.pass_steps import PassSteps

PASS = "&First Pass"


def pass_actions(steps: PassSteps, open_rules: Callable[[], None]) -> Sequence[Line]:
    """How the first pass is shown, watched and changed."""
    return (
        Line(
            "show or hide the first pass",
            Action(
                "First Pass",
                "P",
                "Show a first cut of the whole song above the score, made by rules",
                steps.toggle,
                name="first pass",
                menu=PASS,
                checked=lambda: steps.on,
                repeats=False,
            ),
        ),
        Line(
            "watch the first pass, or the chosen angle",
            Action(
                "Watch First Pass",
                "Shift+P",
                "Play the first pass with the song, or the chosen angle again",
                steps.toggle_watched,
                menu=PASS,
                checked=lambda: steps.watched and steps.on,
                repeats=False,
            ),
        ),
        Line(
            "lock the bars to this angle; while the first pass is watched, to what it shows",
            Action(
                lambda: "Lock Shots" if steps.watched else "Lock Bars to Angle",
                "B",
                lambda: (
                    "Keep what the first pass shows in the selected bars"
                    if steps.watched
                    else "The first pass shows the chosen angle in the selected bars, whatever its rules say"
                ),
                steps.lock,
                menu=PASS,
                repeats=False,
            ),
        ),
        Line(
            "remove the lock",
            Action(
                "Unlock Bars",
                "Shift+B",
                "Remove the locks of the selected bars; the rules choose again",
                steps.unlock,
                menu=PASS,
                enabled=lambda: steps.can_unlock,
                repeats=False,
            ),
        ),
        Line(
            "swap this shot for the next best take, one after the other",
            Action(
                "Swap Shot",
                "Q",
                "Lock the bars of this shot to the next best take that can be used there, and on to the next",
                steps.swap,
                menu=PASS,
                enabled=lambda: steps.shot is not None,
                repeats=False,
            ),
        ),
        Line(
            "rules and versions of the first pass",
            Action(
                "First Pass Rules…",
                "Ctrl+Shift+P",
                "Set the rules of the first pass, and keep versions of it",
                open_rules,
                name="rules",
                menu=PASS,
            ),
        ),
    )
