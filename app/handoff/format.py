"""What a format of the hand-off is: its names, and the functions that plan, write and recognise its files."""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from app.handoff.choices import Choices
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.model.on_song import SongView

_KEY_BEHIND = re.compile(r" \(&.\)$")
"""A key that is no letter of the name stands behind it."""


class Group(StrEnum):
    """Under which heading a format is offered on screen."""

    EDIT = "For the edit"
    TABLES = "Tables"
    MEDIA = "Sound and pictures"


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """A format that can be handed off.

    One file in ``app/handoff/formats`` makes each, and `app.handoff.registry` lists it. That file is imported
    with the window and the command, so it imports libraries that load slowly within its functions.
    """

    word: str
    """Its name in `Choices.what` and in saved choices."""
    command_words: tuple[str, ...] = ()
    """What ``--what`` calls it, where that is not its word."""
    help: str
    """What the command's help says of it."""
    group: Group
    label: str
    """Its name on screen, with an ampersand before the letter of its key; where none of its letters is free,
    a figure in brackets behind it: ``Things (&7)``."""
    needs: str
    """What the edit needs; formats that answer the same need have the same words."""
    gives: str
    """What it is; a sentence."""
    reads_clips: bool = False
    """Whether it reads or copies clips whole. That takes long, so its progress is shown and weighs more."""
    offered: Callable[[SongView], bool] = lambda shoot: True
    """Whether the shoot has what it tells of; where it has not, the screen does not offer it."""
    plan: Callable[[SongView, Choices], Iterable[Planned]]
    """What would be written; writes nothing. Raises HandoffError."""
    write: Callable[[SongView, Path, Choices, Stop, Progress], Iterable[HandoffReport]]
    """Writes into a folder, and reports file by file as each is done.

    Every file is read back and compared with the shoot before it takes its name. Raises HandoffError, and
    HandoffStopped where ``Stop`` asked for it. AudioError, OSError and ValueError are passed on as well; the
    caller makes a sentence of them.
    """
    is_ours: Callable[[Path], bool]
    """Whether an earlier hand-off wrote what is at this path, so that it may be replaced.

    It answers for paths of every kind, files within a folder of copies among them. May raise AudioError or
    OSError for what cannot be read.
    """

    @property
    def name(self) -> str:
        """Its name on screen, without the mark of its key."""
        return without_key(self.label)


def without_key(label: str) -> str:
    """A label without the mark of its key.

    >>> without_key("&Bars"), without_key("Things (&7)")
    ('Bars', 'Things')
    """
    return _KEY_BEHIND.sub("", label).replace("&", "")
