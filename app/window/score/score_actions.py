"""The table of what can be done in Score."""

from collections.abc import Sequence
from functools import partial

from app.window.parts.actions import Action, Line
from app.window.score.angle_commands import AngleCommands
from app.window.score.angles_panel import AnglesPanel
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.score_cursor import ScoreCursor
from app.window.score.score_playing import ScorePlaying
from app.window.score.score_side import ScoreSide

BESIDE = 11
"""The first few lines are listed beside the score, all of them on the page of keys."""
ANGLE, ZOOM = "&Angle", "&Zoom"
ANGLE_BUTTONS = ("up", "down", "merge", "show")
"""Those with a button in the list of angles."""
ZOOM_BUTTONS = ("whole", "angles", "watch")
"""Those with a button over the score."""
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
        Line("go to the bar; double click: play from it", keys=("Click",)),
        Line("bar by bar", keys=("Left", "Right")),
        Line("choose a range of bars", keys=("Shift+Left", "Shift+Right")),
        Line("end the range and the loop", keys=("Escape",)),
        Line("angle by angle", keys=("Up", "Down")),
        Line("section by section", keys=("PgUp", "PgDown")),
        Line("first and last bar", keys=("Home", "End")),
        Line("play from this bar with this angle", keys=("Return",)),
        Line(
            "next take of the angle in this bar",
            Action(
                "Next Take Here",
                "K",
                "See and hear the next take of the angle in this bar",
                playing.next_take,
                name="next take",
            ),
        ),
        Line(
            "play the range again and again",
            Action(
                "Loop the Range", "Shift+R", "Play the chosen bars again and again, or play on", playing.loop
            ),
        ),
        Line(
            "next thin place",
            Action("Next Thin Place", "T", "Go to the next thin place", partial(cursor.next_thin, 1)),
        ),
        Line(
            "thin place before",
            Action(
                "Thin Place Before", "Shift+T", "Go to the thin place before", partial(cursor.next_thin, -1)
            ),
        ),
        Line(
            "zoom: larger, smaller",
            # Where + needs the shift key, the key alone will do.
            Action("Larger", ("+", "="), "Wider bars", lambda: canvas.zoom_to(canvas.step + 1), menu=ZOOM),
            Action("Smaller", "-", "More bars at once", lambda: canvas.zoom_to(canvas.step - 1), menu=ZOOM),
        ),
        Line(
            "zoom: whole song on one screen, and back",
            Action(
                "Whole Song",
                "0",
                "The whole song on one screen, and back to the usual size",
                canvas.zoom_whole,
                name="whole",
                menu=ZOOM,
            ),
        ),
        Line(
            "watch moving pictures",
            Action(
                "Watch",
                "W",
                "Moving pictures beside the score",
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
                menu=ZOOM,
            ),
            Action(
                "Narrower Side Panel",
                "Ctrl+Shift+Right",
                "More room for the score",
                partial(widen, -1),
                menu=ZOOM,
            ),
        ),
        Line(
            "list of the angles",
            Action(
                "Angles",
                "A",
                "List the angles: order, names, groups, safety",
                list_angles,
                name="angles",
                checked=lambda: side.lists_angles,
            ),
        ),
        Line(
            "move the angle’s stave",
            Action("Move Up", "Alt+Up", "Move the stave up", partial(do.move, -1), name="up", menu=ANGLE),
            Action(
                "Move Down", "Alt+Down", "Move the stave down", partial(do.move, 1), name="down", menu=ANGLE
            ),
        ),
        Line(
            "rename the angle",
            Action(
                "Rename Angle…", "F2", "Give the angle another name", do.rename, name="rename", menu=ANGLE
            ),
        ),
        Line(
            "keep the angle as safety",
            Action(
                "Keep as Safety",
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
                "Leave it out of the score; it counts all the same",
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
                "Show hidden angles again",
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
                "Put the takes of two or more angles on one stave",
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
                "Let angles stand together with a bracket",
                do.group,
                name="group",
                menu=ANGLE,
            ),
        ),
        Line(
            "show or hide empty staves",
            Action(
                "Show Empty Staves",
                "E",
                "Show angles that have nothing in a line",
                lambda: canvas.show_silent(not canvas.shows_silent),
                name="silent",
                checked=lambda: canvas.shows_silent,
            ),
        ),
    )
