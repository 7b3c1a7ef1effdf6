"""Random shoots to cut: songs with bars, beats and families; takes with faults, keepers, doubts and looks."""

import random
from dataclasses import replace
from fractions import Fraction

from app.model.document.angle import Angle
from app.model.document.cut import Lock, Setting
from app.model.document.decisions import Decision
from app.model.document.looks import Look
from app.model.document.marks import Mark, MarkKind
from app.model.document.media_ref import MediaRef
from app.model.document.plan import Need, Passage, Plan
from app.model.document.song import FIRST_SONG, LEVEL_STEP_S, LyricLine, Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.first_pass.rules import RULES, Kind, Rules, rules_of
from app.model.on_song import Clip, SongView, Take

NAMES = ("Singer", "Fiddle hands", "Drums", "Bass", "Wide")
RATES = tuple(Fraction(one) for one in ("24000/1001", "25", "30000/1001", "50"))


def random_song(chance: random.Random, bars: int) -> Song:
    """A song with a lead-in, bars of one tempo that breathes, sections of some families, and a tail."""
    beats_to_bar = chance.choice((3, 4))
    at = chance.uniform(0.0, 3.0)
    beats, starts = [], []
    for _ in range(bars):
        starts.append(at)
        for _ in range(beats_to_bar):
            beats.append(at)
            at += chance.uniform(0.45, 0.55)
    duration_s = at + chance.choice((0.0, chance.uniform(0.0, 3.0)))
    edges = sorted({0, *(chance.randrange(bars) for _ in range(chance.randrange(4)))})
    sections = tuple(
        Section(
            chr(65 + n),
            chance.choice(("", "Drums solo", "Verse 2")),
            0.0 if n == 0 else starts[first],
            starts[edges[n + 1]] if n + 1 < len(edges) else duration_s,
            family=chance.choice(("", "B", "B")),
            suggested=True,
            id=f"section-{n}",
        )
        for n, first in enumerate(edges)
    )
    levels = tuple(chance.uniform(-20.0, -8.0) for _ in range(int(duration_s / LEVEL_STEP_S) + 1))
    song_map = SongMap(120.0, tuple(beats), tuple(starts), sections, levels_db=levels)
    lines = sorted(chance.uniform(0.0, duration_s) for _ in range(2 * chance.randrange(4)))
    lyrics = tuple(LyricLine("la", *lines[n : n + 2]) for n in range(0, len(lines), 2))
    return Song(MediaRef("/invented/song.wav", 1, "00"), duration_s, song_map, lyrics=lyrics)


def random_view(seed: int, bars: int = 6, takes: int = 4, *, gaps: bool = True) -> SongView:
    """A shoot on such a song. Without ``gaps`` a safety runs all through it."""
    chance = random.Random(seed)
    song = random_song(chance, bars)
    angles = tuple(
        Angle(
            f"angle-{n}",
            name,
            safety=n == 4,
            subjects=chance.choice(((), (), ("voice",), ("whole band",))),
            rank=chance.randrange(4),
        )
        for n, name in enumerate(NAMES)
    )
    clips = []
    for n in range(takes):
        whole = n == 0 and not gaps
        rate = chance.choice(RATES)
        speed = chance.choice((1.0, 1.0, 1.0003, 0.96, 2.0))
        start_s = -1.0 if whole else chance.uniform(-2.0, 0.7 * song.duration_s)
        end_s = song.duration_s + 1 if whole else start_s + chance.uniform(1.5, song.duration_s)
        length_s = (end_s - start_s) / speed
        take = Take(
            f"take-{n}",
            1.0,
            1.0 + length_s,
            start_s,
            speed,
            verdict=Verdict.DOUBTFUL if not whole and chance.random() < 0.15 else Verdict.PLACED,
            decision=chance.choice((Decision.COMPUTED, Decision.COMPUTED, Decision.CONFIRMED)),
        )
        marks = []
        for m in range(0 if whole else chance.randrange(3)):
            begin = chance.uniform(1.0, 1.0 + length_s)
            kind = chance.choice((MarkKind.FAULT, MarkKind.KEEPER))
            end = begin + chance.uniform(0.2, 4.0)
            marks.append(Mark(f"mark-{n}-{m}", f"clip-{n}", kind, begin, end))
        angle = angles[4 if whole else chance.randrange(5)]
        clips.append(
            Clip(
                f"clip-{n}",
                MediaRef(f"/invented/{n}.mov", 1, f"{n:02}"),
                angle.id,
                length_s + 2.0,
                rate,
                verdict=take.verdict,
                takes=(take,),
                marks=tuple(marks),
            )
        )
    needs = tuple(
        Need(f"need-{n}", FIRST_SONG, _passage(chance, bars), subject, chance.randrange(3))
        for n, subject in enumerate(
            chance.sample(("singer", "drums", "voice", "any angle"), chance.randrange(3))
        )
    )
    for n in range(0, len(clips), 2):
        group = chance.choice(("", "left", "right"))
        clips[n] = replace(clips[n], look=Look(clips[n].id, clips[n].media.digest, group))
    plan = Plan(needs, handle_frames=chance.choice((0, 0, 6)))
    return SongView("invented", song, angles, tuple(clips), plan)


def random_rules(seed: int, *, beats: bool = False) -> Rules:
    """Rules with any weights, some of them always or never; cuts on beats too where they may be."""
    chance = random.Random(seed)
    settings = []
    for rule in RULES:
        if chance.random() < 0.5:
            continue
        if rule.kind is Kind.WEIGHT:
            value = chance.choice(("always", "never", str(chance.randrange(100))))
        elif rule.kind is Kind.COUNT:
            value = str(chance.choice((0, 1, 2, 4, 12)))
        elif rule.kind is Kind.PACE:
            value = chance.choice(("slow", "fast", "energy", "1", "1-2", "2-3"))
        else:
            value = chance.choice(("downbeats", "downbeats", "beats")) if beats else "downbeats"
        settings.append(Setting(rule.name, value))
    return rules_of(settings)


def alike_view(seed: int, bars: int = 10, takes: int = 6) -> SongView:
    """A shoot of which nearly all cuts cost nearly the same: takes over most of the song, with few marks."""
    chance = random.Random(seed)
    view = random_view(seed, bars, takes, gaps=False)
    assert view.song is not None
    duration_s = view.song.duration_s
    clips = []
    for n, clip in enumerate(view.clips):
        start_s = chance.choice((-1.0, -1.0, chance.uniform(0.0, duration_s / 2)))
        end_s = chance.choice((duration_s + 1, duration_s + 1, start_s + chance.uniform(4.0, duration_s)))
        take = replace(
            clip.takes[0],
            clip_end_s=1.0 + (end_s - start_s),
            song_start_s=start_s,
            speed=1.0,
            verdict=Verdict.PLACED,
        )
        angle = view.angles[n % len(view.angles)].id if n else clip.angle_id
        clips.append(
            replace(
                clip, angle_id=angle, verdict=Verdict.PLACED, takes=(take,), duration_s=end_s - start_s + 2
            )
        )
    return replace(view, clips=tuple(clips))


def random_locks(seed: int, bars: int) -> tuple[Lock, ...]:
    """None, one or two locks."""
    chance = random.Random(seed)
    return tuple(
        Lock(f"lock-{n}", FIRST_SONG, _passage(chance, bars), f"angle-{chance.randrange(5)}")
        for n in range(chance.randrange(3))
    )


def _passage(chance: random.Random, bars: int) -> Passage:
    first = chance.randrange(1, bars + 1)
    return Passage(first_bar=first, last_bar=min(bars, first + chance.randrange(4)))
