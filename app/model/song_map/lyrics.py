"""Lyrics read from text: stanzas along the sections, or lines with their times (LRC, SRT).

LRC is as players write it, without a standard behind it: ``[mm:ss.xx]`` before a line, several for a line
that comes again, ``[offset:±ms]`` (positive: earlier), other tags in letters, ``<mm:ss.xx>`` before words.
SRT numbers its blocks: a line ``hh:mm:ss,mmm --> hh:mm:ss,mmm``, then text.
"""

import re
from collections.abc import Sequence
from itertools import groupby

from app.model.angles import same_name, tidy_name
from app.model.document.song import LyricLine, Section, Song
from app.model.song_map.bar_spans import bar_spans, bars_of_sections, song_sections

MOST_LINES = 5000
"""A song of an hour has fewer."""
MOST_LETTERS = 1_000
"""Of a line."""
_LONGEST_S = 86_400.0
"""No song is longer than a day (s): a time beyond that is none."""
UPBEAT = 0.25
"""A line that begins in the last quarter of a bar is taken as an upbeat to the next one. Chosen by hand."""
_LRC_TIME = re.compile(r"\[(\d{1,3}):(\d{1,2})(?:[.:](\d{1,3}))?\]")
_LRC_TAG = re.compile(r"\[([a-z#]+):(.*)\]", re.IGNORECASE)
_WORD_TIME = re.compile(r"<\d{1,3}:\d{1,2}(?:[.:]\d{1,3})?>")
_SRT_TIME = re.compile(
    r"(\d{1,5}):(\d{2}):(\d{2})[,.](\d{1,3})\s*-->\s*(\d{1,5}):(\d{2}):(\d{2})[,.](\d{1,3})"
)
_MARKUP = re.compile(r"</?(?:i|b|u|font)\b[^>]*>|\{\\[^}]*\}", re.IGNORECASE)
_HEADING = re.compile(r"^\[(.+)\]$|^(.{1,40}):$")


class LyricsError(Exception):
    """A text cannot be taken as lyrics; ``str(error)`` is a sentence."""


