"""A clip in the making: where the song is played in it, and the exact truth of that."""

from dataclasses import dataclass, field

import numpy as np
from scipy import signal

from audio.media import Sound
from tests.quality import damage
from tests.quality.bounds import likeness
from tests.quality.clock import play
from tests.quality.instruments import Wave, mix
from tests.quality.rooms import ROOMS, loudspeaker, response
from tests.quality.songs import ENGINE_RATE, WORK_RATE, Song, SongKey, to_rate


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
    lost: tuple[tuple[float, float], ...] = ()
    """Moments (clip s) at which so many seconds of sound are missing."""

    def song_at(self, clip_s: float) -> float:
        """Time in the song at a time in the clip."""
        gone = sum(seconds for at, seconds in self.lost if clip_s > at)
        return self.song_start_s + (clip_s - self.clip_start_s + gone) * self.speed


@dataclass(frozen=True, slots=True, eq=False)
class Example:
    """A clip and its truth."""

    sound: Sound
    takes: tuple[Take, ...]
    bound_s: float = 0.0
    """Least standard deviation of its delay any method can have, where that is known; else 0."""


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
    other_track: Wave | None = None
    """A first track of the clip that carries something else; the song is then on the second."""
    bound_s: float = 0.0

    def __post_init__(self) -> None:
        self.playback = np.zeros(round(self.seconds * WORK_RATE))
        self.wave = self.playback

    def play(self, at_s: float, song_from_s: float, seconds: float, speed: float = 1.0) -> None:
        """Let the player run from a moment of the clip on; ``seconds`` are the clip's."""
        seconds = min(seconds, (self.song.seconds - song_from_s) / speed, self.seconds - at_s)
        first = int(np.ceil(at_s * WORK_RATE))
        count = int((at_s + seconds) * WORK_RATE) - first
        feed = self.song.room_feed.astype(np.float64)
        piece = play(feed, song_from_s + (first / WORK_RATE - at_s) * speed, speed, count)
        ramp = min(80, count // 2)
        piece[count - ramp :] *= np.linspace(1, 0, ramp)
        mix(self.playback, first / WORK_RATE, WORK_RATE, piece)
        alike, twins = (
            likeness(self.song, song_from_s, seconds * speed) if seconds * speed < 45 else (0.0, ())
        )
        self.takes.append(Take(at_s, at_s + seconds, song_from_s, speed, alike, twins))

    def hear(self, room: str = "", speaker: bool = True) -> None:
        """Bring the playback to the microphone: through a small loudspeaker and a room, if any."""
        self.room = room
        wave = loudspeaker(self.playback, self.rng) if speaker else self.playback
        self.wave = self.through(wave) if room else wave
        running = np.concatenate(
            [self.wave[int(t.clip_start_s * WORK_RATE) : int(t.clip_end_s * WORK_RATE)] for t in self.takes]
        )
        self.level = damage.rms(running)

    def any_room(self) -> str:
        """One of the rooms the engine may be tuned on."""
        names = [room.name for room in ROOMS.values() if not room.kept_apart]
        return names[int(self.rng.integers(len(names)))]

    def through(self, wave: Wave, drums: bool = False) -> Wave:
        """Send a dry sound through the room of the scene."""
        if not self.room:
            return wave
        return np.asarray(signal.oaconvolve(wave, response(self.room, drums))[: len(wave)])

    def add(self, wave: Wave, over_db: float) -> None:
        """Add a sound of about the clip's length; its RMS stands ``over_db`` above that of the playback."""
        fitting = np.zeros(len(self.wave))
        mix(fitting, 0.0, WORK_RATE, wave)
        self.wave = self.wave + damage.at_level(fitting, self.level, over_db)

    def self_noise(self, below_db: float = 25.0) -> None:
        """Add the microphone's own noise."""
        self.add(damage.pink(len(self.wave), self.rng), -below_db)

    def lose(self, at_s: float, seconds: float) -> None:
        """Lose samples in the middle of the only take."""
        self.wave = damage.without(self.wave, at_s, seconds)
        take = self.takes[0]
        self.takes = [
            Take(
                take.clip_start_s,
                take.clip_end_s - seconds,
                take.song_start_s,
                take.speed,
                lost=((at_s, seconds),),
            )
        ]

    def example(self) -> Example:
        """Finish the clip: the engine's rate, peak 0.5, its first sample at some odd time."""
        start = float(self.rng.choice([0.0, 0.0, -0.0213, 0.0127]))
        tracks = [self.wave] if self.other_track is None else [self.other_track, self.wave]
        rows = np.array([_sixteen_bits(to_rate(track, WORK_RATE, ENGINE_RATE)) for track in tracks])
        takes = tuple(
            Take(
                t.clip_start_s + start,
                t.clip_end_s + start,
                t.song_start_s,
                t.speed,
                t.likeness,
                t.twins,
                tuple((at + start, seconds) for at, seconds in t.lost),
            )
            for t in self.takes
        )
        labels = tuple(f"track {number + 1}, channel 1" for number in range(len(rows)))
        return Example(Sound(rows.astype(np.float32), ENGINE_RATE, start, labels), takes, self.bound_s)


def _sixteen_bits(wave: Wave) -> Wave:
    peak = float(np.max(np.abs(wave), initial=0.0))
    return np.round(wave / peak * 0.5 * 32767) / 32767 if peak > 1e-9 else 0.0 * wave
