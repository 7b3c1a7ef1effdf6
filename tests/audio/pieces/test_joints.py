"""Where two pieces of a new master meet: to a sample of what was cut, also when it is louder or faster."""

from dataclasses import replace

import numpy as np
import pytest
import soxr

from audio.line import Line
from audio.pieces.joints import joint
from audio.pieces.piece import Piece
from tests.audio.engine_songs import RATE, index, song

CUT_S = (20.3, 31.1)


def pieces(off_s: tuple[float, float], speed: float = 1.0, put_in_s: float = 0.0) -> tuple[Piece, Piece]:
    """Before and after the cut, with edges told so far off."""
    end_s, start_s = CUT_S[0] / speed, CUT_S[0] / speed + put_in_s
    lines = Line(0.0, 0.0, speed), Line(start_s, CUT_S[1], speed)
    one = Piece(0.0, end_s + off_s[0], lines[0], 0.001, 1e-6, 90.0, False)
    return one, replace(one, start_s=start_s + off_s[1], end_s=40.0, line=lines[1])


def new_master(put_in: np.ndarray, *, limited: bool = False, speed: float = 1.0) -> np.ndarray:
    master = song().master
    parts = [master[: round(CUT_S[0] * RATE)], put_in, master[round(CUT_S[1] * RATE) :]]
    whole = np.concatenate(parts)
    if limited:
        whole = np.tanh(6 * whole / np.abs(whole).max())
    return np.asarray(soxr.resample(whole, RATE, RATE / speed) if speed != 1 else whole, np.float32)


@pytest.mark.parametrize("off_s", [(-0.045, 0.02), (0.016, 0.016), (-0.1, -0.1), (0.0, 0.15)])
@pytest.mark.parametrize(("limited", "speed"), [(False, 1.0), (True, 1.0), (False, 1.003), (True, 1.003)])
def test_the_joint_is_found_to_a_sample(off_s: tuple[float, float], limited: bool, speed: float) -> None:
    new = new_master(np.zeros(0), limited=limited, speed=speed)
    found = joint(new, index(), *pieces(off_s, speed))
    assert found == pytest.approx(CUT_S[0] / speed, abs=0.0005)


@pytest.mark.parametrize("what", ["silence", "noise"])
def test_what_was_put_in_between_is_no_joint(what: str) -> None:
    put_in = np.zeros(round(0.2 * RATE))
    if what == "noise":
        put_in = np.random.default_rng(2).standard_normal(len(put_in)) * 0.1
    assert joint(new_master(put_in), index(), *pieces((0.0, 0.0), put_in_s=0.2)) is None
    apart = pieces((-0.3, 0.3))
    assert joint(new_master(np.zeros(0)), index(), *apart) is None
