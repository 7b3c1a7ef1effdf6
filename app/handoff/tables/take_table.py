"""The takes as a table of offsets, one line a take.

A clip without takes has one line with the take's columns empty, so that no clip is lost. Columns:

clip
    absolute path of the file
angle, safety
    name of the angle; ``yes`` or ``no``
take
    id of the take
verdict, decision
    of the take (of the clip where it has none): ``placed``, ``doubtful``, ``no song``, ``unreadable``,
    ``waiting``; ``computed``, ``confirmed``, ``by hand``
clip_start_s, clip_end_s
    the take, in seconds of the clip from its first picture frame (sound-only: first sample)
song_start_s, song_end_s
    the same two moments in seconds of the song
speed
    seconds of song to a second of clip
nominal_speed, drift_ppm
    the speed taken apart: an exact ratio, and the clocks' drift on top of it in parts per million
uncertainty_ms
    half-width, milliseconds, that holds the true place 95 times in 100; empty where a person moved the take
frame_rate, start_timecode
    of the clip; exact frames per second as ``24000/1001``
clip_s_at_song_0
    the moment of the clip at which the song begins or would begin; negative when the clip starts later
frame_at_song_0, remainder_at_song_0_s
    the same as the nearest frame of the clip, and what is left over: moment = frame / frame_rate + remainder
reason
    why a take is doubtful, or a clip not placed
note
    what a person noted on the clip
faults, keepers
    stretches of the take that people marked, in seconds of the clip, with the reason, apart by semicolons:
    ``12.000-14.500 focus``
"""

from fractions import Fraction
from pathlib import Path

from app.handoff.choices import Form
from app.handoff.notes import media_lines
from app.handoff.outcome import HandoffError, HandoffReport, Planned, count
from app.handoff.tables import table_text
from app.handoff.tables.table_text import Table
from app.model.document.marks import MarkKind, MarkState
from app.model.guarding import guard_of
from app.model.on_song import Clip, SongView, Take, was_moved
from app.model.reasons import sentence
from app.model.speeds import nominal_speed
from app.model.timebase import nearest_frame, rate_text

COLUMNS = (
    "clip",
    "angle",
    "safety",
    "take",
    "verdict",
    "decision",
    "clip_start_s",
    "clip_end_s",
    "song_start_s",
    "song_end_s",
    "speed",
    "nominal_speed",
    "drift_ppm",
    "uncertainty_ms",
    "frame_rate",
    "start_timecode",
    "clip_s_at_song_0",
    "frame_at_song_0",
    "remainder_at_song_0_s",
    "reason",
    "note",
    "faults",
    "keepers",
)


def write(shoot: SongView, path: Path, form: Form = Form.CSV) -> HandoffReport:
    """Write the table, read it back and compare. Raises HandoffError."""
    worst_s = 0.0

    def check(rows: list[dict[str, str]]) -> None:
        nonlocal worst_s
        worst_s = _check(rows, shoot, path.name, form)

    table_text.write(path, to_table(shoot), form, guard_of(shoot), check)
    return HandoffReport(
        path=path, lines=_lines(shoot), takes=_count(shoot), worst_sub_frame_offset_s=worst_s
    )


def plan(shoot: SongView, name: str, form: Form) -> Planned:
    """What `write` would write under that name."""
    return Planned(name, len(table_text.to_text(to_table(shoot), form)), _lines(shoot))


def to_table(shoot: SongView) -> Table:
    """The rows, as text."""
    rows: list[dict[str, str]] = []
    for clip in shoot.clips:
        for row in [_take_row(clip, take) for take in clip.takes] or [{}]:
            rows.append({**_clip_row(shoot, clip), **row})
    return Table(COLUMNS, tuple(rows))


def _count(shoot: SongView) -> int:
    return sum(len(clip.takes) for clip in shoot.clips)


def _lines(shoot: SongView) -> tuple[str, ...]:
    lines = [f"{count(_count(shoot), 'take')}, one row each, with exact offsets in seconds."]
    bare = sum(1 for clip in shoot.clips if not clip.takes)
    if bare:
        lines.append(f"{count(bare, 'clip')} without takes, with the reason.")
    return (*lines, *media_lines(shoot))


