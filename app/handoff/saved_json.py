"""JSON files on disk, looked into without trusting them."""

import json
from pathlib import Path

from app.model.storage.plain_file import MOST_LOOKED_AT, read_plain


def has_keys(path: Path, *keys: str) -> bool:
    """Whether a file is JSON in which the keys lead from one object into the next. Never raises."""
    try:
        _at(path, keys)
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return False
    return True


def has_value(path: Path, value: str, *keys: str) -> bool:
    """Whether a file is JSON in which the keys lead to that value. Never raises."""
    try:
        return _at(path, keys) == value
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return False


def _at(path: Path, keys: tuple[str, ...]) -> object:
    data = json.loads(read_plain(path, MOST_LOOKED_AT))
    for key in keys:
        data = data[key]
    found: object = data
    return found
