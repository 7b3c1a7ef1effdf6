"""Faults, keepers and open needs as markers: read back by the library, and where they lie counted by hand."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import opentimelineio as otio
import pytest

from app.handoff.timeline import otio_check
from app.model.document.marks import FaultReason, Mark, MarkKind, MarkState
from app.model.document.plan import Need, Passage, Plan
from app.model.on_song import SongView, Take
from tests.app.handoff.timeline.test_otio_file import items, written
from tests.app.random_shoots import clip, shoot, take

FOCUS = Mark("a", "clip-1", MarkKind.FAULT, 4.0, 6.0, FaultReason.FOCUS, "the horn")
SMILE = Mark("b", "clip-1", MarkKind.KEEPER, 9.0, 30.0)
OLD = Mark("c", "clip-1", MarkKind.FAULT, 4.0, 6.0, state=MarkState.DISMISSED)


def markers(value: SongView, folder: Path) -> list[tuple[str, str, float, float]]:
    (item,) = items(written(value, folder)[0]).values()
    return [
        (
            one.name,
            one.comment,
            one.marked_range.start_time.to_seconds(),
            one.marked_range.duration.to_seconds(),
        )
        for one in item.markers
    ]


def test_marks_lie_on_their_clip(tmp_path: Path) -> None:
    held = Take("t", 2.0, 20.0, 1.0)
    found = markers(shoot(clip(1, held, marks=(FOCUS, SMILE, OLD))), tmp_path)
    assert found == [("fault: focus", "the horn", 4.0, 2.0), ("keeper", "", 9.0, 11.0)]


def test_marks_count_from_the_clips_start_timecode(tmp_path: Path) -> None:
    late = clip(1, take("t", 0.0, 20.0), marks=(FOCUS,), start_timecode="01:00:00:00")
    assert markers(shoot(late), tmp_path)[0][2:] == (3604.0, 2.0)


def test_under_a_time_warp_they_lie_where_the_timeline_shows_them(tmp_path: Path) -> None:
    held = Take("t", 2.0, 12.0, 1.0, speed=2.0)
    (one,) = markers(shoot(clip(1, held, marks=(FOCUS,))), tmp_path)
    # Two seconds into the clip is four of the song into the take, which begins at its frame 50.
    assert one == ("fault: focus", "the horn", 2.0 + 4.0, 4.0)


def test_open_needs_are_markers_of_the_timeline(tmp_path: Path) -> None:
    needs = (
        Need("n", "song-1", Passage(first_bar=2, last_bar=6), "fiddle", note="the run"),
        Need("m", "song-1", Passage(first_bar=2, last_bar=4), "fiddle"),
    )
    value = replace(shoot(clip(1, take("t", 0.0, 8.0))), plan=Plan(needs))
    timeline, _ = written(value, tmp_path)
    found = [one for one in timeline.tracks.markers if one.metadata["anglebook"]["kind"] == "need"]
    (one,) = found
    assert (one.name, one.comment) == ("need: fiddle", "bars 5–6: the run")
    assert (one.marked_range.start_time.to_seconds(), one.marked_range.duration.to_seconds()) == (8.0, 4.0)
    assert one.color == otio.schema.MarkerColor.PURPLE


@pytest.mark.parametrize("spoil", ["gone", "short"])
def test_a_mark_that_is_lost_is_noticed(spoil: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    value = shoot(clip(1, take("t", 0.0, 20.0), marks=(FOCUS,)))
    complaints: list[str] = []

    def check(timeline: Any, view: SongView, layout: Any, *rest: Any) -> None:
        for track in timeline.tracks:
            for item in track:
                if item.metadata.get("anglebook", {}).get("take_id") == "t":
                    if spoil == "gone":
                        item.markers.clear()
                    else:
                        begins = item.markers[0].marked_range.start_time
                        item.markers[0].marked_range = otio.opentime.TimeRange(begins)
        complaints.extend(otio_check._complaints(timeline, view, layout, otio_check.in_place))

    monkeypatch.setattr("app.handoff.timeline.otio_file.check", check)
    written(value, tmp_path)
    assert [text for text in complaints if "is marked" in text]
