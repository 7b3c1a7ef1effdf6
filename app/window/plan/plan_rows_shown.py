"""What the grid of needs shows: a row per passage, a column per subject, and the needs in each cell."""

from collections.abc import Sequence
from dataclasses import dataclass

from app.model.angles import same_name
from app.model.coverage.missing_words import ranges_words
from app.model.coverage.needs import NeedPart, NeedResult, NeedState
from app.model.coverage.passages import bars_words
from app.model.coverage.ranges import runs
from app.model.coverage.showing import counted_clips
from app.model.coverage.subjects import ANY_ANGLE, OFFERED, SAFETY, known_subjects
from app.model.document.plan import Need, Passage
from app.model.document.song import Section
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans, bars_of_sections, section_words, song_sections
from app.model.song_map.lyrics import lines_of_section
from app.window.parts import words

SIGNS = {NeedState.MET: "✓", NeedState.PARTLY: "◐", NeedState.UNMET: "○"}
"""Shapes that tell the states apart without colour; a word stands beside each."""
STATES = {NeedState.MET: "met", NeedState.PARTLY: "partly", NeedState.UNMET: "missing"}


MOST_LETTERS = 24
MOST_RUNS = 2
"""More ranges of bars than these do not fit a cell; then their number is told."""


@dataclass(frozen=True, slots=True)
class GridRow:
    """A passage: the whole song, a section, or bars."""

    passage: Passage
    title: str
    detail: str
    """Bars and time, and how its lyrics begin."""
    section: Section | None = None


@dataclass(frozen=True, slots=True)
class GridCell:
    """Needs of one subject in one passage."""

    needs: tuple[Need, ...]
    state: NeedState
    text: str
    family: bool
    """The need is meant for every section of the family."""


def grid_rows(shoot: SongView) -> list[GridRow]:
    """The whole song, its sections, then the ranges of bars that needs speak of."""
    song = shoot.song
    if song is None:
        return []
    bars = bar_spans(song)
    rows = [GridRow(Passage(), "Whole song", words.song_time(song.duration_s, 0))]
    sections = song_sections(song)
    for section, own in zip(sections, bars_of_sections(sections, bars), strict=True):
        numbers = [bars[n].number for n in own]
        where = bars_words(numbers[0], numbers[-1]) if numbers and song.map.bars_s else ""
        detail = " · ".join(filter(None, (where, words.song_time(section.start_s, 0))))
        sung = lines_of_section(song, section)
        if sung:
            detail += f"\n“{shortened(sung[0].text)}”"
        rows.append(GridRow(Passage(section_id=section.id), section_words(section), detail, section))
    ranges = {need.passage for need in shoot.plan.needs if need.passage.first_bar or need.passage.last_bar}
    for passage in sorted(ranges, key=lambda one: (one.first_bar, one.last_bar)):
        begins = next((bar.start_s for bar in bars if bar.number >= passage.first_bar), 0.0)
        title = bars_words(passage.first_bar, passage.last_bar)
        rows.append(GridRow(passage, title[0].upper() + title[1:], words.song_time(begins, 0)))
    return rows


def grid_subjects(shoot: SongView, typed: Sequence[str], before: Sequence[str] = ()) -> tuple[str, ...]:
    """The columns: the safety and any angle, then who is asked for, shown or typed; some to begin with.

    ``before`` are the columns there were: those that are still known keep their places, so that the next
    click hits what it was meant for.
    """
    needed = tuple(need.subject for need in shoot.plan.needs)
    # A recorder shows nobody; safeties have a column of their own.
    seen = {clip.angle_id for clip in counted_clips(shoot)}
    angles = tuple(angle for angle in shoot.angles if angle.id in seen or angle.subjects)
    known = known_subjects(angles, (SAFETY, ANY_ANGLE, *needed, *typed))
    # What was offered to begin with stays on offer: whoever adds a fiddle still has drums.
    was_offered = any(same_name(one, OFFERED[0]) for one in before)
    columns = known_subjects((), (*known, *OFFERED[:4])) if was_offered or not angles else known
    stay = [subject for subject in before if any(same_name(subject, one) for one in columns)]
    return (*stay, *(one for one in columns if not any(same_name(one, other) for other in stay)))


def shortened(text: str) -> str:
    """The beginning of a line of lyrics, as much as a row's head has room for.

    >>> shortened("The ferry leaves at six, they say"), shortened("Hey")
    ('The ferry leaves at six…', 'Hey')
    """
    return text if len(text) <= MOST_LETTERS else f"{text[:MOST_LETTERS].rstrip(' ,.;')}…"


class Grid:
    """The cells, by row and subject."""

    def __init__(self, shoot: SongView, rows: Sequence[GridRow], results: Sequence[NeedResult]) -> None:
        self._numbers = () if shoot.song is None else tuple(bar.number for bar in bar_spans(shoot.song))
        self._results = results
        self._rows = rows

    def cell(self, row: int, subject: str) -> GridCell | None:
        """What is asked for there; None where nothing is."""
        found = [
            (result, part)
            for result in self._results
            if same_name(result.need.subject, subject)
            for part in self._parts(result, self._rows[row])
        ]
        if not found:
            return None
        states = {NeedState.UNMET if part is None else part.state for _, part in found}
        state = next((only for only in states if len(states) == 1), NeedState.PARTLY)
        needs = tuple(result.need for result, _ in found)
        missing = sorted({self._numbers[n] for _, part in found if part is not None for n in part.missing})
        return GridCell(needs, state, self._text(needs, state, missing), any(n.passage.family for n in needs))

    def _parts(self, result: NeedResult, row: GridRow) -> list[NeedPart | None]:
        """The parts of a need that a row shows."""
        passage = result.need.passage
        if passage == row.passage:
            return list(result.parts) or [None]
        if row.section is not None and passage.family and passage.family == row.section.family:
            return [part for part in result.parts if part.place.section == row.section]
        return []

    def _text(self, needs: Sequence[Need], state: NeedState, missing: Sequence[int]) -> str:
        least = max(need.least_angles for need in needs)
        bars = max(need.least_bars for need in needs)
        lines = [f"{SIGNS[state]} {STATES[state]}"]
        wanted = [f"{least} angles"] if least > 1 else []
        wanted += [words.count(bars, "bar")] if bars else []
        if wanted:
            lines.append(", ".join(wanted))
        if state is NeedState.PARTLY and missing:
            few = len(runs(missing)) <= MOST_RUNS
            gone = ranges_words(tuple(missing)) if few else words.count(len(missing), "bar")
            lines.append(f"not {gone}" if few else f"{gone} missing")
        return "\n".join(lines)
