"""The table of what can be done in Clips."""

from collections.abc import Callable, Sequence

from PySide6.QtGui import Qt

from app.window.clips.clip_steps import ClipSteps
from app.window.clips.clips_filter import ClipsFilter
from app.window.clips.first_page import SHOWN
from app.window.parts import words
from app.window.parts.actions import Action, Line
from app.window.work.work import Work

NOT_THIS = "Mark the selected clips as not this song"
HEAD_BUTTONS = ("place",)
"""Those with a button beside the song, as long as they are offered."""
CLIP_MENU = ("check", "type angle", "angle", "note", "again", "refuse", "remove")
"""The menu of the chosen clips."""


def clips_actions(
    steps: ClipSteps, search: ClipsFilter, work: Work, show_all: Callable[[], None]
) -> Sequence[Line]:
    """How clips are searched, and what is done to those that are chosen."""

    def some() -> bool:
        return steps.some

    def place_words() -> str:
        return f"Place {words.count(work.waiting, 'Waiting Clip')}" if work.waiting else "Place Waiting Clips"

    return (
        Line("search the clips", Action("Search Clips", "Ctrl+F", "Search the clips", search.search)),
        Line(
            "show the clips with one verdict",
            Action(
                "Show One Verdict",
                "Ctrl+Shift+V",
                "Choose which verdict to show",
                search.verdict.showPopup,
            ),
        ),
        Line(
            "show the clips of one angle",
            Action("Show One Angle", "Ctrl+Shift+A", "Choose which angle to show", search.angle.showPopup),
        ),
        Line(
            "show all clips again",
            Action(
                "Show All",
                "Esc",
                "Show all clips again",
                show_all,
                name="show all",
                enabled=lambda: not search.wanted.everything,
            ),
        ),
        Line("select all clips shown", keys=("Ctrl+A",)),
        Line(
            "open the clip's take in Check",
            Action(
                "Open in Check",
                "Return",
                "Open the take of the selected clip in Check",
                steps.open_in_check,
                name="check",
                enabled=some,
                # Return belongs to the table alone: in a field it ends the typing.
                context=Qt.ShortcutContext.WidgetShortcut,
            ),
        ),
        Line(
            "edit the angle of the selected clips",
            Action(
                "Edit Angle",
                "F2",
                "Edit the angle of the selected clips",
                steps.edit_angle,
                name="type angle",
            ),
        ),
        Line(
            "set the angle of the selected clips",
            Action(
                "Set Angle…",
                "Ctrl+G",
                "Choose one angle for the selected clips",
                steps.assign_angle,
                name="angle",
                enabled=some,
            ),
        ),
        Line(
            "write a note for the selected clips",
            Action(
                "Note…",
                "Ctrl+E",
                "Write a note for the selected clips",
                steps.write_note,
                name="note",
                enabled=some,
            ),
        ),
        Line(
            "place the selected clips again",
            Action(
                "Place Again",
                "Ctrl+R",
                "Place the selected clips again",
                steps.place_again,
                name="again",
                enabled=some,
            ),
        ),
        Line(
            "mark the selected clips as not this song, or take that back",
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
            "remove the selected clips from the shoot",
            Action(
                "Remove from Shoot",
                "Del",
                "Remove the selected clips from the shoot; the files stay",
                steps.remove,
                name="remove",
                enabled=some,
            ),
        ),
        Line(
            "place the waiting clips",
            Action(
                place_words,
                "Ctrl+P",
                "Place the waiting clips",
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
