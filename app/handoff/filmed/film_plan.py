"""What a proof film will show: its angles, its length, and what will be missing."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import ceil
from pathlib import Path

from app.handoff.filmed.film_takes import SAME_S, Seen, seen_shots, seen_takes
from app.handoff.layout import clip_names, take_name, timeline_rate
from app.handoff.outcome import HandoffError, count, plain
from app.model.coverage.ranges import runs
from app.model.coverage.showing import ENOUGH
from app.model.coverage.staves import stave_order
from app.model.document.angle import Angle
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.first_pass.result import FirstPass
from app.model.on_song import SongView
from app.model.song_map.bar_spans import BarSpan, bar_spans
from app.model.timebase import rate_words

MOST_ANGLES = 9
MOST_RATE = 60
"""Frames a second of the film; clips for slow motion have more."""
LEAST_PIXELS, MOST_PIXELS = 160, 4096

FIRST_PASS = Angle(id="", name="First pass")
"""Stands for the angles that a first pass shows in one picture."""


class FilmSound(StrEnum):
    """What is heard with the film."""

    SONG = "song"
    EARS = "song left, take right"


@dataclass(frozen=True, slots=True, kw_only=True)
class Film:
    """The film as it is wanted."""

    angle_ids: tuple[str, ...] = ()
    """In the order of the tiles. Empty: every angle that shows something, at most nine, safeties last."""
    from_s: float = 0.0
    """Song time at which it starts."""
    to_s: float | None = None
    """Song time at which it ends; None for the end of the song."""
    width: int = 1280
    height: int = 720
    """Pixels."""
    rate: Fraction | None = None
    """Frames per second; None for the rate that most clips have."""
    sound: FilmSound = FilmSound.SONG
    cut: FirstPass | None = None
    """A first pass to show in one picture, instead of angles side by side."""


@dataclass(frozen=True, slots=True)
class Row:
    """An angle of the film and what it shows, in the order of the song."""

    angle: Angle
    seen: tuple[Seen, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmPlan:
    """What will be written."""

    rows: tuple[Row, ...]
    from_s: float
    """Song time at which the film starts."""
    frames: int
    rate: Fraction
    """Frames per second."""
    width: int
    height: int
    """Pixels, both even."""
    sound: FilmSound
    lines: tuple[str, ...]
    """Notes for the person, one sentence each."""

    @property
    def seconds(self) -> float:
        """Length of the film, seconds."""
        return float(self.frames / self.rate)

    @property
    def takes(self) -> int:
        """How many takes it shows."""
        return len({seen.take.id for row in self.rows for seen in row.seen})


def bars_s(shoot: SongView, first: int, last: int) -> tuple[float, float]:
    """Song time of the bars between two numbers, both included. Raises HandoffError."""
    first, last = min(first, last), max(first, last)
    spans = [bar for bar in bar_spans(_song(shoot)) if first <= bar.number <= last]
    if not spans:
        raise HandoffError(f"The song has no bar {first}: choose bars that it has.")
    return spans[0].start_s, spans[-1].end_s


def plan(shoot: SongView, film: Film) -> FilmPlan:
    """What a film will show. Raises HandoffError where it would show nothing, or cannot be made as wanted."""
    song = _song(shoot)
    rate = film.rate or _usual_rate(shoot)
    from_s, to_s = (
        max(0.0, film.from_s),
        min(song.duration_s, song.duration_s if film.to_s is None else film.to_s),
    )
    frames = round((Fraction(to_s) - Fraction(from_s)) * rate)
    if frames < 1:
        raise HandoffError("The film would be shorter than a frame: choose a longer part of the song.")
    if not 1 <= rate <= 2 * MOST_RATE:
        raise HandoffError(f"A film of {rate_words(rate)} fps cannot be made: choose 24 to 60.")
    if not all(LEAST_PIXELS <= side <= MOST_PIXELS for side in (film.width, film.height)):
        raise HandoffError(
            f"A film of {film.width} × {film.height} cannot be made: choose {LEAST_PIXELS} to {MOST_PIXELS}."
        )
    end_s = float(Fraction(from_s) + frames / rate)
    rows, left_out = _rows(shoot, film, from_s, end_s)
    if not any(row.seen for row in rows):
        raise HandoffError(
            "No take is placed in this part of the song, so there is nothing to show: choose another part."
        )
    if film.sound is FilmSound.EARS and len(rows) != 1:
        raise HandoffError("Song on the left and take on the right needs a single angle: choose one.")
    shown = f"{len(rows)} {'angle' if len(rows) == 1 else 'angles'}: " + ", ".join(
        plain(row.angle.name) for row in rows
    )
    if film.cut is not None:
        shown = f"{plain(film.cut.name)}: {count(len(rows[0].seen), 'shot')}"
    lines = [
        f"{_clock(end_s - from_s)} long, from {_clock(from_s)} of the song: {frames} frames at "
        f"{rate_words(rate)} fps, {film.width} × {film.height}.",
        f"{shown}.",
        *left_out,
        *_missing(shoot, song, rows, from_s, end_s),
    ]
    return FilmPlan(
        rows=tuple(rows),
        from_s=from_s,
        frames=frames,
        rate=rate,
        width=film.width // 2 * 2,
        height=film.height // 2 * 2,
        sound=film.sound,
        lines=tuple(lines),
    )


def _song(shoot: SongView) -> Song:
    if shoot.song is None:
        raise HandoffError("There is no song yet, so there is no film to make. Choose the song first.")
    return shoot.song


def _usual_rate(shoot: SongView) -> Fraction:
    """The timeline's rate, or a whole fraction of it where that is more than a film needs."""
    rate = timeline_rate(shoot)
    return rate / ceil(rate / MOST_RATE)


