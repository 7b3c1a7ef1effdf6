"""What recordings are held against in tests: one song or several, without their files."""

from collections.abc import Mapping

from app.engine.place_recording import Ground
from app.engine.references import Shelf
from audio.references.reference import Reference
from tests.audio.engine_songs import RATE, Samples, song

SONG = "song-1"


def on_song(style: str = "rock", digest: str = "") -> Ground:
    """One song."""
    shelf = Shelf({SONG: song(style).master}, RATE)
    return Ground((Reference(SONG, "song.wav"),), shelf, {SONG: digest} if digest else {})


def on_all(samples: Mapping[str, Samples]) -> Ground:
    """Several songs by their names."""
    return Ground(tuple(Reference(key, f"{key}.wav") for key in samples), Shelf(samples, RATE))
