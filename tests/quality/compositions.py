"""Songs in eight styles, each a function that fills a studio and gives the mix."""

import numpy as np
from scipy import signal

from tests.quality.instruments import Wave, bowed, fade, hertz, oscillator, piano, pluck
from tests.quality.kit import Kit, drummer
from tests.quality.studio import MORE_GUITAR, NO_VOICE, ROUGH, Note, Studio, Twin

Form = list[tuple[str, int]]
SONG_FORM: Form = [
    ("intro", 4), ("verse", 16), ("chorus", 8), ("verse", 16),
    ("chorus", 8), ("bridge", 8), ("chorus", 16), ("outro", 4),
]  # fmt: skip
SHORT_FORM: Form = [("intro", 4), ("verse", 8), ("chorus", 8), ("verse", 8), ("chorus", 8)]


def bass(s: Studio, pattern: tuple[float, ...], skip: tuple[str, ...] = ()) -> None:
    for number, label, k in s.bars():
        if label in skip:
            continue
        root = s.degree(s.chord(label, k)[0], -1)
        for beat in pattern:
            midi = root + (12 if s.hand.uniform() < 0.08 else 0)
            wave = pluck(hertz(midi), 0.55, s.rate, s.hand, 0.15)
            s.add("bass", s.at(number, beat) + s.human(), wave, s.hand.uniform(0.75, 1.0))


def strum(s: Studio, beats: tuple[float, ...], bright: float, skip: tuple[str, ...] = ()) -> None:
    for number, label, k in s.bars():
        if label in skip:
            continue
        steps = s.chord(label, k)
        strings = [s.degree(step, octave) for octave in (0, 1) for step in steps]
        for stroke, beat in enumerate(beats):
            start = s.at(number, beat) + s.human()
            order = strings if stroke % 2 == 0 else strings[::-1]
            for place, midi in enumerate(order):
                wave = pluck(hertz(midi), 0.7, s.rate, s.hand, bright)
                s.add("guitar", start + place * s.hand.uniform(0.004, 0.011), wave, s.hand.uniform(0.5, 1.0))


def rock(s: Studio) -> Wave:
    """Drums, bass, two strummed guitars through an overdriven amplifier, a singer; the tempo breathes."""
    s.lay_out(SHORT_FORM if s.short else SONG_FORM, s.tempo(118, 140), wander=0.01)
    bass(s, (0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5))
    strum(s, (0, 1, 1.5, 2.5, 3, 3.5), 0.6)
    s.buses["drums"] = drummer(s.seconds, s.rate, s.beats_s, 0, 4, s.hand)
    s.buses["guitar"] = np.tanh(3 * s.buses["guitar"] / np.max(np.abs(s.buses["guitar"])))
    s.sing(s.write_tune(("verse", "chorus")))
    return s.mixed({"drums": -14, "bass": -18, "guitar": -17, "voice": -15}, 0.9, 0.15, 2.0)


def pop(s: Studio) -> Wave:
    """To a click, machine drums, and one chorus recorded once and copied to every place it comes in."""
    form = SHORT_FORM if s.short else SONG_FORM
    s.lay_out(form, s.tempo(100, 126))
    kit = Kit(s.rate, s.seed, machine=True)
    for number, label, k in s.bars():
        for beat in range(4):
            s.add("drums", s.at(number, beat), kit.hit("kick" if beat % 2 == 0 else "clap", 1.0))
            s.add("drums", s.at(number, beat + 0.5), kit.hit("hat", 0.5 + 0.1 * (beat % 2)))
        steps = s.chord(label, k)
        for stab in (0.0, 1.5, 3.0):
            for step in steps:
                length = s.at(number, stab + 1) - s.at(number, stab)
                wave = fade(
                    oscillator(hertz(s.degree(step, 1)), length, s.rate, "square"), s.rate, 0.005, 0.1
                )
                s.add("keys", s.at(number, stab), wave, 0.4)
    bass(s, (0, 0.5, 1.5, 2, 3))
    s.sing(s.write_tune(("verse", "chorus", "bridge"), busy=0.8))
    out = s.mixed({"drums": -13, "bass": -17, "keys": -19, "voice": -14}, 0.7, 0.12, 1.8)
    return _paste(s, out, "chorus", 8)


