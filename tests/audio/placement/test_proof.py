"""Song and take around a moment: lags against the truth of the sample shoot and of made takes; settling."""

import json
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import signal

from audio.errors import Stopped
from audio.files.media import read_song, read_sound
from audio.line import Line
from audio.placement.local_fit import REACH_S, fit_nearby
from audio.placement.proof import SHOWN_S, SLIDE_S, STEP_S, Proof, prove, window
from audio.play.sound_piece import choose_channel, rank_channels, read_piece
from tests.audio.engine_songs import RATE, run, song

MEDIA = Path(__file__).resolve().parents[3] / "sample_media"
TRUTH = json.loads((MEDIA / "truth.json").read_text(encoding="utf-8"))
TAKES: dict[str, Any] = {Path(c["file"]).stem: (c, c["takes"][-1]) for c in TRUTH["clips"] if c["takes"]}
SHIFT_S = 0.0123
LOUD, FAINT = "G0021", "P0231"  # a pick-up; brushes far louder than the playback


@cache
def sample_song() -> NDArray[np.float32]:
    return read_song(MEDIA / "song.ogg", RATE)


def sample_proofs(name: str, shift_s: float, shares: tuple[float, ...] = (0.25, 0.5, 0.75)) -> list[Proof]:
    """Proofs of a sample take that is held against a line ``shift_s`` too late in the song."""
    clip, take = TAKES[name]
    path, span = MEDIA / clip["file"], (take["clip_start_s"], take["clip_end_s"])
    line = Line(span[0], take["song_start_s"] + shift_s, take["speed"])
    voice = choose_channel(path, *span)
    found = []
    for share in shares:
        moment = span[0] + share * (span[1] - span[0])
        piece = read_piece(path, voice, max(0.0, moment - 4.8), moment + 4.8, RATE)
        found.append(window(sample_song(), piece.samples, piece.start_s, RATE, line, moment, span))
    return prove(found)


@pytest.mark.parametrize("name", [LOUD, FAINT, "R0005"])
@pytest.mark.parametrize("shift_s", [0.0, SHIFT_S, -0.09])
def test_an_injected_shift_is_seen(name: str, shift_s: float) -> None:
    for proof in sample_proofs(name, shift_s):
        assert proof.late_s is not None
        assert proof.late_s == pytest.approx(shift_s, abs=0.0005)
        assert abs(proof.late_s - shift_s) < proof.uncertainty_s


def test_the_curves_show_the_shift_too() -> None:
    """Of a take held against a line 20 ms too late in the song the same hits are drawn, 20 ms apart."""
    clip, span = run(20.0, 12.0), (0.0, 12.0)
    off, extra = round(0.02 / STEP_S), round(SLIDE_S / STEP_S)
    for shift_s, apart in ((0.0, 0), (0.02, off), (-0.02, -off)):
        line = Line(0.0, 20.0 + shift_s, 1.0)
        (proof,) = prove([window(song().master, clip, 0.0, RATE, line, 6.3, span)])
        assert len(proof.song) == round(2 * SHOWN_S / STEP_S) + 1
        assert len(proof.take) == len(proof.song) + 2 * extra
        likeness = [
            float(np.corrcoef(proof.song, proof.take[extra + k : extra + k + len(proof.song)])[0, 1])
            for k in range(-80, 81)
        ]
        assert abs(int(np.argmax(likeness)) - 80 - apart) <= 2
        assert max(likeness) > 0.9


def test_the_fit_is_highest_where_the_take_belongs() -> None:
    proof = sample_proofs("R0005", SHIFT_S)[1]
    best_s = int(proof.fit.argmax()) * STEP_S - SLIDE_S
    assert best_s == pytest.approx(-SHIFT_S, abs=0.001)


@pytest.mark.parametrize("shift_s", [7.7, -5.1, 3.3])
def test_at_a_wrong_place_no_lag_is_claimed(shift_s: float) -> None:
    assert all(proof.late_s is None for proof in sample_proofs("T0112", shift_s))


def test_noise_gives_no_lag_and_silence_no_curve() -> None:
    rng = np.random.default_rng(4)
    noise = rng.standard_normal(20 * RATE).astype(np.float32)
    line, span = Line(0.0, 30.0, 1.0), (0.0, 20.0)
    for sound in (noise, np.zeros_like(noise)):
        (proof,) = prove([window(sample_song(), sound, 0.0, RATE, line, 10.0, span)])
        assert proof.late_s is None
        assert np.isfinite(proof.fit).all()
    assert not proof.take.any()


