"""Timelines read back with OpenTimelineIO, the outside reader; places worked by hand from the rates."""

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import opentimelineio as otio
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.handoff.choices import DEFAULT, Doubtful, Drift, Scheme
from app.handoff.layout import timeline_rate
from app.handoff.outcome import HandoffError, HandoffReport
from app.handoff.timeline import otio_file
from app.model.document.angle import Angle
from app.model.document.decisions import Decision
from app.model.document.findings import Rival
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.on_song import SongView, Take
from app.model.reasons import in_words
from tests.app.random_shoots import clip, media, sensible_shoots, shoot, take, waltz

NTSC_24 = Fraction(24000, 1001)
LONG = waltz(180.0)


def written(value: SongView, folder: Path, rate: Fraction | None = None) -> tuple[Any, HandoffReport]:
    report = otio_file.write(value, folder / "x.otio", replace(DEFAULT, rate=rate))
    return otio.adapters.read_from_file(str(folder / "x.otio")), report


def frames(time: Any) -> tuple[float, float]:
    return time.value, time.rate


def items(timeline: Any) -> dict[str, Any]:
    """Take id to clip, as the library finds them."""
    return {c.metadata["anglebook"]["take_id"]: c for c in timeline.find_clips() if "anglebook" in c.metadata}


def start(item: Any) -> float:
    return float(item.range_in_parent().start_time.to_seconds())


def test_a_take_lies_where_the_shoot_says(tmp_path: Path) -> None:
    value = shoot(clip(1, Take("t", 2.0, 22.0, 10.0)), song=LONG)
    timeline, report = written(value, tmp_path)
    item = items(timeline)["t"]
    assert frames(item.range_in_parent().start_time) == (250, 25)
    assert frames(item.source_range.start_time) == (50, 25)
    assert frames(item.source_range.duration) == (500, 25)
    assert frames(item.media_reference.available_range.start_time) == (0, 25)
    assert frames(item.media_reference.available_range.duration) == (2500, 25)
    assert item.media_reference.target_url == "file:///shoot/clip_01.mov"
    assert item.metadata["anglebook"]["remainder_s"] == 0
    assert frames(timeline.global_start_time) == (90000, 25)
    assert otio.opentime.to_timecode(timeline.global_start_time) == "01:00:00:00"
    assert report.worst_sub_frame_offset_s == 0
    assert report.takes == 1


def test_the_rest_below_a_frame_is_kept(tmp_path: Path) -> None:
    # 10.012 s is frame 250.3 at 25: laid on 250, 12 ms left.
    timeline, report = written(shoot(clip(1, Take("t", 0.0, 20.0, 10.012)), song=LONG), tmp_path)
    told = items(timeline)["t"].metadata["anglebook"]
    assert told["remainder_s"] == pytest.approx(0.012, abs=1e-12)
    assert told["remainder_frames"] == pytest.approx(0.3, abs=1e-9)
    assert report.worst_sub_frame_offset_s == pytest.approx(0.012)
    assert "Largest sub-frame offset: 12.0 ms (0.30 frame)" in "\n".join(report.lines)


def test_a_take_begins_with_its_first_whole_frame(tmp_path: Path) -> None:
    # 2.01 s is frame 50.25: frame 51, 0.03 s later, is the first whole one; song time 10.03 s, frame 250.75.
    timeline, _ = written(shoot(clip(1, Take("t", 2.01, 22.0, 10.0)), song=LONG), tmp_path)
    item = items(timeline)["t"]
    assert item.source_range.start_time.value == 51
    assert item.range_in_parent().start_time.value == 251
    assert item.metadata["anglebook"]["remainder_s"] == pytest.approx(-0.01, abs=1e-12)


def test_ranges_count_from_the_start_timecode_at_the_exact_rate(tmp_path: Path) -> None:
    value = shoot(clip(1, Take("t", 0.0, 20.0, 0.0), rate=NTSC_24, start_timecode="10:00:00:00"), song=LONG)
    timeline, _ = written(value, tmp_path)
    item = items(timeline)["t"]
    assert frames(item.source_range.start_time) == (864000, 24000 / 1001)
    assert otio.opentime.to_timecode(item.media_reference.available_range.start_time) == "10:00:00:00"
    assert otio.opentime.to_timecode(timeline.global_start_time) == "01:00:00:00"
    value = shoot(
        clip(1, Take("t", 0.0, 20.0, 0.0), rate=Fraction(30000, 1001), start_timecode="01:00:00;00"),
        song=LONG,
    )
    item = items(written(value, tmp_path)[0])["t"]
    assert item.media_reference.available_range.start_time.value == 107892  # SMPTE ST 12-1, drop-frame


