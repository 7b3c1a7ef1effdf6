"""The table of what can be done in Score."""

from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from app.window.parts.actions import Action, Line
from app.window.score.angle_commands import AngleCommands
from app.window.score.angles_panel import AnglesPanel
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.score_cursor import ScoreCursor
from app.window.score.score_playing import ScorePlaying
from app.window.score.score_side import ScoreSide

BESIDE = 12
"""The first few lines are listed beside the score, all of them on the page of keys."""
ANGLE, SHOW = "&Angle", "&Show"
ANGLE_BUTTONS = ("up", "down", "merge", "show")
"""Those with a button in the list of angles."""
ZOOM_BUTTONS = ("first pass", "whole", "angles", "watch")
"""Those with a button over the score; the first one gives way where there is not enough space."""
ANGLE_MENU = (
    ("next take", "rename", "safety", "hide", "merge", "group", "up", "down"),
    ("show", "silent", "angles"),
)
"""The menu of an angle, in groups."""


def score_actions(
    canvas: ScoreCanvas,
    cursor: ScoreCursor,
    playing: ScorePlaying,
    side: ScoreSide,
    angles: AnglesPanel,
    do: AngleCommands,
) -> Sequence[Line]:
    """How one goes about in the score, and what is done to its angles."""

    def widen(by: int) -> None:
        around = side.parentWidget()
        side.widen(by, around.width() if around is not None else side.width())

    def list_angles() -> None:
        side.toggle_angles()
        (angles.list if side.lists_angles else canvas).setFocus()

    return (
        Line("go to that bar", keys=("Click",)),
        Line("play from that bar", keys=("Double-click",)),
        Line("bar by bar", keys=("Left", "Right")),
        Line("select a range of bars", keys=("Shift+Left", "Shift+Right")),
        Line("clear the range and the loop", keys=("Escape",)),
        Line("angle by angle", keys=("Up", "Down")),
        Line("section by section", keys=("PgUp", "PgDown")),
        Line("first and last bar", keys=("Home", "End")),
        Line("play this angle from this bar", keys=("Return",)),
        Line(
            "next take of this angle in this bar",
            Action(
                "Next Take Here",
                "K",
                "Watch and hear the next take of this angle in this bar",
                playing.next_take,
                name="next take",
            ),
        ),
        Line(
            "loop the range",
            Action("Loop Range", "Shift+R", "Loop the selected bars, or stop looping", playing.loop),
        ),
        Line(
            "next thin place or missing need",
            Action(
                "Next Thin Place",
                "T",
                "Go to the next thin place, or where something the plan asks for is missing",
                partial(cursor.next_thin, 1),
            ),
        ),
        Line(
            "previous thin place or missing need",
            Action(
                "Previous Thin Place",
                "Shift+T",
                "Go to the previous thin place, or where something the plan asks for is missing",
                partial(cursor.next_thin, -1),
            ),
        ),
        Line(
            "zoom in, zoom out",
            # Where + needs the shift key, the key alone will do.
            Action("Zoom In", ("+", "="), "Wider bars", lambda: canvas.zoom_to(canvas.step + 1), menu=SHOW),
            Action("Zoom Out", "-", "More bars at once", lambda: canvas.zoom_to(canvas.step - 1), menu=SHOW),
        ),
        Line(
            "zoom: the whole song on one screen, and back",
            Action(
                "Whole Song",
                "0",
                "Fit the whole song on one screen, or go back to the usual size",
                canvas.zoom_whole,
                name="whole",
                menu=SHOW,
            ),
        ),
        Line(
            "watch the pictures",
            Action(
                "Watch",
                "W",
                "Show the pictures beside the score, in sync with the song",
                side.toggle_watching,
                name="watch",
                checked=lambda: side.watching,
            ),
        ),
        Line(
            "side panel wider, narrower",
            Action(
                "Wider Side Panel",
                "Ctrl+Shift+Left",
                "More room for the pictures and the side panel",
                partial(widen, 1),
                menu=SHOW,
            ),
            Action(
                "Narrower Side Panel",
                "Ctrl+Shift+Right",
                "More room for the score",
                partial(widen, -1),
                menu=SHOW,
            ),
        ),
        Line(
            "list of angles",
            Action(
                "Angles",
                "A",
                "List all angles: order, names, groups, safeties",
                list_angles,
                name="angles",
                menu=SHOW,
                checked=lambda: side.lists_angles,
            ),
        ),
        Line(
            "move the angle up or down",
            Action("Move Up", "Alt+Up", "Move this row up", partial(do.move, -1), name="up", menu=ANGLE),
            Action(
                "Move Down", "Alt+Down", "Move this row down", partial(do.move, 1), name="down", menu=ANGLE
            ),
        ),
        Line(
            "rename the angle",
            Action(
                "Rename Angle…", "F2", "Give this angle another name", do.rename, name="rename", menu=ANGLE
            ),
        ),
        Line(
            "mark the angle as a safety",
            Action(
                "Safety Angle",
                "S",
                "The angle to cut to when the others fail",
                do.toggle_safety,
                name="safety",
                menu=ANGLE,
                checked=lambda: do.is_safety,
            ),
        ),
        Line(
            "hide the angle",
            Action(
                "Hide Angle",
                "H",
                "Hide this row; its takes still count",
                do.hide,
                name="hide",
                menu=ANGLE,
            ),
        ),
        Line(
            "show hidden angles",
            Action(
                "Show Hidden",
                "Shift+H",
                "Show all hidden angles",
                do.show_all,
                name="show",
                menu=ANGLE,
                enabled=lambda: do.some_hidden,
            ),
        ),
        Line(
            "merge angles",
            Action(
                "Merge…",
                "M",
                "Combine two or more angles into one",
                do.merge,
                name="merge",
                menu=ANGLE,
            ),
        ),
        Line(
            "group angles",
            Action(
                "Group…",
                "Ctrl+G",
                "Keep angles together, with a bracket beside them",
                do.group,
                name="group",
                menu=ANGLE,
            ),
        ),
        Line(
            "show or hide empty rows",
            Action(
                "Show Empty Rows",
                "E",
                "Show rows for angles that have nothing on that line",
                lambda: canvas.show_only(replace(canvas.shown, silent=not canvas.shown.silent)),
                name="silent",
                menu=SHOW,
                checked=lambda: canvas.shown.silent,
            ),
        ),
    )
