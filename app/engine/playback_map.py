"""How a playback file runs through songs: it is placed on each of them as a clip is."""

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from app.engine.references import Shelf, read_references, song_reference
from app.model.document.identity import media_ref
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.document.song import Song
from audio.files.media import Sound, read_song
from audio.placement.align import Hearing
from audio.placement.answer import PlaceVerdict
from audio.rate import ENGINE_RATE
from audio.references.held import held_against
from audio.references.settled import settled


def playback_map(
    songs: Sequence[Song], path: Path, *, stop: Callable[[], bool], progress: Callable[[float], None]
) -> PlaybackFile:
    """Find how a file runs through songs. Raises AudioError."""
    samples = read_song(path, ENGINE_RATE, stop=stop, progress=lambda done: progress(0.2 * done))
    shelf = Shelf(read_references(songs, (), stop))
    hearing = Hearing(Sound(samples[np.newaxis], ENGINE_RATE, 0.0, ("mono",)))
    references = [song_reference(song) for song in songs]
    keys = [one.key for one in references]
    held = held_against(hearing, keys, shelf.index, {}, stop, lambda done: progress(0.2 + 0.8 * done))
    placements = {key: one.placement for key, one in held.items()}
    found = settled(lambda: hearing, placements, references, shelf.composite, stop)
    pieces = [
        PlaybackPiece(song, fit.clip_start_s, fit.clip_end_s, fit.song_start_s, fit.speed, fit.uncertainty_s)
        for song, placement in found.items()
        for fit in placement.takes
        if fit.verdict is PlaceVerdict.PLACED
    ]
    pieces.sort(key=lambda one: one.start_s)
    return PlaybackFile("", media_ref(path), len(samples) / ENGINE_RATE, tuple(pieces))
