"""No two formats of one hand-off contradict each other, each read by an outside library.

Timelines are read by OpenTimelineIO, event lists by `edl` (package edl-reader), tables by the csv module.
"""

import csv
from fractions import Fraction
from pathlib import Path
from typing import Any

import edl
import opentimelineio as otio
import pytest
from timecode import Timecode

from app.handoff.all import write_all
from app.handoff.choices import Choices, Doubtful, Drift
from tests.app.handoff.large_shoot import large_shoot

NTSC_30, NTSC_60 = Fraction(30000, 1001), Fraction(60000, 1001)
NAMES = {Fraction(25): "25", NTSC_30: "29.97", NTSC_60: "59.94", Fraction(24000, 1001): "23.98"}
FORMATS = frozenset(("otio", "edl", "takes"))


def on_the_timeline(path: Path, rate: Fraction) -> set[tuple[str, int, int, str]]:
    """File, first frame, length and rest of every clip, as the library has them."""
    found = set()
    timeline = otio.adapters.read_from_file(str(path))  # its tracks go with it
    for track in timeline.tracks:
        for item, span in track.range_of_all_children().items():
            told: Any = item.metadata.get("anglebook")
            if told is not None:
                first, length = (
                    round(time.rescaled_to(float(rate)).value) for time in (span.start_time, span.duration)
                )
                name = Path(item.media_reference.target_url).name
                found.add((name, first, length, f"{told['remainder_s'] + 0.0:+.9f}"))
    return found


def in_the_lists(folder: Path, rate: Fraction, start: str) -> set[tuple[str, int, int, str]]:
    """The same of every event; positions from the song's start, over midnight too."""
    with next(folder.glob("*sources.csv")).open(encoding="utf-8", newline="") as file:
        files = {row["source"]: row["file"] for row in csv.DictReader(file)}
    # The reader counts 29.97 and 59.94 as drop-frame always: others are read at the whole rate, by label.
    by = NAMES[rate] if ";" in start or rate.denominator == 1 else str(round(rate))
    day = Timecode(by, f"23:59:59:{round(rate) - 1:02}").frame_number + 1
    begin = Timecode(by, start).frame_number
    found = set()
    for path in folder.glob("*.edl"):
        for event in edl.Parser(by).parse(path.read_bytes().decode("ascii").split("\r\n")).events:
            first, end = event.rec_start_tc.frame_number, event.rec_end_tc.frame_number
            rest = next(note.split()[3] for note in event.comments if note.startswith("* SUB-FRAME OFFSET"))
            found.add((files[event.reel], (first - begin) % day, (end - first) % day, rest))
    return found


@pytest.mark.parametrize(
    ("rate", "start", "doubtful", "drift"),
    [
        (Fraction(25), "01:00:00:00", Doubtful.APART, Drift.LEAVE),
        (NTSC_30, "00:59:30;02", Doubtful.APART, Drift.RESEAT),
        (NTSC_60, "23:58:59;04", Doubtful.NONE, Drift.RESEAT),
        (Fraction(24000, 1001), "23:59:00:00", Doubtful.APART, Drift.RESEAT),
    ],
)
def test_lists_and_timeline_lay_the_same_frames_and_the_table_has_all_takes(
    rate: Fraction, start: str, doubtful: Doubtful, drift: Drift, tmp_path: Path
) -> None:
    shoot = large_shoot(24)
    choices = Choices(what=FORMATS, rate=rate, start=start, doubtful=doubtful, drift=drift)
    assert write_all(shoot, tmp_path, choices).troubles == ()
    laid = on_the_timeline(tmp_path / "Large.otio", rate)
    assert len(laid) > 30
    assert in_the_lists(tmp_path, rate, start) == laid
    with (tmp_path / "Large.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, strict=True))
    left_out = {"doubtful"} if doubtful is Doubtful.NONE else set()
    names = {Path(row["clip"]).name for row in rows if row["verdict"] not in left_out}
    assert names == {name for name, *_ in laid}
