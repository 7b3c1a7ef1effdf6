"""JSON files on disk, looked into without trusting them."""

import json
from pathlib import Path


def has_keys(path: Path, *keys: str) -> bool:
    """Whether a file is JSON in which the keys lead from one object into the next. Never raises."""
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        for key in keys:
            data = data[key]
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return False
    return True
