"""The sections of the song as a table, one line a section. Columns:

letter, name
    the boxed rehearsal letter, and the name
start_s, end_s
    seconds of the song
start_timecode, end_timecode
    the nearest frames of the timeline, the end exclusive; empty where its rate has no timecode
first_bar, last_bar
    the bars whose middle lies in it; empty where the map has no bars
least_depth, most_depth
    how many placed takes cover a bar of it, at least and at most
thin
    what is thin there, in words, parted by semicolons; also that angles are not named yet
"""

from pathlib import Path

from app.handoff.choices import DEFAULT, Choices
from app.handoff.layout import song_label
from app.handoff.outcome import HandoffReport, Planned, count
from app.handoff.tables import table_text
from app.handoff.tables.table_text import Table
from app.model.coverage.coverage import SectionCoverage, coverage
from app.model.guarding import guard_of
from app.model.on_song import SongView

COLUMNS = (
    "letter",
    "name",
    "start_s",
    "end_s",
    "start_timecode",
    "end_timecode",
    "first_bar",
    "last_bar",
    "least_depth",
    "most_depth",
    "thin",
)


def write(shoot: SongView, path: Path, choices: Choices = DEFAULT) -> HandoffReport:
    """Write the table, read it back and compare. Raises HandoffError."""
    table_text.write(path, to_table(shoot, choices), choices.form, guard_of(shoot))
    return HandoffReport(path=path, lines=_lines(shoot), takes=0, worst_sub_frame_offset_s=0.0)


def plan(shoot: SongView, name: str, choices: Choices) -> Planned:
    """What `write` would write under that name."""
    return Planned(name, len(table_text.to_text(to_table(shoot, choices), choices.form)), _lines(shoot))


def to_table(shoot: SongView, choices: Choices) -> Table:
    """The rows, as text. Raises HandoffError for a start timecode that does not fit."""
    return Table(COLUMNS, tuple(_row(shoot, choices, part) for part in coverage(shoot)))


def _row(shoot: SongView, choices: Choices, part: SectionCoverage) -> dict[str, str]:
    bars = part.bars if shoot.song is not None and shoot.song.map.bars_s else ()
    depths = [bar.depth for bar in part.bars]
    return {
        "letter": part.section.letter,
        "name": part.section.name,
        "start_s": repr(part.section.start_s),
        "end_s": repr(part.section.end_s),
        "start_timecode": song_label(shoot, choices, part.section.start_s),
        "end_timecode": song_label(shoot, choices, part.section.end_s),
        "first_bar": str(bars[0].bar.number) if bars else "",
        "last_bar": str(bars[-1].bar.number) if bars else "",
        "least_depth": str(min(depths)) if depths else "",
        "most_depth": str(max(depths)) if depths else "",
        "thin": "; ".join(part.remarks),
    }


def _lines(shoot: SongView) -> tuple[str, ...]:
    return (f"{count(len(coverage(shoot)), 'section')}, one row each.",)
