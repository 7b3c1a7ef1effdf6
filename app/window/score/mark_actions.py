"""The table of what can be done in Score with marks, the plan, and what is left out of the score."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from app.model.document.marks import FaultReason, MarkKind
from app.window.parts.actions import Action, Line
from app.window.score.mark_steps import KEYS, REASONS, MarkSteps
from app.window.score.proposal_steps import ProposalSteps
from app.window.score.score_actions import SHOW
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.score_filters import ScoreFilters
from app.window.score.score_side import ScoreSide

MARKS, PROPOSED = "&Marks", "Propose&d Faults"
MARKS_BESIDE = 4
"""The first few of these lines are listed beside the score too; first of all where pictures are watched."""
PROPOSAL_BUTTONS = ("accept", "dismiss", "accept all", "dismiss all")
"""Those with a button beside the proposal."""
ALL = "everything"
"""By this the action that ends all filters is asked for."""


def mark_actions(
    marks: MarkSteps,
    proposals: ProposalSteps,
    filters: ScoreFilters,
    canvas: ScoreCanvas,
    side: ScoreSide,
    large_type: Callable[[], None],
) -> Sequence[Line]:
    """How faults and keepers are set and changed, and what the score shows."""
    return (
        Line(
            "a fault begins, and ends, at the moment heard; or all of the chosen range",
            Action(
                "Fault",
                KEYS[MarkKind.FAULT],
                "Begin a fault of this take here, or end it; with a range of bars chosen, mark all of it",
                partial(marks.press, MarkKind.FAULT),
                menu=MARKS,
                repeats=False,
            ),
        ),
        Line(
            "the same for a keeper, a part to use if you can",
            Action(
                "Keeper",
                KEYS[MarkKind.KEEPER],
                "Begin a part of this take to use if you can, or end it; with a range chosen, mark all of it",
                partial(marks.press, MarkKind.KEEPER),
                menu=MARKS,
                repeats=False,
            ),
        ),
        Line(
            "reason for the fault: " + ", ".join(reason.value for reason in REASONS),
            *(
                Action(
                    f"Reason: {reason.value.capitalize()}",
                    str(number),
                    partial(_reason_tip, marks, reason),
                    partial(marks.set_reason, reason),
                    menu=MARKS,
                    enabled=lambda: marks.can_change,
                    repeats=False,
                )
                for number, reason in enumerate(REASONS, 1)
            ),
        ),
        Line(
            "next, previous mark",
            Action("Next Mark", "J", "Go to the next fault or keeper", partial(marks.go, 1), menu=MARKS),
            Action(
                "Previous Mark",
                "Shift+J",
                "Go to the previous fault or keeper",
                partial(marks.go, -1),
                menu=MARKS,
            ),
        ),
        Line("words for the chosen mark", keys=("Return",)),
        Line(
            "remove the chosen mark",
            Action(
                "Remove Mark",
                "Delete",
                lambda: (
                    "Remove the chosen fault or keeper, or dismiss one that is only proposed"
                    if marks.chosen is not None
                    else "Select a fault or a keeper first"
                ),
                marks.remove,
                menu=MARKS,
                enabled=lambda: marks.chosen is not None,
                repeats=False,
            ),
        ),
        Line(
            "next, previous proposed fault",
            Action(
                "Next Proposal",
                "I",
                "Go to the next fault that the pictures propose",
                partial(proposals.go, 1),
                menu=PROPOSED,
            ),
            Action(
                "Previous Proposal",
                "Shift+I",
                "Go to the previous fault that the pictures propose",
                partial(proposals.go, -1),
                menu=PROPOSED,
            ),
        ),
        Line(
            "accept the proposed fault",
            Action(
                "Accept",
                "Ctrl+Return",
                "Make a fault of what is proposed; Enter in the score does the same",
                proposals.accept,
                name="accept",
                menu=PROPOSED,
                enabled=lambda: proposals.chosen is not None,
                repeats=False,
            ),
        ),
        Line(
            "dismiss the proposed fault",
            Action(
                "Dismiss",
                "Ctrl+Delete",
                "Drop what is proposed, for good; Delete does the same",
                proposals.dismiss,
                name="dismiss",
                menu=PROPOSED,
                enabled=lambda: proposals.chosen is not None,
                repeats=False,
            ),
        ),
        Line(
            "accept, dismiss all proposed faults of this kind",
            Action(
                lambda: f"Accept {proposals.all_words}",
                "Ctrl+Shift+Return",
                "Make faults of all that are proposed of this kind, in all clips",
                proposals.accept_all,
                name="accept all",
                menu=PROPOSED,
                enabled=lambda: len(proposals.alike) > 1,
                repeats=False,
            ),
            Action(
                lambda: f"Dismiss {proposals.all_words}",
                "Ctrl+Shift+Delete",
                "Drop all that are proposed of this kind, in all clips",
                proposals.dismiss_all,
                name="dismiss all",
                menu=PROPOSED,
                enabled=lambda: len(proposals.alike) > 1,
                repeats=False,
            ),
        ),
        Line(
            "where to cut away from a fault",
            Action(
                "Where to Cut Away",
                "F",
                "Go to the takes that can be cut to over the chosen fault",
                side.go_to_cut_aways,
                menu=MARKS,
            ),
        ),
        Line(
            "list what is still missing",
            Action(
                "Still Missing",
                "L",
                "List what to shoot so that every need is met",
                side.toggle_missing,
                name="missing",
                menu=SHOW,
                checked=lambda: side.lists_missing,
            ),
        ),
        Line(
            "what is still missing, in large type",
            Action(
                "Large Type",
                "Shift+L",
                "Show what is missing in large type, to be read across the set",
                large_type,
                name="large",
                menu=SHOW,
            ),
        ),
        Line(
            "show or hide the rows of the plan",
            Action(
                "Needs",
                "N",
                "Show a row for each subject the plan asks for",
                lambda: canvas.show_only(replace(canvas.shown, needs=not canvas.shown.needs)),
                menu=SHOW,
                checked=lambda: canvas.shown.needs,
            ),
        ),
        Line(
            "usable parts only",
            Action(
                "Usable Only",
                "U",
                "Leave out faults, and what a cut needs on either side",
                filters.toggle_usable,
                menu=SHOW,
                checked=lambda: canvas.shown.usable,
            ),
        ),
        Line(
            "confirmed takes only",
            Action(
                "Confirmed Only",
                "C",
                "Leave out takes that nobody confirmed or placed by hand",
                filters.toggle_confirmed,
                menu=SHOW,
                checked=lambda: canvas.shown.confirmed,
            ),
        ),
        Line(
            "one subject only",
            Action(
                "One Subject…",
                "O",
                "Leave out angles that do not show one subject",
                filters.choose_subject,
                menu=SHOW,
                checked=lambda: bool(canvas.shown.subject),
            ),
        ),
        Line(
            "show everything again",
            Action(
                "Show Everything",
                "Shift+U",
                "End all filters",
                filters.end,
                name=ALL,
                menu=SHOW,
                enabled=lambda: canvas.shown.filtered,
            ),
        ),
    )


def _reason_tip(marks: MarkSteps, reason: FaultReason) -> str:
    if not marks.can_change:
        return "Begin a fault (X) or select one first"
    return f"The fault is one of {reason.value}" if reason is not REASONS[-1] else "Another reason"
