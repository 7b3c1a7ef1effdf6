"""Everything as one JSON value, in the shape that `app.handoff.report` describes."""

import json
from pathlib import Path

from app.handoff.outcome import HandoffError, HandoffReport, Planned
from app.handoff.report import report_bytes
from app.model.guarding import guard_of
from app.model.on_song import SongView
from app.model.storage.files import write_whole


def write(shoot: SongView, path: Path) -> HandoffReport:
    """Write the report, read it back and compare. Raises HandoffError."""
    text = report_bytes(shoot)

    def read_back(written: Path) -> None:
        if json.loads(written.read_bytes()) != json.loads(text):
            raise HandoffError(f"{path.name} does not read back as it was written, so it was not kept.")

    try:
        write_whole(path, text, guard_of(shoot), read_back)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise HandoffError(f"{path.name} could not be written: {why}. Choose another folder.") from error
    takes = sum(len(clip.takes) for clip in shoot.clips)
    return HandoffReport(path=path, lines=_lines(), takes=takes, worst_sub_frame_offset_s=0.0)


def plan(shoot: SongView, name: str) -> Planned:
    """What `write` would write under that name."""
    return Planned(name, len(report_bytes(shoot)), _lines())


def _lines() -> tuple[str, ...]:
    return ("All clips, takes, sections and bars as one JSON value, with times as exact as they are known.",)
