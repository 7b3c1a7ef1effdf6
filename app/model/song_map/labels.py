"""A song's map as plain labels, one a line: start, end and text between tabs, seconds on the song's clock.

Many audio editors and the music-annotation tools of research read and write such files; there is no standard
behind them, only use. Three kinds of label make a map:

- a stretch (end after start) is a section: its rehearsal letter, then its name;
- a moment (end equal to start, or no end) with a whole number is the bar of that number;
- a moment with ``beat`` is a beat.
"""

import math
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import count
from pathlib import Path

from app.model.document.song import Section, Song, SongMap
from app.model.song_map.map_grid import grid_of, tempo_of
from app.model.song_map.map_sections import letter as letter_of
from app.model.storage.json_node import shown
from app.model.storage.plain_file import TooLarge, read_plain

BEAT = "beat"
MOST_BYTES = 10_000_000
"""Beats of a day are fewer."""
MOST_DIGITS = 9
MOST_LETTERS = 1_000
"""Of the text of a label: it is a letter and a name."""
NO_MAP = SongMap()
TOUCH_S = 0.02
"""Sections that end and begin closer than this to each other touch: labels are drawn by hand."""
WRITTEN_S = 1e-6
"""A moment no further from one in the map than this is that one: labels are written to the microsecond."""


class LabelError(Exception):
    """A label file cannot be used; ``str(error)`` is a sentence that says which line and why."""


def to_labels(song_map: SongMap) -> str:
    """The map as the text of a label file, in the order of time; seconds to the microsecond.

    >>> song_map = SongMap(60.0, (0.5, 1.5), (0.5,), (Section("A", "Verse", 0.0, 9.0),))
    >>> print(to_labels(song_map).expandtabs(12), end="")
    0.000000    9.000000    A Verse
    0.500000    0.500000    1
    0.500000    0.500000    beat
    1.500000    1.500000    beat
    """
    rows = [(s.start_s, s.end_s, 0, section_label(s)) for s in song_map.sections]
    rows += [(time, time, 1, str(number)) for number, time in enumerate(song_map.bars_s, 1)]
    rows += [(time, time, 2, BEAT) for time in song_map.beats_s]
    rows.sort(key=lambda row: (row[0], row[2]))
    return "".join(f"{start:.6f}\t{end:.6f}\t{text}\n" for start, end, _, text in rows)


def section_label(section: Section) -> str:
    """The text of a section's label: its letter, then its name."""
    return f"{section.letter} {section.name}".strip()


def read_text(path: Path) -> str:
    """The text of a label file. Raises LabelError."""
    try:
        return read_plain(path, MOST_BYTES).decode("utf-8")
    except TooLarge as error:
        raise LabelError(f"{path.name} is not a label file: it is far too large.") from error
    except UnicodeDecodeError as error:
        raise LabelError(f"{path.name} is not a label file: it is not plain text (UTF-8).") from error
    except OSError as error:
        raise LabelError(f"{path} cannot be read: {error.strerror}.") from error


def labelled(name: str, text: str, song: Song) -> SongMap:
    """The song's map by the text of a label file of that name; what it does not tell stays as it is.

    Raises LabelError.
    """
    try:
        return from_labels(text, song.duration_s, song.map)
    except LabelError as error:
        raise LabelError(f"{name} does not fit this song. {error}") from error


def from_labels(text: str, duration_s: float, before: SongMap = NO_MAP) -> SongMap:
    """Read a map from the text of a label file.

    A file without a bar or beat leaves those of ``before``, one without stretches its sections; a song that
    has none is one section. Gaps between sections become sections of their own, so that there are none. The
    tempo is that of the middle beat. What stands in the file as it is in ``before`` stays all that it was: a
    section keeps its family, and its name stays a guess; bar lines and edges that a person fixed stay fixed.

    Raises
    ------
    LabelError
        There is no label, a line is none, lies outside the song, overlaps another section, or bars are not
        counted up from 1 in the order of time.
    """
    stretches: list[tuple[float, float, str]] = []
    bars: list[tuple[float, int]] = []
    beats: list[float] = []
    for number, line in enumerate(text.lstrip("\ufeff").splitlines(), 1):
        if not line.strip() or line.startswith("\\"):  # a line of its own for frequencies, written by some
            continue
        start, end, said = _label(number, line)
        if end < start:
            raise LabelError(f"Line {number} ends before it begins: {shown(line)}.")
        if start < 0 or end > duration_s + TOUCH_S:
            raise LabelError(
                f"Line {number} is outside the song, which is {duration_s:.2f} s long: {shown(line)}."
            )
        if end > start:
            if len(said) > MOST_LETTERS or not said.isprintable():
                raise LabelError(
                    f"Line {number} has a text that is no name: {shown(line)}. Write a letter and a name."
                )
            stretches.append((start, min(end, duration_s), said))
        elif said.isdecimal() and len(said) <= MOST_DIGITS:
            bars.append((start, int(said)))
        elif said.casefold() == BEAT:
            beats.append(start)
        else:
            raise LabelError(
                f"Line {number} is a single moment, but neither a bar (a number) nor a beat (the word beat): "
                f"{shown(line)}."
            )
    if not (stretches or bars or beats):
        raise LabelError("It holds no labels. Write one per line: start, end and text, with tabs between.")
    bars.sort()
    if [number for _, number in bars] != list(range(1, len(bars) + 1)):
        raise LabelError("The bars are not numbered 1, 2, 3, … in time order.")
    read = before
    if bars or beats:
        read = _with_bars(before, sorted(beats), [time for time, _ in bars])
    if stretches or not read.sections:
        known = sorted({edge for one in before.sections for edge in (one.start_s, one.end_s)})
        stretches = sorted((_known(start, known), _known(end, known), said) for start, end, said in stretches)
        sections = _sections(stretches, duration_s)
        read = replace(read, sections=tuple(_as_before(one, said, before) for one, said in sections))
        edges = [section.start_s for section in read.sections[1:]]
        read = replace(read, edges_s=tuple(edge for edge in before.edges_s if edge in edges))
    return read


