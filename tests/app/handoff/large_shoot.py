"""An evening made up: many clips of mixed rates on six angles, with drift, doubts and start timecodes."""

import random
from fractions import Fraction

from app.model.document.angle import Angle
from app.model.document.media_ref import MediaRef
from app.model.document.song import Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take

SONG_S = 220.0
RATES = tuple(Fraction(text) for text in ("25", "25", "25", "50", "24000/1001", "30000/1001", "60000/1001"))
LABELS = {
    Fraction(30000, 1001): "10:59:30;00",
    Fraction(60000, 1001): "23:59:30:00",
    Fraction(50): "14:00:00:00",
}


def large_shoot(clips: int, takes: int = 2, seed: int = 7) -> SongView:
    """A shoot of so many clips with so many takes each; the same for the same seed."""
    dice = random.Random(seed)
    angles = tuple(Angle(f"angle-{n}", f"Camera {n}", n == 5) for n in range(6))
    made = []
    for n in range(clips):
        rate = RATES[n % len(RATES)] if n % 10 != 9 else None
        length_s = SONG_S / takes
        found = []
        for m in range(takes):
            begins = dice.uniform(0, 0.4 * length_s)
            found.append(
                Take(
                    f"take-{n}-{m}",
                    begins + m * length_s,
                    begins + m * length_s + 0.6 * length_s,
                    dice.uniform(0, SONG_S - 0.6 * length_s),
                    dice.choice((1.0, 1.0, 1.0, 1001 / 1000, 2.0)) * (1 + dice.uniform(-200, 200) / 1e6),
                    0.0004,
                    Verdict.DOUBTFUL if dice.random() < 0.1 else Verdict.PLACED,
                )
            )
        made.append(
            Clip(
                f"clip-{n}",
                MediaRef(f"/evening/card {n % 3}/C{n:04}.MOV", 10**9, "00"),
                angles[n % 6].id,
                2 * SONG_S,
                rate,
                start_timecode=LABELS.get(rate) if rate else None,
                verdict=Verdict.PLACED,
                takes=tuple(found),
            )
        )
    bars = tuple(2.0 * n for n in range(int(SONG_S / 2)))
    sections = tuple(
        Section("ABCDEFGHIJK"[n], f"Part {n}", 20.0 * n, 20.0 * (n + 1)) for n in range(int(SONG_S / 20))
    )
    song = Song(MediaRef("/evening/song.wav", 10**8, "01"), SONG_S, SongMap(120.0, (), bars, sections))
    return SongView("Large", song, angles, tuple(made))
