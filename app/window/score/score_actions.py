"""The actions of Score and its keys."""

from typing import TYPE_CHECKING

from PySide6.QtGui import QAction, QKeySequence

if TYPE_CHECKING:
    from app.window.score.score_place import ScorePlace

KEYS = [
    ("← →", "bar by bar"),
    ("Shift+← →", "choose a range of bars"),
    ("Esc", "end the range and the loop"),
    ("↑ ↓", "angle by angle"),
    ("Page ↑ ↓", "section by section"),
    ("Home End", "first and last bar"),
    ("Enter", "play from this bar with this angle"),
    ("K", "next take of the angle in this bar"),
    ("Shift+R", "play the range again and again"),
    ("T", "next thin place"),
    ("Shift+T", "thin place before"),
    ("+ −", "zoom: larger, smaller"),
    ("0", "zoom: whole song on one screen, and back"),
    ("W", "watch moving pictures"),
    ("A", "list of the angles"),
    ("Alt+↑ ↓", "move the angle’s stave"),
    ("F2", "rename the angle"),
    ("S", "keep the angle as safety"),
    ("H", "hide the angle"),
    ("Shift+H", "show hidden angles"),
    ("M", "merge angles"),
    ("Ctrl+G", "group angles"),
    ("E", "show or hide empty staves"),
]
"""The first few are listed beside the score, all of them in the list of keys."""
BESIDE = 10


class ScoreKeys:
    """Makes the actions of Score."""

    def __init__(self, place: "ScorePlace") -> None:
        act, canvas = place.action, place.canvas
        self.thin = act("Next Thin Place", "T", "Go to the next thin place", place.next_thin)
        self.thin_before = act(
            "Thin Place Before", "Shift+T", "Go to the thin place before", place.thin_before
        )
        self.loop = act(
            "Loop the Range",
            "Shift+R",
            "Play the chosen bars again and again, or play on",
            place.playing.loop,
        )
        self.next_take = act(
            "Next Take Here",
            "K",
            "See and hear the next take of the angle in this bar",
            place.playing.next_take,
        )
        self.larger = act("Larger", "+", "Wider bars", lambda: canvas.zoom_to(canvas.step + 1))
        # Where + needs the shift key, the key alone will do.
        self.larger.setShortcuts([QKeySequence("+"), QKeySequence("=")])
        self.smaller = act("Smaller", "-", "More bars at once", lambda: canvas.zoom_to(canvas.step - 1))
        self.whole = act(
            "Whole Song", "0", "The whole song on one screen, and back to the usual size", canvas.zoom_whole
        )
        self.watch = act("Watch", "W", "Moving pictures beside the score", place.toggle_watching)
        self.watch.setCheckable(True)
        self.angles = act("Angles", "A", "List the angles: order, names, groups, safety", place.toggle_angles)
        self.angles.setCheckable(True)
        self.up = act("Move Up", "Alt+Up", "Move the stave up", lambda: place.move_angle(-1))
        self.down = act("Move Down", "Alt+Down", "Move the stave down", lambda: place.move_angle(1))
        self.rename = act("Rename Angle…", "F2", "Give the angle another name", place.rename_angle)
        self.safety = act(
            "Keep as Safety", "S", "The angle to cut to when the others fail", place.toggle_safety
        )
        self.safety.setCheckable(True)
        self.hide = act(
            "Hide Angle", "H", "Leave it out of the score; it counts all the same", place.hide_angle
        )
        self.show = act("Show Hidden", "Shift+H", "Show hidden angles again", place.deeds.show_all)
        self.merge = act(
            "Merge…", "M", "Put the takes of two or more angles on one stave", place.merge_angles
        )
        self.group = act("Group…", "Ctrl+G", "Let angles stand together with a bracket", place.group_angles)
        self.silent = act(
            "Show Empty Staves", "E", "Show angles that have nothing in a line", canvas.show_silent
        )
        self.silent.setCheckable(True)
        self.silent.setChecked(True)

    @property
    def of_angle(self) -> list[QAction]:
        """What is done to an angle, for its menu."""
        return [
            self.next_take,
            self.rename,
            self.safety,
            self.hide,
            self.merge,
            self.group,
            self.up,
            self.down,
        ]