def test_a_start_timecode_that_does_not_fit_is_told_and_left_out(tmp_path: Path) -> None:
    value = shoot(clip(1, Take("t", 0.0, 20.0, 0.0), start_timecode="10:00:00:29"), song=LONG)
    timeline, report = written(value, tmp_path)
    assert items(timeline)["t"].media_reference.available_range.start_time.value == 0
    assert (
        "clip_01.mov: its start timecode 10:00:00:29 is not valid at its frame rate; counted from 0."
        in report.lines
    )


def test_what_was_shot_before_the_song_is_trimmed(tmp_path: Path) -> None:
    timeline, report = written(
        shoot(clip(1, Take("t", 1.0, 21.0, -2.0), take("out", -9.0, -1.0)), song=LONG), tmp_path
    )
    item = items(timeline)["t"]
    assert (start(item), item.source_range.start_time.value, item.source_range.duration.value) == (0, 75, 450)
    assert list(items(timeline)) == ["t"]
    assert "clip_01.mov, take 1: starts 2.00 s early; used from the start of the song." in report.lines
    assert "clip_01.mov, take 2: not on the timeline, because it ends before the song begins." in report.lines


def test_takes_of_one_angle_that_overlap_go_to_further_tracks(tmp_path: Path) -> None:
    value = shoot(
        clip(1, take("a", 0.0, 30.0)),
        clip(2, take("b", 20.0, 50.0)),
        clip(3, take("c", 30.0, 60.0)),
        clip(4, take("wide", 0.0, 60.0), angle="angle-2"),
        clip(5, take("sound", 0.0, 60.0), rate=None),
        angles=(Angle("angle-1", "Fiddle"), Angle("angle-2", "Wide", safety=True)),
        song=LONG,
    )
    timeline, _ = written(value, tmp_path)
    tracks = {
        t.name: [c.metadata["anglebook"]["take_id"] for c in t.find_clips()] for t in timeline.tracks[:-1]
    }
    assert tracks == {"Wide": ["wide"], "Fiddle": ["a", "c"], "Fiddle 2": ["b"], "Fiddle sound": ["sound"]}
    assert [t.kind for t in timeline.tracks] == ["Video", "Video", "Video", "Audio", "Audio"]
    assert timeline.tracks[-1].name == "Song"


def test_one_frame_in_common_is_an_overlap_and_none_is_not(tmp_path: Path) -> None:
    value = shoot(
        clip(1, take("a", 0.0, 10.0)),
        clip(2, take("b", 9.96, 20.0)),
        clip(3, take("c", 10.0, 20.0)),
        song=LONG,
    )
    timeline, _ = written(value, tmp_path)
    tracks = [[c.metadata["anglebook"]["take_id"] for c in t.find_clips()] for t in timeline.tracks[:-1]]
    assert tracks == [["a", "c"], ["b"]]


def test_a_take_uses_no_more_than_its_file_holds(tmp_path: Path) -> None:
    timeline, _ = written(shoot(clip(1, Take("t", 90.0, 100.3, 10.0)), song=LONG), tmp_path)
    assert items(timeline)["t"].source_range.duration.value == 250


def test_doubtful_takes_are_switched_off_on_tracks_of_their_own(tmp_path: Path) -> None:
    one = take(
        "d", 5.0, 30.0, verdict=Verdict.DOUBTFUL, reason=in_words("Two choruses."), rivals=(Rival(60.0, 0.9),)
    )
    timeline, report = written(shoot(clip(1, take("a", 0.0, 30.0)), clip(2, one), song=LONG), tmp_path)
    states = {t.name: (t.enabled, [c.enabled for c in t.find_clips()]) for t in timeline.tracks}
    assert states == {"Fiddle": (True, [True]), "in doubt: Fiddle": (False, [False]), "Song": (True, [True])}
    told = items(timeline)["d"].metadata["anglebook"]
    assert (told["verdict"], told["reason"]) == ("doubtful", "Two choruses.")
    assert dict(told["rivals"][0]) == {
        "song_start_s": 60.0,
        "strength": 0.9,
        "as_well": False,
        "computed": False,
    }
    assert "1 take in doubt on 1 disabled track; check them first." in report.lines


