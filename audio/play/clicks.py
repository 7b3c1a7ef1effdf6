"""Metronome clicks over a song, to check its beats by ear: higher and louder on downbeats."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from audio.play.playback import Pieces, Playback, _State

FloatArray = NDArray[np.float32]

LENGTH_S = 0.03
"""Seconds; chosen by hand, short enough to be exact, long enough to have a pitch."""
PITCH_HZ, ACCENT_HZ = 1200.0, 1800.0
"""Pitch of a beat and of a downbeat; chosen by hand, in the range where hearing is sensitive."""
LEVEL, ACCENT_LEVEL = 0.3, 0.5
"""Peak of a beat and of a downbeat, full scale 1.0. Chosen by hand: audible over loud music, below the
limiter."""
ATTACK_S = 0.0005
"""Seconds of fade-in, which avoids a broadband crackle; chosen by hand."""
_SONG_GAIN = np.float32(0.7)
"""Gain of the song under clicks (3 dB down); chosen by hand."""


def click(rate: int, *, accent: bool) -> FloatArray:
    """One click: a decaying sine, shape (n,), full scale 1.0, at ``rate`` samples a second."""
    time = np.arange(round(LENGTH_S * rate)) / rate
    pitch, level = (ACCENT_HZ, ACCENT_LEVEL) if accent else (PITCH_HZ, LEVEL)
    rise = np.minimum(1.0, time / ATTACK_S)
    shape = rise * np.exp(-6.0 * time / LENGTH_S) * np.linspace(1.0, 0.0, time.size)
    sound: FloatArray = (level * shape * np.sin(2 * np.pi * pitch * time)).astype(np.float32)
    return sound


class ClickPlayback(Playback):
    """A playback with clicks at song times. Usable from any thread."""

    def __init__(self, pieces: Pieces, rate: int | None = None) -> None:
        super().__init__(pieces) if rate is None else super().__init__(pieces, rate)
        self._sounds = [click(self.rate, accent=accent) for accent in (False, True)]
        self._at: NDArray[np.int64] = np.zeros(0, np.int64)
        self._accents: NDArray[np.bool_] = np.zeros(0, np.bool_)

    def set_clicks(self, moments_s: Sequence[float], accents: Sequence[bool]) -> None:
        """Set the song times of the clicks (seconds, rising) and which are accented; empty for none."""
        with self._lock:
            self._at = np.round(np.asarray(moments_s, float) * self.rate).astype(np.int64)
            self._accents = np.asarray(accents, bool)

    def _render(self, state: _State, count: int) -> FloatArray:
        out = super()._render(state, count)
        if state.silent or not self._at.size:
            return out
        out *= _SONG_GAIN
        length = self._sounds[0].size
        first, last = np.searchsorted(self._at, (state.at - length + 1, state.at + count))
        for at, accent in zip(self._at[first:last], self._accents[first:last], strict=True):
            sound, begin = self._sounds[int(accent)], int(at) - state.at
            low, high = max(begin, 0), min(begin + length, count)
            out[low:high] += sound[low - begin : high - begin, None]
        return out
