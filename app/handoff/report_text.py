"""The report as plain text, for a person at a terminal: tables of at most 100 columns."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby
from pathlib import PurePath
from unicodedata import combining, east_asian_width

from app.handoff.report import covered_bars
from app.model.all_songs import on_all_songs
from app.model.clip_verdict import clip_word
from app.model.coverage.coverage import BarCoverage, SectionCoverage, coverage, unnamed_angles
from app.model.coverage.passages import bars_words
from app.model.document.decisions import Decision
from app.model.document.song import Section, Song
from app.model.document.verdict import GLYPHS, Verdict, verdict_word
from app.model.on_song import Clip, SongView, Take, was_moved
from app.model.reasons import sentence
from app.model.song_map.bar_spans import bar_spans
from app.model.song_map.levels import mean_level
from app.model.song_map.map_grid import metres_along
from app.model.song_names import song_names
from app.model.speeds import late_frames, nominal_speed
from app.model.timebase import rate_text, rate_words

WIDTH = 100
"""Most columns of a line."""
MOST_METRES = 6
"""Changes of metre shown at most."""


def table(*views: SongView) -> str:
    """A shoot as it stands on each of its songs, as a plain text of 100 columns: the clips take by take, the
    coverage, a closing count."""
    shoot = views[0]
    names = song_names([view.song for view in views if view.song is not None])
    lines = [
        tame(shoot.name) or "Unnamed shoot",
        *(line for view in views for line in _song_lines(view.song)),
    ]
    lines += ["", "Clips"]
    verdicts = []
    for number in range(len(shoot.clips)):
        clips = [view.clips[number] for view in views]
        verdicts.append(on_all_songs(clips)[0])
        lines += _clip_lines(views, clips, names)
    if not shoot.clips:
        lines.append("  none yet")
    for view in views:
        parts = coverage(view)
        if parts:
            barred = view.song is not None and bool(view.song.map.bars_s)
            unit = "bar" if barred else "whole section"
            of = f" of {tame(names[view.song.id])}" if len(views) > 1 and view.song is not None else ""
            head = f"Coverage{of}: placed takes per {unit}; takes in doubt are not counted"
            lines += ["", *_wrapped(head, "")]
            for part in parts:
                lines += _section_lines(part, barred=barred)
    return "\n".join([*lines, "", *_wrapped(_count_words(verdicts), ""), *_not_named_lines(shoot), ""])


def map_table(song: Song) -> str:
    """A song's map as a plain text of 100 columns: section by section with its bars and its times."""
    lines = [*_song_lines(song), ""]
    for section in song.map.sections:
        spans = bar_spans(song) if song.map.bars_s else ()
        bars = [bar.number for bar in spans if section.start_s <= bar.start_s < section.end_s]
        name = tame(f"{section.letter} {section.name}".strip()) + (" (a guess)" if section.suggested else "")
        which = ["no bar begins here"] if song.map.bars_s else []
        if bars:
            which = [bars_words(bars[0], bars[-1])]
        times = f"{clock(section.start_s)} to {clock(section.end_s)}"
        lines += _wrapped(f"{name}: {', '.join([*which, times, *_sound_words(song, section)])}", "  ")
    return "\n".join([*lines, ""])


def _sound_words(song: Song, section: Section) -> list[str]:
    """What a section sounds like, as far as it is known."""
    words = [f"form {section.family}"] if section.family else []
    level = mean_level(song.map, section.start_s, section.end_s)
    if level is not None:
        words.append(f"{level:.0f} dB".replace("-", "−"))
    return words


def drift_words(clip: Clip, take: Take) -> str:
    """What drift does to a take that is in place at its start: ``0.6 frame late by the end``.

    The figure for sound-only clips is in milliseconds.
    """
    length_s = take.clip_end_s - take.clip_start_s
    late = late_frames(take.speed, length_s, clip.frame_rate or Fraction(1000))
    figure = f"{abs(late):.1f} {'ms' if clip.frame_rate is None else 'frame'}"
    if figure.startswith("0.0"):
        return "in sync to the end"
    return f"{figure} {'late' if late > 0 else 'early'} by the end"