def _paste(s: Studio, out: Wave, label: str, bars: int) -> Wave:
    """Copy the first section of a label over every later one, sample by sample (10 ms joints)."""
    starts: list[int] = []
    number = 0
    for name, count in s.form:
        if name == label:
            starts.extend(range(number, number + count, bars))
        number += count
    length = int((s.at(starts[0] + bars) - s.at(starts[0])) * s.rate)
    ramp = np.minimum(1, np.minimum(np.arange(length), np.arange(length)[::-1]) / (0.01 * s.rate))
    first = int(s.at(starts[0]) * s.rate)
    for bar in starts[1:]:
        later = int(s.at(bar) * s.rate)
        out[later : later + length] = (1 - ramp) * out[later : later + length] + ramp * out[
            first : first + length
        ]
        s.twins.append(Twin(first / s.rate + 0.02, later / s.rate + 0.02, length / s.rate - 0.04))
    return out


def loops(s: Studio) -> Wave:
    """Electronic: a loop of eight bars round and round, layers coming and going; some rounds are the same."""
    rounds = ["ph", "phk", "phkb", "phkb", "phkba", "phkba", "pl", "pkbahl", "pkbahl", "pkbahl", "khb", "pa"]
    bars = 8
    if s.short:
        rounds, bars = ["ph", "hkb", "hkba", "hkba", "pkbal", "pkbal", "kb", "pa"], 4
    bpm = s.tempo(118, 132)
    s.lay_out([(layers, bars) for layers in rounds], bpm, lead_in=0.0)
    n = int(bars * 4 * 60 / bpm * s.rate)
    kit = Kit(s.rate, 4, machine=True)  # every electronic song uses the same machine
    layer: dict[str, Wave] = {name: np.zeros(2 * n) for name in "phkbal"}

    def put(name: str, beat: float, wave: Wave, gain: float) -> None:
        start = int(beat * 60 / bpm * s.rate)
        piece = wave[: 2 * n - start]
        layer[name][start : start + len(piece)] += gain * piece

    motif = [int(s.rng.integers(7, 19)) for _ in range(16)]
    for beat in range(bars * 4):
        steps = s.chord("loop", beat // 4)
        put("k", beat, kit.hit("kick"), 1.0)
        if beat % 2:
            put("k", beat, kit.hit("clap"), 0.5)
        for part in (0.0, 0.5, 0.75):
            put("h", beat + part, kit.hit("open hat" if part == 0.5 else "hat"), 0.25)
        for part in (0.0, 0.5):
            wave = oscillator(hertz(s.degree(steps[0], -1)), 0.4 * 60 / bpm, s.rate, "saw")
            put("b", beat + part, fade(wave, s.rate, 0.003, 0.03), 0.45)
        for part in range(4):
            midi = s.degree(steps[(beat * 4 + part) % 3], 1 + part % 2)
            wave = fade(oscillator(hertz(midi), 0.2, s.rate, "square"), s.rate, 0.002, 0.15)
            put("a", beat + part / 4, wave, 0.2)
        lead = oscillator(hertz(s.degree(motif[beat % 16], 1)), 0.9 * 60 / bpm, s.rate, "reed")
        put("l", beat, fade(lead, s.rate, 0.01, 0.2), 0.3)
        if beat % 4 == 0:
            for step in steps:
                pad = oscillator(hertz(s.degree(step, 1)) * 1.003, 4 * 60 / bpm, s.rate, "saw")
                low = signal.butter(2, 1500, fs=s.rate, output="sos")
                put("p", beat, fade(signal.sosfilt(low, pad), s.rate, 0.2, 0.3), 0.25)
    out = np.zeros(int(s.seconds * s.rate))
    gains = dict.fromkeys("phkbal", 1.0)
    if s.mix == NO_VOICE:
        gains["l"] = gains["a"] = 0.0
    if s.mix == ROUGH:
        gains = {name: float(np.random.default_rng((s.seed, ord(name))).uniform(0.5, 2)) for name in gains}
    for place, names in enumerate(rounds):
        wave = sum((gains[name] * (layer[name][:n] + layer[name][n:]) for name in names), np.zeros(n))
        out[place * n : (place + 1) * n] = np.tanh(1.2 * wave)
    if s.mix == MORE_GUITAR:
        out += 0.7 * s.one_more_guitar()
    for later, names in enumerate(rounds):
        for early in range(later):
            if rounds[early] == names:
                s.twins.append(Twin(early * n / s.rate, later * n / s.rate, n / s.rate))
    return np.asarray(0.85 * out / np.max(np.abs(out)))


def ballad(s: Studio) -> Wave:
    """Slow: a quiet piano alone, then a voice, strings late; wide dynamics, little pressing."""
    form = [("intro", 4), ("verse", 8), ("chorus", 4)] if s.short else [
        ("intro", 6), ("verse", 16), ("chorus", 8), ("verse", 8), ("chorus", 8), ("outro", 4)
    ]  # fmt: skip
    s.lay_out(form, s.tempo(58, 70), wander=0.02, lead_in=1.2)
    kept: dict[tuple[int, int], Wave] = {}
    total = len(s.bars())
    for number, label, k in s.bars():
        steps = s.chord(label, k)
        loud = 0.12 if label == "intro" else 0.35 + 0.5 * number / total
        for eighth in range(8):
            step = (steps[0] - 7, *steps, steps[1] + 7)[(0, 1, 2, 3, 4, 3, 2, 1)[eighth]]
            velocity = round(float(np.clip(loud * s.hand.uniform(0.6, 1.3), 0.05, 1)) * 6) / 6 + 0.05
            key = (s.degree(step, 1), int(velocity * 60))
            if key not in kept:
                kept[key] = piano(key[0], 2.5, s.rate, velocity)
            s.add(
                "piano",
                s.at(number, eighth / 2) + s.human(0.012),
                kept[key],
                velocity * s.hand.uniform(0.9, 1.1),
            )
        if label in ("chorus", "outro"):
            for step in steps:
                length = s.at(number + 1) - s.at(number) + 0.3
                s.add(
                    "strings",
                    s.at(number) + s.human(0.03),
                    bowed(s.degree(step, 1), length, s.rate, s.hand),
                    0.3,
                )
    s.sing(s.write_tune(("verse", "chorus"), busy=0.6), gain=0.8)
    return s.mixed({"piano": -20, "strings": -25, "voice": -19}, 1.8, 0.35, 0.9)


def waltz(s: Studio) -> Wave:
    """Three in a bar: bass on one, guitar on two and three, a reed playing the tune, brushes."""
    form = [("intro", 4), ("A", 16), ("B", 16)] if s.short else [
        ("intro", 4), ("A", 16), ("B", 16), ("A", 16), ("trio", 16), ("B", 16), ("A", 16)
    ]  # fmt: skip
    s.lay_out(form, s.tempo(138, 168), 3, wander=0.015)
    bass(s, (0,))
    strum(s, (1, 2), 0.35)
    s.buses["drums"] = drummer(s.seconds, s.rate, s.beats_s, 0, 3, s.hand)
    for note in s.write_tune(("A", "B", "trio"), busy=0.85):
        n = int(note.seconds * s.rate)
        bend = 1 + 0.004 * np.sin(2 * np.pi * 5 * np.arange(n) / s.rate + s.hand.uniform(0, 6))
        wave = oscillator(hertz(note.midi + 12) * bend, note.seconds, s.rate, "reed", s.hand.uniform())
        s.add("reed", note.start_s, fade(wave, s.rate, 0.03, 0.06), s.hand.uniform(0.6, 1.0))
    return s.mixed({"drums": -22, "bass": -18, "guitar": -19, "reed": -16}, 1.1, 0.25, 1.5)


def choir(s: Studio) -> Wave:
    """Voices alone: a leader and three parts, pausing together for breath."""
    form = [("verse", 8), ("refrain", 8)] if s.short else [
        ("verse", 8), ("refrain", 8), ("verse", 8), ("refrain", 8), ("coda", 4)
    ]  # fmt: skip
    s.lay_out(form, s.tempo(64, 78), wander=0.03, lead_in=0.8)
    for number, label, k in s.bars():
        for half in (0.0, 2.0):
            start, end = s.at(number, half), s.at(number, half + (1.6 if k % 4 == 3 else 2.0))
            parts = [
                Note(start + s.human(0.02), end - start, s.degree(step, 1)) for step in s.chord(label, k)
            ]
            s.sing(parts, "parts", 0.5)
    s.sing(s.write_tune(tuple({label for label, _ in form}), low=9, high=19))
    return s.mixed({"parts": -20, "voice": -16}, 1.5, 0.3, 1.2)


def rubato(s: Studio) -> Wave:
    """Strings without a beat: long notes of any length overlapping, swelling and dying."""
    s.lay_out([("movement", 14 if s.short else 34)], 52.0, wander=0.05)
    s.has_beat = False
    t = 0.5
    while t < s.seconds - 6:
        root = int(s.rng.integers(0, 7))
        for step in (root - 7, root, root + 2, root + 4, root + 9):
            length = float(s.rng.uniform(2.0, 5.5))
            wave = bowed(s.degree(step, 1), length, s.rate, s.hand)
            s.add(
                "strings",
                t + float(s.rng.uniform(0, 0.8)) + s.human(0.02),
                wave,
                float(s.rng.uniform(0.2, 0.9)),
            )
        if s.rng.uniform() < 0.7:
            s.tune.append(Note(t, 1.5, s.degree(root + 7)))
            solo = bowed(s.degree(root + 7, 1), 1.8, s.rate, s.hand, 1)
            s.add("strings", t + 0.4 + s.human(0.02), solo, 1.0)
        t += float(s.rng.uniform(1.2, 3.4))
    return s.mixed({"strings": -16}, 2.2, 0.4, 1.0)


def wall(s: Studio) -> Wave:
    """Dense noise music: droning distorted strings, swept noise, clusters; no beat, hardly a gap."""
    s.lay_out([("drone", 16 if s.short else 38)], 60.0)
    s.has_beat = False
    t = 0.0
    while t < s.seconds - 3:
        for _ in range(2):
            midi = s.degree(int(s.rng.integers(0, 12)), int(s.rng.integers(-1, 2))) + s.human(0.3)
            s.add(
                "drone",
                t + s.human(0.1),
                pluck(hertz(midi), 3.0, s.rate, s.hand, 0.9),
                float(s.rng.uniform(0.3, 1)),
            )
        t += float(s.rng.uniform(0.15, 0.5))
    n = len(s.buses["drone"])
    s.buses["drone"] = np.tanh(6 * s.buses["drone"] / np.max(np.abs(s.buses["drone"])))
    for centre in (300, 900, 2500, 6000):
        band = signal.butter(2, (centre * 0.7, centre * 1.4), "band", fs=s.rate, output="sos")
        knots = s.rng.uniform(0, 1, int(s.seconds / 0.7) + 2) ** 2
        swell = np.interp(np.arange(n) / s.rate, np.arange(len(knots)) * 0.7, knots)
        s.add("noise", 0.0, swell * signal.sosfilt(band, s.hand.standard_normal(n)))
    return s.mixed({"drone": -16, "noise": -19}, 1.0, 0.3, 2.5)