def test_another_speed_is_followed() -> None:
    clip = run(10.0, 24.0, 1.1)
    line, span = Line(0.0, 10.0 + 0.004, 1.1), (0.0, 24.0)
    (proof,) = prove([window(song().master, clip, 0.0, RATE, line, 12.0, span)])
    assert proof.late_s == pytest.approx(0.004, abs=0.0002)


def test_moments_outside_the_song_have_silence() -> None:
    clip = run(-3.0, 10.0)
    line = Line(0.0, -3.0, 1.0)
    (proof,) = prove([window(song().master, clip, 0.0, RATE, line, 1.0, (0.0, 10.0))])
    assert not proof.song.any()


@pytest.mark.parametrize("off_s", [0.43, -0.31, 0.0])
def test_settling_finds_the_place_back(off_s: float) -> None:
    clip, take = TAKES["T0113"]
    sound = read_sound(MEDIA / clip["file"], RATE)
    span = take["clip_start_s"] - sound.start_s, take["clip_end_s"] - sound.start_s
    line = Line(span[0], take["song_start_s"] + off_s, 1.0)
    found = fit_nearby(sample_song(), sound.samples[0], RATE, line, span)
    assert found is not None
    assert found.clear
    assert abs(found.song_start_s - take["song_start_s"]) < 0.0005
    assert found.speed == pytest.approx(take["speed"], abs=2e-6)


def test_settling_follows_another_speed_and_a_clock() -> None:
    clip = run(5.0, 30.0, 1.2 * 1.0001)
    found = fit_nearby(song().master, clip, RATE, Line(0.0, 5.3, 1.2), (0.0, 30.0))
    assert found is not None
    assert found.song_start_s == pytest.approx(5.0, abs=0.001)
    assert found.speed == pytest.approx(1.2 * 1.0001, abs=1e-5)


def test_settling_says_where_nothing_fits() -> None:
    clip = run(5.0, 20.0)
    far = Line(0.0, 5.0 + 2.5 * REACH_S, 1.0)
    assert fit_nearby(song().master, clip, RATE, far, (0.0, 20.0)) is None
    noise = np.random.default_rng(5).standard_normal(20 * RATE).astype(np.float32)
    for sound in (noise, np.zeros_like(noise)):
        assert fit_nearby(song().master, sound, RATE, Line(0.0, 5.0, 1.0), (0.0, 20.0)) is None
    assert fit_nearby(song().master, clip, RATE, Line(0.0, 500.0, 1.0), (0.0, 20.0)) is None


def test_settling_can_be_stopped() -> None:
    with pytest.raises(Stopped):
        fit_nearby(song().master, run(5.0, 5.0), RATE, Line(0.0, 5.0, 1.0), (0.0, 5.0), stop=lambda: True)


def test_a_lag_agrees_with_a_plain_correlation() -> None:
    """Against scipy.signal.correlate on clean sound, where the plain method is right."""
    clip = run(20.0, 12.0)
    line = Line(0.0, 20.0 + 0.0305, 1.0)
    (proof,) = prove([window(song().master, clip, 0.0, RATE, line, 6.0, (0.0, 12.0))])
    part = song().master[20 * RATE : 32 * RATE]
    lags = signal.correlate(clip[: len(part)], np.roll(part, -round(0.0305 * RATE)), "same")
    plain = (int(np.abs(lags).argmax()) - len(part) // 2) / RATE
    assert proof.late_s == pytest.approx(plain, abs=1.5 / RATE)


def test_every_channel_of_a_clip_is_offered() -> None:
    clip, _ = TAKES["Q0041"]
    found = rank_channels(MEDIA / clip["file"], 5.0, 10.0)
    assert found[0] == choose_channel(MEDIA / clip["file"], 5.0, 10.0)
    assert len({(one.track, one.channel) for one in found}) == len(found)


def test_a_track_of_nothing_but_zeros_has_no_sound() -> None:
    line, span = Line(0.0, 20.0, 1.0), (0.0, 12.0)
    clip = run(20.0, 12.0)
    clip[: 10 * RATE] = 0
    quiet, sounding = prove([window(song().master, clip, 0.0, RATE, line, at, span) for at in (3.0, 11.5)])
    assert (quiet.silent, sounding.silent) == (True, False)
    assert quiet.late_s is None
    assert quiet.song.max() > 0.9
