"""What comes out when something is played, against the same worked out with numpy and scipy."""

import numpy as np
import pytest
from numpy.typing import NDArray

from audio.play.limiter import CEILING_DB
from audio.play.playback import PIECE_S, PIECES_KEPT, RATE, Line, Mix, Pieces, Playback
from audio.play.sound_piece import Piece
from tests.audio.media_files import low_noise

Floats = NDArray[np.float32]


def loud(playback: Playback) -> Playback:
    """Turned up to full volume, so that figures can be compared."""
    playback.set_volume(0.0)
    playback.read(1)
    return playback


def played(playback: Playback, song_s: float, frames: int) -> tuple[Floats, int]:
    """What comes out after a start, and the number of the first frame of the song in it."""
    playback.begin()
    first = playback.start(song_s)
    return playback.read(first + frames)[first:], first


def stereo(seconds: float, seed: int = 1) -> Floats:
    return np.stack([low_noise(seconds, RATE, seed=seed, level=0.1) for seed in (seed, seed + 1)])


def cut(sound: Floats, start_s: float, number: int, margin_s: float = 0.05) -> Piece:
    """A piece of a clip's sound whose sample 0 lies at ``start_s`` of the clip."""
    first = max(0, int((number * PIECE_S - margin_s - start_s) * RATE))
    last = int(((number + 1) * PIECE_S + margin_s - start_s) * RATE)
    return Piece(start_s + first / RATE, sound[first : max(first, last)])


def test_the_song_comes_out_as_it_is_after_a_short_fade() -> None:
    song = stereo(3.0)
    playback = loud(Playback(Pieces()))
    playback.set_song(song)
    out, _ = played(playback, 1.0, RATE)
    np.testing.assert_allclose(out[480:], song[:, RATE + 480 : 2 * RATE].T, atol=1e-6)
    assert np.abs(out[:20]).max() < 0.1 * np.abs(song).max(), "no click at the start"


def test_a_take_lands_on_the_songs_clock() -> None:
    """A clip that hears the song 12.34567 s late, on a clock 60 ppm off, is put back.

    Song and clip are the same sixty tones, each worked out by the formula at its own clock's times. The wish
    is a tenth of a millisecond; what is asked for here is a thousandth.
    """
    rng = np.random.default_rng(8)
    tones = [(rng.uniform(60, 12_000), rng.uniform(0, 6)) for _ in range(60)]

    def recorded_at(song_s: NDArray[np.float64]) -> Floats:
        return sum(0.01 * np.sin(2 * np.pi * f * song_s + turn) for f, turn in tones).astype(np.float32)

    speed, clip_start_s = 1 + 60e-6, 12.34567
    song = recorded_at(np.arange(6 * RATE) / RATE)
    recorded = recorded_at((10.0 + np.arange(8 * RATE) / RATE - clip_start_s) * speed)
    pieces = Pieces()
    line = Line("clip", 12.4, 17.9, (12.4 - clip_start_s) * speed, speed)
    for number in (1, 2):
        pieces.put("clip", number, cut(recorded, 10.0, number))
    playback = loud(Playback(pieces))
    playback.set_song(np.stack([song, song]))
    playback.select(line, Mix.EARS)
    out, _ = played(playback, 2.5, 2 * RATE)
    left, right = out[2000:, 0].astype(np.float64), out[2000:, 1].astype(np.float64)
    # By how much the right ear is late: from the slope, for the difference is far below a sample.
    slope = np.gradient(left) * RATE
    late_s = float(np.dot(left - right, slope) / np.dot(slope, slope))
    assert abs(late_s) < 1e-6, f"{late_s * 1e3:.4f} ms"
    assert np.abs(left - right).max() < 1e-3 * np.abs(left).max()


def test_a_take_elsewhere_would_be_seen() -> None:
    """The check above can fail: a line that is off by half a millisecond is off by that."""
    sound = low_noise(9.0, RATE, seed=4)
    pieces = Pieces()
    pieces.put("clip", 0, Piece(0.0, sound))
    playback = loud(Playback(pieces))
    playback.set_song(np.stack([sound, sound]))
    playback.select(Line("clip", 0.0, 8.0, 0.0005, 1.0), Mix.EARS)
    out, _ = played(playback, 1.0, RATE)
    left, right = out[1000:, 0], out[1000:, 1]
    lag = int(
        np.argmax([np.dot(left[100:-100], right[100 + k : len(right) - 100 + k]) for k in range(-50, 51)])
    )
    assert lag - 50 == 24, "0.5 ms at 48 kHz"


