"""The table of what can be done in Clips."""

from collections.abc import Callable, Sequence

from PySide6.QtGui import Qt

from app.window.clips.clip_steps import ClipSteps
from app.window.clips.clips_filter import ClipsFilter
from app.window.clips.first_page import SHOWN
from app.window.parts import words
from app.window.parts.actions import Action, Line
from app.window.work.work import Work

NOT_THIS = "Say that the song does not run in the chosen clips"
HEAD_BUTTONS = ("place",)
"""Those with a button beside the song, as long as they are offered."""
CLIP_MENU = ("check", "type angle", "angle", "note", "again", "refuse", "remove")
"""The menu of the chosen clips."""


def clips_actions(
    steps: ClipSteps,
    search: ClipsFilter,
    work: Work,
    show_all: Callable[[], None],
    listed: Callable[[], bool],
) -> Sequence[Line]:
    """How clips are searched, and what is done to those that are chosen, as long as they are ``listed``."""

    def some() -> bool:
        return steps.some and listed()

    def place_words() -> str:
        return f"Place {words.count(work.waiting, 'Waiting Clip')}" if work.waiting else "Place Waiting Clips"

    return (
        Line(
            "search the clips",
            Action("Search Clips", "Ctrl+F", "Search the clips", search.search, enabled=listed),
        ),
        Line(
            "show the clips of one verdict",
            Action(
                "Show One Verdict",
                "Ctrl+Shift+V",
                "Choose the verdict that is shown",
                search.verdict.showPopup,
                enabled=listed,
            ),
        ),
        Line(
            "show the clips of one angle",
            Action(
                "Show One Angle",
                "Ctrl+Shift+A",
                "Choose the angle that is shown",
                search.angle.showPopup,
                enabled=listed,
            ),
        ),
        Line(
            "show every clip again",
            Action(
                "Show All",
                "Esc",
                "Show every clip again",
                show_all,
                name="show all",
                enabled=lambda: listed() and not search.wanted.everything,
            ),
        ),
        Line("choose every clip that is shown", keys=("Ctrl+A",)),
        Line(
            "look at the clip's take in Check",
            Action(
                "Look in Check",
                "Return",
                "Go to Check, to the take of the chosen clip",
                steps.look_in_check,
                name="check",
                enabled=some,
                # Return belongs to the table alone: in a field it ends the typing.
                context=Qt.ShortcutContext.WidgetShortcut,
            ),
        ),
        Line(
            "type the angle of the chosen clips",
            Action(
                "Type Angle",
                "F2",
                "Type the angle of the chosen clips",
                steps.edit_angle,
                name="type angle",
                enabled=listed,
            ),
        ),
        Line(
            "put the chosen clips on an angle",
            Action(
                "Put on Angle…",
                "Ctrl+G",
                "Put the chosen clips on one angle",
                steps.assign_angle,
                name="angle",
                enabled=some,
            ),
        ),
        Line(
            "write a note to the chosen clips",
            Action(
                "Note…",
                "Ctrl+E",
                "Write a note to the chosen clips",
                steps.write_note,
                name="note",
                enabled=some,
            ),
        ),
        Line(
            "place the chosen clips again",
            Action(
                "Place Again",
                "Ctrl+R",
                "Place the chosen clips once more",
                steps.place_again,
                name="again",
                enabled=some,
            ),
        ),
        Line(
            "the song does not run in the chosen clips; of refused ones: take that back",
            Action(
                lambda: "Take Back" if steps.refused else "Not This Song",
                "Ctrl+D",
                lambda: "It is this song after all" if steps.refused else NOT_THIS,
                steps.refuse,
                name="refuse",
                enabled=some,
            ),
        ),
        Line(
            "take the chosen clips out of the shoot",
            Action(
                "Remove from Shoot",
                "Del",
                "Take the chosen clips out of the shoot; the files stay",
                steps.remove,
                name="remove",
                enabled=some,
            ),
        ),
        Line(
            "place the clips that wait",
            Action(
                place_words,
                "Ctrl+P",
                "Place the clips that wait",
                work.place_waiting,
                name="place",
                shown=lambda: work.waiting > 0,
            ),
        ),
        Line(
            "open a recent shoot from the first page",
            keys=tuple(f"Alt+{number}" for number in range(1, SHOWN + 1)),
        ),
    )
