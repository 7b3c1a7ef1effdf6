"""Linear timecode as sound: words of 80 bits in biphase mark (SMPTE ST 12-1:2014, section 9).

Each bit begins with a step; a one has another in its middle. Steps rise within 40 µs, as the standard wants
(40 µs ± 10 µs; from memory), so that the signal has no more overtones than it needs.
"""

from collections.abc import Sequence
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from audio.kit.ltc_words import WORD, Label, word_of

RISE_S = 40e-6
LEVEL = 0.25
"""Height of the signal: −12 dBFS, common practice for a line between two devices."""


def ltc_sound(
    labels: Sequence[Label],
    frame_rate: Fraction,
    *,
    rate: int,
    begin_s: float = 0.0,
    length: int | None = None,
    level: float = LEVEL,
    user: int = 0,
) -> NDArray[np.float32]:
    """Words for labels, one a frame, as sound.

    Parameters
    ----------
    labels : sequence of Label
        One after the other.
    frame_rate : Fraction
        Frames a second, at most 30: timelines of 50 and 60 take every other frame.
    rate : int
        Samples a second.
    begin_s : float
        When the first word begins; before 0 its beginning is cut off.
    length : int or None
        Samples wanted; as far as the words reach without it. Before and after the words there is silence.
    user : int
        The number in the user bits of each word.

    Returns
    -------
    array of float32, shape (length,)

    Raises
    ------
    ValueError
        More than 30 frames a second, or a label that is none.
    """
    if not 0 < frame_rate <= 30:
        raise ValueError("Linear timecode has at most 30 frames a second.")
    frame_s = float(1 / frame_rate)
    if length is None:
        length = max(0, round((begin_s + len(labels) * frame_s) * rate))
    out = np.zeros(length, np.float32)
    if not labels:
        return out
    base = round(frame_rate)
    bits = np.concatenate([word_of(label, base=base, user=user) for label in labels])
    starts = np.arange(len(bits)) / WORD
    ones = starts[bits == 1] + 0.5 / WORD
    steps_s = begin_s + np.sort(np.concatenate([starts, ones, [len(labels)]])) * frame_s
    first, last = np.searchsorted(np.arange(length) / rate, [steps_s[0], steps_s[-1]])
    times_s = np.arange(first, last) / rate
    nearest = np.searchsorted(steps_s, times_s)
    nearest -= (times_s - steps_s[nearest - 1]) < (steps_s[np.minimum(nearest, len(steps_s) - 1)] - times_s)
    nearest = np.clip(nearest, 0, len(steps_s) - 1)
    # Step k leads from one side to the other; near it the signal is on its way.
    way = np.clip((times_s - steps_s[nearest]) / RISE_S, -0.5, 0.5)
    side = np.where(nearest % 2 == 0, 1.0, -1.0)
    out[first:last] = level * side * np.sin(np.pi * way)
    return out
