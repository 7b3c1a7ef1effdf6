"""A large shoot without any file behind it: many takes of a long song, as the score has to show them."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np

from app.model.document.angle import Angle
from app.model.document.findings import Rival
from app.model.document.marks import FaultReason, Mark, MarkKind
from app.model.document.media_ref import MediaRef
from app.model.document.plan import Need, Passage, Plan
from app.model.document.song import FIRST_SONG, Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take

NAMES = (
    "Singer",
    "Accordion",
    "Fiddle",
    "Drums",
    "Double bass",
    "Roaming",
    "Hands",
    "Crane over the harbour",
    "Back of the stage",
    "Crowd",
    "Details",
    "Safety wide",
)
GROUPS = {"Accordion": "Melody", "Fiddle": "Melody", "Drums": "Rhythm", "Double bass": "Rhythm"}
PARTS = ("Intro", "Verse", "Chorus", "Verse", "Chorus", "Bridge", "Solo", "Chorus", "Turn", "Outro")


def large_shoot(takes: int = 200, minutes: float = 10.0, bar_s: float = 2.0, seed: int = 1) -> SongView:
    """A song of ten minutes and 200 takes on twelve angles, from run-throughs to pick-ups of some bars."""
    chance = np.random.default_rng(seed)
    bars = int(minutes * 60 / bar_s)
    starts = tuple(0.4 + n * bar_s for n in range(bars))
    edges = [0, *sorted(4 * n for n in chance.choice(np.arange(2, bars // 4 - 1), 19, replace=False)), bars]
    sections = tuple(
        Section(
            chr(65 + n) if n < 26 else f"A{n - 25}",
            PARTS[n % len(PARTS)],
            0.0 if n == 0 else starts[first],
            starts[last] if last < bars else minutes * 60,
        )
        for n, (first, last) in enumerate(pairwise(edges))
    )
    song = Song(MediaRef("/invented/song.wav", 1, "song"), minutes * 60, SongMap(120.0, (), starts, sections))
    angles = tuple(
        Angle(f"angle-{n}", name, name == NAMES[-1], (), GROUPS.get(name, ""))
        for n, name in enumerate(NAMES, 1)
    )
    clips = []
    for n in range(takes):
        angle = int(chance.integers(len(NAMES) - 1)) if n >= 4 else (len(NAMES) - 1, 0, 1, 3)[n]
        length = (
            bars
            if n < 2
            else int(chance.choice([6, 12, 16, 24, 40, bars], p=[0.3, 0.3, 0.2, 0.1, 0.07, 0.03]))
        )
        first = 0 if length == bars else int(chance.integers(0, bars - length))
        doubtful = n % 17 == 5
        take = Take(
            f"take-{n}",
            1.0,
            1.0 + length * bar_s - 0.3,
            starts[first] - float(chance.uniform(0, 0.6)),
            uncertainty_s=0.0006,
            verdict=Verdict.DOUBTFUL if doubtful else Verdict.PLACED,
            rivals=(Rival(starts[(first + 64) % bars], 0.97),) if doubtful else (),
        )
        clips.append(
            Clip(
                f"clip-{n}",
                MediaRef(f"/invented/{NAMES[angle]}/C{n:04d}.mov", 1, str(n)),
                angles[angle].id,
                take.clip_end_s + 3,
                Fraction(25),
                width=3840,
                height=2160,
                verdict=take.verdict,
                takes=(take,),
            )
        )
    return SongView("large", song, angles, tuple(clips))


def planned(shoot: SongView, needs: int = 60, marks: int = 300, seed: int = 2) -> SongView:
    """The same shoot with a plan, and with faults and keepers on its takes."""
    assert shoot.song is not None
    chance = np.random.default_rng(seed)
    bars = len(shoot.song.map.bars_s)
    asked = []
    for n in range(needs):
        first = int(chance.integers(1, bars - 8))
        last = min(bars, first + int(chance.choice([4, 8, 16, 32])))
        subject = NAMES[n % 8] if n % 5 else "any angle"
        passage = Passage(first_bar=first, last_bar=last)
        asked.append(Need(f"need-{n}", FIRST_SONG, passage, subject, least_angles=2 if n % 5 == 0 else 1))
    of_clip: dict[str, list[Mark]] = {}
    for n in range(marks):
        clip = shoot.clips[n % len(shoot.clips)]
        take = clip.takes[0]
        start = float(chance.uniform(take.clip_start_s, take.clip_end_s - 3.0))
        kind = MarkKind.KEEPER if n % 4 == 0 else MarkKind.FAULT
        reason = tuple(FaultReason)[n % len(FaultReason)]
        mark = Mark(f"mark-{n}", clip.id, kind, start, start + float(chance.uniform(0.5, 3.0)), reason)
        of_clip.setdefault(clip.id, []).append(mark)
    clips = tuple(replace(clip, marks=tuple(of_clip.get(clip.id, ()))) for clip in shoot.clips)
    return replace(shoot, clips=clips, plan=Plan(needs=tuple(asked)))
