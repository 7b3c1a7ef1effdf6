"""Takes of a time-stretched playback."""

import numpy as np
import pytest

from audio.line import Line
from audio.placement.reason_codes import ReasonCode
from audio.placement.verdicts import STRETCHED_LOOSE_S, stretched_verdict
from audio.speed.any_speed import candidate_speeds
from audio.speed.speed_search import SongBands, SpeedCandidate
from audio.speed.stretched import StretchedTake, place_stretched
from tests.audio.speed_songs import RATE, Samples, between_noise, roomy, song, song_bands, stretched


def doubt(take: StretchedTake) -> ReasonCode | None:
    _, reason = stretched_verdict(take)
    return None if reason is None else reason.code


def takes(clip: Samples, ready: SongBands) -> list[StretchedTake]:
    """The takes of the best time-stretched candidate."""
    candidates = [candidate for candidate in candidate_speeds(clip, ready) if candidate.pitch_kept]
    return place_stretched(clip, ready, candidates[0], 0.0) if candidates else []


@pytest.mark.parametrize("speed", [0.8, 1.6])
def test_line_and_ends(speed: float) -> None:
    clip = between_noise(roomy(stretched(song()[6 * RATE : 40 * RATE], speed)), 2.0, 3.0)
    (take,) = takes(clip, song_bands())
    # Nothing is against it but that stretching blurs it, if by more than half a frame.
    assert doubt(take) is (None if take.uncertainty_s <= STRETCHED_LOOSE_S else ReasonCode.BLURRED)
    assert take.strength > 15
    assert take.speed_sd < 1e-3
    for moment in (take.start_s, (take.start_s + take.end_s) / 2, take.end_s):
        truth = 6.0 + (moment - 2.0) * speed
        assert abs(take.line.song_time(moment) - truth) < take.uncertainty_s < 0.04
    assert [take.start_s, take.end_s] == pytest.approx([2.0, 2.0 + 34 / speed], abs=0.5)


def test_two_takes_of_one_speed() -> None:
    run = stretched(song(), 1.3)
    first, second = run[: 14 * RATE], run[: 20 * RATE]
    pause = np.zeros(3 * RATE, np.float32)
    one, other = takes(between_noise(np.concatenate([first, pause, second]), 1.0, 1.0), song_bands())
    assert [one.start_s, one.end_s] == pytest.approx([1.0, 15.0], abs=0.6)
    assert [other.start_s, other.end_s] == pytest.approx([18.0, 38.0], abs=0.6)
    assert other.line.song_time(18.0) == pytest.approx(0.0, abs=0.03)


def test_a_copied_passage_is_doubtful() -> None:
    """A song whose second half repeats its first to the sample: nobody can tell."""
    half = song()[: 24 * RATE]
    ready = SongBands.of(np.concatenate([half, half]), RATE)
    (take,) = takes(between_noise(stretched(half[3 * RATE : 21 * RATE], 1.25), 1.0, 1.0), ready)
    assert any(abs(abs(rival.shift_s) - 24.0) < 0.1 and rival.open for rival in take.rivals)
    assert doubt(take) is ReasonCode.FITS_ELSEWHERE


@pytest.mark.parametrize("speed", [1.0, 1.1])
def test_another_song_in_the_same_tempo_is_never_placed(speed: float) -> None:
    """Even on the line that fits best: same beat, other notes."""
    clip = between_noise(stretched(song(seed=7, beat_s=0.5), speed), 1.0, 1.0)
    ready = song_bands(seed=8, beat_s=0.5)
    for shift in (0.0, 1.0, 2.5):
        candidate = SpeedCandidate(Line(20.0, 19.0 * speed + shift, speed), True, 30.0, (5.0, 35.0))
        for take in place_stretched(clip, ready, candidate, 0.0):
            assert doubt(take) is not None
            assert take.strength < 10


def test_nearly_the_song_s_own_speed_may_be_the_band_itself() -> None:
    (take,) = takes(between_noise(stretched(song(), 1.02), 1.0, 1.0), song_bands())
    assert doubt(take) is ReasonCode.NEAR_SONG_TEMPO


def test_minutes_of_camera_around_it() -> None:
    """Eight minutes in which the song runs for half of one; what is told is on the clip's clock."""
    run = stretched(song()[6 * RATE : 38 * RATE], 1.25)
    clip = between_noise(run, 400.0, 55.0)
    best = candidate_speeds(clip, song_bands())[0]
    assert best.pitch_kept
    (take,) = place_stretched(clip, song_bands(), best, 0.0)
    assert [take.start_s, take.end_s] == pytest.approx([400.0, 425.6], abs=0.6)
    assert abs(take.line.song_time(410.0) - 18.5) < take.uncertainty_s
