"""How a song runs through playback files: cut, resampled, stretched, and not at all."""

from functools import cache

import numpy as np
import pytest
import soxr

from audio.errors import BadSignal, Stopped
from audio.line import Line
from audio.pieces.piece import Piece
from audio.pieces.pieces import pieces_of
from audio.pieces.several import kept_apart, shared_out
from audio.placement.search import SongIndex
from audio.rate import ENGINE_RATE
from audio.signals import Samples
from tests.quality.songs import WORK_RATE, Song, composed, to_rate
from tests.quality.stretching import stretched

LENGTH_S = 34


@cache
def song() -> Song:
    return composed("rock", 1, True)


@cache
def master() -> Samples:
    return song().master[: LENGTH_S * ENGINE_RATE]


@cache
def index() -> SongIndex:
    return SongIndex.build(master(), ENGINE_RATE)


def at(seconds: float) -> int:
    return round(seconds * ENGINE_RATE)


def off_ms(piece: Piece, recording_s: float, song_s: float) -> float:
    return 1000 * abs(float(piece.line.song_time(recording_s)) - song_s)


def test_a_count_in_and_a_cut() -> None:
    """Two pieces, mapped to a tenth of a millisecond, that meet where the song was cut."""
    count_in = np.zeros(at(3.25), np.float32)
    cut_s, on_s = 18.003, 25.512
    recording = np.concatenate([count_in, master()[: at(cut_s)], master()[at(on_s) :]])
    first, second = pieces_of(recording, index())
    assert first.sure
    assert second.sure
    assert not first.pitch_kept
    assert off_ms(first, 10.0, 6.75) < 0.1
    assert off_ms(second, 25.0, 25.0 - 3.25 - cut_s + on_s) < 0.1
    assert first.start_s == pytest.approx(3.25, abs=0.3)
    assert first.end_s == second.start_s
    assert first.end_s == pytest.approx(3.25 + cut_s, abs=0.02)
    assert second.end_s == pytest.approx(len(recording) / ENGINE_RATE, abs=0.3)


def test_three_thousandths_faster() -> None:
    """Resampled, with its pitch along."""
    speed = 1.003
    recording = soxr.resample(master(), ENGINE_RATE, ENGINE_RATE / speed).astype(np.float32)
    [piece] = pieces_of(recording, index())
    assert piece.sure
    assert not piece.pitch_kept
    assert piece.speed_sd < 1e-5
    assert max(off_ms(piece, moment, speed * moment) for moment in (1.0, 30.0)) < 0.2


def test_stretched_by_little() -> None:
    """Overlap-add moves every onset by its own some milliseconds; the line is that of their mean.

    Other speeds and stretchers: ``python -m tests.quality.pieces_board``.
    """
    speed = 1.003
    feed = song().room_feed[: LENGTH_S * WORK_RATE]
    played, late_s = stretched(feed, 0, speed, int(len(feed) / speed), "splices")
    recording = to_rate(played.astype(np.float64), WORK_RATE, ENGINE_RATE).astype(np.float32)
    [piece] = pieces_of(recording, index())
    assert piece.sure
    assert piece.pitch_kept
    assert piece.length_s > 0.9 * len(recording) / ENGINE_RATE
    middle_s = (piece.start_s + piece.end_s) / 2
    assert off_ms(piece, middle_s, speed * middle_s + late_s) < 3.5
    assert piece.uncertainty_s < 0.015


def test_another_song_of_the_same_band_is_not_this_one() -> None:
    other = composed("rock", 101, True, theme=1).master[: at(24)]
    assert not [piece for piece in pieces_of(other, index()) if piece.sure]


def test_what_cannot_be_searched_is_told() -> None:
    with pytest.raises(BadSignal):
        pieces_of(np.zeros(0, np.float32), index())
    with pytest.raises(Stopped):
        pieces_of(master(), index(), stop=lambda: True)


def piece(start_s: float, end_s: float, strength: float = 50.0, pitch_kept: bool = False) -> Piece:
    return Piece(start_s, end_s, Line(0.0, 0.0, 1.0), 0.001, 1e-6, strength, pitch_kept)


def spans(pieces: "list[Piece] | tuple[Piece, ...]") -> list[tuple[float, float]]:
    return [(one.start_s, one.end_s) for one in pieces]


def test_the_better_piece_keeps_what_two_claim() -> None:
    assert spans(kept_apart([piece(10, 30), piece(20, 60)])) == [(10, 30), (30, 60)]
    assert spans(kept_apart([piece(10, 30), piece(12, 31)])) == [(10, 30)]


def test_songs_in_a_row_share_a_file() -> None:
    """Where they overlap the stronger has it; where they fit alike, nobody is sure."""
    one, other = shared_out([[piece(0, 60, 300.0)], [piece(10, 30, 100.0), piece(58, 120, 290.0)]])
    assert spans(one) == [(0, 60)]
    assert spans(other) == [(60, 120)]
    assert all(one.sure for one in (*one, *other))
    alike, nothing = shared_out([[piece(0, 60, 300.0)], [piece(0, 60, 290.0)]])
    assert not alike[0].sure
    assert nothing == ()
