"""All hand-offs of a shoot into one folder, under names that every system takes."""

import json
import os
import re
import unicodedata
from pathlib import Path

from app.handoff import csv_file, otio_file
from app.handoff.outcome import HandoffError, HandoffReport
from app.model.shoot import Shoot

_LONGEST_BYTES = 200
# Names that Windows keeps for devices, with or without a suffix ("Naming Files, Paths, and Namespaces",
# Microsoft).
_DEVICES = re.compile(r"(?:CON|PRN|AUX|NUL|COM[0-9¹²³]|LPT[0-9¹²³])(?:\..*)?", re.IGNORECASE)


def write_all(shoot: Shoot, folder: Path) -> tuple[HandoffReport, ...]:
    """Write every hand-off into the folder, made where needed. Raises HandoffError.

    Files of an earlier hand-off are replaced; a file of that name that is not ours stops the whole.
    """
    name = safe_name(shoot.name)
    timeline, table = folder / f"{name}.otio", folder / f"{name}.csv"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = error.strerror or error
        raise HandoffError(f"The folder {folder} could not be made: {why}. Choose another.") from error
    for path, ours in ((timeline, _is_our_timeline), (table, _is_our_table)):
        if os.path.lexists(path) and not ours(path):
            raise HandoffError(
                f"{path.name} is there already and is no hand-off. Move it away, or choose another folder."
            )
    return (otio_file.write(shoot, timeline), csv_file.write(shoot, table))


def safe_name(name: str) -> str:
    """A file name, without suffix, made of any text: no folders, no reserved names, 200 bytes at most.

    >>> safe_name("../Grüße: Teil 1/2"), safe_name("aux"), safe_name(" .. ")
    ('Grüße- Teil 1-2', 'aux_', 'shoot')
    """
    text = unicodedata.normalize("NFC", name).encode("utf-8", errors="replace").decode("utf-8")
    text = "".join("-" if c in '<>:"/\\|?*' or not c.isprintable() else c for c in text)
    text = text.strip(" .-")
    text = text.encode("utf-8")[:_LONGEST_BYTES].decode("utf-8", errors="ignore").rstrip(" .")
    if _DEVICES.fullmatch(text):
        text += "_"
    return text or "shoot"


def _is_our_timeline(path: Path) -> bool:
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        return otio_file.KEY in data["metadata"]
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return False


def _is_our_table(path: Path) -> bool:
    try:
        with path.open(encoding="utf-8") as file:
            return file.readline().strip() == ",".join(csv_file.COLUMNS)
    except (OSError, ValueError):
        return False
