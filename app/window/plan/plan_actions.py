"""The table of what can be done in Plan."""

from collections.abc import Sequence
from functools import partial
from typing import Protocol

from app.window.parts.actions import Action, Line

MOST_ANGLES = 5


class PlanCommands(Protocol):
    """What the place does."""

    def ask_for(self) -> None: ...

    def ask_in_family(self) -> None: ...

    def take_back(self) -> None: ...

    def set_angles(self, count: int) -> None: ...

    def set_bars(self) -> None: ...

    def set_note(self) -> None: ...

    def add_subject(self) -> None: ...

    def add_bars(self) -> None: ...

    def offer(self) -> None: ...

    def add_set_up(self) -> None: ...

    def suggest_set_ups(self) -> None: ...

    def move_set_up(self, step: int) -> None: ...

    def edit_lyrics(self) -> None: ...

    def set_costs(self) -> None: ...

    def read_aloud(self) -> None: ...

    def save_sheet(self) -> None: ...


def plan_actions(do: PlanCommands) -> Sequence[Line]:
    """Needs, set-ups, lyrics, and what goes on paper."""
    angles = [
        Action(
            f"By {count} Angle{'s' if count > 1 else ''}",
            str(count),
            f"Ask for {count} angle{'s' if count > 1 else ''} at least to show it",
            partial(do.set_angles, count),
            name=f"by {count}",
            menu="Needs",
        )
        for count in range(1, MOST_ANGLES + 1)
    ]
    return (
        Line(
            "ask for it, or take it back",
            Action(
                "Must Be Seen Here",
                ("Return", "Enter"),
                "Ask for this subject in this passage, or take that back",
                do.ask_for,
                name="ask",
                menu="Needs",
            ),
            Action(
                "Must Be Seen in All Like It",
                "Shift+Return",
                "Ask for this subject in every section that sounds like this one",
                do.ask_in_family,
                name="family",
                menu="Needs",
            ),
            Action(
                "Take Back",
                "Delete",
                "Take the need or the set-up away",
                do.take_back,
                name="back",
                menu="Needs",
            ),
        ),
        Line("by so many angles", *angles),
        Line(
            "",
            Action(
                "At Least So Many Bars…",
                "B",
                "In how many of its bars",
                do.set_bars,
                name="bars",
                menu="Needs",
            ),
            Action("Note…", "N", "What to remember about this need", do.set_note, name="note", menu="Needs"),
        ),
        Line(
            "",
            Action(
                "Add Subject…",
                "S",
                "Add who or what must be seen",
                do.add_subject,
                name="subject",
                menu="Needs",
            ),
            Action(
                "Add Bars…",
                "Shift+B",
                "Add a range of bars where a section is too coarse",
                do.add_bars,
                name="range",
                menu="Needs",
            ),
            Action(
                "Start From the Song",
                "Shift+O",
                "Ask for the safety and one more angle in every section",
                do.offer,
                name="offer",
                menu="Needs",
            ),
        ),
        Line(
            "",
            Action(
                "Add Set-up…",
                "U",
                "Plan a set-up for the passage that is chosen",
                do.add_set_up,
                name="set-up",
                menu="Set-ups",
            ),
            Action(
                "Plan What Is Missing",
                "Shift+U",
                "Make a set-up of every line of Still missing",
                do.suggest_set_ups,
                name="suggest",
                menu="Set-ups",
            ),
        ),
        Line(
            "move a set-up",
            Action(
                "Move Up",
                "Alt+Up",
                "Shoot this one earlier",
                partial(do.move_set_up, -1),
                name="up",
                menu="Set-ups",
            ),
            Action(
                "Move Down",
                "Alt+Down",
                "Shoot this one later",
                partial(do.move_set_up, 1),
                name="down",
                menu="Set-ups",
            ),
        ),
        Line(
            "",
            Action("Lyrics…", "L", "Paste or read the words of the song", do.edit_lyrics, name="lyrics"),
            Action(
                "Times and Handles…",
                "Shift+T",
                "How long a reset takes, and what a cut needs on either side",
                do.set_costs,
                name="costs",
            ),
        ),
        Line(
            "",
            Action(
                "Large Letters",
                "M",
                "Show what is missing in large letters, to be read on set",
                do.read_aloud,
                name="large",
            ),
            Action(
                "Save a Sheet…",
                "P",
                "Write a sheet to print: plan, coverage, sync or pick-ups",
                do.save_sheet,
                name="sheet",
            ),
        ),
    )