def _clip_row(shoot: SongView, clip: Clip) -> dict[str, str]:
    angle = next((angle for angle in shoot.angles if angle.id == clip.angle_id), None)
    return {
        "clip": clip.media.path,
        "angle": angle.name if angle else "",
        "safety": "yes" if angle and angle.safety else "no",
        "verdict": clip.verdict.value,
        "decision": clip.decision.value,
        "frame_rate": rate_text(clip.frame_rate) if clip.frame_rate else "",
        "start_timecode": clip.start_timecode or "",
        "reason": sentence(clip.reason),
        "note": clip.note,
    }


def _take_row(clip: Clip, take: Take) -> dict[str, str]:
    speed = nominal_speed(take.speed)
    at_0 = take.clip_time(0.0)
    row = {
        "take": take.id,
        "verdict": take.verdict.value,
        "decision": take.decision.value,
        "clip_start_s": repr(take.clip_start_s),
        "clip_end_s": repr(take.clip_end_s),
        "song_start_s": repr(take.song_start_s),
        "song_end_s": repr(take.song_end_s),
        "speed": repr(take.speed),
        "nominal_speed": rate_text(speed.nominal),
        "drift_ppm": repr(speed.drift_ppm),
        "uncertainty_ms": "" if was_moved(take) else repr(take.uncertainty_s * 1000),
        "clip_s_at_song_0": repr(at_0),
        "reason": sentence(take.reason),
        "faults": _marks(clip, take, MarkKind.FAULT),
        "keepers": _marks(clip, take, MarkKind.KEEPER),
    }
    if clip.frame_rate is not None:
        frame = nearest_frame(at_0, clip.frame_rate)
        row["frame_at_song_0"] = str(frame)
        row["remainder_at_song_0_s"] = repr(float(Fraction(at_0) - frame / clip.frame_rate))
    return row


def _marks(clip: Clip, take: Take, kind: MarkKind) -> str:
    told = []
    for mark in clip.marks:
        start_s, end_s = max(mark.clip_start_s, take.clip_start_s), min(mark.clip_end_s, take.clip_end_s)
        if mark.kind is kind and mark.state is MarkState.SET and start_s < end_s:
            reason = mark.reason.value if kind is MarkKind.FAULT else ""
            told.append(f"{start_s:.3f}-{end_s:.3f} {' '.join(filter(None, (reason, mark.words)))}".strip())
    return "; ".join(told)


def _check(rows: list[dict[str, str]], shoot: SongView, name: str, form: Form) -> float:
    """Compare the lines read with the shoot; gives the largest offset, seconds. Raises HandoffError."""
    expected: list[tuple[Clip, Take | None]] = []
    for clip in shoot.clips:
        expected += [(clip, take) for take in clip.takes] or [(clip, None)]
    if len(rows) != len(expected):
        raise HandoffError(f"{name} holds {len(rows)} lines instead of {len(expected)}; not written.")
    worst_s = 0.0
    for number, (row, (clip, take)) in enumerate(zip(rows, expected, strict=True), 2):
        good = row["clip"] == table_text.cell(clip.media.path, form)
        if take is not None:
            line = [float(row[key]) for key in ("clip_start_s", "clip_end_s", "song_start_s", "speed")]
            good &= line == [take.clip_start_s, take.clip_end_s, take.song_start_s, take.speed]
            good &= row["verdict"] == take.verdict.value and row["take"] == table_text.cell(take.id, form)
        if take is not None and clip.frame_rate is not None:
            rate = Fraction(row["frame_rate"])
            offset_s = float(row["remainder_at_song_0_s"])
            moment_s = int(row["frame_at_song_0"]) / rate + Fraction(offset_s)
            good &= abs(float(moment_s) - take.clip_time(0.0)) < 1e-9 and abs(offset_s) <= 0.5 / rate + 1e-9
            worst_s = max(worst_s, abs(offset_s))
        if not good:
            raise HandoffError(f"{name} does not match the shoot in line {number}; not written.")
    return worst_s
