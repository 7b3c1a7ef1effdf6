"""Who covers which bar as a table, one line a bar (a section, where the map has no bars). Columns:

bar, letter, section
    its number, and the section it lies in
start_s, end_s, start_timecode
    seconds of the song; the nearest frame of the timeline, empty where its rate has no timecode
depth, angles, safety_only
    placed takes that cover it, distinct angles among them, and whether all of it is safety
takes, doubtful
    names of the takes that cover it, and of takes in doubt that would, parted by semicolons
"""

from pathlib import Path

from app.handoff.choices import DEFAULT, Choices
from app.handoff.layout import clip_names, song_label, take_name
from app.handoff.outcome import HandoffReport, Planned, count
from app.handoff.tables import table_text
from app.handoff.tables.table_text import Table
from app.model.coverage.coverage import coverage
from app.model.guarding import guard_of
from app.model.on_song import SongView

COLUMNS = (
    "bar",
    "letter",
    "section",
    "start_s",
    "end_s",
    "start_timecode",
    "depth",
    "angles",
    "safety_only",
    "takes",
    "doubtful",
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
    clips = clip_names(shoot.clips)
    names = {take.id: take_name(clip, take, clips[clip.id]) for clip in shoot.clips for take in clip.takes}
    rows = [
        {
            "bar": str(bar.bar.number),
            "letter": part.section.letter,
            "section": part.section.name,
            "start_s": repr(bar.bar.start_s),
            "end_s": repr(bar.bar.end_s),
            "start_timecode": song_label(shoot, choices, bar.bar.start_s),
            "depth": str(bar.depth),
            "angles": str(bar.angles),
            "safety_only": "yes" if bar.safety_only else "no",
            "takes": "; ".join(names[take_id] for take_id in bar.takes),
            "doubtful": "; ".join(names[take_id] for take_id in bar.doubtful),
        }
        for part in coverage(shoot)
        for bar in part.bars
    ]
    return Table(COLUMNS, tuple(rows))


def _lines(shoot: SongView) -> tuple[str, ...]:
    noun = "bar" if shoot.song is not None and shoot.song.map.bars_s else "section"
    bars = [bar for part in coverage(shoot) for bar in part.bars]
    bare = sum(1 for bar in bars if not bar.takes)
    return (f"{count(len(bars), noun)}, one row each; {bare} not covered.",)
