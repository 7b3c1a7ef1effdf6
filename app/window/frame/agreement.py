"""The question before files are read that a shoot from elsewhere names."""

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from app.model.document.store import Unfamiliar
from app.window.parts.dialogs import Dialogs

Answer = TypeVar("Answer")
AGREE = ("Open and Read These Files",)
MOST_FOLDERS = 20


def opened_agreed(dialogs: Dialogs, path: Path, load: Callable[[bool], Answer]) -> Answer | None:
    """What ``load`` gives; where it must be agreed to first, the person is asked. None where they say no.

    ``load`` is told whether the files outside the shoot's folder may be read; what else it raises goes
    through.
    """
    try:
        return load(False)
    except Unfamiliar as error:
        folders = error.folders
    shown = [*folders[:MOST_FOLDERS]]
    if len(folders) > MOST_FOLDERS:
        shown.append(f"and {len(folders) - MOST_FOLDERS} more folders")
    question = (
        f"“{path.stem}” was not saved on this computer, and it uses files outside its own folder, in\n\n"
        + "\n".join(shown)
        + "\n\nOpen it only if you trust where it came from. Should Anglebook read these files?"
    )
    if dialogs.choose_one("Shoot from another computer", question, AGREE) != 0:
        return None
    return load(True)
