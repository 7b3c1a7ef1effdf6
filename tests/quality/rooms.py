"""Rooms a band rehearses in, as responses from loudspeaker or drums to the camera, and a small loudspeaker.

The time a clip is true to is that of the *direct sound at the microphone*: every response from the
loudspeaker begins with its direct sound at sample 0. Distances are chosen to be whole samples of sound
travel, so nothing is rounded.
"""

import warnings
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pyroomacoustics
from scipy import fft

from tests.quality.instruments import Wave
from tests.quality.songs import WORK_RATE, cache_folder, store

SPEED_OF_SOUND = 343.0
"""Metres a second: what pyroomacoustics takes unless told otherwise (air of about 20 degrees Celsius)."""
LEAD_IN = 40
"""Samples pyroomacoustics puts before every arrival: half of its 81-tap delay filter."""


@dataclass(frozen=True, slots=True)
class Room:
    """A box of air, its reverberation time (Sabine) and how far the camera stands from the loudspeaker."""

    name: str
    metres: tuple[float, float, float]
    rt60_s: float
    distance_m: float
    kept_apart: bool = False


ROOMS: dict[str, Room] = {
    room.name: room
    for room in (
        Room("booth-1m", (4.1, 3.2, 2.5), 0.3, 1.0),
        Room("garage-2m", (6.2, 5.1, 2.7), 0.3, 2.0),
        Room("garage-4m", (6.2, 5.1, 2.7), 0.3, 4.0),
        Room("cellar-3m", (7.1, 5.2, 2.9), 0.7, 3.0),
        Room("cellar-6m", (7.1, 5.2, 2.9), 0.7, 6.0),
        Room("studio-5m", (9.3, 7.2, 3.4), 0.7, 5.0),
        Room("stage-4m", (12.1, 9.3, 4.2), 1.2, 4.0),
        Room("stage-9m", (12.1, 9.3, 4.2), 1.2, 9.0, kept_apart=True),
        Room("hall-15m", (20.3, 14.2, 6.1), 1.2, 15.0),
        Room("church-6m", (25.3, 17.2, 8.1), 2.8, 6.0),
        Room("church-12m", (25.3, 17.2, 8.1), 2.8, 12.0),
        Room("church-20m", (25.3, 17.2, 8.1), 2.8, 20.0),
    )
}


