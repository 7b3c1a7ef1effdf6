"""A playback file as it lies on disk, and how loud it came out."""

from dataclasses import dataclass

from app.model.document.playback_file import PlaybackFile
from app.model.kit.planned import Planned


@dataclass(frozen=True, slots=True)
class MadeFile:
    """One playback file of a kit."""

    planned: Planned
    playback: PlaybackFile
    """As the shoot keeps it; its id is given there."""
    loudness_lufs: float
    true_peak_db: float
    gain_db: float
    """What the song was raised or lowered by."""
