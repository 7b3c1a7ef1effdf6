"""String-outs as files: read by OpenTimelineIO, `edl` (package edl-reader) and `timecode`."""

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import groupby, pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from app.handoff.all import preview, write_all
from app.handoff.choices import DEFAULT, Choices, StringOutWish
from app.handoff.outcome import HandoffError
from app.handoff.sequences.string_out_sequence import string_out_sequence
from app.model.document.angle import Angle
from app.model.document.marks import Mark, MarkKind
from app.model.document.verdict import Verdict
from app.model.on_song import SongView, Take
from app.model.string_out.string_out import About, Order
from tests.app.handoff.large_shoot import large_shoot
from tests.app.handoff.sequences.outside_reading import (
    RATES,
    Shown,
    assert_in_sync_and_without_faults,
    faultless,
    in_the_list,
    length_frames,
    marked_shoots,
    read_timeline,
    shown,
)
from tests.app.random_shoots import clip, shoot, take, waltz

STRING_OUT = replace(DEFAULT, what=frozenset(("stringout",)))
FIDDLE, DRUMS, WIDE = (
    Angle("angle-1", "Fiddle", rank=2),
    Angle("angle-2", "Drums", rank=1),
    Angle("angle-3", "Wide", safety=True),
)


def written(value: SongView, folder: Path, choices: Choices = STRING_OUT) -> list[Shown]:
    """The pieces of the string-out, as the timeline that was written has them."""
    assert write_all(value, folder, choices, replace=True).troubles == ()
    (path,) = folder.glob("*.otio")
    timeline = read_timeline(path)  # its tracks go with it
    return shown(timeline, value)


def usable_pairs(value: SongView) -> Counter[tuple[str, str]]:
    """Every angle with every section of which a faultless stretch of a take shows nine tenths of a bar."""
    song = value.song
    assert song is not None
    found: set[tuple[str, str]] = set()
    edges = [*song.map.bars_s, min(song.duration_s, 2 * song.map.bars_s[-1] - song.map.bars_s[-2])]
    for owner in value.clips:
        for one in owner.takes if owner.frame_rate else ():
            if one.verdict is not Verdict.PLACED:
                continue
            for a, b in faultless(owner, one, song.duration_s):
                for start_s, end_s in pairwise(edges):
                    if min(b, end_s) - max(a, start_s) >= 0.9 * (end_s - start_s) - 1e-9:
                        middle_s = (start_s + end_s) / 2
                        section = next(s for s in song.map.sections if s.start_s <= middle_s < s.end_s)
                        found.add((owner.angle_id, f"{section.letter} {section.name}"))
    return Counter(found)


def blocks(pieces: list[Shown]) -> Counter[tuple[str, str]]:
    """How often each angle plays in each section; what follows one another counts once."""
    keys = [(one.clip.angle_id, one.told["string_out"]["section"]) for one in pieces]
    return Counter(key for key, _ in groupby(keys))


def test_a_section_shows_each_angle_after_the_other(tmp_path: Path) -> None:
    value = shoot(
        clip(1, take("wide", 0.0, 24.0), angle="angle-3"),
        clip(2, take("fiddle", 0.0, 24.0), angle="angle-1"),
        clip(3, take("drums", 0.0, 8.0), angle="angle-2"),
        angles=(FIDDLE, DRUMS, WIDE),
    )
    pieces = written(value, tmp_path)
    assert [(one.take.id, one.frame, one.frames, one.song_frame) for one in pieces] == [
        ("drums", 0, 200, 0), ("fiddle", 200, 200, 0), ("wide", 400, 200, 0),
        ("fiddle", 600, 400, 200), ("wide", 1000, 400, 200),
    ]  # fmt: skip
    assert [one.markers[0] for one in pieces] == [
        "A Verse: Drums", "A Verse: Fiddle", "A Verse: Wide", "B Chorus: Fiddle", "B Chorus: Wide",
    ]  # fmt: skip
    timeline = read_timeline(tmp_path / "Evening string-out.otio")
    spans = [(one.name, one.marked_range.start_time.value) for one in timeline.tracks.markers]
    assert spans == [("A Verse", 0), ("B Chorus", 600)]
    assert length_frames(timeline) == {"String-out": 1400, "Song": 1400}
    events = in_the_list(tmp_path / "Evening string-out.edl", Fraction(25))
    assert events[:4] == [
        ("CLIP03", "V", 0, 200), ("SONG", "A", 0, 200), ("CLIP02", "V", 200, 400), ("SONG", "A", 200, 400),
    ]  # fmt: skip
    text = (tmp_path / "Evening string-out.edl").read_text("ascii")
    assert "SONG     A     C        00:00:08:00 00:00:24:00 01:00:24:00 01:00:40:00" in text


