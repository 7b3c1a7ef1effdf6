"""How the headless commands speak: what they do goes to the error stream, what they found out is printed."""

import sys


class Unusable(Exception):
    """What a command is to work on cannot be used; the text says why and what to do."""


def tell(text: str) -> None:
    """Say what is being done."""
    print(text, file=sys.stderr, flush=True)


def failed(error: Exception) -> int:
    """Say why something could not be written; gives the exit status."""
    tell(f"anglebook: {error}")
    return 1


def wrong_use(sentence: str) -> int:
    """Say what was asked wrongly; gives the exit status."""
    tell(f"anglebook: {sentence}")
    return 2
