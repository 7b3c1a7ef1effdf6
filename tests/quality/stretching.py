"""Playing faster or slower in the song's own pitch, as players do, with the truth of when what is heard.

Two ways. ``bins``: librosa's phase vocoder (``librosa.effects.time_stretch``, window 64 ms): sample k of the
result is sample ``speed * k`` of the song, but what was sharp in time is smeared over it. ``splices``:
short pieces of the song, each taken from within 10 ms of its due place where it joins on best (W. Verhelst,
M. Roelands, "An overlap-add technique based on waveform similarity", ICASSP 1993; from memory); every piece
keeps its samples, and what its true place was is known.

How good the truth is: envelopes of song and result, held against each other along the line, lay within 1.5 ms
(``splices``) and 2.5 ms (``bins``) of song for speeds of 0.5 to 2, and within 7 ms at 4. At any one moment a
piece of ``splices`` is up to 10 ms off the line, with a standard deviation of about 5 ms.
"""

import librosa
import numpy as np

from tests.quality.clock import stretch_of
from tests.quality.instruments import Wave
from tests.quality.songs import WORK_RATE

WAYS = ("bins", "splices")
_PIECE = 1024
_HOP = _PIECE // 2
_SEARCH = 160
_FAR = np.abs(np.arange(-_SEARCH, _SEARCH + 1))


def stretched(feed: Wave, first: int, speed: float, count: int, way: str) -> tuple[Wave, float]:
    """Give ``count`` samples from sample ``first`` of the song on, and how far on average they are late.

    The second is in seconds of the song: heard at sample k is, on average, the song at
    ``(first + speed * k) / WORK_RATE`` plus it.
    """
    if way == "bins":
        source = stretch_of(feed, first, int(np.ceil(count * speed)) + 4 * _PIECE)
        out = librosa.effects.time_stretch(source, rate=speed, n_fft=_PIECE)[:count]
        return np.pad(out, (0, count - len(out))), 0.0
    out, offsets = spliced(feed, first, speed, count)
    return out, float(np.mean(offsets)) / WORK_RATE


def spliced(feed: Wave, first: int, speed: float, count: int) -> tuple[Wave, Wave]:
    """The way of ``splices``; the second is how many samples after its due place each piece was taken."""
    margin = _SEARCH + _PIECE
    pieces = count // _HOP + 2
    source = stretch_of(
        feed, first - margin, int(np.ceil(pieces * _HOP * speed)) + 2 * margin + _HOP + _PIECE
    )
    window = np.hanning(_PIECE + 1)[:-1].astype(source.dtype)
    out = np.zeros((pieces + 1) * _HOP, dtype=source.dtype)
    offsets = np.zeros(pieces)
    taken = margin - _HOP
    for number in range(pieces):
        due = margin - _HOP + round(number * _HOP * speed)
        if number:
            wanted = source[taken + _HOP : taken + _HOP + _PIECE]
            around = source[due - _SEARCH : due + _SEARCH + _PIECE]
            match = np.correlate(around, wanted, "valid")
            power = np.cumsum(np.pad(around.astype(np.float64) ** 2, (1, 0)))
            energy = power[_PIECE:] - power[:-_PIECE]
            # In silence every place joins on as well: the due one is taken.
            offsets[number] = int(np.argmax(match / np.sqrt(energy + 1e-9) - 1e-6 * _FAR)) - _SEARCH
        taken = due + int(offsets[number])
        out[number * _HOP : number * _HOP + _PIECE] += window * source[taken : taken + _PIECE]
    return out[_HOP : _HOP + count], offsets
