"""The table of what can be done in Check with the reference take."""

from collections.abc import Sequence

from app.window.check.check_commands import CheckCommands
from app.window.check.compare_steps import CompareSteps
from app.window.check.match_choices import FIGURES_KEY, TRANSFER_KEY, MatchChoices
from app.window.check.match_settings import MatchSettings
from app.window.parts.actions import Action, Line
from app.window.playing.watch_slot import PICTURES

COMPARE_BUTTONS = ("reference", "same", "compare")
"""Those with a button on the page on which takes are compared."""


def compare_actions(
    do: CheckCommands, steps: CompareSteps, settings: MatchSettings, choices: MatchChoices
) -> Sequence[Line]:
    """How a take is compared with the reference, which take that is, and what its match hangs on."""

    def can_choose() -> bool:
        return do.comparing and settings.can_be_set

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
        Line(
            "while comparing: the take's transfer function",
            Action(
                "Transfer Function…",
                TRANSFER_KEY,
                "Choose how the camera encoded light in this take",
                choices.transfer.showPopup,
                name="transfer",
                menu=PICTURES,
                enabled=can_choose,
            ),
        ),
        Line(
            "while comparing: which figures the take's match finds",
            Action(
                "Figures of the Match…",
                FIGURES_KEY,
                "Choose whether the match finds power and saturation too",
                choices.figures.showPopup,
                name="figures",
                menu=PICTURES,
                enabled=lambda: can_choose() and not steps.is_reference,
            ),
        ),
        Line(
            "while comparing: the same choices for all takes of the angle",
            Action(
                "Same for Whole Angle",
                "Shift+T",
                "Set transfer function and figures of the match for all takes of this angle as for this one",
                settings.same_for_angle,
                name="same",
                menu=PICTURES,
                enabled=can_choose,
                repeats=False,
            ),
        ),
    )
