"""A clip in the making: where the song is played in it, and the exact truth of that."""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray
from scipy import signal

from audio.files.channels import Meter, distinct
from audio.files.media import Sound
from tests.quality import damage
from tests.quality.bounds import faint_ends, likeness
from tests.quality.clock import play
from tests.quality.instruments import Wave, mix
from tests.quality.rooms import ROOMS, loudspeaker, response
from tests.quality.songs import ENGINE_RATE, WORK_RATE, Song, SongKey, to_rate
from tests.quality.stretching import stretched


@dataclass(frozen=True, slots=True)
class Take:
    """The truth of one take, on the clip's clock unless it says song; the time of the direct sound."""

    clip_start_s: float
    clip_end_s: float
    song_start_s: float
    speed: float
    likeness: float = 0.0
    """How like another passage of the song it is, 0 to 1."""
    twins: tuple[float, ...] = ()
    """Song starts of other passages nobody could tell it from."""
    faint_s: tuple[float, float] = (0.0, 0.0)
    """For how many seconds (clip) at its start and at its end the song is too faint to be heard."""
    lost: tuple[tuple[float, float], ...] = ()
    """Moments (clip s) at which so many seconds of sound are missing."""
    sway: tuple[tuple[float, float], ...] = field(default=(), repr=False)
    """By how much (s) the direct sound is late at moments (clip s): the way to the microphone changes."""

    def song_at(self, clip_s: float) -> float:
        """Time in the song at a time in the clip."""
        gone = sum(seconds for at, seconds in self.lost if clip_s > at)
        gone -= float(np.interp(clip_s, *np.transpose(self.sway))) if self.sway else 0.0
        return self.song_start_s + (clip_s - self.clip_start_s + gone) * self.speed

    def moved(self, clip_s: float = 0.0, song_s: float = 0.0) -> "Take":
        """The same take so much later in its clip and in its song."""
        return replace(
            self,
            clip_start_s=self.clip_start_s + clip_s,
            clip_end_s=self.clip_end_s + clip_s,
            song_start_s=self.song_start_s + song_s,
            twins=tuple(twin + song_s for twin in self.twins),
            lost=tuple((at + clip_s, seconds) for at, seconds in self.lost),
            sway=tuple((at + clip_s, late) for at, late in self.sway),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Example:
    """A clip and its truth."""

    sound: Sound
    takes: tuple[Take, ...]
    bound_s: float = 0.0
    """Least standard deviation of its delay any method can have, where that is known; else 0."""
    master: NDArray[np.float32] | None = None
    """What the engine is given as the song, where that is not the song that was played."""
    partner: "Example | None" = None
    """What another camera took at the same moment, its takes in the same order."""


@dataclass
class Scene:
    """Playback, room, other sounds, camera: in this order."""

    song: Song
    key: SongKey
    seconds: float
    rng: np.random.Generator
    takes: list[Take] = field(default_factory=list)
    playback: Wave = field(init=False)
    wave: Wave = field(init=False)
    level: float = 0.1
    """RMS of the playback at the microphone while it runs."""
    room: str = ""
    other_tracks: tuple[Wave, ...] = ()
    """Tracks of the clip before the one of the scene, at the level they stand in the file."""
    bound_s: float = 0.0
    master: NDArray[np.float32] | None = None
    """See ``Example``; it has the song ``head_s`` later than the playback."""
    head_s: float = 0.0
    partner: "Scene | None" = None

    def __post_init__(self) -> None:
        self.playback = np.zeros(round(self.seconds * WORK_RATE), dtype=np.float32)
        self.wave = self.playback

    def play(
        self, at_s: float, song_from_s: float, seconds: float, speed: float = 1.0, keeping: str = ""
    ) -> None:
        """Let the player run from a moment of the clip on; ``seconds`` are the clip's.

        ``keeping`` names a way to play at another speed in the song's own pitch (see ``stretching``); such a
        run begins on whole samples of clip and song.
        """
        seconds = min(seconds, (self.song.seconds - song_from_s) / speed, self.seconds - at_s)
        if keeping:
            at_s, song_from_s = (np.floor(t * WORK_RATE) / WORK_RATE for t in (at_s, song_from_s))
        first = int(np.ceil(round(at_s * WORK_RATE, 6)))
        count = int((at_s + seconds) * WORK_RATE) - first
        feed, off_s = self.song.room_feed, 0.0
        if keeping:
            piece, off_s = stretched(feed, round(song_from_s * WORK_RATE), speed, count, keeping)
        else:
            piece = play(feed, song_from_s + (first / WORK_RATE - at_s) * speed, speed, count)
        ramp = min(80, count // 2)
        piece[count - ramp :] *= np.linspace(1, 0, ramp, dtype=piece.dtype)
        mix(self.playback, first / WORK_RATE, WORK_RATE, piece)
        self.takes.append(self.truth(at_s, at_s + seconds, song_from_s + off_s, speed))

    def truth(self, start_s: float, end_s: float, song_s: float, speed: float) -> Take:
        """A take, with what else in the song is like it where it is short enough to ask."""
        length = (end_s - start_s) * speed
        alike, twins = likeness(self.song, song_s, length) if length < 45 else (0.0, ())
        before, after = faint_ends(self.song, song_s, length)
        return Take(start_s, end_s, song_s, speed, alike, twins, (before / speed, after / speed))

    def hear(self, room: str = "", speaker: bool = True) -> None:
        """Bring the playback to the microphone: through a small loudspeaker and a room, if any."""
        self.room = room
        wave = loudspeaker(self.playback, self.rng) if speaker else self.playback
        self.arrive(self.through(wave))

    def arrive(self, wave: Wave) -> None:
        """The playback as it comes to the microphone; other sounds are measured against it."""
        self.wave = wave
        running = [wave[int(t.clip_start_s * WORK_RATE) : int(t.clip_end_s * WORK_RATE)] for t in self.takes]
        self.level = damage.rms(np.concatenate(running))

    def any_room(self) -> str:
        """One of the rooms the engine may be tuned on."""
        names = [room.name for room in ROOMS.values() if not room.kept_apart]
        return names[int(self.rng.integers(len(names)))]

    def through(self, wave: Wave, drums: bool = False) -> Wave:
        """Send a dry sound through the room of the scene."""
        if not self.room:
            return wave
        way = response(self.room, drums).astype(wave.dtype)
        return np.asarray(signal.oaconvolve(wave, way)[: len(wave)])

    def add(self, wave: Wave, over_db: float) -> None:
        """Add a sound of about the clip's length; its RMS stands ``over_db`` above that of the playback."""
        fitting = np.zeros(len(self.wave), dtype=np.float32)
        mix(fitting, 0.0, WORK_RATE, wave)
        self.wave = self.wave + damage.at_level(fitting, self.level, over_db)

    def self_noise(self, below_db: float = 25.0) -> None:
        """Add the microphone's own noise."""
        self.add(damage.pink(len(self.wave), self.rng), -below_db)

    def lose(self, at_s: float, seconds: float) -> None:
        """Lose samples in the middle of the only take."""
        self.wave = damage.without(self.wave, at_s, seconds)
        take = self.takes[0]
        self.takes = [replace(take, clip_end_s=take.clip_end_s - seconds, lost=((at_s, seconds),))]

    def pause_recorder(self, at_s: float, seconds: float) -> None:
        """Stop recording in the middle of the only take and go on later: two takes that touch."""
        at_s, seconds = (round(t * WORK_RATE) / WORK_RATE for t in (at_s, seconds))
        self.wave = damage.without(self.wave, at_s, seconds)
        take = self.takes[0]
        self.takes = [
            self.truth(take.clip_start_s, at_s, take.song_start_s, take.speed),
            self.truth(at_s, take.clip_end_s - seconds, take.song_at(at_s + seconds), take.speed),
        ]

    def example(self) -> Example:
        """Finish the clip: the engine's rate, peak 0.5, its first sample at some odd time.

        Of several tracks those that a reader of files leaves out (silent, timecode, copies) are left out.
        """
        start = float(self.rng.choice([0.0, 0.0, -0.0213, 0.0127]))
        n = min(len(wave) for wave in (*self.other_tracks, self.wave))
        rows = _sixteen_bits(
            [to_rate(wave[:n], WORK_RATE, ENGINE_RATE) for wave in (*self.other_tracks, self.wave)]
        )
        kept = [0] if len(rows) == 1 else _worth_hearing(rows)
        sound = Sound(
            rows[kept], ENGINE_RATE, start, tuple(f"track {number + 1}, channel 1" for number in kept)
        )
        takes = tuple(take.moved(start, self.head_s) for take in self.takes)
        partner = self.partner.example() if self.partner else None
        return Example(sound, takes, self.bound_s, self.master, partner)


def _sixteen_bits(waves: list[Wave]) -> NDArray[np.float32]:
    peak = max(float(np.max(np.abs(wave), initial=0.0)) for wave in waves)
    scale = 0.5 / peak if peak > 1e-9 else 0.0
    return (np.round(np.array(waves) * (scale * 32767)) / 32767).astype(np.float32)


def _worth_hearing(rows: NDArray[np.float32]) -> list[int]:
    meters = []
    for row in rows:
        meter = Meter(ENGINE_RATE)
        for first in range(0, len(row), ENGINE_RATE):
            meter.add(row[first : first + ENGINE_RATE])
        meters.append(meter)
    live = [number for number, meter in enumerate(meters) if meter.has_signal and not meter.timecode]
    order = sorted(range(len(live)), key=lambda place: meters[live[place]].preference, reverse=True)
    return [live[place] for place in distinct([rows[number] for number in live], order)]
