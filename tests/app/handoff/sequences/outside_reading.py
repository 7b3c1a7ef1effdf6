"""What timelines and event lists of sequences say, as libraries from outside read them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import edl
import opentimelineio as otio
from hypothesis import strategies as st
from timecode import Timecode

from app.model.coverage.needs import Need
from app.model.document.marks import Mark, MarkKind
from app.model.document.plan import Passage, Plan
from app.model.on_song import Clip, SongView, Take
from tests.app.random_shoots import sensible_shoots

NTSC_24, NTSC_30 = Fraction(24000, 1001), Fraction(30000, 1001)
RATES = {NTSC_24: "23.98", Fraction(25): "25", NTSC_30: "29.97", Fraction(50): "50"}
"""The rates at which sequences are read, each with the name that the outside readers give it."""


@dataclass(frozen=True)
class Shown:
    """A piece of a take on a track."""

    take: Take
    clip: Clip
    frame: int
    """On which frame of the timeline it starts."""
    frames: int
    song_frame: int
    """The frame of the song that is heard there."""
    media_s: float
    """First moment of the clip that is shown, from the clip's first frame."""
    media_end_s: float
    told: Any
    """Its metadata."""
    markers: tuple[str, ...]


def read_timeline(path: Path) -> "otio.schema.Timeline":
    return otio.adapters.read_from_file(str(path))


def length_frames(timeline: "otio.schema.Timeline") -> dict[str, float]:
    """Length of each track that is switched on, in frames of the timeline."""
    rate = timeline.global_start_time.rate
    return {
        track.name: track.duration().rescaled_to(rate).value for track in timeline.tracks if track.enabled
    }


def shown(timeline: "otio.schema.Timeline", shoot: SongView, track: int = -2) -> list[Shown]:
    """The pieces on the picture track, or on another."""
    rate = timeline.global_start_time.rate
    takes = {take.id: (clip, take) for clip in shoot.clips for take in clip.takes}
    heard = []
    for item, span in timeline.tracks[-1].range_of_all_children().items():
        begins = round(span.start_time.rescaled_to(rate).value)
        heard.append(
            (begins, round(item.source_range.duration.value), round(item.source_range.start_time.value))
        )
    found = []
    for item, span in timeline.tracks[track].range_of_all_children().items():
        if not isinstance(item, otio.schema.Clip):
            continue
        frame = round(span.start_time.rescaled_to(rate).value)
        ((begins, _, first),) = [one for one in heard if one[0] <= frame < one[0] + one[1]]
        told: Any = item.metadata["anglebook"]
        clip, take = takes[told["take_id"]]
        scalar = item.effects[0].time_scalar if item.effects else 1.0
        zero_s = item.media_reference.available_range.start_time.to_seconds()
        media_s = item.source_range.start_time.to_seconds() - zero_s
        found.append(
            Shown(
                take,
                clip,
                frame,
                round(span.duration.rescaled_to(rate).value),
                first + frame - begins,
                media_s,
                media_s + item.source_range.duration.to_seconds() * scalar,
                _plain(told),
                tuple(marker.name for marker in item.markers),
            )
        )
    return sorted(found, key=lambda one: one.frame)


def _plain(value: Any) -> Any:
    """Metadata apart from its timeline, which goes when nobody holds it."""
    if isinstance(value, Mapping):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_plain(inner) for inner in value]
    return value


def in_the_list(path: Path, rate: Fraction) -> list[tuple[str, str, int, int]]:
    """Source, channel, first frame and end of every event, counted from 01:00:00:00."""
    # The reader counts 29.97 as drop-frame always: the list is not, and is read at the whole rate, by label.
    by = RATES[rate] if rate.denominator == 1 else str(round(rate))
    begin = Timecode(by, "01:00:00:00").frame_number
    events = edl.Parser(by).parse(path.read_bytes().decode("ascii").split("\r\n")).events
    return [
        (
            event.reel,
            event.track,
            event.rec_start_tc.frame_number - begin,
            event.rec_end_tc.frame_number - begin,
        )
        for event in events
    ]


def faultless(clip: Clip, take: Take, song_end_s: float) -> list[tuple[float, float]]:
    """The stretches of a take in the song, without faults; song time."""
    spans = [(max(0.0, take.song_start_s), min(song_end_s, take.song_end_s))]
    for mark in clip.marks:
        if mark.kind is MarkKind.FAULT:
            from_s, to_s = take.song_time(mark.clip_start_s), take.song_time(mark.clip_end_s)
            cut = [((a, min(b, from_s)), (max(a, to_s), b)) for a, b in spans]
            spans = [span for both in cut for span in both if span[1] > span[0]]
    return spans


def assert_in_sync_and_without_faults(
    pieces: list[Shown], shoot: SongView, rate: Fraction, most_frames: int = 1, beyond_frames: int = 0
) -> None:
    """What each piece shows belongs to what is heard, and lies in one faultless stretch of its take.

    It may be ``most_frames`` of its clip off, and show ``beyond_frames`` of it before or after its take.
    """
    assert shoot.song is not None
    for one in pieces:
        frame_s = 1 / one.clip.frame_rate if one.clip.frame_rate else Fraction(0)
        heard_s = float(one.song_frame / rate)
        off_s = one.take.song_time(one.media_s) - heard_s
        assert abs(off_s - one.told["remainder_s"]) < 1e-9
        assert abs(off_s) <= most_frames * float(frame_s) * one.take.speed + float(1 / rate) / 2 + 1e-9
        assert one.told["verdict"] == "placed"
        spare_s = 2e-3 * float(frame_s) * one.take.speed
        ends = one.take.song_time(one.media_s), one.take.song_time(one.media_end_s)
        stretches = faultless(one.clip, one.take, shoot.song.duration_s)
        beyond_s = beyond_frames * float(frame_s) * one.take.speed
        edges = max(0.0, one.take.song_start_s), min(shoot.song.duration_s, one.take.song_end_s)
        assert any(
            a - spare_s - beyond_s * (a == edges[0]) <= ends[0]
            and ends[1] <= b + spare_s + beyond_s * (b == edges[1])
            for a, b in stretches
        ), f"{one.take.id} shows {ends} of {stretches}"


@st.composite
def marked_shoots(draw: st.DrawFn) -> SongView:
    """Sensible shoots with faults, keepers, ranks and needs."""
    value = draw(sensible_shoots())
    clips, number = [], 0
    for clip in value.clips:
        marks = []
        for _ in range(draw(st.integers(0, 3))):
            number += 1
            start_s = draw(st.floats(0, clip.duration_s - 1))
            end_s = start_s + draw(st.floats(0.02, 20))
            kind = draw(st.sampled_from(MarkKind))
            marks.append(Mark(f"mark-{number}", clip.id, kind, start_s, end_s))
        clips.append(replace(clip, marks=tuple(marks)))
    angles = tuple(replace(angle, rank=draw(st.integers(0, 3))) for angle in value.angles)
    needs = (
        Need("need-1", "song-1", Passage(first_bar=3, last_bar=9), draw(st.sampled_from(("Angle 1", "x")))),
    )
    return replace(value, clips=tuple(clips), angles=angles, plan=Plan(needs=needs))
