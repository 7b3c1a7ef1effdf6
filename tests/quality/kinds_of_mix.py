"""Clips shot to another mix than the master the engine is given: the song was finished after the shoot."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy import signal

from tests.quality import band, damage
from tests.quality.scene import Scene
from tests.quality.songs import ENGINE_RATE, WORK_RATE, Song, SongKey, to_rate
from tests.quality.staging import Kind, usual, whole
from tests.quality.studio import MORE_GUITAR, NO_VOICE, ROUGH

COUNT_IN_BARS = 2


def _other_mix(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene | None:
    """The playback was another mix of the same recording, sample for sample at the same place."""
    played = key.mixed(strength)
    if played is None:
        return None
    n = min(len(played.room_feed), len(song.room_feed))
    if np.corrcoef(played.room_feed[:n], song.room_feed[:n])[0, 1] > 0.999 or not np.any(played.room_feed):
        return None  # a song without a voice has no mix without it; one of a voice alone would be silent
    return usual(whole(replace(song, room_feed=played.room_feed[:n]), key, rng))


def _other_head(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """The master got so many seconds of something in front that the playback had not."""
    scene = usual(whole(song, key, rng))
    head = np.zeros(round(float(strength) * ENGINE_RATE), dtype=np.float32)
    head += (
        0.02 * damage.pink(len(head), rng).astype(np.float32) * np.linspace(0, 1, len(head), dtype=np.float32)
    )
    scene.master, scene.head_s = np.concatenate([head, song.master]), len(head) / ENGINE_RATE
    return scene


def _count_in(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """The playback had two bars of clicks in front, and a click all through, that the master has not."""
    beat = float(np.median(np.diff(band.grid(song))))
    before = np.arange(COUNT_IN_BARS * song.beats_per_bar) * beat
    lead = len(before) * beat
    scene = whole(song, key, rng)
    at = scene.takes[0].clip_start_s
    beats = at - lead + before
    if strength == "all through":
        beats = np.concatenate([beats, at + band.grid(song)])
    click = band.clicks(scene.seconds, beats[beats > 0], song.beats_per_bar)
    scene.playback += damage.at_level(click, damage.rms(scene.playback), -9)
    return usual(scene)


def _live_edit(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene:
    """The master was made to sound live: a hall and an audience so many dB under it."""
    scene = usual(whole(song, key, rng))
    scene.master = live_sounding(song.master, float(strength), rng)
    return scene


def live_sounding(
    master: NDArray[np.float32], below_db: float, rng: np.random.Generator
) -> NDArray[np.float32]:
    """A song with a hall of 1.8 s behind it and an audience over it; what was direct stays in its place."""
    n = round(1.8 * ENGINE_RATE)
    tail = rng.standard_normal(n) * np.exp(-6.9 * np.arange(n) / n)
    tail[: round(0.02 * ENGINE_RATE)] = 0.0
    tail *= 0.7 / np.sqrt(np.sum(tail**2))
    tail[0] = 1.0
    wet = signal.oaconvolve(master, tail)[: len(master)]
    crowd = to_rate(band.applause(2 * len(master) + 2, rng), WORK_RATE, ENGINE_RATE)[: len(master)]
    out = wet + damage.at_level(crowd, damage.rms(master), -below_db)
    return (0.9 * out / np.max(np.abs(out))).astype(np.float32)


def _click_only(song: Song, key: SongKey, strength: str, rng: np.random.Generator) -> Scene | None:
    """Nothing but the click was played on set: hardly anything in the clip says where in the song it is."""
    if len(song.beats_s) <= 8:
        return None
    scene = whole(song, key, rng)
    scene.playback = band.clicks(
        scene.seconds, scene.takes[0].clip_start_s + song.beats_s, song.beats_per_bar
    )
    return usual(scene)


MIX: dict[str, Kind] = {
    "other mix": Kind(_other_mix, (ROUGH, NO_VOICE, MORE_GUITAR)),
    "other head": Kind(_other_head, ("3.217", "11.5")),
    "playback click": Kind(_count_in, ("before", "all through")),
    "live edit": Kind(_live_edit, ("12", "3")),
    "click only": Kind(_click_only, ("click",), may_refuse=True),
}
