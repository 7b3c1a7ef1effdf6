"""Clips of the shoot: the file, what its file tells, its angle, and the maker's note."""

from dataclasses import dataclass, field
from fractions import Fraction

from app.model.document.media_ref import MediaRef


@dataclass(frozen=True, slots=True)
class FileFacts:
    """What a file tells about itself; all empty until it was looked at."""

    duration_s: float = 0.0
    frame_rate: Fraction | None = None
    """Pictures a second; None for a sound-only file."""
    variable_frame_rate: bool = False
    width: int = 0
    height: int = 0
    """Pixels, as shown."""
    start_timecode: str | None = None
    make: str | None = None
    model: str | None = None
    created: str | None = None
    """As the file writes it."""


@dataclass(frozen=True, slots=True)
class ClipRecord:
    """One file off a camera or recorder, as the document keeps it."""

    id: str
    media: MediaRef
    angle_id: str
    facts: FileFacts = field(default_factory=FileFacts)
    warnings: tuple[str, ...] = ()
    """What is odd about the file, in sentences."""
    recording: str | None = None
    """Id of the first clip of the recording this file continues or begins; None where it stands alone."""
    note: str = ""
    """What the maker wants to remember about it."""
