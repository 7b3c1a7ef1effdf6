"""How the headless commands speak: what they do goes to the error stream, what they found out is printed."""

import os
import sys
from pathlib import Path
from typing import TextIO

from app.handoff.report_text import tame
from app.model.storage.guard import MayNotWrite


class Unusable(Exception):
    """What a command is to work on cannot be used; the text says why and what to do."""


def tell(text: str) -> None:
    """Say what is being done, on one line; nobody listening is no reason to stop."""
    if sys.stderr is not None:
        try:
            print(tame(text), file=sys.stderr, flush=True)
        except OSError:
            _hush(sys.stderr)


def answer(text: str) -> int:
    """Print what was found out; gives the exit status.

    Whoever closes the pipe has read enough, and that is no failure.
    """
    if sys.stdout is None:
        return 0
    try:
        coding = sys.stdout.encoding or "utf-8"
        print(text.encode(coding, errors="replace").decode(coding), flush=True)
    except BrokenPipeError:
        _hush(sys.stdout)
    except OSError as error:
        _hush(sys.stdout)
        tell(f"anglebook: The result could not be printed: {error.strerror}.")
        return 1
    return 0


def failed(error: Exception) -> int:
    """Say why something could not be written; gives the exit status."""
    tell(f"anglebook: {words_of(error)}")
    return 1


def words_of(error: Exception) -> str:
    """What an error says, without the system's numbers.

    >>> words_of(FileNotFoundError(2, "No such file or directory", "song.wav"))
    'song.wav: No such file or directory.'
    """
    if isinstance(error, OSError) and error.strerror and not isinstance(error, MayNotWrite):
        name = f"{error.filename}: " if error.filename else ""
        return f"{name}{error.strerror}."
    return str(error)


def stopped_writing(folder: Path) -> int:
    """Say that writing into a folder was stopped; gives the exit status."""
    tell("")
    tell(f"anglebook: stopped; files in {folder} are complete, the rest was not written.")
    return 130


def unwritten(path: Path, error: OSError) -> int:
    """Say that a file could not be written; gives the exit status."""
    tell(f"anglebook: {path} could not be written: {error.strerror or error}. Choose another place.")
    return 1


def wrong_use(sentence: str) -> int:
    """Say what was asked wrongly; gives the exit status."""
    tell(f"anglebook: {sentence}")
    return 2


def _hush(stream: TextIO) -> None:
    """What is still to be flushed at the end goes nowhere."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)
