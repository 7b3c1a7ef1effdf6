"""First passes as files: read by OpenTimelineIO, `edl` (package edl-reader) and the csv module."""

import csv
import json
import math
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.handoff.all import preview, write_all
from app.handoff.choices import DEFAULT, Choices, FilmWish, FirstPassWish
from app.handoff.outcome import HandoffError
from app.handoff.report import report
from app.handoff.sequences.chosen_pass import chosen_pass
from app.handoff.sequences.first_pass_sequence import first_pass_sequence
from app.handoff.timeline import sequence_check
from app.handoff.timeline.sequence_timeline import to_timeline
from app.model.document.angle import Angle
from app.model.document.cut import Cut, Lock, Setting, Version
from app.model.document.marks import Mark, MarkKind
from app.model.document.plan import Passage
from app.model.document.verdict import Verdict
from app.model.on_song import SongView
from tests.app.handoff.large_shoot import large_shoot
from tests.app.handoff.sequences.outside_reading import (
    NTSC_24,
    NTSC_30,
    RATES,
    Shown,
    assert_in_sync_and_without_faults,
    in_the_list,
    marked_shoots,
    read_timeline,
    shown,
)
from tests.app.random_shoots import clip, shoot, take, waltz

FIRST_PASS = replace(DEFAULT, what=frozenset(("firstpass",)))
FIDDLE, DRUMS, WIDE = (
    Angle("angle-1", "Fiddle"),
    Angle("angle-2", "Drums"),
    Angle("angle-3", "Wide", safety=True),
)


def band(song_s: float = 24.0) -> SongView:
    """Three angles that run through the whole song."""
    return shoot(
        clip(1, take("fiddle", 0.0, song_s), angle="angle-1"),
        clip(2, take("drums", 0.0, song_s), angle="angle-2"),
        clip(3, take("wide", 0.0, song_s), angle="angle-3"),
        angles=(FIDDLE, DRUMS, WIDE),
        song=waltz(song_s),
    )


def written(value: SongView, folder: Path, choices: Choices = FIRST_PASS) -> list[Shown]:
    """The shots, as the timeline that was written has them."""
    assert write_all(value, folder, choices, replace=True).troubles == ()
    (path,) = folder.glob("*.otio")
    timeline = read_timeline(path)  # its tracks go with it
    return shown(timeline, value)


def rows(folder: Path) -> list[dict[str, str]]:
    (path,) = folder.glob("*.csv")
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


@pytest.mark.parametrize(
    ("rate", "song_s"), [*((rate, 61.87) for rate in RATES), (NTSC_30, 98.999), (NTSC_24, 24.0)]
)
def test_it_is_as_long_as_the_song_to_the_frame(rate: Fraction, song_s: float, tmp_path: Path) -> None:
    value = band(song_s)
    pieces = written(value, tmp_path, replace(FIRST_PASS, rate=rate))
    whole = math.floor(Fraction(song_s) * rate)
    assert [one.frame for one in pieces] == [0, *(one.frame + one.frames for one in pieces[:-1])]
    assert pieces[-1].frame + pieces[-1].frames == whole
    *shots, sound = in_the_list(tmp_path / "Evening first pass.edl", rate)
    assert (sound[0], sound[1], sound[2], sound[3]) == ("SONG", "A", 0, whole)
    assert [one[2:] for one in shots] == [(one.frame, one.frame + one.frames) for one in pieces]
    assert_in_sync_and_without_faults(pieces, value, rate, 2, 1)


@pytest.mark.parametrize("rate", RATES)
def test_cuts_are_where_the_rules_cut_within_half_a_frame(rate: Fraction, tmp_path: Path) -> None:
    value = large_shoot(10)
    pieces = written(value, tmp_path, replace(FIRST_PASS, rate=rate))
    assert value.song is not None
    cut = chosen_pass(value, FirstPassWish(), rate)
    assert len(pieces) == len(cut.shots) > 5
    for one, shot in zip(pieces, cut.shots, strict=True):
        assert abs(float(one.frame / rate) - shot.song_start_s) <= 0.5 / rate + 1e-9
        assert one.take.id == shot.take_id
        assert one.told["first_pass"]["reason"] == shot.reason != ""
    for before, after in pairwise(pieces):
        assert before.frame + before.frames == after.frame or cut.gaps
    assert_in_sync_and_without_faults(pieces, value, rate, 2, 1)
    # Cuts between shots fall on bars of two seconds.
    for before, after in pairwise(cut.shots):
        if before.song_end_s == after.song_start_s:
            assert min(abs(after.song_start_s - bar) for bar in value.song.map.bars_s) <= 0.5 / rate
    assert [row["reason"] for row in rows(tmp_path) if row["shot"]] == [shot.reason for shot in cut.shots]


