"""The table of what can be done in Clips."""

from collections.abc import Sequence
from functools import partial
from typing import Protocol

from PySide6.QtGui import Qt

from app.window.clips.clip_steps import ClipSteps
from app.window.clips.clips_columns import ClipsColumns
from app.window.clips.clips_filter import ClipsFilter
from app.window.clips.first_page import SHOWN
from app.window.parts import words
from app.window.parts.actions import Action, Line
from app.window.work.work import Work

NOT_THIS = "Mark the selected clips as not this song"
HEAD_BUTTONS = ("place",)
"""Those with a button beside the song, as long as they are offered."""
CLIP_MENU = ("play", "check", "in folder", "type angle", "angle", "note", "again", "refuse", "remove")
"""The menu of the chosen clips."""


LIST, PLAY = "&List of Clips", "Pla&y Clip"
"""Menus below Edit."""
SKIP_S = 5.0
"""So far a key goes in a clip."""


class Place(Protocol):
    """What the place does by itself."""

    @property
    def larger(self) -> bool:
        """Whether the selected clip is shown larger."""
        ...

    @property
    def is_naming(self) -> bool:
        """Whether the page of names is open in the place of the list."""
        ...

    def toggle_larger(self) -> None: ...

    def toggle_own(self) -> bool: ...

    def skip(self, seconds: float) -> None: ...

    def show_every_clip(self) -> None: ...


def clips_actions(
    place: Place, steps: ClipSteps, search: ClipsFilter, work: Work, columns: ClipsColumns
) -> Sequence[Line]:
    """How clips are searched, looked at and heard, and what is done to those that are selected."""

    def listed() -> bool:
        return not place.is_naming

    def some() -> bool:
        return steps.some and listed()

    def place_words() -> str:
        return f"Place {words.count(work.waiting, 'Waiting Clip')}" if work.waiting else "Place Waiting Clips"

    return (
        Line(
            "search the clips",
            Action("Search Clips", "Ctrl+F", "Search the clips", search.search, menu=LIST, enabled=listed),
        ),
        Line(
            "show the clips with one verdict",
            Action(
                "Show One Verdict",
                "Ctrl+Shift+V",
                "Choose which verdict to show",
                search.verdict.showPopup,
                menu=LIST,
                enabled=listed,
            ),
        ),
        Line(
            "show the clips of one angle",
            Action(
                "Show One Angle",
                "Ctrl+Shift+A",
                "Choose which angle to show",
                search.angle.showPopup,
                menu=LIST,
                enabled=listed,
            ),
        ),
        Line(
            "show the clips in which the pictures propose a fault",
            Action(
                "Show Proposed Faults",
                "Ctrl+Shift+P",
                "Choose which proposed faults to show",
                search.choose_proposed,
                menu=LIST,
                enabled=listed,
            ),
        ),
        Line(
            "show all clips again",
            Action(
                "Show All",
                "Esc",
                "Show all clips again",
                place.show_every_clip,
                name="show all",
                menu=LIST,
                enabled=lambda: listed() and not search.wanted.everything,
            ),
        ),
        Line("select all clips shown", keys=("Ctrl+A",)),
        Line(
            "play the selected clip on its own, or pause",
            # Space itself is the whole window's: what it plays depends on the place you are at.
            Action(
                "Play This Clip",
                "Shift+Space",
                "Play the selected clip on its own, or pause; Space does the same",
                place.toggle_own,
                name="play",
                menu=PLAY,
                enabled=some,
            ),
            keys=("Space",),
        ),
        Line(
            "show the selected clip larger, with more pictures",
            Action(
                lambda: "Hide Larger View" if place.larger else "Show Larger",
                "W",
                "Show the selected clip larger, with more pictures, or hide that again",
                place.toggle_larger,
                name="larger",
                menu=PLAY,
                enabled=listed,
            ),
        ),
        Line(
            "",
            Action(
                "Five Seconds Back",
                "Ctrl+Left",
                "Five seconds back in the clip shown larger",
                partial(place.skip, -SKIP_S),
                menu=PLAY,
                enabled=lambda: place.larger and listed(),
            ),
            Action(
                "Five Seconds Forward",
                "Ctrl+Right",
                "Five seconds forward in the clip shown larger",
                partial(place.skip, SKIP_S),
                menu=PLAY,
                enabled=lambda: place.larger and listed(),
            ),
        ),
        Line(
            "show the selected clip in its folder",
            Action(
                "Show in Folder",
                "Ctrl+Shift+F",
                "Open the folder that the selected clip is in",
                steps.show_in_folder,
                name="in folder",
                enabled=some,
            ),
        ),
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
                enabled=listed,
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
            "mark the selected clips as not this song, or unmark them",
            Action(
                lambda: "Unmark" if steps.refused else "Not This Song",
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
            "reset the widths of the columns",
            Action(
                "Reset Column Widths",
                "Ctrl+Shift+C",
                "Let every column be as wide as it needs, after you set some",
                columns.let_go,
                name="columns",
                menu=LIST,
                enabled=lambda: columns.some_chosen,
            ),
        ),
        Line(
            "open a recent shoot from the first page",
            keys=tuple(f"Alt+{number}" for number in range(1, SHOWN + 1)),
        ),
    )
