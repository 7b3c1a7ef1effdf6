"""Is a written proof film what it should be? Read back as any clip is read."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.signal import correlate

from audio.errors import AudioError
from audio.files.containers import open_media
from audio.files.frame_reader import open_video
from audio.filming.proof_film import MARK, SOUND_RATE, ProofFilm
from audio.play.sound_piece import Voice, read_piece

MOST_LAG_S = 0.001
_REACH_S = 0.2
_ALIKE = 0.5
"""A coder of music at this bit rate leaves the likeness far above; another sound stays far below."""

_AS_HIGH = 0.9999


def check_film(path: Path, film: ProofFilm, at_s: float, left: NDArray[np.float32]) -> str:
    """What is wrong with a film, in a few words, or nothing.

    ``left`` is what should be heard on the left from ``at_s`` on, shape (n,), at `SOUND_RATE`. Raises
    Unreadable, NoSound.
    """
    with open_video(path) as video:
        stamps = [one.pts for one in video.container.demux(video.stream) if one.pts is not None]
        times = [video.clip_s(stamp) for stamp in sorted(stamps)]
    if len(times) != film.frames:
        return f"it holds {len(times)} frames instead of {film.frames}"
    if times != [number / film.rate for number in range(film.frames)]:
        return "its frames are not at their times"
    lag_s = sound_lag_s(path, at_s, left)
    if lag_s is None:
        return "its sound is not the song"
    if abs(lag_s) > MOST_LAG_S:
        return f"its sound is {lag_s * 1000:.1f} ms late"
    return ""


def is_proof_film(path: Path) -> bool:
    """Tell whether a file says of itself that it is such a film."""
    try:
        with open_media(path) as container:
            return container.metadata.get("comment") == MARK
    except (AudioError, OSError):
        return False


def sound_lag_s(path: Path, at_s: float, left: NDArray[np.float32]) -> float | None:
    """By how much the sound of a film is late, to a sample; None where it is not what it should be.

    Where there is silence, nothing is late.
    """
    reach = round(_REACH_S * SOUND_RATE)
    end_s = at_s + len(left) / SOUND_RATE
    piece = read_piece(path, Voice(0, 0, 0.0), at_s, end_s, SOUND_RATE)
    # What was read, put where the wanted begins, with room on both sides.
    heard = np.zeros(len(left) + 2 * reach, np.float32)
    first = round((piece.start_s - at_s) * SOUND_RATE) + reach
    part = piece.samples[max(0, -first) :][: len(heard) - max(0, first)]
    heard[max(0, first) : max(0, first) + len(part)] = part
    energy = float(np.sqrt((left.astype(np.float64) ** 2).sum() * (heard.astype(np.float64) ** 2).sum()))
    if not left.any():
        return 0.0
    likeness = correlate(heard, left, "valid", "fft")
    highest = float(likeness.max())
    if energy == 0 or highest < _ALIKE * energy:
        return None
    # A steady tone is like itself at many lags: the least of those counts.
    lags = np.flatnonzero(likeness >= _AS_HIGH * highest) - reach
    return float(lags[np.argmin(np.abs(lags))]) / SOUND_RATE