def test_the_rest_lies_below_switched_off_at_the_same_place(tmp_path: Path) -> None:
    value = band()
    pieces = written(value, tmp_path)
    timeline = read_timeline(tmp_path / "Evening first pass.otio")
    *others, picture, sound = timeline.tracks
    assert [track.name for track in others] == ["Wide", "Fiddle", "Drums"]
    assert [track.enabled for track in (*others, picture, sound)] == [False, False, False, True, True]
    places = {(one.frame, one.frames): {one.clip.angle_id} for one in pieces}
    for number in range(len(others)):
        for one in shown(timeline, value, number):
            angles = places[one.frame, one.frames]
            assert one.clip.angle_id not in angles
            angles.add(one.clip.angle_id)
        assert all(item.enabled for item in others[number].find_clips())
    assert set(map(len, places.values())) == {3}, "every angle is there at every shot"
    assert all(one.markers[0] == f"{n} {_name(one)}" for n, one in enumerate(pieces, 1))


def _name(one: Shown) -> str:
    return {"angle-1": "Fiddle", "angle-2": "Drums", "angle-3": "Wide"}[one.clip.angle_id]


@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(value=marked_shoots(), rate=st.sampled_from(sorted(RATES)))
def test_of_any_shoot_no_fault_and_no_doubt_is_shown(value: SongView, rate: Fraction, tmp_path: Path) -> None:
    choices = replace(FIRST_PASS, rate=rate)
    cut = chosen_pass(value, FirstPassWish(), rate)
    if not cut.shots:
        assert "no first pass" in preview(value, choices).troubles[0]
        return
    pieces = written(value, tmp_path, choices)
    assert_in_sync_and_without_faults(pieces, value, rate, 2, 1)
    timeline = read_timeline(tmp_path / "Evening first pass.otio")
    for number in range(len(timeline.tracks) - 2):
        assert_in_sync_and_without_faults(shown(timeline, value, number), value, rate, 2, 1)
    for before, after in pairwise(pieces):
        assert before.frame + before.frames <= after.frame


def test_a_lock_and_a_version_are_kept(tmp_path: Path) -> None:
    fast = Version("v2", "song-1", "Quick & loud", 0, (Setting("pace", "1"), Setting("again", "never")))
    lock = Lock("l", "song-1", Passage(first_bar=3, last_bar=4), "angle-3")
    value = replace(band(), cut=Cut(locks=(lock,), versions=(Version("v1", "song-1", "Calm"), fast)))
    pieces = written(value, tmp_path, replace(FIRST_PASS, first_pass=FirstPassWish(version="Quick & loud")))
    (wide,) = [one for one in pieces if one.clip.angle_id == "angle-3"]
    assert (wide.frame, wide.frames) == (100, 100)
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "Evening first pass Quick & loud.csv",
        "Evening first pass Quick & loud.edl",
        "Evening first pass Quick & loud.otio",
    ]
    calm = chosen_pass(value, FirstPassWish(), Fraction(25))
    quick = chosen_pass(value, FirstPassWish(version="Quick & loud"), Fraction(25))
    assert calm.name == "Calm"
    assert len(quick.shots) > len(calm.shots)
    paced = chosen_pass(value, FirstPassWish(settings=(Setting("pace", "1"),)), Fraction(25))
    assert paced.shots != calm.shots
    with pytest.raises(HandoffError, match=r"no first pass 'Slow'\. The shoot has Calm, Quick & loud\."):
        chosen_pass(value, FirstPassWish(version="Slow"), Fraction(25))
    with pytest.raises(HandoffError, match="cannot be cut: There is no rule 'colour'"):
        chosen_pass(value, FirstPassWish(settings=(Setting("colour", "1"),)), Fraction(25))


