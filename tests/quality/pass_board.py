"""First passes of made shoots, judged as an editor would: ``python -m tests.quality.pass_board --seed 5000``.

Songs have intro, verses, choruses, a solo and an end; bands play them before a wide camera, one for each
player and one or two on hands or feet, some of which miss a part of the song. Plans ask for what plans ask.
Nothing here looks at the rules: which angles are wide or details is known from how a shoot was made.
"""

import argparse
import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from app.model.coverage.time_spans import common, length
from app.model.coverage.usable import usable_takes
from app.model.document.angle import Angle
from app.model.document.decisions import Decision
from app.model.document.marks import Mark, MarkKind
from app.model.document.media_ref import MediaRef
from app.model.document.plan import Need, Passage, Plan
from app.model.document.song import FIRST_SONG, LEVEL_STEP_S, LyricLine, Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.first_pass.result import FirstPass, Shot
from app.model.first_pass.solver import solve
from app.model.on_song import Clip, SongView, Take

RATE = Fraction(25)
FORMS = (
    "IVCVCSCO",
    "IVVCVCSCCO",
    "VCVCSVCO",
    "IVCVCO",
)
NAMES = {"I": "Intro", "V": "Verse", "C": "Chorus", "S": "Solo", "O": "Outro"}
LENGTHS = {"I": (4, 8), "V": (8, 16), "C": (8, 16), "S": (8, 16), "O": (4, 8)}
LEVELS = {"I": -18.0, "V": -15.0, "C": -11.0, "S": -12.5, "O": -17.0}
PLAYERS = ("guitar", "bass", "drums", "keys", "strings")
SOON = 8
"""Bars within which an angle that comes back is counted."""
HELD = 4
"""Bars after which a detail is held long."""
FLAT = 1 / 3
"""A share of the song above which one angle rules."""


@dataclass(frozen=True, slots=True)
class Made:
    """A shoot, and what is known of it."""

    view: SongView
    wides: frozenset[str]
    details: frozenset[str]


def made_shoot(seed: int) -> Made:
    """A shoot as bands make them."""
    chance = random.Random(seed)
    song, letters = _song(chance)
    players = chance.sample(PLAYERS, chance.randrange(2, 5))
    names: list[tuple[str, tuple[str, ...], bool]] = [("Singer", ("voice",), False)]
    names += [(one.capitalize(), (one,), False) for one in players]
    for one in chance.sample(players, chance.randrange(3)):
        what = "feet" if one == "drums" else "hands"
        names.append((f"{one.capitalize()} {what}", (f"{one} {what}",), False))
    names.append(("Wide", ("whole band",), chance.random() < 0.5))
    if names[-1][2] or chance.random() < 0.3:
        names.append(("Roaming", ("whole band",), False))
    ranked = chance.random() < 0.7
    angles = tuple(
        Angle(f"angle-{n}", name, safety, subjects, rank=chance.randrange(1, 6) if ranked else 0)
        for n, (name, subjects, safety) in enumerate(names)
    )
    clips = [clip for angle in angles for clip in _clips(chance, angle, song)]
    view = SongView("made", song, angles, tuple(clips), Plan(_needs(chance, song, letters, players)))
    words = {angle.id: set(angle.name.lower().split()) for angle in angles}
    return Made(
        view,
        frozenset(one for one, own in words.items() if own & {"wide", "roaming"}),
        frozenset(one for one, own in words.items() if own & {"hands", "feet"}),
    )


