"""The list of playback files: what each is for, how long it is, and where the song lies in it."""

from collections.abc import Sequence
from pathlib import Path

from app.handoff.choices import Form
from app.handoff.names import FreeNames, safe_name
from app.handoff.tables.table_text import Table, write
from app.model.kit.made_file import MadeFile
from app.model.kit.planned import Planned
from app.model.storage.guard import Guard
from app.model.timebase import rate_words

LIST_NAME = "Playback list.csv"
COLUMNS = (
    "file",
    "what",
    "length_s",
    "song_at_s",
    "song_start_s",
    "song_end_s",
    "speed",
    "speed_percent",
    "pitch",
    "loudness_lufs",
    "true_peak_dbtp",
    "timecode",
    "timecode_at_s",
    "timecode_fps",
)


def with_paths(plans: Sequence[Planned], folder: Path) -> list[tuple[Planned, Path]]:
    """Each planned file with a path that is free: clips may be shot to a file that is there."""
    names = FreeNames()
    out = []
    for plan in plans:
        path = folder / names.free(safe_name(plan.name), ".wav")
        while path.exists():
            path = folder / names.free(safe_name(plan.name), ".wav")
        out.append((plan, path))
    return out


def write_list(path: Path, made: Sequence[MadeFile], guard: Guard) -> None:
    """Write the list, one file a line. Raises HandoffError."""
    write(path, Table(COLUMNS, tuple(map(_row, made))), Form.CSV, guard)


def kit_text(made: Sequence[MadeFile]) -> str:
    """The list for a terminal."""
    lines = [f"{len(made)} playback files" if len(made) != 1 else "1 playback file"]
    for one in made:
        minutes, seconds = divmod(one.playback.duration_s, 60)
        lines.append(
            f"  {int(minutes)}:{seconds:04.1f}  {one.loudness_lufs:6.1f} LUFS  "
            f"{Path(one.playback.media.path).name}"
        )
    return "\n".join(lines)


def _row(one: MadeFile) -> dict[str, str]:
    piece, code = one.planned.piece, one.planned.timecode
    return {
        "file": Path(one.playback.media.path).name,
        "what": one.planned.what,
        "length_s": f"{one.playback.duration_s:.3f}",
        "song_at_s": f"{piece.start_s:.6f}",
        "song_start_s": f"{piece.song_start_s:.6f}",
        "song_end_s": f"{piece.line.song_time(piece.end_s):.6f}",
        "speed": str(one.planned.speed),
        "speed_percent": f"{float(one.planned.speed) * 100:.4f}".rstrip("0").rstrip("."),
        "pitch": "kept" if one.planned.pitch_kept else "along",
        "loudness_lufs": f"{one.loudness_lufs:.1f}",
        "true_peak_dbtp": f"{one.true_peak_db:.1f}",
        "timecode": "" if code is None else code.label,
        "timecode_at_s": "" if code is None else f"{code.at_s:.6f}",
        "timecode_fps": "" if code is None else rate_words(code.frame_rate),
    }
