"""Takes in whole frames by every choice: tracks, doubts, start, and pieces where drift is met."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given

from app.handoff.choices import DEFAULT, Doubtful, Drift, Scheme
from app.handoff.layout import DRIFT_MATTERS_FRAMES, lay_out
from app.handoff.notes import head_lines
from app.model.document.angle import Angle
from app.model.document.song import Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import SongView, Take
from tests.app.random_shoots import clip, media, sensible_shoots, shoot, take, waltz

RESEAT = replace(DEFAULT, drift=Drift.RESEAT)
LONG = waltz(180.0)


def quarters(duration_s: float = 240.0) -> Song:
    """A song of sections of 60 s."""
    starts = range(0, int(duration_s), 60)
    sections = tuple(Section("ABCD"[n], "Part", float(s), float(s + 60)) for n, s in enumerate(starts))
    return Song(media("/shoot/long.wav"), duration_s, SongMap(sections=sections))


def drifting(ppm: float, rate: Fraction = Fraction(25)) -> SongView:
    """A take through all of the song with a clock that is off."""
    one = Take("t", 0.0, 240.0, 0.0, 1 + ppm / 1e6)
    return shoot(clip(1, one, duration_s=240.0, rate=rate), song=quarters())


def test_a_track_a_take() -> None:
    value = shoot(
        clip(1, take("a", 0.0, 10.0), take("b", 30.0, 40.0)),
        clip(2, take("wide", 0.0, 60.0), angle="angle-2"),
        angles=(Angle("angle-1", "Fiddle"), Angle("angle-2", "Wide", safety=True)),
        song=LONG,
    )
    tracks = lay_out(value, replace(DEFAULT, scheme=Scheme.TAKE)).tracks
    assert [(track.name, track.angle, [one.take.id for one in track.segments]) for track in tracks] == [
        ("Wide: clip_02.mov", "Wide", ["wide"]),
        ("Fiddle: clip_01.mov, take 1", "Fiddle", ["a"]),
        ("Fiddle: clip_01.mov, take 2", "Fiddle", ["b"]),
    ]


def test_doubts_are_left_out_where_that_was_chosen() -> None:
    value = shoot(clip(1, take("a", 0.0, 9.0), take("d", 9.0, 20.0, verdict=Verdict.DOUBTFUL)))
    layout = lay_out(value, replace(DEFAULT, doubtful=Doubtful.NONE))
    assert [one.take.id for one in layout.segments] == ["a"]
    assert [(one.id, "in doubt" in why) for _, one, why in layout.left_out] == [("d", True)]


def test_a_take_is_cut_where_sections_begin_and_each_piece_is_set_again() -> None:
    # 100 ppm over 240 s is 24 ms, 0.6 frame at 25: at 60 s the picture is 0.15 frame off, at 120 s 0.3, at
    # 180 s 0.45, at the end 0.6. No piece is nearer than the frame that is there, until half a frame.
    pieces = lay_out(drifting(100), RESEAT).segments
    assert [(one.position, one.length, one.first_frame) for one in pieces] == [
        (0, 1500, 0), (1500, 1500, 1500), (3000, 1500, 3000), (4500, 1500, 4500),
    ]  # fmt: skip
    assert [one.piece for one in pieces] == [1, 2, 3, 4]
    # 400 ppm: 24 ms, 0.6 frame a section. The clip is ahead, so that its frames are met earlier.
    pieces = lay_out(drifting(400), RESEAT).segments
    assert [one.first_frame for one in pieces] == [0, 1499, 2999, 4498]
    assert [round(one.sub_frame_offset_s * 25, 3) for one in pieces] == pytest.approx(
        [0, -0.4, 0.2, -0.201], abs=2e-3
    )
    assert lay_out(drifting(400), DEFAULT).segments[0].residual_s == pytest.approx(0.096)
    ((_, worst_s),) = lay_out(drifting(400), RESEAT).residuals
    assert worst_s == pytest.approx(0.032, abs=1e-4)  # 0.2 frame at 120 s, and 0.6 frame of drift on top


def test_little_drift_is_left_and_so_is_sound() -> None:
    assert len(lay_out(drifting(40), RESEAT).segments) == 1  # 0.24 frame
    assert len(lay_out(drifting(45), RESEAT).segments) == 4  # 0.27 frame
    sound = replace(drifting(400).clips[0], frame_rate=None)
    assert len(lay_out(replace(drifting(400), clips=(sound,)), RESEAT).segments) == 1


def test_pieces_stay_on_one_track_in_order() -> None:
    value = drifting(-400)
    other = clip(2, Take("u", 0.0, 50.0, 100.0))
    tracks = lay_out(replace(value, clips=(*value.clips, other)), RESEAT).tracks
    assert [[one.take.id for one in track.segments] for track in tracks] == [["t"] * 4, ["u"]]


@pytest.mark.parametrize(
    ("start", "rate", "over"),
    [
        ("01:00:00:00", 25, False),
        ("23:59:40:00", 25, False),
        ("23:59:40:01", 25, True),
        ("23:59:50:00", 100, False),  # has no timecode
        ("23:59:39;29", Fraction(30000, 1001), False),
        ("23:59:40;04", Fraction(30000, 1001), True),
    ],
)
def test_takes_that_run_over_midnight_are_told(start: str, rate: Fraction | int, over: bool) -> None:
    """A take of 20 s is 500 frames at 25, and 599 whole ones at 30000/1001."""
    value = shoot(clip(1, take("a", 0.0, 20.0)), song=LONG)
    layout = lay_out(value, replace(DEFAULT, start=start, rate=Fraction(rate)))
    assert layout.over_midnight is over
    assert any("midnight" in line for line in head_lines(layout)) is over


def test_the_start_is_counted_at_the_rate() -> None:
    value = shoot(clip(1, take("a", 0.0, 9.0), rate=Fraction(30000, 1001)))
    assert lay_out(value).start == 108000
    assert lay_out(value, replace(DEFAULT, start="01:00:00;00")).start == 107892  # SMPTE ST 12-1, drop-frame


@given(value=sensible_shoots())
def test_set_again_never_makes_it_worse_than_half_a_frame_and_the_drift_of_a_section(value: SongView) -> None:
    left = {one.take.id: worst for one, worst in lay_out(value).residuals}
    layout = lay_out(value, RESEAT)
    again = {one.take.id: worst for one, worst in layout.residuals}
    assert set(left) == set(again)
    for one in layout.segments:
        frame_s = max(1 / float(layout.rate), one.take.speed / float(one.rate))
        assert abs(one.sub_frame_offset_s) <= frame_s / 2 + 1e-9
        if one.pieces > 1:
            drift_s = one.length / float(layout.rate) * abs(one.drift_ppm) / 1e6
            assert one.residual_s <= frame_s / 2 + drift_s + 1e-9
            assert (
                abs(next(o for o in lay_out(value).segments if o.take.id == one.take.id).late_frames)
                > DRIFT_MATTERS_FRAMES
            )
    for track in layout.tracks:
        for before, after in zip(track.segments, track.segments[1:], strict=False):
            assert before.end <= after.position
