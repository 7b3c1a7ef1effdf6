"""A moment heard by several cameras: one run of the playback, one band, and a room and a place for each."""

from dataclasses import dataclass

import numpy as np
from scipy import signal

from tests.quality import damage
from tests.quality.clock import play
from tests.quality.instruments import Wave, mix, talk
from tests.quality.kit import drummer
from tests.quality.rooms import loudspeaker, response
from tests.quality.songs import WORK_RATE, Song, to_rate


@dataclass(frozen=True, slots=True, eq=False)
class Moment:
    """A run-through: what leaves the loudspeaker and what leaves the band, from ``song_from_s`` on."""

    song_from_s: float
    playback: Wave
    band: Wave


def moment(
    song: Song,
    song_from_s: float,
    seconds: float,
    seed: int,
    machine: Wave | None = None,
    talk_db: float = -6.0,
) -> Moment:
    """Play a stretch of a song to a drummer and somebody who calls out; another seed is another run-through.

    ``machine`` is added to the band as it is: a sound that is the same in every run-through.
    """
    rng = np.random.default_rng(seed)
    playback = play(song.room_feed.astype(np.float64), song_from_s, 1.0, round(seconds * WORK_RATE))
    beats = song.beats_s if len(song.beats_s) > 8 else np.arange(0, song.seconds, 0.5)
    # He counts on after the song and before it, so that there is a drum everywhere.
    beats = beats[(beats > song_from_s) & (beats < song_from_s + seconds)] - song_from_s
    first = int(np.argmax(song.beats_s > song_from_s)) if len(song.beats_s) > 8 else 0
    band = drummer(seconds, WORK_RATE, beats, first % song.beats_per_bar, song.beats_per_bar, rng)
    words = talk(seconds, WORK_RATE, rng, float(rng.uniform(100, 220)))
    band = band + damage.at_level(words[: len(band)], damage.rms(band), talk_db)
    if machine is not None:
        band = machine[: len(band)]
    return Moment(song_from_s, loudspeaker(playback, rng), band)


def camera(
    of: Moment,
    room: str,
    begin_s: float,
    seconds: float,
    *,
    band_db: float = 3.0,
    noise_db: float = -20.0,
    speed: float = 1.0,
    late_s: float = 0.0,
    seed: int = 1,
) -> Wave:
    """A camera's sound of a stretch of a moment, float32 at the engine's rate.

    Sample k is the moment at ``begin_s + speed * k / rate``. The band stands ``band_db`` over the playback,
    and comes ``late_s`` later than the playback does, for it plays elsewhere in the room.
    """
    played = signal.oaconvolve(of.playback, response(room))[: len(of.playback)]
    band = signal.oaconvolve(of.band, response(room, True))[: len(of.band)]
    delayed = np.zeros(len(played))
    mix(delayed, max(0.0, late_s), WORK_RATE, band)
    wave = played + damage.at_level(delayed, damage.rms(played), band_db)
    wave = play(wave, begin_s, speed, round(seconds * WORK_RATE))
    noise = damage.pink(len(wave), np.random.default_rng(seed))
    wave = wave + damage.at_level(noise, damage.rms(wave), noise_db)
    wave = to_rate(wave, WORK_RATE, 8000)
    return np.asarray(wave / np.max(np.abs(wave)) * 0.5, np.float32)
