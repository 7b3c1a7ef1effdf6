"""Four songs with something in them that trips a search: hardly a sound, no sound, no beat kept, no end."""

from tests.quality.compositions import bass, strum
from tests.quality.instruments import Wave, bowed, piano
from tests.quality.kit import drummer
from tests.quality.studio import Studio


def hush(s: Studio) -> Wave:
    """Twenty seconds of a pad some 45 dB under the band, then the band."""
    form = [("intro", 8), ("verse", 8), ("chorus", 8)] if s.short else [
        ("intro", 10), ("verse", 16), ("chorus", 8), ("verse", 16), ("chorus", 16)
    ]  # fmt: skip
    s.lay_out(form, s.tempo(84, 100), wander=0.008)
    for number, label, k in s.bars():
        if label == "intro":
            for step in s.chord(label, k):
                wave = bowed(s.degree(step, 1), s.at(number + 1) - s.at(number) + 0.4, s.rate, s.hand)
                s.add("pad", s.at(number) + s.human(0.03), wave, s.hand.uniform(0.6, 1.0))
    bass(s, (0, 1, 1.5, 2, 3), skip=("intro",))
    strum(s, (0, 1, 1.5, 2.5, 3), 0.5, skip=("intro",))
    later = s.beats_s[form[0][1] * 4 :]
    s.buses["drums"] = drummer(s.seconds, s.rate, later, 0, 4, s.hand)
    s.sing(s.write_tune(("verse", "chorus")))
    return s.mixed({"pad": -60, "drums": -14, "bass": -18, "guitar": -18, "voice": -15}, 0.8, 0.1, 1.6)


def pause(s: Studio) -> Wave:
    """The band stops dead for some bars of nothing at all, and goes on."""
    form = [("verse", 8), ("rest", 4), ("chorus", 8), ("verse", 8)] if s.short else [
        ("verse", 16), ("chorus", 8), ("rest", 8), ("verse", 16), ("rest", 4), ("chorus", 16), ("outro", 8)
    ]  # fmt: skip
    s.lay_out(form, s.tempo(112, 132), wander=0.01)
    bass(s, (0, 0.5, 1.5, 2, 3, 3.5), skip=("rest",))
    strum(s, (0, 0.5, 1.5, 2, 3), 0.5, skip=("rest",))
    s.buses["drums"] = drummer(s.seconds, s.rate, s.beats_s, 0, 4, s.hand)
    s.sing(s.write_tune(("verse", "chorus", "outro")))
    out = s.mixed({"drums": -14, "bass": -18, "guitar": -17, "voice": -15}, 0.5, 0.1, 1.8)
    for number, label, _ in s.bars():
        if label == "rest":
            first, last = (int(s.at(bar) * s.rate) for bar in (number, number + 1))
            out[first:last] = 0.0
    return out


def duo(s: Studio) -> Wave:
    """A guitar and a voice, no drums, speeding up and slowing down as they like."""
    form = [("intro", 2), ("verse", 8), ("chorus", 8)] if s.short else [
        ("intro", 4), ("verse", 16), ("chorus", 8), ("verse", 16), ("chorus", 8), ("outro", 4)
    ]  # fmt: skip
    s.lay_out(form, s.tempo(72, 90), wander=0.05, lead_in=0.9)
    strum(s, (0, 0.5, 1.5, 2, 2.5, 3.5), 0.4)
    s.sing(s.write_tune(("verse", "chorus"), busy=0.7))
    return s.mixed({"guitar": -19, "voice": -16}, 0.8, 0.15, 1.0)


def suite(s: Studio) -> Wave:
    """Twelve minutes in movements that come back: quiet keys, a band, strings, the band again."""
    turns = [("keys", 16), ("band", 32), ("strings", 12), ("band", 32), ("keys", 16), ("finale", 32)]
    form = [("keys", 8), ("band", 12), ("strings", 8), ("band", 12)] if s.short else [*turns, *turns]
    s.lay_out(form, s.tempo(92, 96), wander=0.012)
    bass(s, (0, 1, 2, 2.5), skip=("keys", "strings"))
    strum(s, (0, 1.5, 2.5), 0.5, skip=("keys", "strings"))
    kept: dict[int, Wave] = {}
    for number, label, k in s.bars():
        steps = s.chord(label, k)
        if label in ("keys", "finale"):
            for eighth, step in enumerate((*steps, steps[1], *steps, steps[2])):
                midi = s.degree(step, 1)
                if midi not in kept:
                    kept[midi] = piano(midi, 2.0, s.rate, 0.5)
                s.add(
                    "piano", s.at(number, eighth / 2) + s.human(0.012), kept[midi], s.hand.uniform(0.5, 1.0)
                )
        if label in ("strings", "finale"):
            for step in steps:
                length = s.at(number + 1) - s.at(number) + 0.3
                s.add(
                    "strings", s.at(number) + s.human(0.03), bowed(s.degree(step, 1), length, s.rate, s.hand)
                )
    dry = drummer(s.seconds, s.rate, s.beats_s, 0, 4, s.hand)
    for number, label, _ in s.bars():
        if label in ("keys", "strings"):
            dry[int(s.at(number) * s.rate) : int(s.at(number + 1) * s.rate)] = 0.0
    s.buses["drums"] = dry
    s.sing(s.write_tune(("band", "finale"), busy=0.6))
    levels = {
        "piano": -22.0,
        "strings": -24.0,
        "drums": -16.0,
        "bass": -19.0,
        "guitar": -19.0,
        "voice": -16.0,
    }
    return s.mixed(levels, 1.2, 0.2, 1.4)
