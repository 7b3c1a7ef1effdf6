"""The folder for what this installation must remember, and that cannot be worked out again."""

import os
import sys
from collections.abc import Mapping
from pathlib import Path

from app.model.storage.home import home_or_stand_in


def user_state(environment: Mapping[str, str] = os.environ, system: str = sys.platform) -> Path:
    """The folder that the system sets aside for what this user's programs remember.

    In ``XDG_STATE_HOME`` where it is set (XDG Base Directory Specification 0.8: relative paths are passed
    over), else ``~/Library/Application Support`` on macOS, ``%LOCALAPPDATA%`` on Windows, and
    ``~/.local/state`` elsewhere.

    >>> user_state({"XDG_STATE_HOME": "/kept"}, "linux").as_posix()
    '/kept/anglebook'
    """
    told = Path(environment.get("XDG_STATE_HOME", ""))
    local = Path(environment.get("LOCALAPPDATA", ""))
    if told.is_absolute():
        base = told
    elif system == "darwin":
        base = home_or_stand_in() / "Library" / "Application Support"
    elif system == "win32" and local.is_absolute():
        base = local
    else:
        base = home_or_stand_in() / ".local" / "state"
    return base / "anglebook"