def image_sources(
    metres: tuple[float, float, float], rt60_s: float | None, source: Wave, microphone: Wave, order: int = 30
) -> Wave:
    """Response at WORK_RATE, lead-in cut: sample k is heard k / WORK_RATE after the emission.

    ``rt60_s`` None is free field. Up to ``order`` reflections: enough for the decay to measure within a
    quarter of the Sabine time, where all of them, in a box without furniture, would ring half as long again.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library's own remarks on absorption and the order
        if rt60_s is None:
            room = pyroomacoustics.AnechoicRoom(fs=WORK_RATE)
        else:
            absorption, _ = pyroomacoustics.inverse_sabine(rt60_s, metres, c=SPEED_OF_SOUND)
            material = pyroomacoustics.Material(absorption)
            room = pyroomacoustics.ShoeBox(metres, fs=WORK_RATE, materials=material, max_order=order)
        room.set_sound_speed(SPEED_OF_SOUND)
        room.add_source(source)
        room.add_microphone(microphone)
        room.compute_rir()
    return np.asarray(room.rir[0][0][LEAD_IN:], dtype=np.float64)


def _places(room: Room) -> tuple[Wave, Wave, Wave]:
    """Loudspeaker, drums and microphone; the first and the last a whole number of samples apart."""
    size = np.array(room.metres)
    loudspeaker = np.array([0.13, 0.17, 1.25 / size[2]]) * size
    wanted = round(room.distance_m / SPEED_OF_SOUND * WORK_RATE) * SPEED_OF_SOUND / WORK_RATE
    towards = np.array([0.93, 0.86, 1.6 / size[2]]) * size - loudspeaker
    microphone = loudspeaker + towards / np.linalg.norm(towards) * wanted
    drums = np.array([0.37, 0.21, 0.8 / size[2]]) * size
    return loudspeaker, drums, microphone


@lru_cache(maxsize=32)
def response(name: str, drums: bool = False) -> Wave:
    """Response of a room at WORK_RATE; from the loudspeaker: direct sound at sample 0 with amplitude 1.

    From the drums: the same gain and the true delay against the loudspeaker is not kept, since nobody knows
    where in the music a drummer hears himself.
    """
    path = cache_folder() / f"room-{name}-{drums}.npz"
    if not path.exists():
        room = ROOMS[name]
        loudspeaker, kit, microphone = _places(room)
        whole = image_sources(room.metres, room.rt60_s, kit if drums else loudspeaker, microphone)
        away = float(np.linalg.norm((kit if drums else loudspeaker) - microphone))
        direct = round(away / SPEED_OF_SOUND * WORK_RATE)
        store(path, response=whole[direct:] * away)
    with np.load(path) as kept:
        return np.asarray(kept["response"])


def out_of_doors(metres: float) -> Wave:
    """Response from a loudspeaker 1.2 m over a hard floor to a microphone at 1.5 m, nothing else around.

    Direct sound at sample 0 with amplitude 1, then the floor's reflection at the image source's delay
    (geometry), a little dulled.
    """
    direct, image = np.hypot(metres, 0.3), np.hypot(metres, 2.7)
    late = (image - direct) / SPEED_OF_SOUND * WORK_RATE
    out = np.zeros(int(late) + 12)
    out[0] = 1.0
    whole, part = int(late), late - int(late)
    for place, share in ((whole, 1 - part), (whole + 1, part)):
        out[place : place + 3] += 0.8 * direct / image * share * np.array([0.25, 0.5, 0.25])
    return out


def loudspeaker(wave: Wave, rng: np.random.Generator, low_hz: float = 160.0) -> Wave:
    """A small powered loudspeaker: no bass, dull top, ripples of some dB, a little overdriven; linear phase.

    The phase is linear so that the truth stays exact; a real one would add some tenths of a millisecond of
    its own.
    """
    n = fft.next_fast_len(len(wave) + WORK_RATE // 10, real=True)
    f = np.fft.rfftfreq(n, 1 / WORK_RATE)
    knots = np.geomspace(60, 8000, 24)
    ripple = 10 ** (np.interp(f, knots, rng.normal(0, 3, 24)) / 20)
    shape = ripple * (f / low_hz) ** 4 / (1 + (f / low_hz) ** 4) / (1 + (f / 6500) ** 4)
    driven = fft.irfft(fft.rfft(wave, n) * shape.astype(wave.dtype), n)[: len(wave)]
    peak = max(1e-12, float(np.max(np.abs(driven))))
    return np.asarray(np.tanh(1.5 * driven / peak) * peak / 1.5)


def phone_loudspeaker(wave: Wave, drive: float) -> Wave:
    """A telephone's loudspeaker: 500 to 5000 Hz, a resonance at 1.2 kHz, overdriven; linear phase.

    ``drive``: how far the peaks go over what it can do (3 is ugly).
    """
    n = fft.next_fast_len(len(wave) + WORK_RATE // 10, real=True)
    f = np.fft.rfftfreq(n, 1 / WORK_RATE)
    shape = (
        (f / 500) ** 6
        / (1 + (f / 500) ** 6)
        / (1 + (f / 5000) ** 8)
        * (1 + 1.5 / (1 + ((f - 1200) / 150) ** 2))
    )
    driven = fft.irfft(fft.rfft(wave, n) * shape.astype(wave.dtype), n)[: len(wave)]
    peak = max(1e-12, float(np.max(np.abs(driven))))
    # A membrane pushed further one way than the other makes even overtones as well as odd ones.
    pushed = drive * driven / peak + 0.15
    return np.asarray((np.tanh(pushed) - np.tanh(0.15)) * peak / drive)
