"""Bundles with media that were written here: their media are copies of clips, and no clips."""

from pathlib import Path

from app.model.storage.plain_file import MOST_LOOKED_AT, read_plain

KEY = "anglebook"
"""Our key in the metadata of a timeline and its clips."""
CONTENT = "content.otio"
SUFFIX = ".otiod"


def in_own_bundle(folder: Path) -> bool:
    """Whether a folder is such a bundle, or lies in one; looks into folders of that name only."""
    return any(one.suffix.lower() == SUFFIX and _says_so(one / CONTENT) for one in (folder, *folder.parents))


def _says_so(content: Path) -> bool:
    """Whether our key stands there as a name; the text is not read as JSON, for it may be long."""
    try:
        return f'"{KEY}": {{'.encode() in read_plain(content, MOST_LOOKED_AT)
    except OSError:
        return False
