"""Songs with everything known about them: composed from a seed, or read from a folder.

A rendered song is kept in the system's folder for temporary files, named by its seed and by a digest of the
code that made it, so that long tables do not render twice and never use a song of older code.
"""

import hashlib
import json
import os
import tempfile
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray
from scipy import signal

from audio.rate import ENGINE_RATE
from tests.quality.instruments import Wave
from tests.quality.studio import Note, Studio, Twin
from tests.quality.styles import APART, STYLES

WORK_RATE = 16000
"""Samples a second in the simulated rooms and cameras."""


@dataclass(frozen=True, slots=True, eq=False)
class Song:
    """A master and its truth; times in seconds of the song."""

    name: str
    style: str
    room_feed: NDArray[np.float32]
    """The master at WORK_RATE, shape (n,): what the loudspeaker plays."""
    master: NDArray[np.float32]
    """The master at ENGINE_RATE, shape (m,): what the engine is given. Both begin at time 0 of the song."""
    beats_s: Wave
    """Empty where the music has no beat."""
    beats_per_bar: int
    tune: tuple[Note, ...]
    twins: tuple[Twin, ...]
    roots: tuple[int, ...]
    """MIDI number of the chord's root in every bar; empty where nobody knows."""
    kept_apart: bool
    """True for songs nobody may tune the engine on."""

    @property
    def seconds(self) -> float:
        """Length of the song."""
        return len(self.master) / ENGINE_RATE


@lru_cache(maxsize=1)
def cache_folder() -> Path:
    """Give the folder of rendered sounds, one for each state of the code that renders them."""
    here = Path(__file__).parent
    code = b"".join((here / f"{name}.py").read_bytes() for name in _RENDERING)
    folder = Path(tempfile.gettempdir()) / f"anglebook-scoreboard-{hashlib.sha256(code).hexdigest()[:12]}"
    folder.mkdir(exist_ok=True)
    return folder


_RENDERING = ("compositions", "instruments", "kit", "odd_songs", "rooms", "songs", "studio", "styles")


def store(path: Path, **arrays: NDArray[np.float32] | Wave) -> None:
    """Write arrays to a file of the cache; another process may be doing the same."""
    neighbour = path.with_name(f"{path.stem}.{os.getpid()}.npz")
    with neighbour.open("wb") as file:
        np.savez(file, **arrays)  # type: ignore[arg-type]
    neighbour.replace(path)