def _song(chance: random.Random) -> tuple[Song, str]:
    form = chance.choice(FORMS)
    to_bar = chance.choice((3, 4, 4, 4))
    beat_s = 60.0 / chance.uniform(76, 150)
    at = chance.choice((0.0, chance.uniform(0.3, 4.0)))
    beats: list[float] = []
    bars: list[float] = []
    sections, levels = [], []
    seen: Counter[str] = Counter()
    long = {kind: chance.choice(lengths) for kind, lengths in LENGTHS.items()}
    for n, kind in enumerate(form):
        start = 0.0 if n == 0 else at
        for _ in range(long[kind]):
            bars.append(at)
            for _ in range(to_bar):
                beats.append(at)
                at += beat_s * chance.uniform(0.99, 1.01)
        seen[kind] += 1
        name = f"{NAMES[kind]} {seen[kind]}" if form.count(kind) > 1 else NAMES[kind]
        sections.append(Section(chr(65 + n), name, start, at, kind, id=f"section-{n}"))
    duration_s = at + chance.choice((0.0, 2.5))
    lyrics = tuple(
        LyricLine("la", beats[n], beats[n] + 6 * beat_s)
        for section, kind in zip(sections, form, strict=True)
        if kind in "VC"
        for n in range(0, len(beats) - 6, 2 * to_bar)
        if section.start_s <= beats[n] < section.end_s
    )
    for step in range(int(duration_s / LEVEL_STEP_S) + 1):
        when = step * LEVEL_STEP_S
        kind = next((k for s, k in zip(sections, form, strict=True) if s.start_s <= when < s.end_s), "O")
        levels.append(LEVELS[kind] + chance.uniform(-0.5, 0.5))
    song_map = SongMap(60 / beat_s, tuple(beats), tuple(bars), tuple(sections), levels_db=tuple(levels))
    lines = lyrics if chance.random() < 0.5 else ()
    return Song(MediaRef("/made/song.wav", 1, "00"), duration_s, song_map, lyrics=lines), form


def _clips(chance: random.Random, angle: Angle, song: Song) -> list[Clip]:
    words = angle.name.lower()
    detail = "hands" in words or "feet" in words
    count = 1 if angle.safety else chance.choice((1, 2) if detail else (1, 1, 2, 3))
    found = []
    for n in range(count):
        whole = angle.safety or (not detail and chance.random() < 0.6)
        end_s = song.duration_s
        low = -1.0 if whole else chance.uniform(-1.0, 0.6 * end_s)
        high = end_s + 1 if whole else min(end_s + 1, low + chance.uniform(10, 30 if detail else end_s))
        name = f"{angle.id}-{n}"
        take = Take(
            f"take-{name}",
            1.0,
            1.0 + high - low,
            low,
            1.0,
            verdict=Verdict.PLACED,
            decision=chance.choice((Decision.COMPUTED, Decision.COMPUTED, Decision.CONFIRMED)),
        )
        marks = []
        for m in range(chance.randrange(3)):
            begin = chance.uniform(1.0, 1.0 + high - low)
            mark = chance.choice((MarkKind.FAULT, MarkKind.KEEPER))
            marks.append(Mark(f"mark-{name}-{m}", f"clip-{name}", mark, begin, begin + chance.uniform(1, 8)))
        media = MediaRef(f"/made/{name}.mov", 1, name)
        found.append(
            Clip(
                f"clip-{name}",
                media,
                angle.id,
                high - low + 2,
                RATE,
                verdict=Verdict.PLACED,
                takes=(take,),
                marks=tuple(marks),
            )
        )
    return found


def _needs(chance: random.Random, song: Song, form: str, players: list[str]) -> tuple[Need, ...]:
    if chance.random() < 0.3:
        return ()
    asked = []
    for section, kind in zip(song.map.sections, form, strict=True):
        subject = {"V": "voice", "C": chance.choice(("whole band", "voice")), "S": players[0]}.get(kind)
        if subject is not None and chance.random() < 0.7:
            least = chance.choice((0, 0, 2, 4))
            asked.append(Need("", FIRST_SONG, Passage(section.id), subject, least))
    return tuple(
        Need(f"need-{n}", one.song_id, one.passage, one.subject, one.least_bars)
        for n, one in enumerate(asked)
    )


