"""What can be said of one bar: who shows it, who comes nearest, and a sentence for the side panel."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.model.coverage.coverage import BarCoverage, SectionCoverage, shown_in_part
from app.model.coverage.passages import bars_words
from app.model.coverage.showing import counted_clips, covers, sound_clips
from app.model.coverage.thinness import KINDS, NOT_NAMED, Thin
from app.model.document.angle import Angle
from app.model.document.marks import Mark, MarkState
from app.model.document.song import Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.model.song_map.bar_spans import BarSpan
from app.model.song_map.lyrics import lines_at_bars
from app.window.parts import words
from app.window.score.score_marks import mark_words


@dataclass(frozen=True, slots=True)
class Showing:
    """A take that shows the bar, or would."""

    angle: Angle
    clip: Clip
    take: Take
    line: str


@dataclass(frozen=True, slots=True)
class Near:
    """An angle that does not show the bar, and where it comes nearest."""

    angle: Angle
    line: str


@dataclass(frozen=True, slots=True)
class BarFacts:
    """Everything the side panel says of a bar."""

    number: int
    whole: bool
    """The song has no bars: the span is a whole section."""
    place: str
    """Section and song time, and the line of the lyrics that begins there."""
    sentence: str
    thin: bool
    showing: tuple[Showing, ...]
    doubtful: tuple[Showing, ...]
    partly: tuple[Showing, ...]
    """Placed takes that show too little of the bar to count."""
    near: tuple[Near, ...]
    sound: tuple[Showing, ...] = ()
    """Takes without a picture that run here: heard, not counted."""


def bar_facts(shoot: SongView, sections: Sequence[SectionCoverage], number: int) -> BarFacts | None:
    """Gather what is known of a bar; None where the song has no such bar."""
    if shoot.song is None:
        return None
    found = next(((s, b) for s in sections for b in s.bars if b.bar.number == number), None)
    if found is None:
        return None
    section, bar = found
    song_map = shoot.song.map
    angles = {angle.id: angle for angle in shoot.angles}
    showing: list[Showing] = []
    doubtful: list[Showing] = []
    partly: list[Showing] = []
    nearest: dict[str, tuple[float, str]] = {}
    for clip in counted_clips(shoot):
        for take in clip.takes:
            if clip.angle_id not in angles:
                continue
            covering = covers(take, bar.bar)
            gap, line = _gap(shoot, take, bar.bar)
            told = _told(shoot, clip, take)
            marks = [mark_words(mark) for mark in _marks_in(clip, take, bar.bar)]
            if marks:  # what one asks about first; there is no room for all
                told = " · ".join([words.take_name(clip, take), *marks, words.take_state(take)])
            if not covering:
                told += f" · {line.rpartition(' · ')[2]}"
            entry = Showing(angles[clip.angle_id], clip, take, told)
            touching = take.song_start_s < bar.bar.end_s and take.song_end_s > bar.bar.start_s
            if covering or touching:
                sure = take.verdict is not Verdict.DOUBTFUL
                ((showing if covering else partly) if sure else doubtful).append(entry)
                continue
            if take.verdict is Verdict.DOUBTFUL:
                continue
            if clip.angle_id not in nearest or gap < nearest[clip.angle_id][0]:
                nearest[clip.angle_id] = (gap, line)
    here = {entry.angle.id for entry in (*showing, *partly)}
    near = sorted(
        ((gap, angle_id, line) for angle_id, (gap, line) in nearest.items() if angle_id not in here),
        key=lambda item: item[0],
    )
    name = f"{section.section.letter} {section.section.name}".strip()
    return BarFacts(
        number=number,
        whole=not song_map.bars_s,
        place=f"{name} · {words.song_time(bar.bar.start_s)}{_sung(shoot.song, number)}",
        sentence=_sentence(bar, sum(covers(e.take, bar.bar) for e in doubtful), _told_of(shoot, bar)),
        thin=bar.thin is not None,
        showing=tuple(showing),
        doubtful=tuple(doubtful),
        partly=tuple(partly),
        near=tuple(Near(angles[angle_id], line) for _, angle_id, line in near),
        sound=tuple(
            Showing(angles[clip.angle_id], clip, take, _told(shoot, clip, take))
            for clip in sound_clips(shoot)
            for take in clip.takes
            if clip.angle_id in angles
            and take.song_start_s < bar.bar.end_s
            and take.song_end_s > bar.bar.start_s
        ),
    )


def _marks_in(clip: Clip, take: Take, bar: BarSpan) -> list[Mark]:
    """The faults and keepers of a take that lie in a bar and count."""
    low, high = take.clip_time(bar.start_s), take.clip_time(bar.end_s)
    return [
        mark
        for mark in clip.marks
        if mark.state is MarkState.SET and mark.clip_start_s < high and mark.clip_end_s > low
    ]


def _told(shoot: SongView, clip: Clip, take: Take) -> str:
    bars = _bars(shoot, take)
    sure, state = words.sureness(take.uncertainty_s), words.take_state(take)
    return f"{words.take_name(clip, take)} · {bars}{sure} · {state}"


def _gap(shoot: SongView, take: Take, bar: BarSpan) -> tuple[float, str]:
    """How much is missing between a take and the bar, seconds, and that in words."""
    bars = _bars(shoot, take)
    if take.song_start_s > bar.start_s:
        start = words.song_time(take.song_start_s, 1)
        return take.song_start_s - bar.start_s, f"{bars}starts at {start}"
    return bar.end_s - take.song_end_s, f"{bars}ends at {words.song_time(take.song_end_s, 1)}"


def _bars(shoot: SongView, take: Take) -> str:
    """The bars a take runs through, before what is said of its ends; empty where the song has none."""
    song_map = shoot.song.map if shoot.song is not None else SongMap()
    if not song_map.bars_s:
        return ""
    # As at the start, a tenth of a second beyond a bar line is nothing to the eye.
    first = words.bar_at(song_map, take.song_start_s) or 1
    last = words.bar_at(song_map, max(take.song_start_s, take.song_end_s - 0.2)) or 1
    return f"{bars_words(first, last)} · "


def _sung(song: Song, number: int) -> str:
    line = lines_at_bars(song).get(number, "") if song.lyrics else ""
    return f" · “{line}”" if line else ""


def _told_of(shoot: SongView, bar: BarCoverage) -> str:
    if shoot.song is not None and shoot.song.map.bars_s:
        return "this bar"
    return "all of this section" if shown_in_part(shoot, bar) else "this section"


def _sentence(bar: BarCoverage, doubtful: int, what: str) -> str:
    if bar.thin is Thin.NOTHING and doubtful:
        return f"Only {words.count(doubtful, 'take')} in doubt would show {what}."
    if bar.thin is Thin.NOTHING and bar.depth:
        return f"{words.count(bar.depth, 'take')} show {what}, but none can be used here."
    if bar.thin is not None:
        return KINDS[bar.thin].sentence(what, bar.angles)
    told = f"{words.count(bar.usable_depth, 'take')} from {words.count(bar.angles, 'angle')} show {what}."
    return f"{told} {NOT_NAMED.capitalize()}." if bar.not_named else told
