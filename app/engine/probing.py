"""A file looked at before its sound is heard: what it is, and what is wrong with it."""

from dataclasses import dataclass
from pathlib import Path

from app.model.answers import Answer
from app.model.document.clip import FileFacts
from app.model.document.identity import media_ref
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict
from app.model.reasons import in_words
from audio.errors import AudioError
from audio.files.media import MediaInfo, probe


@dataclass(frozen=True, slots=True)
class Looked:
    """A file as it was found, before its sound is read."""

    path: Path
    media: MediaRef
    info: MediaInfo | None
    trouble: str
    """Why the file cannot be read; empty where it can."""


def look(path: Path) -> Looked:
    """Tell what a file is; trouble with it is part of the answer."""
    try:
        media = media_ref(path)
    except OSError as error:
        return Looked(path, MediaRef(str(path), 0, ""), None, f"The file cannot be opened: {error.strerror}.")
    try:
        return Looked(path, media, probe(path), "")
    except AudioError as error:
        return Looked(path, media, None, str(error))


def told(file: Looked) -> Answer:
    """The answer as far as the file tells: waiting to be heard, or unreadable."""
    info = file.info
    if info is None:
        return Answer(file.media, verdict=Verdict.UNREADABLE, reason=in_words(file.trouble))
    facts = FileFacts(
        duration_s=info.duration_s,
        frame_rate=info.frame_rate,
        variable_frame_rate=info.variable_frame_rate,
        width=info.width,
        height=info.height,
        start_timecode=info.start_timecode,
        make=info.make,
        model=info.model,
        created=info.created,
    )
    return Answer(file.media, facts, info.warnings)
