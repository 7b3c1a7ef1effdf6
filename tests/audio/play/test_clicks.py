"""Clicks: on the beat to the sample, accented on one, and gone when they are switched off."""

import numpy as np
import pytest

from audio.play.clicks import ClickPlayback, click
from audio.play.playback import MOST_DB, RATE, Pieces

READ = 4800
BEATS = (0.25, 0.5, 0.7501, 1.0)


def played(playback: ClickPlayback, seconds: float) -> np.ndarray:
    """What comes out from the song's start, limiter's delay taken off."""
    skip = playback.start(0.0) - READ
    return playback.read(skip + round(seconds * RATE))[skip:]


@pytest.fixture
def playback() -> ClickPlayback:
    made = ClickPlayback(Pieces())
    made.set_volume(MOST_DB)
    made.read(READ)  # until the volume is there
    made.set_song(np.zeros((2, 2 * RATE), np.float32))
    return made


def test_every_beat_clicks_where_it_lies_and_one_is_louder(playback: ClickPlayback) -> None:
    playback.set_clicks(BEATS, (True, False, False, True))
    out = played(playback, 1.2)
    np.testing.assert_array_equal(out[:, 0], out[:, 1])
    for moment, accent in zip(BEATS, (True, False, False, True), strict=True):
        at = round(moment * RATE)
        assert np.abs(out[at - 400 : at]).max() < 1e-4, "nothing before the beat"
        sound = click(RATE, accent=accent)
        np.testing.assert_allclose(out[at : at + sound.size, 0], sound, atol=0.02)
    loudest = [np.abs(out[round(m * RATE) : round(m * RATE) + 1500]).max() for m in BEATS]
    assert loudest[0] > 1.4 * loudest[1]


def test_a_click_across_blocks_is_whole(playback: ClickPlayback) -> None:
    playback.set_clicks((0.3,), (False,))
    skip = playback.start(0.0) - READ
    blocks = np.concatenate([playback.read(777) for _ in range(40)])[skip:]
    at = round(0.3 * RATE)
    sound = click(RATE, accent=False)
    np.testing.assert_allclose(blocks[at : at + sound.size, 0], sound, atol=0.02)


def test_without_clicks_the_song_is_as_it_is(playback: ClickPlayback) -> None:
    song = 0.1 * np.random.default_rng(4).standard_normal((2, RATE)).astype(np.float32)
    playback.set_song(song)
    playback.set_clicks((), ())
    np.testing.assert_allclose(played(playback, 0.9)[600:].T, song[:, 600 : round(0.9 * RATE)], atol=1e-4)


def test_with_clicks_the_song_is_a_little_softer(playback: ClickPlayback) -> None:
    song = 0.1 * np.random.default_rng(4).standard_normal((2, RATE)).astype(np.float32)
    playback.set_song(song)
    playback.set_clicks((0.9,), (True,))
    np.testing.assert_allclose(
        played(playback, 0.8)[600:].T, 0.7 * song[:, 600 : round(0.8 * RATE)], atol=1e-4
    )


def test_at_rest_nothing_clicks(playback: ClickPlayback) -> None:
    playback.set_clicks(BEATS, (True,) * 4)
    playback.rest()
    assert np.abs(playback.read(RATE)).max() == 0
