"""Whose content may leave with a hand-off: only the very recording that was heard."""

from functools import lru_cache
from pathlib import Path

from app.handoff.notes import media_trouble
from app.model.document.identity import fingerprint
from app.model.document.media_ref import MediaRef


def source_trouble(media: MediaRef) -> str | None:
    """Why a file may not be copied or filmed, None where it may.

    A shoot may come from anybody and name any file. So what is at the place must have the size and the
    content that the shoot recorded, and open as a recording.
    """
    trouble = media_trouble(media)
    if trouble is not None:
        return trouble
    try:
        changed_ns = Path(media.path).stat().st_mtime_ns
        return _trouble(media, changed_ns)
    except (OSError, ValueError):
        return "the file cannot be read. Check the disk"


@lru_cache(maxsize=4096)
def _trouble(media: MediaRef, _changed_ns: int) -> str | None:
    """Kept as long as the file stays as it is, for previews ask again and again."""
    from audio.errors import AudioError
    from audio.files.media import probe

    path = Path(media.path)
    if fingerprint(path) != media.digest:
        return "it is not the recording that was read before. Read it again first"
    try:
        probe(path)
    except AudioError:
        return "the file cannot be opened as a recording"
    return None