def test_a_fault_parts_a_section_and_is_not_shown(tmp_path: Path) -> None:
    fault = Mark("m", "clip-1", MarkKind.FAULT, 3.01, 3.99)
    value = shoot(clip(1, take("t", 0.0, 8.0), marks=(fault,)))
    pieces = written(value, tmp_path)
    assert [(one.frame, one.frames, one.song_frame) for one in pieces] == [(0, 75, 0), (75, 100, 100)]
    assert [one.media_s for one in pieces] == pytest.approx([0.0, 4.0])
    assert [one.media_end_s for one in pieces] == pytest.approx([3.0, 8.0])
    assert [one.markers[0].rpartition(", ")[2] for one in pieces] == ["bars 1–2", "bars 3–4"]
    text = (tmp_path / "Evening string-out.edl").read_text("ascii")
    assert ", bars 3-4\n" in text.replace("\r\n", "\n")


def test_a_keeper_comes_before_a_better_rank_and_a_safety_last(tmp_path: Path) -> None:
    keeper = Mark("m", "clip-1", MarkKind.KEEPER, 1.0, 5.0)
    wide = Mark("n", "clip-3", MarkKind.KEEPER, 1.0, 5.0)
    value = shoot(
        clip(1, take("fiddle", 0.0, 8.0), angle="angle-1", marks=(keeper,)),
        clip(2, take("drums", 0.0, 8.0), angle="angle-2"),
        clip(3, take("wide", 0.0, 8.0), angle="angle-3", marks=(wide,)),
        angles=(WIDE, FIDDLE, DRUMS),
    )

    def order(**wish: object) -> list[str]:
        choices = replace(STRING_OUT, string_out=StringOutWish(**wish))  # type: ignore[arg-type]
        _, sequence = string_out_sequence(value, choices)
        return [item.segment.take.id for item in sequence.items]

    assert order() == ["fiddle", "drums", "wide"]
    assert order(order=Order.RANK) == ["drums", "fiddle", "wide"]
    assert order(about=About.KEEPERS) == ["fiddle", "wide"]
    assert order(about=About.SUBJECT, subject="drums") == ["drums"]


def test_speeds_are_time_warps_and_takes_in_doubt_are_left_out(tmp_path: Path) -> None:
    value = shoot(
        clip(1, Take("slow", 0.0, 4.0, 0.0, 2.0), rate=Fraction(50)),
        clip(2, take("unsure", 0.0, 8.0, verdict=Verdict.DOUBTFUL)),
    )
    (one,) = written(value, tmp_path, replace(STRING_OUT, rate=Fraction(25)))
    assert (one.take.id, one.frames, one.media_s, one.media_end_s) == ("slow", 200, 0.0, 4.0)
    text = (tmp_path / "Evening string-out.edl").read_text("ascii")
    assert "* SPEED 2: SECONDS OF SONG PER SECOND OF SOURCE" in text