@pytest.mark.parametrize(
    ("mix", "want"),
    [
        (Mix.SONG, lambda song, take: (song[0], song[1])),
        (Mix.TAKE, lambda song, take: (take, take)),
        (Mix.EARS, lambda song, take: (song.mean(axis=0), take)),
        (Mix.MIXED, lambda song, take: (0.7 * (song[0] + take), 0.7 * (song[1] + take))),
    ],
)
def test_what_is_heard(mix: Mix, want: object) -> None:
    song, take = stereo(2.0) * np.float32(0.3), low_noise(2.0, RATE, seed=9) * np.float32(0.3)
    pieces = Pieces()
    pieces.put("clip", 0, Piece(0.0, take))
    playback = loud(Playback(pieces))
    playback.set_song(song)
    playback.select(Line("clip", 0.0, 2.0, 0.0, 1.0), mix)
    out, _ = played(playback, 0.5, RATE)
    left, right = want(song[:, RATE // 2 : RATE // 2 + RATE], take[RATE // 2 : RATE // 2 + RATE])  # type: ignore[operator]
    np.testing.assert_allclose(out[480:, 0], left[480:], atol=2e-4)
    np.testing.assert_allclose(out[480:, 1], right[480:], atol=2e-4)


def test_a_loop_has_no_gap_and_no_click() -> None:
    """Where what is looped fits itself nothing tells where it begins, but the song time goes back."""
    time = np.arange(3 * RATE) / RATE
    tone = (0.5 * np.sin(2 * np.pi * 100 * time)).astype(np.float32)
    playback = loud(Playback(Pieces()))
    playback.set_song(np.stack([tone, tone]))
    playback.set_loop((1.0, 1.37))
    out, first = played(playback, 1.0, 2 * RATE)
    want = 0.5 * np.sin(2 * np.pi * 100 * (1.0 + np.arange(2 * RATE) / RATE))
    np.testing.assert_allclose(out[480:, 0], want[480:], atol=1e-5)
    span = round(0.37 * RATE)
    for turn in range(5):
        at = turn * span + 1000
        assert playback.song_s(first + at) == pytest.approx(1.0 + 1000 / RATE, abs=1e-9)


def test_every_turn_of_a_loop_is_the_same_to_the_sample() -> None:
    song = stereo(3.0)
    playback = loud(Playback(Pieces()))
    playback.set_song(song)
    playback.set_loop((1.0, 1.5))
    out, _ = played(playback, 1.0, 2 * RATE)
    span = RATE // 2
    np.testing.assert_array_equal(out[2 * span : 3 * span], out[span : 2 * span])
    np.testing.assert_allclose(out[span + 480 : 2 * span], song[:, RATE + 480 : RATE + span].T, atol=1e-6)
    # The seam: the end goes on for a hundredth of a second while the start comes in.
    rise = (np.arange(480) + 1) / 480
    seam = song[:, RATE : RATE + 480] * rise + song[:, RATE + span : RATE + span + 480] * (1 - rise)
    np.testing.assert_allclose(out[span : span + 480], seam.T, atol=1e-6)


def test_jumps_rests_and_what_was_heard_when() -> None:
    song = stereo(10.0)
    playback = loud(Playback(Pieces()))
    playback.set_song(song)
    playback.begin()
    assert playback.song_s(0) is None
    first = playback.start(2.0)
    playback.read(first + 10_000)
    jumped = playback.start(7.0)
    playback.read(20_000)
    assert playback.song_s(first + 4000) == pytest.approx(2.0 + 4000 / RATE)
    assert playback.song_s(jumped - 1) < 3.0
    assert playback.song_s(jumped + 4000) == pytest.approx(7.0 + 4000 / RATE)
    playback.rest()
    out = playback.read(20_000)
    assert np.abs(out[-10_000:]).max() == 0
    assert playback.song_s(10**9) == playback.song_s(10**9 + 5), "time stands still in a rest"


def test_it_starts_quietly_and_never_passes_the_ceiling_at_its_volume() -> None:
    song = stereo(3.0) * np.float32(20)
    playback = Playback(Pieces())
    playback.set_song(song)
    out, _ = played(playback, 0.5, RATE)
    assert 20 * np.log10(np.abs(out).max()) <= -20 + CEILING_DB
    playback.set_volume(0.0)
    out, _ = played(playback, 0.5, RATE)
    assert -1.5 < 20 * np.log10(np.abs(out[480:]).max()) <= CEILING_DB
    steps = np.abs(np.diff(out[:, 0]))
    playback.set_volume(-90.0)
    playback.read(4096)
    assert np.abs(playback.read(1000)).max() == 0, "the lowest volume is silence"
    assert np.isfinite(steps).all()


def test_where_no_sound_was_read_there_is_silence_and_it_is_known_to_be_missing() -> None:
    pieces = Pieces()
    line = Line("clip", 5.0, 21.0, 100.0, 0.5)
    assert pieces.missing(line, [(100.0, 101.0), (90.0, 99.0)]) == [0]
    assert pieces.missing(line, [(104.0, 120.0)]) == [1, 2]
    pieces.put("clip", 1, Piece(8.0, np.ones(10, np.float32)))
    assert pieces.missing(line, [(104.0, 120.0)]) == [2]
    for number in range(PIECES_KEPT):
        pieces.put("other", number, Piece(0.0, np.zeros(1, np.float32)))
    assert pieces.get("clip", 1) is None, "the longest unused goes first"
    playback = loud(Playback(pieces))
    playback.select(line, Mix.TAKE)
    out, _ = played(playback, 104.0, 1000)
    assert np.abs(out).max() == 0