def read_lyrics(text: str, song: Song) -> tuple[LyricLine, ...]:
    """Lyrics out of LRC, SRT or plain text, whichever it is, in the song's order.

    Lines that begin behind the song's end are left out. Raises LyricsError where there is no line in it.
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    if _SRT_TIME.search(text):
        lines = _srt(text)
    elif _LRC_TIME.search(text):
        lines = _lrc(text)
    else:
        return _limited(stanzas(text, song_sections(song)))
    latest_s = min(song.duration_s, _LONGEST_S)
    kept = [line for line in lines if line.start_s is not None and line.start_s < latest_s]
    return _limited(tuple(sorted(kept, key=lambda line: line.start_s or 0.0)))


def stanzas(text: str, sections: Sequence[Section]) -> tuple[LyricLine, ...]:
    """Lyrics of plain text: stanzas stand apart by empty lines, and go to the sections in their order.

    A line ``[Chorus]`` or ``Chorus:`` says by letter or name where the next stanzas belong; a name that
    several sections have means the next of them. What comes behind the last section stays with it.
    """
    if not sections:
        return tuple(LyricLine(tidy_name(line)) for line in text.split("\n") if line.strip())
    at, told, found = -1, False, []
    for empty, block in groupby(text.split("\n"), key=lambda line: not line.strip()):
        if empty:
            continue
        for number, line in enumerate(block):
            heading = _heading(line, sections, at)
            if heading is not None:
                at, told = heading, True
                continue
            if number == 0 and not told:
                at = min(at + 1, len(sections) - 1)
            told = False
            found.append(LyricLine(tidy_name(line), section_id=sections[max(at, 0)].id))
    return tuple(found)


def lines_of_section(song: Song, section: Section) -> tuple[LyricLine, ...]:
    """The lines that are sung in a section: by their time, or as they were typed there."""
    every = song_sections(song)
    last = bool(every) and section == every[-1]
    # Lines of a section that no longer exists stand in the first one, so that they are seen.
    known = {one.id for one in every}
    strays = bool(every) and section == every[0]
    return tuple(
        line
        for line in song.lyrics
        if (
            line.section_id == section.id or (strays and line.section_id not in known)
            if line.start_s is None
            else section.start_s <= line.start_s and (line.start_s < section.end_s or last)
        )
    )


def lines_at_bars(song: Song) -> dict[int, str]:
    """For the number of each bar in which a line begins the words that begin there.

    Lines without a time are spread evenly over the bars of their section: where they stand is a guess.
    """
    bars = bar_spans(song)
    found: dict[int, list[str]] = {}
    sections = song_sections(song)
    for section, own in zip(sections, bars_of_sections(sections, bars), strict=True):
        untimed = [one for one in lines_of_section(song, section) if one.start_s is None]
        for number, line in enumerate(untimed):
            if own:
                found.setdefault(bars[own[number * len(own) // len(untimed)]].number, []).append(line.text)
    for line in song.lyrics:
        if line.start_s is not None:
            # A line sung as an upbeat belongs to the bar that it leads into.
            later = [line.start_s + UPBEAT * (bar.end_s - bar.start_s) for bar in bars]
            begun = [bar.number for bar, by_s in zip(bars, later, strict=True) if bar.start_s <= by_s]
            found.setdefault(max(begun, default=1), []).append(line.text)
    return {number: " / ".join(texts) for number, texts in sorted(found.items())}


def _heading(line: str, sections: Sequence[Section], at: int) -> int | None:
    """Index of the section that a heading names, the next of several; None where it is no heading."""
    match = _HEADING.match(line.strip())
    if match is None:
        return None
    name = match[1] or match[2]
    named = [
        n
        for n, one in enumerate(sections)
        if same_name(one.letter, name) or (one.name and same_name(one.name, name))
    ]
    return next((n for n in named if n > at), named[-1] if named else None)


def _lrc(text: str) -> list[LyricLine]:
    offset_s, found = 0.0, []
    for line in text.split("\n"):
        tag = _LRC_TAG.fullmatch(line.strip())
        if tag is not None and tag[1].lower() == "offset":
            number = tag[2].strip()
            offset_s = float(number) / 1000 if re.fullmatch(r"[+-]?\d{1,7}", number) else 0.0
            continue
        times = []
        rest = line.strip()
        while (match := _LRC_TIME.match(rest)) is not None:
            minutes, seconds, part = match.groups()
            times.append(int(minutes) * 60 + int(seconds) + (float(f"0.{part}") if part else 0.0))
            rest = rest[match.end() :].lstrip()
        words = tidy_name(_WORD_TIME.sub("", rest))
        if words:
            found += [(time, words) for time in times]
    return [LyricLine(words, max(0.0, time - offset_s)) for time, words in found]


def _srt(text: str) -> list[LyricLine]:
    found: list[LyricLine] = []
    lines = text.split("\n")
    starts = [n for n, line in enumerate(lines) if _SRT_TIME.search(line)]
    for index, n in enumerate(starts):
        end = starts[index + 1] if index + 1 < len(starts) else len(lines)
        body = lines[n + 1 : end]
        if index + 1 < len(starts) and body and body[-1].strip().isdigit():
            body = body[:-1]  # the number of the next block
        words = tidy_name(_MARKUP.sub("", " ".join(body)))
        match = _SRT_TIME.search(lines[n])
        assert match is not None
        h1, m1, s1, f1, h2, m2, s2, f2 = match.groups()
        if words:
            end_s = min(_seconds(h2, m2, s2, f2), _LONGEST_S)
            found.append(LyricLine(words, _seconds(h1, m1, s1, f1), end_s))
    return found


def _seconds(hours: str, minutes: str, seconds: str, fraction: str) -> float:
    return int(hours) * 3600 + int(minutes) * 60 + int(seconds) + float(f"0.{fraction}")


def _limited(lines: Sequence[LyricLine]) -> tuple[LyricLine, ...]:
    if not lines:
        raise LyricsError("There are no words in it. Paste the lyrics, or choose a text, LRC or SRT file.")
    if len(lines) > MOST_LINES:
        raise LyricsError(f"It has {len(lines)} lines; no song has more than {MOST_LINES}.")
    for number, line in enumerate(lines, 1):
        if len(line.text) > MOST_LETTERS or "\0" in line.text:
            raise LyricsError(
                f"Line {number} is not words that are sung: {line.text[:40]!r}. Is it a text file?"
            )
    return tuple(lines)