@pytest.mark.parametrize("rate", RATES)
def test_every_usable_angle_of_a_section_is_shown_once(rate: Fraction, tmp_path: Path) -> None:
    value = large_shoot(10)
    pieces = written(value, tmp_path, replace(STRING_OUT, rate=rate))
    assert blocks(pieces) == usable_pairs(value)
    assert_in_sync_and_without_faults(pieces, value, rate)
    events = in_the_list(tmp_path / "Large string-out.edl", rate)
    pictures = [(first, end) for source, _, first, end in events if source != "SONG"]
    assert pictures == [(one.frame, one.frame + one.frames) for one in pieces]
    assert [one[2:] for one in events if one[0] == "SONG"] == pictures


@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(value=marked_shoots(), rate=st.sampled_from(sorted(RATES)), order=st.sampled_from(Order))
def test_of_any_shoot_all_that_can_be_used_is_shown_once(
    value: SongView, rate: Fraction, order: Order, tmp_path: Path
) -> None:
    choices = replace(STRING_OUT, rate=rate, string_out=StringOutWish(order=order))
    pairs = usable_pairs(value)
    if not pairs:
        assert "no string-out" in preview(value, choices).troubles[0]
        return
    pieces = written(value, tmp_path, choices)
    assert blocks(pieces) == pairs
    assert_in_sync_and_without_faults(pieces, value, rate)
    seen: list[tuple[str, int, int]] = sorted(
        (one.take.id, one.song_frame, one.song_frame + one.frames) for one in pieces
    )
    for before, after in pairwise(seen):
        assert before[0] != after[0] or before[2] <= after[1], "no frame of a take is shown twice"


def test_of_needs_only_the_bars_that_lack_something(tmp_path: Path) -> None:
    from app.model.document.plan import Need, Passage, Plan

    needs = (
        Need("n1", "song-1", Passage(first_bar=2, last_bar=3), "singer"),
        Need("n2", "song-1", Passage(first_bar=1, last_bar=1), "fiddle"),
    )
    value = replace(shoot(clip(1, take("t", 0.0, 24.0)), angles=(FIDDLE,)), plan=Plan(needs=needs))
    choices = replace(STRING_OUT, string_out=StringOutWish(about=About.NEEDS))
    (one,) = written(value, tmp_path, choices)
    assert (one.song_frame, one.frames) == (50, 100)
    assert one.markers[0] == "A Verse, bars 2–3: Fiddle"
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "Evening string-out needs.edl", "Evening string-out needs.otio",
    ]  # fmt: skip


def test_what_cannot_be_shown_is_told() -> None:
    value = shoot(clip(1, take("t", 0.0, 8.0)), angles=(FIDDLE,))

    def trouble(value: SongView, **wish: object) -> str:
        choices = replace(STRING_OUT, string_out=StringOutWish(**wish))  # type: ignore[arg-type]
        with pytest.raises(HandoffError) as told:
            string_out_sequence(value, choices)
        return str(told.value)

    assert "Nothing is marked as a keeper" in trouble(value, about=About.KEEPERS)
    assert "Every need is met" in trouble(value, about=About.NEEDS)
    assert "No angle shows 'harp'" in trouble(value, about=About.SUBJECT, subject="harp")
    assert "Angles show: Fiddle." in trouble(value, about=About.SUBJECT, subject="harp")
    assert "Choose the song first" in trouble(replace(value, song=None))
    doubtful = shoot(clip(1, take("t", 0.0, 8.0, verdict=Verdict.DOUBTFUL)))
    assert "No take can be used yet" in trouble(doubtful)


def test_without_timecode_at_its_rate_there_is_no_list(tmp_path: Path) -> None:
    value = shoot(clip(1, take("t", 0.0, 8.0)), song=waltz())
    choices = replace(STRING_OUT, rate=Fraction(100))
    done = write_all(value, tmp_path, choices)
    assert [path.name for path in tmp_path.iterdir()] == ["Evening string-out.otio"]
    assert any("There is no timecode at 100 fps" in line for line in done.reports[0].lines)
    assert [one.name for one in preview(value, choices).planned] == ["Evening string-out.otio"]
