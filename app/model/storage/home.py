"""The user's own folder, also where there is none: a user may have neither HOME nor a name."""

import os
import stat
import tempfile
from pathlib import Path

STAND_IN = "anglebook-"
NOWHERE = Path(os.devnull)
"""Nothing can be made below it: what is to be kept there is not kept."""


def home() -> Path | None:
    """The user's own folder; None where the system knows of none."""
    try:
        found = Path.home()
    except RuntimeError:
        return None
    return found if found.is_absolute() else None


def home_or_stand_in() -> Path:
    """The user's own folder; where there is none, one among the temporary files that nobody else may enter.

    Where that cannot be had either, a place below which nothing can be made.
    """
    return home() or _stand_in()


def give_home() -> None:
    """Where there is no folder of the user's own, name the stand-in as one: libraries fail without."""
    if home() is None:
        os.environ["HOME"] = str(_stand_in())


def is_stand_in(folder: Path) -> bool:
    """Whether that is no folder of the user's own, but the one that was named as such."""
    return folder == NOWHERE or folder.name.startswith(STAND_IN)


def _stand_in() -> Path:
    try:
        user = str(os.getuid()) if hasattr(os, "getuid") else "user"
        folder = Path(tempfile.gettempdir(), f"{STAND_IN}{user}")
        folder.mkdir(mode=0o700, exist_ok=True)
        facts = folder.lstat()
    except OSError:
        return NOWHERE
    # Anybody may have made a folder of that name; what lies in it would be believed.
    ours = not hasattr(os, "getuid") or facts.st_uid == os.getuid()
    return folder if ours and stat.S_ISDIR(facts.st_mode) and not facts.st_mode & 0o022 else NOWHERE
