"""The people at a shoot, each a sound of the clip's length at the microphone: drummer, singer, guitars, crew.

They play to what they hear, with human timing, and know nothing of the samples of the song.
"""

import numpy as np
from scipy import signal

from tests.quality import damage
from tests.quality.instruments import Wave, fade, hertz, mix, pluck, talk, voice, vowel
from tests.quality.kit import Kit, drummer
from tests.quality.scene import Scene
from tests.quality.songs import WORK_RATE, Song
from tests.quality.studio import Note, Studio


def grid(song: Song) -> Wave:
    """The beats of a song, or something like them where it has none."""
    return song.beats_s if len(song.beats_s) > 8 else np.arange(0, song.seconds, 0.52)


def beats_heard(scene: Scene) -> tuple[Wave, int]:
    """Clip times of the beats of all takes, and the number in its bar of the first."""
    beats: list[float] = []
    first = 0
    song = scene.song
    for take in scene.takes:
        at = take.clip_start_s + (grid(song) - take.song_start_s) / take.speed
        inside = (at > take.clip_start_s) & (at < take.clip_end_s)
        if not beats and inside.any():
            first = int(np.argmax(inside)) % song.beats_per_bar
        beats.extend(at[inside])
    return np.asarray(beats), first


def drums(scene: Scene) -> Wave:
    """The band's drummer playing to every take, and slowly on between them, through the room."""
    beats, first = beats_heard(scene)
    dry = drummer(scene.seconds, WORK_RATE, beats, first, scene.song.beats_per_bar, scene.rng)
    return scene.through(dry + 1e-6 * damage.white(len(dry), scene.rng), drums=True)


def singing(scene: Scene) -> Wave:
    """Somebody sings along near the camera: 40 to 150 ms late and up to half a semitone off."""
    song, rng = scene.song, scene.rng
    studio = Studio(int(rng.integers(1 << 30)), 1, False, 1, rate=WORK_RATE)
    studio.seconds = scene.seconds
    tune = song.tune or tuple(
        Note(float(t), 0.8, float(rng.integers(55, 72))) for t in np.arange(1, song.seconds - 2, 1.1)
    )
    start = scene.takes[0].clip_start_s
    sung = [
        Note(start + n.start_s + rng.uniform(0.04, 0.15), n.seconds, n.midi + rng.uniform(-0.5, 0.5))
        for n in tune
    ]
    studio.sing(sung)
    return scene.through(studio.buses["voice"], drums=True)


def guitars(scene: Scene) -> Wave:
    """Two guitarists strum the song's chords through overdriven amplifiers, each 10 ms off here and there."""
    rng, song = scene.rng, scene.song
    beats, first = beats_heard(scene)
    out = np.zeros(round(scene.seconds * WORK_RATE))
    roots = song.roots if len(song.roots) else (40, 45, 47, 45)
    for lean in rng.normal(0, 0.01, 2):
        strings: dict[int, Wave] = {}
        for place, beat in enumerate(beats):
            bar = (place + first) // song.beats_per_bar
            for step in (0, 7, 12):
                midi = int(roots[bar % len(roots)]) + step
                if midi not in strings:
                    strings[midi] = pluck(hertz(midi), 0.6, WORK_RATE, rng, 0.8)
                at = float(beat + lean + rng.normal(0, 0.01))
                mix(out, at, WORK_RATE, rng.uniform(0.6, 1.0) * strings[midi])
    driven = np.tanh(4 * out / max(1e-9, float(np.max(np.abs(out)))))
    return scene.through(driven + 1e-6 * damage.white(len(out), rng), drums=True)


