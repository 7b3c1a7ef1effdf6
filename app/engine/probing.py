"""A file looked at before its sound is heard: what it is, and what is wrong with it."""

import logging
from dataclasses import dataclass
from pathlib import Path

from app.model.answers import Answer
from app.model.document.clip import FileFacts
from app.model.document.identity import media_ref
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict
from app.model.reasons import in_words
from audio.errors import AudioError
from audio.files.containers import check_file
from audio.files.media import MediaInfo, probe

HEADER = "The file says things about itself that cannot be: it is damaged. Copy it again from the card."
"""Where a header cannot be made sense of at all."""


@dataclass(frozen=True, slots=True)
class Looked:
    """A file as it was found, before its sound is read."""

    path: Path
    media: MediaRef
    info: MediaInfo | None
    trouble: str
    """Why the file cannot be read; empty where it can."""


def look(path: Path) -> Looked:
    """Tell what a file is; trouble with it, whatever it is, is part of the answer."""
    media = MediaRef(str(path), 0, "")
    try:
        check_file(path)
        media = media_ref(path)
        return Looked(path, media, probe(path), "")
    except AudioError as error:
        return Looked(path, media, None, str(error))
    except OSError as error:
        return Looked(path, media, None, f"The file cannot be opened: {error.strerror}.")
    except Exception as error:
        logging.getLogger(__name__).error("%s failed", path, exc_info=error)
        return Looked(path, media, None, HEADER)


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