def _clock(seconds: float) -> str:
    tenths = round(seconds * 10)
    return f"{tenths // 600}:{tenths // 10 % 60:02}.{tenths % 10}"


def _rows(shoot: SongView, film: Film, from_s: float, to_s: float) -> tuple[list[Row], list[str]]:
    """The angles that are shown, and a sentence on each that is not."""

    def row(angle: Angle) -> Row:
        return Row(angle, seen_takes(shoot, angle.id, from_s, to_s))

    if film.cut is not None:
        return [Row(FIRST_PASS, seen_shots(shoot, film.cut, from_s, to_s))], []
    if film.angle_ids:
        known = {angle.id: angle for angle in shoot.angles}
        missing = [one for one in film.angle_ids if one not in known]
        if missing:
            raise HandoffError(f"There is no angle {missing[0]!r} in this shoot: choose another.")
        chosen = list(dict.fromkeys(film.angle_ids))
        if len(chosen) > MOST_ANGLES:
            raise HandoffError(f"A film shows {MOST_ANGLES} angles at most: choose fewer.")
        return [row(known[one]) for one in chosen], []
    all_rows = [row(angle) for angle in stave_order(shoot.angles)]
    rows = [one for one in all_rows if any(seen.clip.frame_rate is not None for seen in one.seen)]
    # The fullest stay where there are too many, in their order.
    full = sorted(rows, key=lambda one: -sum(seen.end_s - seen.start_s for seen in one.seen))[:MOST_ANGLES]
    lines = []
    for one in all_rows:
        name = plain(one.angle.name)
        if one not in rows:
            lines.append(f"{name}: not in this film, because it shows nothing in this part of the song.")
        elif one not in full:
            lines.append(
                f"{name}: not in this film, which shows at most {MOST_ANGLES} angles. Make another film of "
                "this angle alone."
            )
    return [one for one in rows if one in full], lines


def _missing(shoot: SongView, song: Song, rows: Sequence[Row], from_s: float, to_s: float) -> Iterable[str]:
    """Sentences on what is not shown, or only in part."""
    # A section says too little where there are no bars: an angle may run through half of it.
    spans = bar_spans(song) if song.map.bars_s else ()
    bars = [bar for bar in spans if bar.end_s > from_s and bar.start_s < to_s]
    for row in rows:
        bare = [bar.number for bar in bars if not _shows(row, bar, from_s, to_s)]
        if bare:
            where = ", ".join(str(a) if a == b else f"{a}–{b}" for a, b in runs(bare))
            yield f"{plain(row.angle.name)}: nothing in {'bar' if len(bare) == 1 else 'bars'} {where}."
    seen = {one.take.id for row in rows for one in row.seen}
    shown = {row.angle.id for row in rows if row.angle is not FIRST_PASS}
    names = clip_names(shoot.clips)
    for clip in shoot.clips:
        for take in clip.takes:
            inside = min(take.song_end_s, to_s) - max(take.song_start_s, from_s) > SAME_S
            if clip.angle_id not in shown or take.id in seen or not inside:
                continue
            name = plain(take_name(clip, take, names[clip.id]))
            if take.verdict is Verdict.DOUBTFUL:
                yield f"{name}: not shown, because it is in doubt. Check it first."
            else:
                yield f"{name}: not shown, because another take of its angle runs there."
    for path in dict.fromkeys(one.clip.media.path for row in rows for one in row.seen):
        if not Path(path).is_file():
            yield f"{plain(Path(path).name)} is missing, and its tile will say so. Find it first."


def _shows(row: Row, bar: BarSpan, from_s: float, to_s: float) -> bool:
    start_s, end_s = max(bar.start_s, from_s), min(bar.end_s, to_s)
    shown_s = sum(max(0.0, min(one.end_s, end_s) - max(one.start_s, start_s)) for one in row.seen)
    return shown_s >= ENOUGH * (end_s - start_s) - SAME_S
