"""What a sound file is that was dropped, where that cannot be told: the person says."""

from enum import Enum
from pathlib import Path

from app.window.parts.dialogs import Dialogs


class Sound(Enum):
    """What a sound file is to the shoot."""

    CLIP = "Add it as a clip (from a sound recorder)"
    NEXT_MASTER = "It is a new master of the song: carry everything over to it"
    SONG = "Use it as the song, in the place of the one there is"
    MORE = "Add it as one more song"


def ask_what_sound(dialogs: Dialogs, path: Path) -> Sound | None:
    """Ask what a sound file is to a shoot that has a song."""
    question = f"This shoot already has a song. What is {path.name}?"
    chosen = dialogs.choose_one("A sound file", question, [one.value for one in Sound])
    return None if chosen is None else list(Sound)[chosen]


def ask_whether_next(dialogs: Dialogs, path: Path, called: str) -> bool | None:
    """Ask whether a file that is to be the song is its next master; None where nobody says."""
    question = f"Takes are placed on {called}. What is {path.name}?"
    chosen = dialogs.choose_one(
        "Another song file",
        question,
        (
            f"A new master of {called}: carry everything over to it",
            "Another recording: place all clips again",
        ),
    )
    return None if chosen is None else chosen == 0
