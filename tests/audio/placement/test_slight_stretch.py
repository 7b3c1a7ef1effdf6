"""A playback stretched by little, its file not known: one take in doubt, not many bits."""

import pytest

from audio.placement.align import Hearing, place
from audio.placement.answer import PlaceVerdict
from audio.placement.reason_codes import ReasonCode
from audio.placement.search import SongIndex
from audio.progress import never
from audio.rate import ENGINE_RATE
from tests.quality.scene import Example
from tests.quality.song_heaps import playback_clips, playback_of
from tests.quality.songs import Song, composed

SEED = 11


@pytest.fixture(scope="module")
def song() -> Song:
    return composed("rock", SEED, short=True)


@pytest.fixture(scope="module")
def index(song: Song) -> SongIndex:
    return SongIndex.build(song.master, ENGINE_RATE)


def _clip(song: Song, speed: float, way: str) -> tuple[Example, float]:
    """A clip of half a minute shot to the song at a speed, and the song time of its take's middle."""
    played, song_s = playback_of(song, speed, way)
    example = next(playback_clips(played, SEED, 1)).example
    take = example.takes[0]
    middle_s = (take.clip_start_s + take.clip_end_s) / 2
    return example, song_s + speed * take.song_at(middle_s)


def test_a_slight_stretch_is_one_take_in_doubt(song: Song, index: SongIndex) -> None:
    """Other speeds: ``python -m tests.quality.playback_board --alone``."""
    speed = 1.005
    clip, due_s = _clip(song, speed, "splices")
    (take,) = place(clip.sound, index).takes
    assert take.verdict is PlaceVerdict.DOUBTFUL
    assert take.reason is not None
    assert take.reason.code is ReasonCode.PERHAPS_STRETCHED
    assert dict(take.reason.figures)["speed"] == pytest.approx(speed, abs=0.001)
    truth = clip.takes[0]
    assert take.line.song_time((truth.clip_start_s + truth.clip_end_s) / 2) == pytest.approx(due_s, abs=0.02)
    assert take.clip_start_s == pytest.approx(truth.clip_start_s, abs=1.0)
    assert take.clip_end_s == pytest.approx(truth.clip_end_s, abs=1.0)


def test_what_runs_with_its_pitch_along_is_placed_as_ever(song: Song, index: SongIndex) -> None:
    clip, due_s = _clip(song, 1.03, "along")
    (take,) = place(clip.sound, index).takes
    assert take.verdict is PlaceVerdict.PLACED
    assert take.speed == pytest.approx(1.03, abs=1e-4)
    truth = clip.takes[0]
    assert take.line.song_time((truth.clip_start_s + truth.clip_end_s) / 2) == pytest.approx(due_s, abs=0.001)


def test_a_take_at_the_song_s_speed_does_not_wander(song: Song, index: SongIndex) -> None:
    clip, _ = _clip(song, 1.0, "along")
    found = Hearing(clip.sound).at_own_speed(index, never)
    assert len(found.takes) == 1
    assert found.wandering == (False,)
