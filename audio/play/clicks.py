"""Clicks over a song, so that wrong beats are heard: one on every beat, higher and louder on the first of a
bar."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from audio.play.playback import Pieces, Playback, _Tune

FloatArray = NDArray[np.float32]

LENGTH_S = 0.03
PITCH_HZ, ACCENT_HZ = 1200.0, 1800.0
LEVEL, ACCENT_LEVEL = 0.3, 0.5
"""Peak, full scale 1.0: heard over loud music, and still under what the limiter passes."""
ATTACK_S = 0.0005
_UNDER = np.float32(0.7)
"""Of the song while clicks are heard over it."""


def click(rate: int, *, accent: bool) -> FloatArray:
    """One click of shape (n,), loudest at its start: a tone that dies away."""
    time = np.arange(round(LENGTH_S * rate)) / rate
    pitch, level = (ACCENT_HZ, ACCENT_LEVEL) if accent else (PITCH_HZ, LEVEL)
    rise = np.minimum(1.0, time / ATTACK_S)
    shape = rise * np.exp(-6.0 * time / LENGTH_S) * np.linspace(1.0, 0.0, time.size)
    sound: FloatArray = (level * shape * np.sin(2 * np.pi * pitch * time)).astype(np.float32)
    return sound


class ClickPlayback(Playback):
    """A playback that can click on moments of the song. Usable from any thread."""

    def __init__(self, pieces: Pieces, rate: int | None = None) -> None:
        super().__init__(pieces) if rate is None else super().__init__(pieces, rate)
        self._sounds = [click(self.rate, accent=accent) for accent in (False, True)]
        self._at: NDArray[np.int64] = np.zeros(0, np.int64)
        self._accents: NDArray[np.bool_] = np.zeros(0, np.bool_)

    def set_clicks(self, moments_s: Sequence[float], accents: Sequence[bool]) -> None:
        """Click on these moments of the song (rising), accented or not; on none for no clicks."""
        with self._lock:
            self._at = np.round(np.asarray(moments_s, float) * self.rate).astype(np.int64)
            self._accents = np.asarray(accents, bool)

    def _render(self, tune: _Tune, count: int) -> FloatArray:
        out = super()._render(tune, count)
        if tune.silent or not self._at.size:
            return out
        out *= _UNDER
        length = self._sounds[0].size
        first, last = np.searchsorted(self._at, (tune.at - length + 1, tune.at + count))
        for at, accent in zip(self._at[first:last], self._accents[first:last], strict=True):
            sound, begin = self._sounds[int(accent)], int(at) - tune.at
            low, high = max(begin, 0), min(begin + length, count)
            out[low:high] += sound[low - begin : high - begin, None]
        return out
