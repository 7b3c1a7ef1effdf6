"""Power spectra of a song, block by block, of which only bands are kept: an hour takes little memory."""

import numpy as np
from numpy.typing import NDArray

_FRAMES = 1024
"""Frames that are transformed at once: with a window of 4096 samples their spectra take 17 MB. By hand."""


def by_filters(
    sound: NDArray[np.float32], filters: NDArray[np.float32], window: int, hop: int, *, lead_in: int = 0
) -> NDArray[np.float32]:
    """Power in each of several bands, frame by frame: shape (bands, frames).

    ``sound`` has shape (n,), ``filters`` (bands, window // 2 + 1). Frame k is centred on sample k * hop, with
    ``lead_in`` zeros before the sound and zeros beyond the ends; frames are weighted with a Hann window (as
    `librosa.stft` does by default).
    """
    import librosa

    count = 1 + (lead_in + sound.size) // hop
    out = np.empty((len(filters), count), np.float32)
    for first in range(0, count, _FRAMES):
        frames = min(_FRAMES, count - first)
        piece = _padded(sound, first * hop - window // 2 - lead_in, (frames - 1) * hop + window)
        spectrum = librosa.stft(piece, n_fft=window, hop_length=hop, center=False)
        out[:, first : first + frames] = filters @ np.square(np.abs(spectrum))
    return out


def _padded(sound: NDArray[np.float32], start: int, length: int) -> NDArray[np.float32]:
    """A stretch of the sound, with zeros where there is none."""
    piece = sound[max(0, start) : max(0, start + length)]
    before = max(0, -start)
    if before == 0 and piece.size == length:
        return piece
    return np.pad(piece, (before, length - before - piece.size))