@pytest.mark.parametrize(
    ("speed", "scalar", "source_frames", "position"),
    [
        (1.0, None, 500, 250),
        (1.0004, None, 500, 250),  # drift, told and left
        (2.0, 0.5, 1000, 250),  # song played at double speed, for slow motion
        (0.5, 2.0, 250, 250),
        (1.001, 1000 / 1001, 500, 250),  # 20.02 s of song: 500.5 frames, whole ones only
        (25 / 24, 24 / 25, 520, 250),  # 500 * 25 / 24 = 520.83
    ],
)
def test_speeds_with_a_reason_are_time_warps(
    speed: float, scalar: float | None, source_frames: int, position: int, tmp_path: Path
) -> None:
    timeline, report = written(shoot(clip(1, Take("t", 2.0, 22.0, 10.0, speed)), song=LONG), tmp_path)
    item = items(timeline)["t"]
    # In this library a warp does not change a clip's length: the source range is as long as the timeline's.
    assert item.duration().value == item.source_range.duration.value == source_frames
    assert item.range_in_parent().start_time.value == position
    assert [e.time_scalar for e in item.effects] == (
        [] if scalar is None else [pytest.approx(scalar, rel=1e-15)]
    )
    assert item.source_range.duration.value * (scalar or 1) <= 500
    told = f"clip_01.mov: plays at speed {Fraction(speed).limit_denominator(1001)} through a time warp."
    assert (told in report.lines) == (scalar is not None)


def test_drift_is_told_in_frames_and_left(tmp_path: Path) -> None:
    # 100 ppm over 240 s is 24 ms: 0.6 frame at 25.
    value = shoot(clip(1, Take("t", 0.0, 240.0, 0.0, 1 - 100e-6), duration_s=240.0), song=waltz(260.0))
    timeline, report = written(value, tmp_path)
    told = items(timeline)["t"].metadata["anglebook"]
    assert told["drift_ppm"] == pytest.approx(-100, abs=1e-3)
    assert told["late_frames_at_end"] == pytest.approx(0.6, abs=1e-4)
    assert "clip_01.mov: drifts 24.0 ms (0.60 frame) late by the end; not corrected." in report.lines


def test_drift_is_told_in_the_frames_that_the_rest_is_told_in(tmp_path: Path) -> None:
    # 24 ms are 1.2 frames of a clip at 50, and 0.6 frame of the timeline.
    one = clip(1, Take("t", 0.0, 240.0, 0.0, 1 - 100e-6), duration_s=240.0, rate=Fraction(50))
    _, report = written(shoot(one, song=waltz(260.0)), tmp_path, Fraction(25))
    assert "clip_01.mov: drifts 24.0 ms (0.60 frame) late by the end; not corrected." in report.lines
    assert "clip_01.mov: at most 24.0 ms (0.60 frame) off." in report.lines


def test_rates_are_mixed_with_places_on_whole_timeline_frames(tmp_path: Path) -> None:
    value = shoot(
        clip(1, Take("a", 0.0, 10.0, 10.0), rate=NTSC_24),
        clip(2, Take("b", 1.0, 11.0, 30.0), rate=Fraction(50)),
        clip(3, Take("c", 0.0, 10.0, 50.0)),
        clip(4, Take("d", 0.0, 10.0, 70.0)),
        song=LONG,
    )
    timeline, _ = written(value, tmp_path)
    assert timeline_rate(value) == 25
    found = items(timeline)
    assert [start(found[name]) for name in "abcd"] == pytest.approx([10, 30, 50, 70], abs=1e-9)
    assert frames(found["b"].source_range.start_time) == (50, 50)
    assert found["b"].source_range.duration.value == 500
    assert found["a"].source_range.start_time.rate == 24000 / 1001
    # 10 s at 24000/1001 holds 239 whole frames, 9.968 s: 249 whole frames of the timeline.
    assert found["a"].source_range.duration.rescaled_to(25).value == pytest.approx(249, abs=1e-9)
    timeline, _ = written(value, tmp_path, Fraction(50))
    at_50 = items(timeline)
    assert [start(at_50[name]) for name in "abcd"] == pytest.approx([10, 30, 50, 70], abs=1e-9)