@dataclass(frozen=True, slots=True)
class Judged:
    """What an editor would say of one first pass, as figures."""

    shots: int
    seconds: float
    """Mean length of a shot."""
    most_share: float
    """Share of the song that the angle has which is seen most."""
    section_share: float
    """The same within sections of eight bars or more in which three angles can be used: their mean."""
    soon: float
    """Of ten shots how many show an angle again that was seen within the last bars."""
    pingpong: float
    """Of ten shots how many go back to the angle before the last one."""
    held: int
    """Details that are held long."""
    longest_s: float
    no_wide: int
    """Sections of eight bars or more without a wide shot where there could be one."""
    opens: bool | None
    """The first shot is wide; None where it cannot be."""
    ends: bool | None
    sung: float | None
    """Share of the sung lines that show the singer, where the singer can be used."""
    solo: float | None
    """Share of a solo that shows who plays it, by the plan or the name of the section."""
    rise: float | None
    """Mean length of shots in verses over that in choruses."""
    like_before: float | None
    """Share of the bars of a section that show what the family's section before showed there."""
    keepers: float | None
    """Share of the bars with a keeper that show one."""
    unseen: int
    """Angles but safeties that are never seen though they could be."""
    unmet: int
    """Needs with nothing to be seen of them though something shows it."""


def judge(made: Made, cut: FirstPass) -> Judged:
    """The figures of one first pass."""
    view, shots = made.view, cut.shots
    assert view.song is not None
    song = view.song
    bars = song.map.bars_s
    takes = [one for one in usable_takes(view) if not one.doubtful]

    def can(angles: frozenset[str], low: float, high: float, *, safeties: bool = False) -> bool:
        safe = {one.id for one in view.angles if one.safety}
        return any(
            one.angle_id in angles
            and (safeties or one.angle_id not in safe)
            and any(a <= low + 0.05 and high - 0.05 <= b for a, b in one.usable)
            for one in takes
        )

    def seen(low: float, high: float, angles: frozenset[str] | None = None) -> float:
        return sum(
            max(0.0, min(high, one.song_end_s) - max(low, one.song_start_s))
            for one in shots
            if angles is None or one.angle_id in angles
        )

    edges = [*bars, song.duration_s]
    whole = {one.id: seen(0, song.duration_s, frozenset((one.id,))) for one in view.angles}
    shares, no_wide, lengths, sung = [], 0, {"V": [], "C": []}, []
    solo: list[float] = []
    by_bar = {}
    for bar, (low, high) in enumerate(pairwise(edges)):
        by_bar[bar] = max(view.angles, key=lambda one: seen(low, high, frozenset((one.id,)))).id
    order: dict[str, list[list[str]]] = {}
    for section in song.map.sections:
        own = [n for n, bar in enumerate(bars) if section.start_s - 0.01 <= bar < section.end_s - 0.01]
        order.setdefault(section.family, []).append([by_bar[n] for n in own])
        spans = [(bars[n], edges[n + 1]) for n in own]
        usable = {
            one.id
            for one in view.angles
            if not one.safety and sum(can(frozenset((one.id,)), a, b) for a, b in spans) >= len(own) / 2
        }
        if len(own) >= 8:
            if len(usable) >= 3:
                each = [seen(section.start_s, section.end_s, frozenset((one.id,))) for one in view.angles]
                shares.append(max(each) / (section.end_s - section.start_s))
            wide_there = sum(can(made.wides, a, b) for a, b in spans) >= 4
            if wide_there and not seen(section.start_s, section.end_s, made.wides):
                no_wide += 1
        if section.family in lengths:
            lengths[section.family] += [
                one.song_end_s - one.song_start_s
                for one in shots
                if section.start_s - 0.2 <= one.song_start_s < section.end_s - 0.2
            ]
        if section.family == "S":
            who = next((n.subject for n in view.plan.needs if n.passage.section_id == section.id), None)
            showing = frozenset(
                one.id for one in view.angles if who and any(who in own for own in one.subjects)
            )
            there = [(a, b) for a, b in spans if can(showing, a, b)]
            if there:
                solo.append(sum(seen(a, b, showing) for a, b in there) / sum(b - a for a, b in there))
    singer = frozenset(("angle-0",))
    for line in song.lyrics:
        assert line.start_s is not None
        assert line.end_s is not None
        if can(singer, line.start_s, line.end_s):
            sung.append(seen(line.start_s, line.end_s, singer) / (line.end_s - line.start_s))
    again = pingpong = 0
    for n, shot in enumerate(shots):
        past = [one for one in shots[:n] if one.angle_id == shot.angle_id]
        again += bool(past) and shot.first_bar - 1 - past[-1].last_bar < SOON
        pingpong += n > 1 and shots[n - 2].angle_id == shot.angle_id
    bar_s = (bars[-1] - bars[0]) / (len(bars) - 1)
    held = [
        one
        for one in shots
        if one.angle_id in made.details and one.song_end_s - one.song_start_s > (HELD + 0.5) * bar_s
    ]
    alike = [
        a == b
        for own in order.values()
        for one, other in pairwise(own)
        for a, b in zip(one, other, strict=False)
    ]
    kept, kept_there = 0, 0
    by_id = {one.take.id: one for one in takes}
    for low, high in pairwise(edges):
        keeping = {
            one.take.id for one in takes if length(common(one.keepers, ((low, high),))) >= (high - low) * 0.9
        }
        if keeping:
            kept_there += 1
            kept += any(
                shot.take_id in keeping
                for shot in shots
                if shot.song_start_s <= (low + high) / 2 < shot.song_end_s
            )
    assert by_id
    return Judged(
        shots=len(shots),
        seconds=song.duration_s / max(1, len(shots)),
        most_share=max(whole.values()) / song.duration_s,
        section_share=sum(shares) / len(shares) if shares else 0.0,
        soon=10 * again / len(shots),
        pingpong=10 * pingpong / len(shots),
        held=len(held),
        longest_s=max(one.song_end_s - one.song_start_s for one in shots),
        no_wide=no_wide,
        opens=_wide_there(made, shots[0], edges[:3], can),
        ends=_wide_there(made, shots[-1], edges[-3:], can),
        sung=_mean(sung),
        solo=_mean(solo),
        rise=(sum(lengths["V"]) / len(lengths["V"])) / (sum(lengths["C"]) / len(lengths["C"]))
        if lengths["V"] and lengths["C"]
        else None,
        like_before=_mean([float(one) for one in alike]),
        keepers=kept / kept_there if kept_there else None,
        unseen=sum(
            not whole[one.id]
            and not one.safety
            and any(can(frozenset((one.id,)), a, b) for a, b in zip(edges, edges[2:], strict=False))
            for one in view.angles
        ),
        unmet=sum("is not met: other" in one.words for one in cut.unsatisfied),
    )


