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

    def hear(self) -> None: ...

    @property
    def passage_name(self) -> str: ...

    @property
    def passage_short(self) -> str: ...

    @property
    def why_not_family(self) -> str: ...

    def suggest_set_ups(self) -> None: ...

    def move_set_up(self, step: int) -> None: ...

    def edit_lyrics(self) -> None: ...

    def set_costs(self) -> None: ...

    def read_aloud(self) -> None: ...

    def save_sheet(self) -> None: ...

    def playback_files(self) -> None: ...


def plan_actions(do: PlanCommands) -> Sequence[Line]:
    """Needs, set-ups, lyrics, and what goes on paper."""
    angles = [
        Action(
            f"At Least {count} Angle{'s' if count > 1 else ''}",
            str(count),
            f"At least {count} angle{'s' if count > 1 else ''} must show it",
            partial(do.set_angles, count),
            name=f"by {count}",
            menu="Needs",
        )
        for count in range(1, MOST_ANGLES + 1)
    ]
    return (
        Line(
            "add a need, or remove it",
            Action(
                "Must Be Seen Here",
                ("Return", "Enter"),
                "Add a need for this subject in this passage, or remove it",
                do.ask_for,
                name="ask",
                menu="Needs",
            ),
            Action(
                "Must Be Seen in All Similar Sections",
                "Shift+Return",
                lambda: (
                    do.why_not_family or "One need for this subject in all sections that sound like this one"
                ),
                do.ask_in_family,
                name="family",
                menu="Needs",
                enabled=lambda: not do.why_not_family,
            ),
            Action(
                "Remove",
                "Delete",
                "Remove the need or the set-up",
                do.take_back,
                name="back",
                menu="Needs",
            ),
        ),
        Line("at least that many angles", *angles),
        Line(
            "",
            Action(
                "Minimum Bars…",
                "B",
                "In at least how many bars of the passage it must be seen",
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
                "Add a range of bars as a row of its own",
                do.add_bars,
                name="range",
                menu="Needs",
            ),
            Action(
                "Safety + One More Angle in Every Section",
                "Shift+O",
                "Add a need for the safety and one more angle in every section",
                do.offer,
                name="offer",
                menu="Needs",
            ),
        ),
        Line(
            "",
            Action(
                lambda: f"Add Set-up for {do.passage_short}…" if do.passage_short else "Add Set-up…",
                "U",
                lambda: f"Plan a set-up for {do.passage_name or 'the selected passage'}",
                do.add_set_up,
                name="set-up",
                menu="Set-ups",
            ),
            Action(
                "Plan What Is Missing",
                "Shift+U",
                "Add a set-up for every line of Still missing",
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
            "play the passage of this row, or of the selected set-up",
            Action(
                "Play from Here",
                "H",
                "Play the song from where this passage begins; so does a click on the name of its row",
                do.hear,
                name="hear",
            ),
        ),
        Line(
            "",
            Action("Lyrics…", "L", "Paste or import the words of the song", do.edit_lyrics, name="lyrics"),
            Action(
                "Pre-roll and Handles…",
                "Shift+T",
                "How long pre-roll and resets take, and the frames a cut needs on either side",
                do.set_costs,
                name="costs",
            ),
        ),
        Line(
            "",
            Action(
                "Playback Files…",
                "K",
                "Make the files to be played on set: count-in, starts at sections, other speeds, timecode",
                do.playback_files,
                name="kit",
            ),
        ),
        Line(
            "",
            Action(
                "Large Type",
                "M",
                "Show what is missing in large type, to be read across the set",
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