def test_sections_and_thin_places_are_markers(tmp_path: Path) -> None:
    timeline, _ = written(shoot(clip(1, take("t", 0.0, 8.0))), tmp_path)
    markers = timeline.tracks.markers
    told = [
        (m.name, m.comment, *m.marked_range.start_time.to_timecode().split(":")[2:])
        for m in timeline.tracks.markers
    ]
    assert told == [
        ("A Verse", "", "00", "00"),
        ("B Chorus", "", "08", "00"),
        ("one angle", "bars 1–4: one angle only (Fiddle)", "00", "00"),
        ("nothing", "bars 5–12: nothing", "08", "00"),
    ]
    assert [m.marked_range.duration.value for m in markers] == [200, 400, 200, 400]


def test_the_song_lies_at_zero_with_its_whole_length(tmp_path: Path) -> None:
    timeline, _ = written(shoot(clip(1), song=Song(media("/shoot/Süßer Walzer.wav"), 24.03)), tmp_path)
    (song,) = timeline.tracks[-1].find_clips()
    assert (start(song), song.source_range.duration.value) == (0, 600)
    assert song.media_reference.available_range.duration.to_seconds() == pytest.approx(24.03, abs=1e-12)
    assert song.media_reference.target_url == "file:///shoot/S%C3%BC%C3%9Fer%20Walzer.wav"


def test_the_schemas_are_those_of_the_open_format(tmp_path: Path) -> None:
    # Names as opentimelineio writes them; the metadata key is one a producer may choose.
    written(shoot(clip(1, Take("a", 0.0, 10.0, 5.0, 2.0))), tmp_path)
    schemas: set[str] = set()

    def walk(node: Any) -> None:
        if isinstance(node, dict):
            if "OTIO_SCHEMA" in node:
                schemas.add(node["OTIO_SCHEMA"])
            for value in node.values():
                walk(value)
        elif isinstance(node, list):
            for value in node:
                walk(value)

    walk(json.loads((tmp_path / "x.otio").read_text(encoding="utf-8")))
    assert schemas == {
        "Timeline.1", "Stack.1", "Track.1", "Clip.2", "Gap.1", "Marker.2", "ExternalReference.1",
        "TimeRange.1", "RationalTime.1", "LinearTimeWarp.1",
    }  # fmt: skip


def test_clips_that_are_not_there_are_named(tmp_path: Path) -> None:
    value = shoot(
        clip(1, take("t", 0, 9), variable_frame_rate=True),
        clip(2, verdict=Verdict.NO_SONG),
        clip(3, take("s", 0, 0.01)),
        clip(4, Take("e", 0.0, 9.0, -8.98)),
        clip(5, Take("b", 0.0, 9.0, 24.0)),
        clip(6, Take("l", 0.0, 9.0, 23.9)),
    )
    _, report = written(value, tmp_path)
    assert "clip_05.mov: starts after the end of the song." in report.lines
    assert "clip_06.mov: starts after the end of the song." not in report.lines
    assert "clip_04.mov: not on the timeline, because less than a frame of it is in the song." in report.lines
    assert "clip_02.mov: not on the timeline (no song)." in report.lines
    assert "clip_03.mov: not on the timeline, because it is shorter than a frame." in report.lines
    assert any(line.startswith("clip_01.mov: variable frame rate") for line in report.lines)


def test_a_take_whose_angle_is_not_known_is_not_lost(tmp_path: Path) -> None:
    timeline, _ = written(shoot(clip(1, take("t", 0, 9), angle=""), angles=()), tmp_path)
    assert [track.name for track in timeline.tracks] == ["No angle", "Song"]


