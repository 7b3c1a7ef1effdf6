"""The comparison of a timeline with its shoot: each kind of damage is found."""

from collections.abc import Callable
from typing import Any

import opentimelineio as otio
import pytest

from app.handoff.layout import lay_out
from app.handoff.outcome import HandoffError
from app.handoff.timeline import otio_file
from app.handoff.timeline.otio_check import check
from app.model.document.verdict import Verdict
from app.model.on_song import Take
from tests.app.random_shoots import clip, shoot, take, waltz

LONG = waltz(180.0)


def items(timeline: Any) -> dict[str, Any]:
    """Take id to clip, as the library finds them."""
    return {c.metadata["anglebook"]["take_id"]: c for c in timeline.find_clips() if "anglebook" in c.metadata}


def _later(timeline: Any) -> None:
    timeline.tracks[0][0].source_range = otio.opentime.TimeRange(
        otio.opentime.RationalTime(0, 25),
        timeline.tracks[0][0].source_range.duration + otio.opentime.RationalTime(1, 25),
    )


def _shifted(timeline: Any) -> None:
    item = items(timeline)["a"]
    moved = item.source_range.start_time + otio.opentime.RationalTime(1, 25)
    item.source_range = otio.opentime.TimeRange(moved, item.source_range.duration)


def _longer(timeline: Any) -> None:
    item = items(timeline)["slow"]
    item.source_range = otio.opentime.TimeRange(
        item.source_range.start_time, otio.opentime.RationalTime(9000, 25)
    )


def _shorter(timeline: Any) -> None:
    item = items(timeline)["slow"]
    shorter = otio.opentime.RationalTime(900, 25)
    item.source_range = otio.opentime.TimeRange(item.source_range.start_time, shorter)


def _unwarped(timeline: Any) -> None:
    items(timeline)["slow"].effects.clear()


def _switched_on(timeline: Any) -> None:
    items(timeline)["d"].enabled = True


def _track_on(timeline: Any) -> None:
    items(timeline)["d"].parent().enabled = True


def _lost(timeline: Any) -> None:
    item = items(timeline)["a"]
    track = item.parent()
    track[track.index(item)] = otio.schema.Gap(duration=item.duration())


def _no_song(timeline: Any) -> None:
    del timeline.tracks[-1][0]


def _song_late(timeline: Any) -> None:
    timeline.tracks[-1].insert(0, otio.schema.Gap(duration=otio.opentime.RationalTime(1, 25)))


def _no_marker(timeline: Any) -> None:
    del timeline.tracks.markers[0]


def _at_midnight(timeline: Any) -> None:
    timeline.global_start_time = otio.opentime.RationalTime(0, 25)


def _other_media(timeline: Any) -> None:
    reference = items(timeline)["a"].media_reference
    begins = reference.available_range.start_time
    reference.available_range = otio.opentime.TimeRange(begins, otio.opentime.RationalTime(9999, 25))


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        (_later, "s off"),
        (_shifted, "clip_01.mov is -0.04"),
        (_longer, "uses more"),
        (_shorter, "leaves out"),
        (_unwarped, "ends"),
        (_switched_on, "its track says otherwise"),
        (_track_on, "its track says otherwise"),
        (_lost, "holds 2 takes instead of 3"),
        (_no_song, "song does not appear exactly once"),
        (_song_late, "song does not start"),
        (_no_marker, "markers instead of"),
        (_at_midnight, "does not start at 01:00:00:00"),
        (_other_media, "wrong length"),
    ],
)
def test_the_comparison_finds_what_is_wrong(spoil: Callable[[Any], None], why: str) -> None:
    value = shoot(
        clip(1, Take("a", 0.0, 20.0, 10.0)),
        clip(2, Take("slow", 0.0, 20.0, 100.0, 2.0)),
        clip(3, take("d", 5.0, 30.0, verdict=Verdict.DOUBTFUL)),
        song=LONG,
    )
    layout = lay_out(value)
    timeline = otio_file.to_timeline(value, LONG, layout)
    check(timeline, value, layout, "x.otio")
    spoil(timeline)
    with pytest.raises(HandoffError, match=why):
        check(timeline, value, layout, "x.otio")