def shouting(scene: Scene) -> Wave:
    """Long shouts every other second, near the camera."""
    rng = scene.rng
    out = np.zeros(round(scene.seconds * WORK_RATE))
    at = float(rng.uniform(0, 2))
    while at < scene.seconds:
        length = float(rng.uniform(0.3, 1.1))
        tone = rng.uniform(240, 420) * np.linspace(1.1, 0.9, int(length * WORK_RATE))
        shout = np.tanh(3 * voice(tone, length, WORK_RATE, rng, vowel(rng)))
        mix(out, at, WORK_RATE, rng.uniform(0.5, 1.0) * shout)
        at += length + float(rng.uniform(0.1, 2.5))
    return scene.through(out + 1e-6 * damage.white(len(out), rng), drums=True)


def speech(scene: Scene) -> Wave:
    """Somebody talks all the time, somewhere in the room."""
    pitch = float(scene.rng.uniform(90, 220))
    return scene.through(talk(scene.seconds, WORK_RATE, scene.rng, pitch), drums=True)


def counting(scene: Scene, starts_s: list[float], beat_s: float, steady: bool = False) -> Wave:
    """Sticks and shouted numbers, four of each, before each start; ``steady``: sticks on every beat too."""
    rng = scene.rng
    kit = Kit(WORK_RATE, int(rng.integers(1 << 30)))
    out = np.zeros(round(scene.seconds * WORK_RATE))
    strokes = [float(beat) for beat in beats_heard(scene)[0]] if steady else []
    for start in starts_s:
        strokes += [start - beat_s * (4 - number) for number in range(4)]
        for number in range(4):
            tone = np.full(int(0.2 * WORK_RATE), rng.uniform(130, 240))
            mix(out, start - beat_s * (4 - number), WORK_RATE, voice(tone, 0.2, WORK_RATE, rng, vowel(rng)))
    for stroke in strokes:
        mix(out, stroke + float(rng.normal(0, 0.008)), WORK_RATE, 1.5 * kit.hit("stick", rng.uniform(0.7, 1)))
    return scene.through(out + 1e-6 * damage.white(len(out), rng), drums=True)


def tuning(seconds: float, rng: np.random.Generator) -> Wave:
    """A guitar is tuned: open strings again and again, bent into place, now and then a fifth."""
    out = np.zeros(round(seconds * WORK_RATE))
    at = 0.3
    while at < seconds:
        midi = float(rng.choice([40, 45, 50, 55, 59, 64]))
        for _ in range(int(rng.integers(2, 6))):
            length = float(rng.uniform(1.0, 2.5))
            mix(out, at, WORK_RATE, pluck(hertz(midi + rng.normal(0, 0.2)), length, WORK_RATE, rng, 0.7))
            if rng.uniform() < 0.3:
                mix(out, at + 0.02, WORK_RATE, pluck(hertz(midi + 7), length, WORK_RATE, rng, 0.7))
            at += length * float(rng.uniform(0.6, 1.2))
    return out


def clicks(seconds: float, beats_s: Wave, per_bar: int) -> Wave:
    """A click track: one short tone a beat, the first of a bar higher."""
    out = np.zeros(round(seconds * WORK_RATE), dtype=np.float32)
    t = np.arange(int(0.03 * WORK_RATE)) / WORK_RATE
    both = [
        fade(np.sin(2 * np.pi * hz * t) * np.exp(-t / 0.008), WORK_RATE, 0.0005) for hz in (1000.0, 1500.0)
    ]
    for number, beat in enumerate(beats_s):
        mix(out, float(beat), WORK_RATE, both[number % per_bar == 0])
    return out


def applause(n: int, rng: np.random.Generator) -> Wave:
    """An audience: hundreds of hands and a roar that comes and goes."""
    band = signal.butter(2, (600, 4000), "band", fs=WORK_RATE, output="sos")
    hands = signal.sosfilt(band, damage.white(n, rng) * (rng.uniform(size=n) < 0.02))
    knots = rng.uniform(0.2, 1.0, n // (3 * WORK_RATE) + 3)
    swell = np.interp(np.arange(n) / (3 * WORK_RATE), np.arange(len(knots)), knots)
    wave = swell * (hands / damage.rms(hands) + damage.pink(n, rng))
    return np.asarray(wave / damage.rms(wave))