def _wide_there(made: Made, shot: Shot, edges: list[float], can: Callable[..., bool]) -> bool | None:
    there = all(can(made.wides, a, b) for a, b in pairwise(edges))
    return shot.angle_id in made.wides if there else None


def _mean(values: list[float]) -> float | None:
    return sum(values) / len(values) if values else None


def main() -> None:
    """Print a line for each shoot, and the means."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--seed", type=int, default=5000)
    parser.add_argument("--shoots", type=int, default=12)
    parser.add_argument("--each", action="store_true", help="print a line for each shoot too")
    chosen = parser.parse_args()
    judged = []
    for seed in range(chosen.seed, chosen.seed + chosen.shoots):
        made = made_shoot(seed)
        one = judge(made, solve(made.view, rate=RATE))
        judged.append(one)
        if chosen.each:
            print(seed, *(f"{name}={_text(getattr(one, name))}" for name in Judged.__slots__))
    for name in Judged.__slots__:
        values = [float(getattr(one, name)) for one in judged if getattr(one, name) is not None]
        mean = sum(values) / len(values) if values else float("nan")
        print(f"{name:14} mean {mean:7.2f}   most {max(values, default=0):7.2f}   shoots {len(values)}")


def _text(value: float | None) -> str:
    return "-" if value is None else f"{float(value):.2f}"


if __name__ == "__main__":
    main()