def _song_lines(song: Song | None) -> list[str]:
    if song is None:
        return ["Song: none yet"]
    words = f"Song: {tame(PurePath(song.media.path).name)}, {clock(song.duration_s)}"
    if song.map.tempo_bpm is not None:
        words += f", {song.map.tempo_bpm:.1f} bpm"
    if song.map.other_tempo_bpm is not None:
        words += f" (or {song.map.other_tempo_bpm:.1f})"
    words += f", {_count(len(song.map.bars_s), 'bar')}" if song.map.bars_s else ", bars not known"
    counted = metres_along(song.map)
    if counted:
        words += ", " + ", ".join(
            f"{_count(beats, 'beat')} per bar" if bar == 1 else f"{beats} from bar {bar}"
            for bar, beats in counted[:MOST_METRES]
        )
        words += ", and more changes" if len(counted) > MOST_METRES else ""
    return _wrapped(words + f", {_count(len(song.map.sections), 'section')}", "")


def _clip_lines(views: Sequence[SongView], clips: Sequence[Clip], names: Mapping[str, str]) -> list[str]:
    """A clip as it stands on each of the songs."""
    shoot, clip = views[0], clips[0]
    verdict, reason = on_all_songs(clips)
    angle = next((angle for angle in shoot.angles if angle.id == clip.angle_id), None)
    rate = "sound only" if clip.frame_rate is None else f"{rate_words(clip.frame_rate)} fps"
    facts = [f"angle {tame(angle.name)}" + (" (safety)" if angle.safety else "")] if angle else []
    if verdict is not Verdict.UNREADABLE and clip.duration_s > 0:
        facts += [rate, clock(clip.duration_s)]
    head = f"  {GLYPHS[verdict]} {clip_word(verdict, reason):<12}"
    name = tame(PurePath(clip.media.path).name)
    lines = _wrapped(name, head, " " * len(head))
    tail = ", ".join(facts)
    if tail and len(lines) == 1 and _columns(lines[0]) <= 54 and 56 + _columns(tail) <= WIDTH:
        lines[0] += " " * (56 - _columns(lines[0])) + tail
    elif tail:
        lines += _wrapped(tail, " " * len(head))
    if reason:
        lines += _wrapped(tame(sentence(reason)), " " * len(head))
    takes = [(take, view) for view, one in zip(views, clips, strict=True) for take in one.takes]
    takes.sort(key=lambda one: (one[0].clip_start_s, one[0].clip_end_s))
    for number, (take, view) in enumerate(takes, 1):
        song = tame(names[view.song.id]) if len(views) > 1 and view.song is not None else ""
        lines += _take_lines(view, replace(clip, verdict=verdict, reason=reason), take, number, song)
    for warning in clip.warnings:
        lines += _wrapped(f"note: {tame(warning)}", "      ")
    return lines


def _take_lines(shoot: SongView, clip: Clip, take: Take, number: int, song: str) -> list[str]:
    heard = next((one for one in shoot.playbacks if one.id == take.playback_id), None)
    speed = nominal_speed(take.speed)
    bars = covered_bars(shoot, take)
    place = f"{_moment(shoot, take.song_start_s)} to {_moment(shoot, take.song_end_s)}"
    sure = "" if was_moved(take) else f"±{max(take.uncertainty_s * 1000, 0.1):.1f} ms"
    if sure and clip.frame_rate is not None:
        sure += f" ({max(take.uncertainty_s * float(clip.frame_rate), 0.01):.2f} frame)"
    if bars is None:
        covers_words = "covers no whole bar" if shoot.song and shoot.song.map.bars_s else ""
    else:
        covers_words = f"covers bar {bars[0]}" if bars[0] == bars[1] else f"covers bars {bars[0]}–{bars[1]}"
    named = "speed 1" if speed.nominal == 1 else f"speed {take.speed:.6f} ({rate_text(speed.nominal)})"
    ppm = f"{speed.drift_ppm:+.1f}".replace("-", "−") if abs(speed.drift_ppm) >= 0.05 else "0"
    drift = f"{named}, drift {ppm} ppm, {drift_words(clip, take)}"
    mixed = clip_word(clip.verdict, clip.reason) != verdict_word(clip.verdict)
    told = mixed or take.verdict is not clip.verdict
    state = [f"{GLYPHS[take.verdict]} {verdict_word(take.verdict)}"] if told else []
    if take.decision is not Decision.COMPUTED:
        state.append(f"✓ {take.decision.value}")
    lead, rest = f"      take {number}: ", " " * 14
    lines = _wrapped(", ".join(filter(None, (song, place, sure, covers_words, *state))), lead, rest)
    lines += _wrapped(drift, rest)
    if heard is not None:
        lines += _wrapped(f"heard on {tame(PurePath(heard.media.path).name)}", rest)
    if take.reason and take.reason != clip.reason:
        lines += _wrapped(tame(sentence(take.reason)), rest)
    rivals = [rival for rival in take.rivals if not rival.computed]
    for said, fits in (("fits as well at", True), ("less likely at", False)):
        others = [
            f"{_moment(shoot, one.song_start_s)}, {100 * one.strength:.0f} % match"
            for one in rivals
            if one.as_well is fits
        ]
        if others:
            lines += _wrapped(f"{said} {'; '.join(others)}", rest)
    for left in (rival for rival in take.rivals if rival.computed):
        lines += _wrapped(f"found automatically at {_moment(shoot, left.song_start_s)}", rest)
    return lines


