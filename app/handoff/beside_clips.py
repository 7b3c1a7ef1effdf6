"""Nothing is ever written beside clips or below them: a card stays as it came out of the camera."""

from pathlib import Path

from app.handoff.outcome import HandoffError
from app.model.storage.guard import Guard


def check_folder(folder: Path, guard: Guard) -> None:
    """Raises HandoffError for a folder that is, or lies in, one of clips; the sentence says where instead."""
    clips = guard.clip_folder(folder)
    if clips is None:
        return
    other = guard.instead(folder)
    where = "a folder on another disk" if other is None else f"a folder outside it, such as {other}"
    raise HandoffError(
        f"Clips of this shoot are in {clips}, and nothing is written beside clips or below them. "
        f"Choose {where}."
    )
