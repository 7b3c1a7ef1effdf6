"""Soft starts and ends of the song: they belong to the take unless they would have been heard."""

from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from audio.placement.align import place
from audio.placement.answer import Placement
from audio.placement.search import SongIndex
from audio.soft_ends import Extent, nothing_against, settled_ends
from tests.audio.engine_songs import RATE, song, sound
from tests.quality import damage
from tests.quality.clock import play
from tests.quality.songs import WORK_RATE, to_rate
from tests.quality.stretching import stretched

FADE_S = 13.0
INTRO_S = 7.0
BEFORE_S, AFTER_S = 5.0, 12.0


def shaped(wave: NDArray[np.float32], rate: int) -> NDArray[np.float32]:
    """The song with an intro 30 dB down and a fade-out, as 16 bits keep it."""
    t = np.arange(len(wave)) / rate
    left = len(wave) / rate - t
    gain_db = np.where(t < INTRO_S, -30.0, 0.0) - 50.0 * np.clip(1 - left / FADE_S, 0, 1)
    return (np.round(wave * 10 ** (gain_db / 20) * 32767) / 32767).astype(np.float32)


@cache
def faded() -> tuple[SongIndex, NDArray[np.float64]]:
    """The song made ready, and what the loudspeaker plays."""
    index = SongIndex.build(shaped(song().master, RATE), RATE)
    return index, shaped(song().room_feed, WORK_RATE).astype(np.float64)


def clip(
    from_s: float, until_s: float, noise_db: float, speed: float = 1.0, way: str = "", lose_at: float = 0.0
) -> Placement:
    """The engine's answer on a camera that rolls before and after the song plays from and until a moment."""
    index, feed = faded()
    count = round((until_s - from_s) / speed * WORK_RATE)
    if way:
        heard, _ = stretched(feed, round(from_s * WORK_RATE), speed, count, way)
    else:
        heard = play(feed, from_s, speed, count)
    quiet = np.zeros(round(BEFORE_S * WORK_RATE)), np.zeros(round(AFTER_S * WORK_RATE))
    wave = np.concatenate([quiet[0], heard, quiet[1]])
    noise = damage.pink(len(wave), np.random.default_rng(3))
    wave = wave + damage.at_level(noise, damage.rms(heard), noise_db)
    if lose_at:
        wave = damage.without(wave, lose_at, 0.02)
    return place(sound(to_rate(wave, WORK_RATE, RATE).astype(np.float32)), index)


def ends(answer: Placement) -> tuple[float, float]:
    """First and last moment of all takes (clip s)."""
    return min(t.clip_start_s for t in answer.takes), max(t.clip_end_s for t in answer.takes)


@pytest.mark.parametrize(
    ("noise_db", "speed", "lose_at"),
    [(-25.0, 1.0, 0.0), (5.0, 1.0, 0.0), (-5.0, 1.0001, 0.0), (-5.0, 25 / 24, 0.0), (-5.0, 1.0, 30.0)],
    ids=["clear", "noisy", "drifting", "other speed", "lost sound"],
)
def test_a_soft_start_and_end_belong_to_the_take(noise_db: float, speed: float, lose_at: float) -> None:
    length = song().seconds
    answer = clip(0.0, length, noise_db, speed, lose_at=lose_at)
    lost = 0.02 if lose_at else 0.0
    assert ends(answer) == pytest.approx((BEFORE_S, BEFORE_S + length / speed - lost), abs=0.1)


def test_so_do_those_of_a_time_stretched_take() -> None:
    length = song().seconds
    for speed in (1.25, 0.8):
        answer = clip(0.0, length, -8.0, speed, "splices")
        assert ends(answer) == pytest.approx((BEFORE_S, BEFORE_S + length / speed), abs=0.3)


@pytest.mark.parametrize(
    ("noise_db", "speed", "way", "left_s"),
    [
        (-25.0, 1.0, "", FADE_S - 1.0),
        (-5.0, 1.0, "", FADE_S - 1.0),
        (-5.0, 1.0, "", FADE_S + 6.0),
        (-5.0, 25 / 24, "", FADE_S + 6.0),
        (-5.0, 1.25, "splices", FADE_S - 1.0),
    ],
)
def test_a_playback_stopped_while_it_could_be_heard_is_not_continued(
    noise_db: float, speed: float, way: str, left_s: float
) -> None:
    until = song().seconds - left_s
    _, end = ends(clip(0.0, until, noise_db, speed, way))
    assert end == pytest.approx(BEFORE_S + until / speed, abs=0.6)


def test_a_start_after_an_intro_that_would_have_been_heard() -> None:
    start, _ = ends(clip(INTRO_S, song().seconds, -50.0))
    assert start == pytest.approx(BEFORE_S, abs=0.2)


def test_what_is_not_heard_changes_neither_line_nor_verdict() -> None:
    """The line of a take is that of the part that is heard; its position there is told at its new start."""
    take = clip(0.0, song().seconds, -5.0).takes[0]
    longer = take.reaching(take.clip_start_s - 3.0, take.clip_end_s + 4.0, 0.004)
    assert longer.line.song_time(20.0) == pytest.approx(take.line.song_time(20.0), abs=1e-9)
    assert (longer.verdict, longer.strength, longer.lags) == (take.verdict, take.strength, take.lags)
    assert longer.clip_start_s == take.clip_start_s - 3.0
    assert longer.song_start_s == pytest.approx(take.song_start_s - 3.0 * take.speed)


def extent(start: float, end: float, top: float, tail: float) -> Extent:
    return Extent(start, end, start, end, top, tail)


def test_a_take_that_follows_too_soon_stops_the_one_before() -> None:
    """The first would have run to 80 s, but at 50 s the song begins again: nobody knows when it stopped."""
    takes = [extent(10.0, 40.0, 4.0, 80.0), extent(55.0, 100.0, 50.0, 120.0)]
    assert settled_ends(takes, 110.0, lambda *_: True) == [(4.0, 40.0), (50.0, 110.0)]


def test_where_the_song_would_have_been_heard_the_take_ends_where_it_is_heard() -> None:
    takes = [extent(10.0, 40.0, 4.0, 80.0)]
    assert settled_ends(takes, 110.0, lambda *_: False) == [(10.0, 40.0)]


def test_silence_at_the_song_s_ends_belongs_to_it() -> None:
    takes = [extent(10.0, 40.0, 8.0, 43.0)]
    assert settled_ends(takes, 110.0, lambda *_: False, (1.9, 2.9)) == [(8.0, 43.0)]


def test_evidence_against_grows_with_what_should_be_heard() -> None:
    """Beyond the part that is heard nothing agrees: that tells only where much was to be expected."""
    steps, heard = 400, 200
    power = np.ones(steps)
    agreement = np.concatenate([np.full(heard, 0.6), np.zeros(steps - heard)])
    level = np.ones((steps, 3))
    assert not nothing_against(agreement, power, level, heard, 1.0)
    level[heard:] = 0.02
    assert nothing_against(agreement, power, level, heard, 1.0)
    agreement[:heard] = 0.0
    assert not nothing_against(agreement, power, level, heard, 1.0)