def _with_bars(before: SongMap, beats: Sequence[float], bars: Sequence[float]) -> SongMap:
    """The map with beats and bars as read; what a person fixed stays so where it is still there."""
    beats_s, bars_s = _snapped(beats, before.beats_s), _snapped(bars, before.bars_s)
    if (beats_s, bars_s) == (before.beats_s, before.bars_s):
        return before
    read = SongMap(
        tempo_bpm=tempo_of(beats_s),
        beats_s=beats_s,
        bars_s=bars_s,
        sections=before.sections,
        levels_db=before.levels_db,
        edges_s=before.edges_s,
        downbeats_s=tuple(one for one in before.downbeats_s if one in bars_s),
    )
    grid = grid_of(read)
    metres = [metre for metre in before.metres if metre.from_s in bars_s]
    return replace(
        read, metres=tuple(one for one in metres if grid.metre(grid.nearest(one.from_s)) == one.beats)
    )


def _snapped(moments: Iterable[float], known: Sequence[float]) -> tuple[float, ...]:
    """Rising moments, each one that was only rounded when it was written as the one that it was."""
    return tuple(dict.fromkeys(_known(moment, known) for moment in moments))


def _known(moment: float, known: Sequence[float]) -> float:
    after = bisect_left(known, moment - WRITTEN_S)
    return known[after] if after < len(known) and known[after] <= moment + WRITTEN_S else moment


def _as_before(section: Section, said: str, before: SongMap) -> Section:
    """What is known of a section that was read: all, where the one before has its edges and its label; how it
    sounds, where it has its edges."""
    for old in before.sections:
        if (old.start_s, old.end_s) == (section.start_s, section.end_s):
            return old if section_label(old) == said else replace(section, family=old.family)
    return section


def _label(number: int, line: str) -> tuple[float, float, str]:
    parts = line.split("\t")
    try:
        start = float(parts[0])
        end, said = (float(parts[1]), parts[2:]) if len(parts) > 2 else (start, parts[1:])
        if not math.isfinite(start) or not math.isfinite(end):
            raise ValueError
    except (ValueError, IndexError):
        raise LabelError(
            f"Line {number} is not a label: {shown(line)}. Write start, end and text, with tabs between."
        ) from None
    return start, end, " ".join(said).strip()


def _sections(
    stretches: list[tuple[float, float, str]], duration_s: float
) -> tuple[tuple[Section, str], ...]:
    """Sections without gaps, each with its label; what no stretch covers becomes one without a name."""
    out: list[tuple[Section, str]] = []
    at = 0.0
    for start, end, said in [*stretches, (duration_s, duration_s, "")]:
        if start < at - TOUCH_S:
            raise LabelError(f"The section {shown(said)} starts before the previous one ends, at {at:.2f} s.")
        if start > at + TOUCH_S:
            out.append((Section("", "", at, start), ""))
        else:
            start = at
        if end > start:
            letter, _, name = said.partition(" ")
            if len(letter) > 2:  # no letter at all, but a name
                letter, name = "", said
            # A letter out of order is one that somebody gave: later corrections leave it.
            own = bool(letter) and letter != letter_of(len(out))
            out.append((Section(letter, name.strip(), start, end, own_letter=own), said))
        at = max(at, end)
    taken = {section.letter for section, _ in out}
    free = (letter for letter in map(letter_of, count()) if letter not in taken)
    return tuple(
        (section if section.letter else replace(section, letter=next(free)), said) for section, said in out
    )