def test_without_a_song_nothing_is_written(tmp_path: Path) -> None:
    with pytest.raises(HandoffError, match="no song yet"):
        otio_file.write(SongView("x"), tmp_path / "x.otio")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(HandoffError, match="could not be written: No such file"):
        otio_file.write(shoot(), tmp_path / "no" / "x.otio")


def test_a_file_that_reads_back_wrong_does_not_take_the_place_of_a_good_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written(shoot(clip(1, take("t", 0, 9))), tmp_path)
    good = (tmp_path / "x.otio").read_bytes()
    monkeypatch.setattr(
        otio_file,
        "to_timeline",
        lambda *_: otio.schema.Timeline("empty", None, otio.opentime.RationalTime(90000, 25)),
    )
    with pytest.raises(HandoffError, match="was not written"):
        otio_file.write(shoot(clip(1, take("t", 0, 9))), tmp_path / "x.otio")
    assert (tmp_path / "x.otio").read_bytes() == good
    assert len(list(tmp_path.iterdir())) == 1


@given(value=sensible_shoots())
def test_any_shoot_reads_back_with_the_same_places(value: SongView, tmp_path: Path) -> None:
    timeline, report = written(value, tmp_path)
    rate = timeline_rate(value)
    found = items(timeline)
    takes = {t.id: (c, t) for c in value.clips for t in c.takes}
    assert set(found) <= set(takes)
    for lost in set(takes) - set(found):
        one = takes[lost][1]
        assert (one.clip_end_s - one.clip_start_s) * one.speed < 4 / 24  # nothing longer is ever left out
    for name, item in found.items():
        owner, one = takes[name]
        own_rate = owner.frame_rate or rate
        position = Fraction(start(item)).limit_denominator(10**7) * rate
        assert abs(position - round(position)) < 1e-6
        used = item.source_range.start_time.value - item.media_reference.available_range.start_time.value
        assert used == int(used)
        exact_s = Fraction(one.song_start_s) + (int(used) / own_rate - Fraction(one.clip_start_s)) * Fraction(
            one.speed
        )
        told = item.metadata["anglebook"]
        assert float(round(position) / rate + Fraction(told["remainder_s"]) - exact_s) == pytest.approx(
            0, abs=1e-12
        )
        assert abs(told["remainder_s"]) <= 0.5 / rate + 1e-12
        # never more than a frame of clip and one of timeline is given away at either end
        spare_s = one.song_end_s - start(item) - item.duration().to_seconds()
        drift_s = 0.0005 * item.duration().to_seconds()
        assert -1 / rate - drift_s <= spare_s <= 2 / rate + one.speed / own_rate + drift_s
        assert told["decision"] == one.decision.value
        assert Decision(told["decision"]) is one.decision
    for track in timeline.tracks:
        ends = 0.0
        for item in track.find_clips():
            assert start(item) >= ends - 1e-9
            ends = start(item) + item.duration().to_seconds()
    assert report.worst_sub_frame_offset_s <= 0.5 / rate + 1e-12


def test_writing_again_gives_the_same_bytes(tmp_path: Path) -> None:
    value = replace(shoot(clip(1, take("t", 0.0, 20.0))), name="Grüße")
    written(value, tmp_path)
    first = (tmp_path / "x.otio").read_bytes()
    written(value, tmp_path)
    assert (tmp_path / "x.otio").read_bytes() == first


@pytest.mark.parametrize("text", ["120000/1001", "100", "25/2", "2997/100", "15"])
def test_rates_without_timecode_are_laid_too(text: str, tmp_path: Path) -> None:
    rate = Fraction(text)
    value = shoot(clip(1, Take("t", 0.0, 60.0, 10.0), rate=rate, start_timecode="01:00:00:00"), song=LONG)
    timeline, report = written(value, tmp_path)
    assert start(items(timeline)["t"]) == pytest.approx(10.0, abs=float(0.5 / rate))
    assert any("is not valid at its frame rate" in line for line in report.lines)