def test_where_nothing_can_be_used_a_gap_is_told(tmp_path: Path) -> None:
    value = shoot(clip(1, take("t", 4.0, 24.0)))
    pieces = written(value, tmp_path)
    (gap,) = chosen_pass(value, FirstPassWish(), Fraction(25)).gaps
    assert gap.song_end_s == pytest.approx(4.0, abs=0.05)
    assert pieces[0].frame == round(gap.song_end_s * 25)
    timeline = read_timeline(tmp_path / "Evening first pass.otio")
    told = [(m.name, m.marked_range.duration.value) for m in timeline.tracks.markers if "nothing" in m.name]
    assert told == [("nothing to show", pieces[0].frame)]
    (planned, *_) = preview(value, FIRST_PASS).planned
    assert f"B{gap.words[1:]}." in planned.lines
    row = next(row for row in rows(tmp_path) if not row["shot"])
    assert (row["song_start_s"], row["reason"], row["angle"]) == ("0.0", gap.words, "")


def test_the_table_is_safe_in_a_spreadsheet(tmp_path: Path) -> None:
    value = shoot(clip(1, take("t", 0.0, 24.0)), angles=(Angle("angle-1", "=1+1"),))
    written(value, tmp_path)
    assert next(row["angle"] for row in rows(tmp_path) if row["shot"]) == "'=1+1"
    assert rows(tmp_path)[0]["clip"] == "/shoot/clip_01.mov"


def test_the_report_tells_the_same_cut(tmp_path: Path) -> None:
    value = band()
    pieces = written(value, tmp_path)
    told = json.loads(json.dumps(report(value)))["first_pass"]["shots"]
    assert [(one["take"], one["angle"]) for one in told] == [(one.take.id, _name(one)) for one in pieces]
    assert [round(one["song_start_s"] * 25) for one in told] == [one.frame for one in pieces]


def test_a_timeline_that_does_not_match_is_refused() -> None:
    value = band()
    made = first_pass_sequence(value, FIRST_PASS)

    def refused(spoil: "object") -> str:
        timeline = to_timeline(value, made.song, made.sequence)
        spoil(timeline)  # type: ignore[operator]
        with pytest.raises(HandoffError) as told:
            sequence_check.check(timeline, value, made.song, made.sequence, "x.otio")
        return str(told.value)

    def moved(timeline: "object") -> None:
        item = timeline.tracks[-2][0]  # type: ignore[attr-defined]
        span = item.source_range
        item.source_range = type(span)(type(span.start_time)(span.start_time.value + 1, 25), span.duration)

    def switched(timeline: "object") -> None:
        timeline.tracks[0].enabled = True  # type: ignore[attr-defined]

    def lost(timeline: "object") -> None:
        del timeline.tracks[-2][-1]  # type: ignore[attr-defined]

    def silent(timeline: "object") -> None:
        del timeline.tracks[-1][0]  # type: ignore[attr-defined]

    assert "off" in refused(moved)
    assert "switched the wrong way" in refused(switched)
    assert "pieces instead of" in refused(lost)
    assert "does not play the whole song" in refused(silent)
    fault = Mark("m", "clip-1", MarkKind.FAULT, 0.0, 100.0)
    faulty = replace(value, clips=(replace(value.clips[0], marks=(fault,)), *value.clips[1:]))
    timeline = to_timeline(value, made.song, made.sequence)
    with pytest.raises(HandoffError, match="shows a fault"):
        sequence_check.check(timeline, faulty, made.song, made.sequence, "x.otio")


def test_without_anything_to_show_there_is_none() -> None:
    unsure = shoot(clip(1, take("t", 0.0, 9.0, verdict=Verdict.DOUBTFUL)))
    assert "No take can be used yet" in preview(unsure, FIRST_PASS).troubles[0]
    assert "Choose the song first" in preview(replace(unsure, song=None), FIRST_PASS).troubles[0]


def test_the_film_of_it_shows_its_shots() -> None:
    choices = Choices(what=frozenset(("film",)), film=FilmWish(first_pass=True))
    (planned,) = preview(band(), choices).planned
    assert planned.name == "Evening first pass.mp4"
    shots = len(chosen_pass(band(), FirstPassWish(), Fraction(25)).shots)
    assert f"first pass: {shots} shots." in planned.lines
    assert not any("another take of its angle" in line for line in planned.lines)
