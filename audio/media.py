"""Files: what is in them, when each stream starts, and their sound as arrays.

Time in a clip counts from its first picture frame as presented; in a sound-only file from its first sample.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray


def never() -> bool:
    """Tell that nobody wants to stop."""
    return False


def unheard(fraction: float) -> None:
    """Take a progress report and do nothing with it."""


@dataclass(frozen=True, slots=True)
class MediaInfo:
    """What a file says of itself, without reading its sound or pictures."""

    path: Path
    size_bytes: int
    duration_s: float
    """Seconds of picture (of sound, where there is no picture)."""
    frame_rate: Fraction | None
    """Exact nominal frames per second; None for sound-only files."""
    variable_frame_rate: bool
    width: int
    height: int
    """Pixels as shown (rotation and pixel shape applied); 0 for sound-only files."""
    sound_tracks: int
    start_timecode: str | None
    """``hh:mm:ss:ff`` or, drop-frame, ``hh:mm:ss;ff`` of the first picture frame; None where the file has none."""
    make: str | None
    model: str | None
    created: str | None
    """ISO 8601 text as the file tells it."""
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """The sound of a file, each distinct live channel by itself."""

    samples: NDArray[np.float32]
    """Shape (channels, n), full scale 1.0. Silent, duplicate and timecode-tone channels are left out."""
    rate: int
    start_s: float
    """Time in the clip of ``samples[:, 0]``; negative when sound runs before the first picture."""
    labels: tuple[str, ...]
    """One a channel, e.g. ``track 1, channel 2``."""
    gaps: tuple[tuple[float, float], ...] = ()
    """Stretches (start, end; time in clip) in which the file holds no sound; filled with silence."""
    warnings: tuple[str, ...] = ()


def probe(path: Path) -> MediaInfo:
    """Tell what a file holds. Raises Unreadable."""
    raise NotImplementedError


def read_sound(
    path: Path,
    rate: int = 8000,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = unheard,
) -> Sound:
    """Read a clip's sound on the clip's clock. Raises Unreadable, NoSound, Stopped."""
    raise NotImplementedError


def read_song(
    path: Path,
    rate: int,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = unheard,
) -> NDArray[np.float32]:
    """Read the song as mono, shape (n,), time 0 at its first decoded sample. Raises Unreadable, NoSound, Stopped."""
    raise NotImplementedError