def to_rate(wave: Wave, rate: int, target: int) -> Wave:
    """Change the rate with a linear-phase filter: sample 0 stays at time 0 exactly."""
    if rate == target:
        return wave
    shared = np.gcd(rate, target)
    return np.asarray(signal.resample_poly(wave, target // shared, rate // shared))


def _without_tail(wave: Wave, rate: int) -> Wave:
    """Cut what nobody can hear off the end: from where 50 ms stay 45 dB under the song's own level."""
    step = rate // 20
    blocks = wave[: len(wave) // step * step].reshape(-1, step)
    heard = np.flatnonzero(np.mean(blocks**2, axis=1) > np.mean(wave**2) * 10**-4.5)
    return wave[: (heard[-1] + 1) * step]


@lru_cache(maxsize=4)
def composed(
    style: str, seed: int, short: bool = False, performance: int = 0, theme: int = 0, mix: str = ""
) -> Song:
    """Compose and render a song, or take it from the cache.

    ``theme`` (0: its seed) sets key and tempo; ``mix`` is one of studio.ROUGH and others, "" the master.
    """
    name = f"{style}-{seed}-{theme}-{performance}" + ("-short" if short else "") + (mix and f"-{mix}")
    path = cache_folder() / f"{name}.npz"
    if not path.exists():
        rate = 48000 if style in ("pop", "choir") else 44100
        studio = Studio(seed, performance, short, theme or seed, rate=rate, mix=mix)
        wave = _without_tail(STYLES[style](studio), studio.rate)
        feed = to_rate(wave, studio.rate, WORK_RATE)
        store(
            path,
            feed=feed.astype(np.float32),
            master=to_rate(wave, studio.rate, ENGINE_RATE).astype(np.float32),
            beats=studio.beats_s if studio.has_beat else np.zeros(0),
            bar=np.array([studio.per_bar], dtype=np.float64),
            tune=np.array([(n.start_s, n.seconds, n.midi) for n in studio.tune]).reshape(-1, 3),
            roots=np.array([studio.degree(studio.chord(label, k)[0], -1) for _, label, k in studio.bars()]),
            twins=np.array([(t.first_s, t.second_s, t.seconds) for t in studio.twins]).reshape(-1, 3),
        )
    with np.load(path) as kept:
        return Song(
            name=name,
            style=style,
            room_feed=kept["feed"],
            master=kept["master"],
            beats_s=kept["beats"],
            beats_per_bar=int(kept["bar"][0]),
            tune=tuple(Note(*map(float, row)) for row in kept["tune"]),
            twins=tuple(Twin(*map(float, row)) for row in kept["twins"]),
            roots=tuple(map(int, kept["roots"])),
            kept_apart=style in APART,
        )


@lru_cache(maxsize=4)
def from_file(path: Path, kept_apart: bool) -> Song:
    """Read a song; beats from a JSON file of the same name, list ``beats`` in seconds, if there is one."""
    wave, rate = soundfile.read(path, dtype="float64", always_2d=True)
    mono = wave.mean(axis=1)
    truth = path.with_suffix(".json")
    known = json.loads(truth.read_text("utf-8")) if truth.exists() else {}
    beats, downbeats = (np.asarray(known.get(key, []), dtype=np.float64) for key in ("beats", "downbeats"))
    per_bar = round(len(beats) / len(downbeats)) if len(downbeats) else 4
    return Song(
        name=path.stem,
        style="file",
        room_feed=to_rate(mono, rate, WORK_RATE).astype(np.float32),
        master=to_rate(mono, rate, ENGINE_RATE).astype(np.float32),
        beats_s=beats,
        beats_per_bar=per_bar,
        tune=(),
        twins=(),
        roots=(),
        kept_apart=kept_apart,
    )


@dataclass(frozen=True, slots=True)
class SongKey:
    """Names a song so that a worker process can make it."""

    style: str
    seed: int = 1
    short: bool = False
    path: str = ""
    kept_apart: bool = False

    @property
    def name(self) -> str:
        """The song's name in tables and replays."""
        return (
            Path(self.path).stem
            if self.path
            else f"{self.style}-{self.seed}" + ("-short" if self.short else "")
        )

    def load(self) -> Song:
        """Make or read the song."""
        if self.path:
            return from_file(Path(self.path), self.kept_apart)
        return composed(self.style, self.seed, self.short)

    def mixed(self, mix: str) -> Song | None:
        """Another mix of the song; None where there is only a file of it."""
        return None if self.path else composed(self.style, self.seed, self.short, mix=mix)

    def neighbour(self) -> Song:
        """The other song of a shoot of two: of the same band, in another style, its key and pace."""
        style = {"rock": "pop", "pop": "rock"}.get(self.style, "rock")
        return composed(style, self.seed + 30, self.short, theme=self.seed)

    @classmethod
    def named(cls, name: str) -> "SongKey":
        """Read the name of a composed song, such as ``rock-1`` or ``waltz-11-short``."""
        style, seed, *length = name.split("-")
        return cls(style, int(seed), bool(length), kept_apart=style in APART)

    def sister(self) -> Song:
        """Another song of the same style, key and tempo."""
        return composed("rock" if self.path else self.style, self.seed + 100, self.short, theme=self.seed)

    def stranger(self) -> Song:
        """A song of another style."""
        styles = list(STYLES)
        place = styles.index(self.style) if not self.path else len(self.path)
        return composed(styles[(place + 3) % len(styles)], self.seed + 50, self.short)

    def played_again(self) -> Song | None:
        """The same song in another performance; None where a machine would play it the same to the sample."""
        if self.path or self.style in ("loops", "pop"):
            return None
        return composed(self.style, self.seed, self.short, performance=1)


def library(count: int, music: Path | None, seed: int = 1, short: bool = False) -> list[SongKey]:
    """The songs of a run: ``count`` composed, then those of a folder, every second one kept apart."""
    ending = "-short" if short else ""
    names = [f"{style}-{seed + 10 * turn}{ending}" for turn in range(9) for style in STYLES][:count]
    keys = [SongKey.named(name) for name in names]
    if music is not None:
        files = sorted(music.glob("*.ogg"))
        keys += [
            SongKey("file", path=str(path), kept_apart=place % 2 == 1) for place, path in enumerate(files)
        ]
    return keys