def test_bars_are_marked_on_the_song_and_nothing_where_there_are_none(tmp_path: Path) -> None:
    timeline, _ = written(shoot(clip(1, take("t", 0.0, 8.0))), tmp_path)
    bars = timeline.tracks[-1].markers
    assert [m.name for m in bars] == [f"bar {n}" for n in range(1, 13)]
    assert [m.marked_range.start_time.value for m in bars] == [50 * n for n in range(12)]
    bare = Song(media("/shoot/waltz.wav"), 24.0)
    timeline, _ = written(shoot(clip(1, take("t", 0.0, 8.0)), song=bare), tmp_path)
    assert len(timeline.tracks[-1].markers) == 0


def test_what_a_take_is_told_beside_it(tmp_path: Path) -> None:
    value = shoot(clip(1, Take("t", 2.0, 22.0, 10.0, 2.0), start_timecode="10:00:00:00"), song=LONG)
    timeline, _ = written(value, tmp_path)
    item = items(timeline)["t"]
    told = item.metadata["anglebook"]
    assert (told["reel"], told["frame_rate"], told["start_timecode"]) == ("CLIP01", "25", "10:00:00:00")
    # A warp does not stretch a clip's range: 1000 frames of timeline use 500 of the clip, from frame 50 on.
    assert (told["media_start_frame"], told["media_frames"]) == (50, 500.0)
    assert item.source_range.duration.value * item.effects[0].time_scalar == told["media_frames"]
    assert item.media_reference.name == "clip_01.mov"


@pytest.mark.parametrize(
    ("rate", "start", "frame"),
    [("25", "00:59:58:00", 89950), ("30000/1001", "01:00:00;00", 107892), ("24", "23:59:50:00", 2073360)],
)
def test_the_song_starts_where_it_was_chosen(rate: str, start: str, frame: int, tmp_path: Path) -> None:
    choices = replace(DEFAULT, rate=Fraction(rate), start=start)
    report = otio_file.write(shoot(clip(1, take("t", 0.0, 8.0))), tmp_path / "x.otio", choices)
    timeline = otio.adapters.read_from_file(str(tmp_path / "x.otio"))
    assert timeline.global_start_time.value == frame
    assert timeline.global_start_time.to_timecode(float(Fraction(rate)), ";" in start) == start
    assert report.lines[0].endswith(f"the song starts at {start}.")


def test_pieces_are_read_back_where_sections_begin(tmp_path: Path) -> None:
    value = shoot(clip(1, Take("t", 0.0, 100.0, 0.0, 1 + 400e-6)), song=waltz(180.0))
    choices = replace(DEFAULT, drift=Drift.RESEAT)
    report = otio_file.write(value, tmp_path / "x.otio", choices)
    timeline = otio.adapters.read_from_file(str(tmp_path / "x.otio"))
    pieces = list(timeline.tracks[0].find_clips())
    assert [(start(item), item.metadata["anglebook"]["piece"]) for item in pieces] == [(0.0, 1), (8.0, 2)]
    assert report.takes == 1
    assert (
        "clip_01.mov: cut into 2 pieces where sections begin, each set to its nearest frame." in report.lines
    )
    # 92 s at 400 ppm are 36.8 ms; the second piece begins 3.2 ms after its place.
    assert "clip_01.mov: at most 40.0 ms (1.00 frame) off." in report.lines


@given(
    value=sensible_shoots(),
    rate=st.sampled_from((None, NTSC_24, Fraction(25), Fraction(50))),
    scheme=st.sampled_from(Scheme),
    doubtful=st.sampled_from(Doubtful),
)
def test_any_choice_reads_back(
    value: SongView, rate: Fraction | None, scheme: Scheme, doubtful: Doubtful, tmp_path: Path
) -> None:
    choices = replace(DEFAULT, rate=rate, scheme=scheme, doubtful=doubtful, drift=Drift.RESEAT)
    report = otio_file.write(value, tmp_path / "x.otio", choices)  # compares by itself
    timeline = otio.adapters.read_from_file(str(tmp_path / "x.otio"))
    takes = {t.id: t for c in value.clips for t in c.takes}
    found = {c.metadata["anglebook"]["take_id"] for c in timeline.find_clips() if "anglebook" in c.metadata}
    assert report.takes == len(found)
    if doubtful is Doubtful.NONE:
        assert all(takes[name].verdict is Verdict.PLACED for name in found)
    if scheme is Scheme.TAKE:
        assert len(timeline.tracks) - 1 == len(found)