def _section_lines(part: SectionCoverage, *, barred: bool) -> list[str]:
    name = tame(f"{part.section.letter} {part.section.name}".strip())
    numbers = [bar.bar.number for bar in part.bars]
    which = bars_words(numbers[0], numbers[-1]) if numbers else "no bars"
    lines = _wrapped(f"{name}, {which}" if barred else name, "  ")
    if part.bars:
        lines += _wrapped(_depths(part.bars), "      ")
    for remark in part.remarks:
        lines += _wrapped(tame(remark), "      ")
    return lines


def _depths(bars: Iterable[BarCoverage]) -> str:
    """Depth of each bar in turn; four or more alike become one figure and a count, as in ``2×8``."""
    words = []
    for depth, run in groupby(bar.depth for bar in bars):
        often = len(list(run))
        words += [f"{depth}×{often}"] if often > 3 else [str(depth)] * often
    return "depth " + " ".join(words)


def _count_words(verdicts: Sequence[Verdict]) -> str:
    counts = Counter(verdicts)
    order = (Verdict.PLACED, Verdict.DOUBTFUL, Verdict.NO_SONG, Verdict.UNREADABLE, Verdict.WAITING)
    told = [f"{counts[v]} {verdict_word(v)}" for v in order if counts[v] or v is Verdict.PLACED]
    return f"{_count(len(verdicts), 'clip')}: {', '.join(told)}."


def _not_named_lines(shoot: SongView) -> list[str]:
    """That angles are not named yet, and what to do."""
    unnamed = unnamed_angles(shoot)
    if not unnamed:
        return []
    names = ", ".join(tame(angle.name) for angle in unnamed)
    which = "It is" if len(unnamed) == 1 else "Each is"
    return _wrapped(
        f"Angles not named yet: {names}. {which} what one camera shot, under a placeholder name. Open the "
        "shoot in the window to name what it shows; until then, bars that only one angle shows are not "
        "reported.",
        "",
    )


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _moment(shoot: SongView, song_s: float) -> str:
    """A time in the song with its bar, where bars are known."""
    spans = bar_spans(shoot.song) if shoot.song is not None and shoot.song.map.bars_s else ()
    bar = next((span.number for span in spans if span.start_s <= song_s < span.end_s), None)
    return clock(song_s) if bar is None else f"{clock(song_s)} (bar {bar})"


def clock(seconds: float) -> str:
    """A time as minutes, seconds and milliseconds."""
    ms = round(abs(seconds) * 1000)
    sign = "−" if seconds < 0 and ms else ""
    return f"{sign}{ms // 60000}:{ms // 1000 % 60:02}.{ms % 1000:03}"


def tame(text: str) -> str:
    """Text without line ends and without control characters that a terminal would obey."""
    return "".join(c if c.isprintable() else "�" for c in text)


def _columns(text: str) -> int:
    """Columns the text takes in a terminal: wide characters two, combining marks none."""
    return sum(0 if combining(c) else 2 if east_asian_width(c) in "WF" else 1 for c in text)


def _wrapped(text: str, first: str, rest: str | None = None) -> list[str]:
    """Lines of at most ``WIDTH`` columns; words that are longer are cut, so that nothing is left out."""
    rest = first if rest is None else rest
    lines: list[str] = []
    line, bare = first, True
    for word in text.split(" "):
        if not bare and _columns(line) + 1 + _columns(word) > WIDTH:
            lines.append(line)
            line, bare = rest, True
        line += word if bare else " " + word
        bare = False
        while _columns(line) > WIDTH:
            cut = len(line)
            while _columns(line[:cut]) > WIDTH:
                cut -= 1
            lines.append(line[:cut])
            line = rest + line[cut:]
    return [*lines, line]
