"""Checking a written proof film by reading it back like any clip."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.signal import correlate

from audio.errors import AudioError
from audio.files.containers import open_media
from audio.files.frame_reader import open_video
from audio.filming.mark import MARK
from audio.filming.proof_film import SOUND_RATE, ProofFilm
from audio.play.sound_piece import SourceChannel, read_piece

MOST_LAG_S = 0.001
"""Seconds by which the sound may be off; chosen by hand, a fortieth of a frame."""
_REACH_S = 0.2
"""Seconds before and after in which the sound is searched; chosen by hand."""
_ALIKE = 0.5
"""Normalised correlation (0 to 1) from which it is the intended sound. Chosen by hand: coding at this bit
rate leaves it far above, other sound is far below."""
_AS_HIGH = 0.9999
"""Share of the highest correlation from which a lag counts as equally good; chosen by hand."""


def check_film(path: Path, film: ProofFilm, at_s: float, left: NDArray[np.float32]) -> str:
    """What is wrong with a film, in a few words; empty if nothing is.

    ``left`` is the intended sound of the left channel from ``at_s`` (seconds of the film) on, shape (n,), at
    `SOUND_RATE`. Raises Unreadable, NoSound.
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
    """Whether a file is marked as a proof film."""
    try:
        with open_media(path) as container:
            return container.metadata.get("comment") == MARK
    except (AudioError, OSError):
        return False


def sound_lag_s(path: Path, at_s: float, left: NDArray[np.float32]) -> float | None:
    """Seconds by which the sound of a film is late, to a sample; None if it is another sound.

    Arguments as in check_film. Intended silence is never late.
    """
    reach = round(_REACH_S * SOUND_RATE)
    end_s = at_s + len(left) / SOUND_RATE
    piece = read_piece(path, SourceChannel(0, 0, 0.0), at_s, end_s, SOUND_RATE)
    # Align what was read with the intended sound, with margins on both sides.
    found = np.zeros(len(left) + 2 * reach, np.float32)
    first = round((piece.start_s - at_s) * SOUND_RATE) + reach
    part = piece.samples[max(0, -first) :][: len(found) - max(0, first)]
    found[max(0, first) : max(0, first) + len(part)] = part
    energy = float(np.sqrt((left.astype(np.float64) ** 2).sum() * (found.astype(np.float64) ** 2).sum()))
    if not left.any():
        return 0.0
    correlation = correlate(found, left, "valid", "fft")
    highest = float(correlation.max())
    if energy == 0 or highest < _ALIKE * energy:
        return None
    # A steady tone correlates equally at many lags: take the smallest.
    lags = np.flatnonzero(correlation >= _AS_HIGH * highest) - reach
    return float(lags[np.argmin(np.abs(lags))]) / SOUND_RATE
