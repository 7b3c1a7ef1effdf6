"""What moved since the song's last master, as a table: one line for each part of a take. Columns:

fate
    ``kept`` (it begins on the same frame as before), ``moved``, ``gone`` (it has no place on this master), or
    ``new`` (what it lies on was not in the last master)
clip, angle
    absolute path of the file; name of its angle
take
    id of the take; empty for what is gone
clip_start_s, clip_end_s
    the part, in seconds of the clip from its first picture frame (sound-only: first sample)
clip_frame
    the clip's first whole frame in the part, at its own rate (sound-only: that of the timeline)
old_frame, old_timecode
    where that frame began in the timeline of the last master; empty for what is new
new_frame, new_timecode
    where it begins now; empty for what is gone
difference_frames, difference_s
    new minus old, in frames of the timeline and exactly in seconds; empty where there is only one of them
speed_change
    how much longer a second of the part lasts in the song than before; 1 where the masters run alike

Frames of the timeline count from the song's first sample; timecode is empty where the rate has none.
"""

import math
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path, PurePath

from app.handoff.choices import Choices
from app.handoff.layout import song_label, timeline_rate
from app.handoff.outcome import HandoffError, HandoffReport, Planned, count
from app.handoff.tables import table_text
from app.handoff.tables.table_text import Table
from app.model.guarding import guard_of
from app.model.on_song import SongView
from app.model.renewing.moved_parts import MovedPart, moved_parts
from app.model.timebase import nearest_frame

COLUMNS = (
    "fate",
    "clip",
    "angle",
    "take",
    "clip_start_s",
    "clip_end_s",
    "clip_frame",
    "old_frame",
    "old_timecode",
    "new_frame",
    "new_timecode",
    "difference_frames",
    "difference_s",
    "speed_change",
)
_TOLERANCE = Fraction(1, 1000)
"""Part of a frame by which sums of floats may miss a frame boundary, as in the layout."""


def write(shoot: SongView, path: Path, choices: Choices) -> HandoffReport:
    """Write the table, read it back and compare. Raises HandoffError."""
    table = to_table(shoot, choices)
    table_text.write(path, table, choices.form, guard_of(shoot), _check)
    takes = len({row["take"] for row in table.rows if row["take"]})
    return HandoffReport(path=path, lines=_lines(shoot, table), takes=takes, worst_sub_frame_offset_s=0.0)


def plan(shoot: SongView, name: str, choices: Choices) -> Planned:
    """What `write` would write under that name. Raises HandoffError."""
    table = to_table(shoot, choices)
    return Planned(name, len(table_text.to_text(table, choices.form)), _lines(shoot, table))


def to_table(shoot: SongView, choices: Choices) -> Table:
    """The rows, as text. Raises HandoffError where the song had no other master."""
    if not shoot.masters:
        raise HandoffError("This song has no earlier master, so nothing has moved.")
    return Table(COLUMNS, tuple(_row(shoot, choices, one) for one in moved_parts(shoot)))


def _row(shoot: SongView, choices: Choices, part: MovedPart) -> dict[str, str]:
    timeline = choices.rate or timeline_rate(shoot)
    rate = part.clip.frame_rate or timeline
    first = math.ceil(Fraction(part.clip_start_s) * rate - _TOLERANCE)
    after_s = float(first / rate) - part.clip_start_s
    new_s = None if part.take is None else part.take.song_time(part.clip_start_s + after_s)
    old_s = None if part.old_s is None else part.old_s + after_s * _old_speed(shoot, part)
    angle = next((one.name for one in shoot.angles if one.id == part.clip.angle_id), "")
    row = {
        "clip": part.clip.media.path,
        "angle": angle,
        "take": "" if part.take is None else part.take.id,
        "clip_start_s": repr(part.clip_start_s),
        "clip_end_s": repr(part.clip_end_s),
        "clip_frame": str(first),
    }
    frames = []
    for name, song_s in (("old", old_s), ("new", new_s)):
        if song_s is not None:
            frames.append(nearest_frame(song_s, timeline))
            row[f"{name}_frame"] = str(frames[-1])
            row[f"{name}_timecode"] = song_label(shoot, choices, song_s)
    if old_s is None or new_s is None:
        return {"fate": "new" if old_s is None else "gone", **row}
    difference = frames[1] - frames[0]
    row |= {
        "difference_frames": str(difference),
        "difference_s": repr(new_s - old_s),
        "speed_change": repr(1.0 if part.piece is None else part.piece.speed),
    }
    return {"fate": "moved" if difference else "kept", **row}


def _old_speed(shoot: SongView, part: MovedPart) -> float:
    """Seconds of the last master to a second of the clip."""
    if part.take is not None:
        return part.take.speed / (1.0 if part.piece is None else part.piece.speed)
    left = [
        one.take for one in shoot.masters[-1].left if one.clip_id == part.clip.id and one.take is not None
    ]
    return next(one.placement.speed for one in left if one.placement.clip_start_s == part.clip_start_s)


def _lines(shoot: SongView, table: Table) -> tuple[str, ...]:
    fates = Counter(row["fate"] for row in table.rows)
    words = {"moved": "moved", "kept": "on the same frame", "gone": "without a place", "new": "new"}
    told = [f"{fates[fate]} {said}" for fate, said in words.items() if fates[fate]]
    since = PurePath(shoot.masters[-1].media.path).name
    return (f"Since {since}: {count(len(table.rows), 'part')} of takes, {', '.join(told) or 'none'}.",)


def _check(rows: Sequence[dict[str, str]]) -> None:
    """Hold the figures of every line against each other. Raises ValueError."""
    for number, row in enumerate(rows, 2):
        if row["old_frame"] and row["new_frame"]:
            apart = int(row["new_frame"]) - int(row["old_frame"])
            if apart != int(row["difference_frames"]) or (row["fate"] == "kept") is not (apart == 0):
                raise ValueError(f"line {number} does not add up")
