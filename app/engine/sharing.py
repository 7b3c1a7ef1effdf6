"""What clips share among themselves when the song is in none of them: one serves the others as the song."""

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from app.engine.probing import look
from app.model.wrong_song import Shared
from audio.errors import AudioError, Stopped
from audio.files.media import Sound, read_sound
from audio.placement.align import place
from audio.placement.answer import PlaceVerdict
from audio.placement.search import SongIndex
from audio.rate import ENGINE_RATE

MOST_COMPARED = 4
"""Clips placed on the one that serves as the song. Chosen by hand: enough to see, and soon done."""
LONGEST_S = 900.0
"""Longer clips take minutes to read, and are passed over while there are others. Chosen by hand."""
LONGEST_SONG_S = 480.0
"""No more of a clip serves as the song than this, its loudest part. Chosen by hand: few songs are longer."""


def shared_sound(
    paths: Sequence[Path], *, stop: Callable[[], bool], progress: Callable[[float], None]
) -> Shared | None:
    """Place a few clips on the longest of them; None where fewer than two can be read.

    Only what is placed beyond doubt counts as a match. Raises Stopped.
    """
    lengths: dict[Path, float] = {}
    for path in paths:
        if stop():
            raise Stopped("Stopped.")
        info = look(path).info
        if info is not None:
            lengths[path] = info.duration_s
    usual = [path for path in lengths if lengths[path] <= LONGEST_S]
    chosen = sorted(usual if len(usual) > 1 else lengths, key=lambda path: -lengths[path])
    chosen = chosen[: MOST_COMPARED + 1]
    if len(chosen) < 2:
        return None
    first, *others = chosen
    sound = _read(first, stop)
    if sound is None:
        return None
    index = SongIndex.build(_loudest(sound), ENGINE_RATE)
    compared = matching = 0
    for number, path in enumerate(others):
        progress((number + 1) / len(chosen))
        other = _read(path, stop)
        if other is None:
            continue
        compared += 1
        matching += place(other, index, stop=stop).verdict is PlaceVerdict.PLACED
    progress(1.0)
    return Shared(str(first), compared, matching) if compared else None


def _read(path: Path, stop: Callable[[], bool]) -> Sound | None:
    try:
        return read_sound(path, ENGINE_RATE, stop=stop)
    except Stopped:
        raise
    except AudioError:
        return None


def _loudest(sound: Sound) -> NDArray[np.float32]:
    """The loudest LONGEST_SONG_S of the loudest channel, float32 of shape (n,)."""
    power = [float(np.square(row.astype(np.float32)).mean()) for row in sound.samples]
    row: NDArray[np.float32] = sound.samples[int(np.argmax(power))].astype(np.float32)
    length = int(LONGEST_SONG_S * sound.rate)
    if len(row) <= length:
        return row
    second = np.square(row[: len(row) // sound.rate * sound.rate]).reshape(-1, sound.rate).sum(axis=1)
    total = np.concatenate([[0.0], np.cumsum(second, dtype=np.float64)])
    span = int(LONGEST_SONG_S)
    start = int((total[span:] - total[:-span]).argmax()) * sound.rate
    return row[start : start + length]
