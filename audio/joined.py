"""Files of one recording heard as one: their sounds on one clock."""

from collections.abc import Sequence

import numpy as np

from audio.media import Sound


def joined(sounds: Sequence[Sound], starts_s: Sequence[float]) -> Sound:
    """Put the sounds of files that continue one another on the first file's clock.

    Parameters
    ----------
    sounds : sequence of Sound
        In the order of recording, at one rate.
    starts_s : sequence of float
        Where each file's own time 0 lies on the first file's clock.

    Returns
    -------
    Sound
        Of the channels that all files share, or of each file's first one where they share none.

    >>> one = Sound(np.ones((1, 80), np.float32), 8, 0.0, ("a",))
    >>> both = joined([one, one], [0.0, 10.0])
    >>> both.samples.shape, both.start_s
    ((1, 160), 0.0)
    """
    rate = sounds[0].rate
    shared = [name for name in sounds[0].labels if all(name in sound.labels for sound in sounds)]
    begins = [start + sound.start_s for sound, start in zip(sounds, starts_s, strict=True)]
    first = min(begins)
    places = [round((begin - first) * rate) for begin in begins]
    length = max(place + sound.samples.shape[1] for place, sound in zip(places, sounds, strict=True))
    samples = np.zeros((max(1, len(shared)), length), np.float32)
    for place, sound in zip(places, sounds, strict=True):
        rows = [sound.labels.index(name) for name in shared] or [0]
        samples[:, place : place + sound.samples.shape[1]] = sound.samples[rows]
    gaps = tuple(
        (gap[0] + start, gap[1] + start)
        for sound, start in zip(sounds, starts_s, strict=True)
        for gap in sound.gaps
    )
    warnings = tuple(dict.fromkeys(text for sound in sounds for text in sound.warnings))
    return Sound(samples, rate, first, tuple(shared) or sounds[0].labels[:1], gaps, warnings)
