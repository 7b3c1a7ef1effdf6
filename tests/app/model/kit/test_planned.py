"""Wanted playback files, worked out to the sample."""

from dataclasses import replace
from fractions import Fraction

import pytest
from timecode import Timecode

from app.model.document.media_ref import MediaRef
from app.model.document.song import Section, Song, SongMap
from app.model.kit.planned import RATE, Planned, planned
from app.model.kit.wish import Wish, speed_for

BEAT_S = 0.5
SONG = Song(
    MediaRef("/harbour reel.wav", 1, "x"),
    62.0,
    SongMap(
        tempo_bpm=120.0,
        beats_s=tuple(1.0 + BEAT_S * n for n in range(120)),
        bars_s=tuple(1.0 + 4 * BEAT_S * n for n in range(30)),
        sections=(Section("A", "Intro", 0.0, 17.0, id="s1"), Section("B", "Verse", 17.0, 62.0, id="s2")),
    ),
)


def song_time(plan: Planned, sample: int) -> float:
    return plan.song_from / RATE + (sample - plan.song_at) / RATE * float(plan.speed)


@pytest.mark.parametrize(
    ("rate", "samples"),
    [("24", 96_000), ("25", 96_000), ("24000/1001", 96_096), ("30000/1001", 96_096), ("50", 96_000)],
)
def test_the_pop_comes_two_seconds_before_the_start(rate: str, samples: int) -> None:
    """Two seconds of labels: 48,000 samples a second make 96,096 where a second of labels is 1.001 s."""
    plan = planned(Wish(pop=True, frame_rate=Fraction(rate)), SONG)
    assert plan.pop is not None
    assert plan.song_at - plan.pop[0] == samples
    assert plan.pop[1] - plan.pop[0] == round(RATE / Fraction(rate))
    with_clicks = planned(Wish(pop=True, frame_rate=Fraction(rate), count_in_bars=2), SONG)
    assert with_clicks.pop is not None
    assert with_clicks.clicks[0].sample - with_clicks.pop[0] == samples


@pytest.mark.parametrize("speed", [Fraction(1), Fraction(1001, 400), Fraction(4, 5)])
def test_the_count_in_leads_into_bar_one(speed: Fraction) -> None:
    plan = planned(Wish(count_in_bars=2, speed=speed), SONG)
    assert [click.accent for click in plan.clicks] == [True, False, False, False] * 2
    for number, click in enumerate(plan.clicks):
        assert song_time(plan, click.sample) == pytest.approx(1.0 - (8 - number) * BEAT_S, abs=1e-4)
    assert plan.song_from == 0
    assert plan.clicks[0].sample >= RATE


def test_from_a_section_with_a_lead_in() -> None:
    plan = planned(Wish("s2", lead_in_bars=4), SONG)
    assert plan.song_from == 9 * RATE
    assert song_time(plan, plan.song_at + 8 * RATE) == 17.0
    assert plan.piece.song_start_s == 9.0
    assert plan.piece.start_s == plan.song_at / RATE
    assert plan.piece.uncertainty_s == 0.0
    short = planned(Wish("s1", to_section_end=True), SONG)
    assert short.song_to == 19 * RATE


def test_at_other_speeds_the_piece_is_exact() -> None:
    plan = planned(Wish(speed=speed_for(Fraction(60), Fraction(24000, 1001))), SONG)
    assert plan.speed == Fraction(1001, 400)
    assert plan.piece.speed == 2.5025
    assert plan.piece.end_s - plan.piece.start_s == pytest.approx(62.0 / 2.5025)
    kept = planned(Wish(speed=Fraction(5, 4), pitch_kept=True), SONG)
    assert 0 < kept.piece.uncertainty_s < 0.005


@pytest.mark.parametrize("rate", ["24", "25", "24000/1001", "30000/1001"])
def test_the_label_stands_at_the_songs_first_sample(rate: str) -> None:
    wish = Wish(timecode=True, frame_rate=Fraction(rate), count_in_bars=1)
    plan = planned(wish, SONG, hour=2)
    assert plan.timecode is not None
    assert plan.timecode.label == "02:00:00:00"
    assert round(plan.timecode.at_s * RATE) == plan.song_at
    # The time reference is in real time: labels of 23.976 run 0.1 % slow (timecode of the registry).
    names = {"24000/1001": "23.976", "30000/1001": "29.97"}
    frames = Timecode(names.get(rate, rate), "02:00:00:00", force_non_drop_frame=True).frames - 1
    at_song = plan.label_at_start + Fraction(plan.song_at, RATE)
    assert at_song == Fraction(frames) / Fraction(rate)
    section = planned(replace(wish, section_id="s2", count_in_bars=0), SONG, hour=2)
    assert section.timecode is not None
    assert section.timecode.at_s == pytest.approx((section.song_at - section.song_from) / RATE)


def test_wishes_that_cannot_be_met_are_told() -> None:
    with pytest.raises(ValueError, match=r"between 0\.25 and 4"):
        planned(Wish(speed=Fraction(5)), SONG)
    with pytest.raises(ValueError, match="kept anyway"):
        planned(Wish(pitch_kept=True), SONG)
    with pytest.raises(ValueError, match="no longer in the song"):
        planned(Wish("s9"), SONG)
    with pytest.raises(ValueError, match="no bars yet"):
        planned(Wish(count_in_bars=2), replace(SONG, map=SongMap()))
    with pytest.raises(ValueError, match="no timecode"):
        planned(Wish(timecode=True, frame_rate=Fraction(12)), SONG)


def test_names_tell_what_it_is() -> None:
    assert planned(Wish(), SONG).name == "harbour reel - whole song"
    plan = planned(Wish("s2", 1, 4, speed=Fraction(5, 4), pitch_kept=True, pop=True), SONG)
    assert plan.name == (
        "harbour reel - from B Verse, count-in 1 bar, lead-in 4 bars, 125 % speed, pitch kept, 2-pop"
    )
