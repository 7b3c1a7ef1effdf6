"""The first pass as a table, one line a shot, and one for every passage that no rule could satisfy. Columns:

shot
    its number, as in the event list and in the markers of the timeline; empty where there is no shot
first_bar, last_bar, section
    bars of which it shows something, and the section in which it begins
song_start_s, song_end_s
    where the rules cut, in seconds of the song
start_timecode, end_timecode
    the frames of the timeline, the end exclusive; empty where its rate has no timecode
angle, clip, take
    name of the angle, path of the file, id of the take
clip_first_frame, sub_frame_offset_s
    the first frame of the clip that is shown, from 0; its exact song time minus that of the frame it lies on
reason
    why this shot, or what could not be satisfied
others
    angles that can be used instead over all of it, parted by semicolons
"""

from collections.abc import Iterator
from pathlib import Path

from app.handoff.choices import Form
from app.handoff.outcome import HandoffError, HandoffReport, Planned, count
from app.handoff.sequences.sequence import Item, Sequence
from app.handoff.tables import table_text
from app.handoff.tables.table_text import Table
from app.model.first_pass.result import FirstPass, Shot, Unsatisfied
from app.model.guarding import guard_of
from app.model.on_song import SongView
from app.model.song_map.bar_spans import section_words, song_sections
from app.model.timebase import TIMECODE_RATES, timecode

COLUMNS = (
    "shot",
    "first_bar",
    "last_bar",
    "section",
    "song_start_s",
    "song_end_s",
    "start_timecode",
    "end_timecode",
    "angle",
    "clip",
    "take",
    "clip_first_frame",
    "sub_frame_offset_s",
    "reason",
    "others",
)


def write(shoot: SongView, found: FirstPass, sequence: Sequence, path: Path) -> HandoffReport:
    """Write the table, read it back and compare. Raises HandoffError."""

    def check(rows: list[dict[str, str]]) -> None:
        shots = [row for row in rows if row["shot"]]
        told = [(int(row["shot"]), float(row["song_start_s"]), row["take"]) for row in shots]
        form = sequence.choices.form
        right = [
            (number, shot.song_start_s, table_text.cell(shot.take_id, form))
            for number, shot in enumerate(found.shots, 1)
        ]
        if told != right:
            raise HandoffError(f"{path.name} does not match the first pass, so it was not kept.")

    form: Form = sequence.choices.form
    table_text.write(path, to_table(shoot, found, sequence), form, guard_of(shoot), check)
    return HandoffReport(
        path=path,
        lines=tuple(_lines(found)),
        takes=len({shot.take_id for shot in found.shots}),
        worst_sub_frame_offset_s=max(abs(one.segment.sub_frame_offset_s) for one in sequence.items),
    )


def plan(shoot: SongView, found: FirstPass, sequence: Sequence, name: str) -> Planned:
    """What `write` would write under that name."""
    size = len(table_text.to_text(to_table(shoot, found, sequence), sequence.choices.form))
    return Planned(name, size, tuple(_lines(found)))


def to_table(shoot: SongView, found: FirstPass, sequence: Sequence) -> Table:
    """The rows, as text."""
    items = {item.told["number"]: item for item in sequence.items}
    rows = [
        (shot.song_start_s, 0, _shot(shoot, number, shot, items.get(number), sequence))
        for number, shot in enumerate(found.shots, 1)
    ]
    rows += [(one.song_start_s, 1, {**_place(shoot, one), "reason": one.words}) for one in found.unsatisfied]
    return Table(COLUMNS, tuple(row for *_, row in sorted(rows, key=lambda row: row[:2])))


def _shot(shoot: SongView, number: int, shot: Shot, item: Item | None, sequence: Sequence) -> dict[str, str]:
    angles = {angle.id: angle.name for angle in shoot.angles}
    owners = {take.id: clip for clip in shoot.clips for take in clip.takes}
    others = dict.fromkeys(angles.get(owners[take_id].angle_id, "") for take_id in shot.others)
    row = {
        "shot": str(number),
        **_place(shoot, shot),
        "angle": angles.get(shot.angle_id, ""),
        "clip": owners[shot.take_id].media.path,
        "take": shot.take_id,
        "reason": shot.reason,
        "others": "; ".join(name for name in others if name),
    }
    if item is not None:
        row |= {
            "clip_first_frame": str(item.segment.first_frame),
            "sub_frame_offset_s": f"{item.segment.sub_frame_offset_s:.9f}",
            "start_timecode": _label(item.at, sequence),
            "end_timecode": _label(item.end, sequence),
        }
    return row


def _place(shoot: SongView, one: Shot | Unsatisfied) -> dict[str, str]:
    sections = () if shoot.song is None else song_sections(shoot.song)
    section = next((own for own in reversed(sections) if own.start_s <= one.song_start_s + 1e-6), None)
    return {
        "first_bar": str(one.first_bar),
        "last_bar": str(one.last_bar),
        "section": "" if section is None else section_words(section),
        "song_start_s": repr(one.song_start_s),
        "song_end_s": repr(one.song_end_s),
    }


def _label(at: int, sequence: Sequence) -> str:
    if sequence.rate not in TIMECODE_RATES:
        return ""
    return timecode(sequence.start + at, sequence.rate, drop_frame=sequence.choices.drop_frame)


def _lines(found: FirstPass) -> Iterator[str]:
    yield f"{count(len(found.shots), 'shot')}, one row each, with the reason."
    if found.unsatisfied:
        yield f"{count(len(found.unsatisfied), 'row')} of what no rule could satisfy."
