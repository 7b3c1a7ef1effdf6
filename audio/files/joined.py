"""The sounds of the files of one recording, joined on one clock."""

from collections.abc import Sequence

import numpy as np

from audio.files.channels import AnyFloats
from audio.files.media import Sound


def joined(sounds: list[Sound], starts_s: Sequence[float]) -> Sound:
    """Join the sounds of files that continue one another, on the first file's clock.

    Parameters ---------- sounds : list of Sound In the order of recording, all at one rate. The list is
    emptied, so that each one's memory can be freed once its samples are copied. A single one is returned as
    it is. starts_s : sequence of float Each file's own time 0 on the first file's clock, in seconds; the
    first is 0.

    Returns ------- Sound With the channels that all files share, or each file's first one where they share
    none. 16-bit if any of them is.

    >>> one = Sound(np.ones((1, 80), np.float32), 8, 0.0, ("a",))
    >>> both = joined([one, one], [0.0, 10.0])
    >>> both.samples.shape, both.start_s
    ((1, 160), 0.0)
    """
    if len(sounds) == 1:
        return sounds.pop()
    rate = sounds[0].rate
    shared = [name for name in sounds[0].labels if all(name in sound.labels for sound in sounds)]
    labels = tuple(shared) or sounds[0].labels[:1]
    begins = [start + sound.start_s for sound, start in zip(sounds, starts_s, strict=True)]
    first = min(begins)
    gaps = tuple(
        (gap[0] + start, gap[1] + start)
        for sound, start in zip(sounds, starts_s, strict=True)
        for gap in sound.gaps
    )
    warnings = tuple(dict.fromkeys(text for sound in sounds for text in sound.warnings))
    places = [round((begin - first) * rate) for begin in begins]
    length = max(place + sound.samples.shape[1] for place, sound in zip(places, sounds, strict=True))
    # The system maps zeroed pages when they are written, so this does not need the memory twice.
    samples: AnyFloats = np.zeros((len(labels), length), np.float32)
    if any(sound.samples.dtype == np.float16 for sound in sounds):
        samples = np.zeros((len(labels), length), np.float16)
    sounds.reverse()
    for place in places:
        sound = sounds.pop()
        for row, name in enumerate(shared or sound.labels[:1]):
            samples[row, place : place + sound.samples.shape[1]] = sound.samples[sound.labels.index(name)]
    return Sound(samples, rate, first, labels, gaps, warnings)
