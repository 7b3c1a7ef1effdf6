"""A song's map as plain labels, one a line: start, end and text between tabs, seconds on the song's clock.

Many audio editors and the music-annotation tools of research read and write such files; there is no standard
behind them, only use. Three kinds of label make a map:

- a stretch (end after start) is a section: its rehearsal letter, then its name;
- a moment (end equal to start, or no end) with a whole number is the bar of that number;
- a moment with ``beat`` is a beat.
"""

import math
from dataclasses import replace
from itertools import count, pairwise
from pathlib import Path

from app.model.document.song import Section, Song, SongMap
from app.model.song_map.map_sections import letter as letter_of

BEAT = "beat"
MOST_BYTES = 10_000_000
"""Beats of a day are fewer."""
MOST_DIGITS = 9
NO_MAP = SongMap()
TOUCH_S = 0.02
"""Sections that end and begin closer than this to each other touch: labels are drawn by hand."""


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
    rows = [(s.start_s, s.end_s, 0, f"{s.letter} {s.name}".strip()) for s in song_map.sections]
    rows += [(time, time, 1, str(number)) for number, time in enumerate(song_map.bars_s, 1)]
    rows += [(time, time, 2, BEAT) for time in song_map.beats_s]
    rows.sort(key=lambda row: (row[0], row[2]))
    return "".join(f"{start:.6f}\t{end:.6f}\t{text}\n" for start, end, _, text in rows)


def read_text(path: Path) -> str:
    """The text of a label file. Raises LabelError."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise LabelError(f"{path.name} is no label file: it is far too large.")
        return path.read_text("utf-8")
    except UnicodeDecodeError as error:
        raise LabelError(f"{path.name} is no label file: it holds bytes that are no text (UTF-8).") from error
    except OSError as error:
        raise LabelError(f"{path} cannot be read: {error.strerror}.") from error


def labelled(name: str, text: str, song: Song) -> SongMap:
    """The song's map by the text of a label file of that name; what it does not tell stays as it is.

    Raises LabelError.
    """
    try:
        return from_labels(text, song.duration_s, song.map)
    except LabelError as error:
        raise LabelError(f"{name} is no map of this song. {error}") from error


def from_labels(text: str, duration_s: float, before: SongMap = NO_MAP) -> SongMap:
    """Read a map from the text of a label file.

    A file without a bar or beat leaves those of ``before``, one without stretches its sections; a song that
    has none is one section. Gaps between sections become sections of their own, so that there are none. The
    tempo is that of the middle beat.

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
            raise LabelError(f"Line {number} ends before it begins: {line!r}.")
        if start < 0 or end > duration_s + TOUCH_S:
            raise LabelError(
                f"Line {number} does not lie within the song, which is {duration_s:.2f} s long: {line!r}."
            )
        if end > start:
            stretches.append((start, min(end, duration_s), said))
        elif said.isdecimal() and len(said) <= MOST_DIGITS:
            bars.append((start, int(said)))
        elif said.casefold() == BEAT:
            beats.append(start)
        else:
            raise LabelError(
                f"Line {number} is a moment that is neither a bar (a number) nor a beat (the word beat): "
                f"{line!r}."
            )
    if not (stretches or bars or beats):
        raise LabelError("It holds no label. Write start, end and text with tabs between, a label a line.")
    bars.sort()
    if [number for _, number in bars] != list(range(1, len(bars) + 1)):
        raise LabelError("The bars are not counted up from 1. Number them in the order of time.")
    beats.sort()
    read = before
    if bars or beats:
        steps = sorted(later - earlier for earlier, later in pairwise(beats) if later > earlier)
        read = SongMap(
            tempo_bpm=60 / steps[len(steps) // 2] if steps else None,
            beats_s=tuple(dict.fromkeys(beats)),
            bars_s=tuple(time for time, _ in bars),
            sections=before.sections,
            levels_db=before.levels_db,
            edges_s=before.edges_s,
        )
    if stretches or not read.sections:
        read = replace(read, sections=_sections(sorted(stretches), duration_s), edges_s=())
    return read


def _label(number: int, line: str) -> tuple[float, float, str]:
    parts = line.split("\t")
    try:
        start = float(parts[0])
        end, said = (float(parts[1]), parts[2:]) if len(parts) > 2 else (start, parts[1:])
        if not math.isfinite(start) or not math.isfinite(end):
            raise ValueError
    except (ValueError, IndexError):
        raise LabelError(
            f"Line {number} is no label: {line!r}. Write start, end and text with tabs between, in seconds."
        ) from None
    return start, end, " ".join(said).strip()


def _sections(stretches: list[tuple[float, float, str]], duration_s: float) -> tuple[Section, ...]:
    """Sections without gaps; what no stretch covers becomes one without a name."""
    out: list[Section] = []
    at = 0.0
    for start, end, said in [*stretches, (duration_s, duration_s, "")]:
        if start < at - TOUCH_S:
            raise LabelError(f"The section {said!r} begins before the one ahead of it ends, at {at:.2f} s.")
        if start > at + TOUCH_S:
            out.append(Section("", "", at, start))
        else:
            start = at
        if end > start:
            letter, _, name = said.partition(" ")
            if len(letter) > 2:  # no letter at all, but a name
                letter, name = "", said
            # A letter out of order is one that somebody gave: later corrections leave it.
            own = bool(letter) and letter != letter_of(len(out))
            out.append(Section(letter, name.strip(), start, end, own_letter=own))
        at = max(at, end)
    taken = {section.letter for section in out}
    free = (letter for letter in map(letter_of, count()) if letter not in taken)
    return tuple(
        section if section.letter else Section(next(free), section.name, section.start_s, section.end_s)
        for section in out
    )
