"""Faults in pictures of known content: light by the standard's formula, frames by number."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from audio.errors import BadSignal, Stopped
from audio.pictures.dropped import dropped
from audio.pictures.exposures import over, under
from audio.pictures.faults import REASONS, measures_of, proposals
from audio.pictures.repeated import frozen, repeats
from audio.pictures.sampling import pictures_of, stamps_of
from audio.pictures.trace import Trace, trace_of
from tests.audio.pictures.made_pictures import picture_of
from tests.quality.scene_files import encode

LINES, ACROSS = 72, 128
RATE = 25


def bt709(light: np.ndarray) -> np.ndarray:
    """Code values from 0 to 255 of linear light (Rec. ITU-R BT.709-6, item 1.2)."""
    light = np.clip(light, 0, 1)
    return 255 * np.where(light < 0.018, 4.5 * light, 1.099 * np.maximum(light, 0.018) ** 0.45 - 0.099)


def trace(frames: list[np.ndarray]) -> Trace:
    """Of frames at 25 a second."""
    pictures = [picture_of(n / RATE, np.asarray(one, np.uint8)) for n, one in enumerate(frames)]
    return trace_of(pictures, np.arange(len(frames)) / RATE)


def band(number: float, chance: np.random.Generator, light: float = 1.0, noise: float = 2.0) -> np.ndarray:
    """Somebody moves before a wall of all tones, with noise."""
    y, x = np.mgrid[0:LINES, 0:ACROSS]
    wall = 0.45 * (y + 0.5) / LINES * (1 + 0.5 * np.sin(x / 5) * np.sin(y / 4))
    centre = 64 + 40 * np.sin(number / 14)
    body = np.clip(14.5 - np.abs(x - centre), 0, 1) * (y > 22)
    wall = wall + body * (0.15 + 0.05 * np.sin(x - centre) - wall)
    code = bt709(wall * light)[:, :, None].repeat(3, axis=2) + chance.normal(0, noise, (LINES, ACROSS, 3))
    return np.clip(code + 0.5, 0, 255)


def test_a_doubling_of_light() -> None:
    # Light from 0 to 1 in equal steps: twice as much clips the upper half, and medians follow the standard.
    ramp = np.linspace(0, 1, ACROSS)[None, :, None].repeat(LINES, axis=0).repeat(3, axis=2)
    seen = trace([bt709(ramp * light) + 0.5 for light in (0.5, 1.0, 2.0)])
    assert seen.clipped == pytest.approx([0, 0.04, 0.52], abs=0.02)  # 250 is light 0.958
    assert seen.quantiles[:, 2] * 255 == pytest.approx(bt709(np.array([0.25, 0.5, 1.0])), abs=3)


def test_an_open_iris_is_over_and_a_closed_one_under() -> None:
    chance = np.random.default_rng(1)
    good = [band(n, chance) for n in range(100)]
    bright = good[:50] + [band(n, chance, 8.0) for n in range(50, 100)] + good[50:]
    (found,) = over(trace(bright), [])
    assert (found.clip_start_s, found.clip_end_s) == pytest.approx((2.0, 4.0), abs=0.1)
    dark = good[:50] + [band(n, chance, 1 / 32) for n in range(50, 100)] + good[50:]
    (found,) = under(trace(dark), [])
    assert (found.clip_start_s, found.clip_end_s) == pytest.approx((2.0, 4.0), abs=0.1)
    whole = trace([band(n, chance, 8.0) for n in range(100)])
    assert not list(over(whole, []))  # nothing to hold it against
    (found,) = over(whole, [trace(good)])
    assert found.clip_end_s - found.clip_start_s > 3.8


def test_white_ground_is_not_over_and_a_dark_stage_may_be_under() -> None:
    chance = np.random.default_rng(1)
    good = [band(n, chance) for n in range(100)]
    snow = [np.where(np.arange(LINES)[:, None, None] < 58, 255, one) for one in good]
    assert not list(over(trace(snow), [trace(good)]))
    # Half of the stage is black whatever the iris.
    unlit = np.arange(ACROSS)[None, :, None] < 64
    stage = [np.where(unlit, 0, one) for one in good]
    dark = [np.where(unlit, 0, band(n, chance, 1 / 100)) for n in range(100)]
    (found,) = under(trace(stage[:50] + dark[50:] + stage[50:]), [])
    assert (found.clip_start_s, found.clip_end_s) == pytest.approx((2.0, 4.0), abs=0.1)
    half = [np.where(unlit, 0, band(n, chance, 1 / 2)) for n in range(100)]
    assert not list(under(trace(stage[:50] + half[50:] + stage[50:]), []))


def test_every_repeat_of_a_list_is_found_and_no_other(tmp_path: Path) -> None:
    chance = np.random.default_rng(2)
    repeated = {30, 55, 57, 90, *range(120, 140)}
    frames: list[np.ndarray] = []
    for number in range(200):
        frames.append(frames[-1] if number in repeated else band(number, chance).astype(np.uint8))
    assert set(repeats(trace(frames)).tolist()) == repeated
    # The same in a file, where a coder has been at it.
    path = encode(tmp_path / "repeats.mp4", frames, Fraction(RATE))
    written = trace_of(pictures_of(path), stamps_of(path))
    assert set(repeats(written).tolist()) == repeated
    found = list(frozen(written))  # a single repeat is not worth a proposal
    assert [round(one.clip_start_s * RATE) for one in found] == [54, 119]
    assert [one.measure for one in found] == [2, 20]


def test_a_scene_in_which_nobody_moves_is_not_frozen() -> None:
    chance = np.random.default_rng(5)
    # They come to rest and start again within a third of a second.
    speed = np.clip(np.abs(np.arange(180) - 85) / 8 - 3, 0, 1)
    stands = np.cumsum(speed)
    assert not list(frozen(trace([band(n, chance) for n in stands])))
    assert not list(frozen(trace([band(n, chance, noise=0) for n in stands])))
    assert not list(frozen(trace([band(0, chance) for _ in range(100)])))


def test_a_leap_tells_a_freeze_that_has_no_noise() -> None:
    chance = np.random.default_rng(5)
    stands = np.concatenate((np.arange(80), np.full(40, 80.0), np.arange(120, 200)))
    (found,) = frozen(trace([band(n, chance, noise=0) for n in stands]))
    assert (found.clip_start_s, found.clip_end_s) == pytest.approx((80 / RATE, 120 / RATE), abs=0.1)
    # A coder that looks ahead shows a little of what comes.
    stands[118:120] = 80.5, 81.0
    (found,) = frozen(trace([band(n, chance, noise=0) for n in stands]))
    assert (found.clip_start_s, found.clip_end_s) == pytest.approx((80 / RATE, 118 / RATE), abs=0.1)
    # They stand still while the light goes down, and come up with it at once.
    light = np.interp(np.arange(200), [60, 80, 118, 122], [1, 0.6, 0.6, 1])
    still = np.concatenate((np.arange(80), np.full(40, 80), np.arange(81, 161)))
    assert not list(frozen(trace([band(n, chance, one) for n, one in zip(still, light, strict=True)])))


def test_another_frame_rate_is_not_frozen() -> None:
    # 20 frames a second as 25: every fifth is the one before again, throughout.
    chance = np.random.default_rng(6)
    frames: list[np.ndarray] = []
    for number in range(200):
        frames.append(frames[-1] if number % 5 == 4 else band(number - number // 5, chance))
    seen = trace(frames)
    assert not list(frozen(seen))
    assert measures_of(seen)["repeated"] == pytest.approx(0.2, abs=0.04)


def test_missing_frames_and_steps_in_the_sound() -> None:
    stamps = np.delete(np.arange(250) / RATE, [100, 101, 102])
    (found,) = dropped(stamps, ())
    assert (found.clip_start_s, found.clip_end_s, found.measure) == (4.0, 103 / RATE, 3)
    (joined,) = dropped(stamps, (4.6,))
    assert (joined.clip_start_s, joined.clip_end_s) == (4.0, pytest.approx(4.85))
    (heard,) = dropped(np.arange(250) / RATE, (7.0,))
    assert (heard.clip_start_s, heard.clip_end_s, heard.measure) == (6.75, 7.25, 0)


def test_a_telephones_own_frame_rate_is_not_dropped() -> None:
    chance = np.random.default_rng(1)
    assert not list(dropped(np.cumsum(chance.uniform(0.02, 0.07, 300)), ()))


def test_black_and_nothing_else_in_it() -> None:
    chance = np.random.default_rng(1)
    frames = [band(n, chance) for n in range(150)]
    for number in range(60, 100):
        frames[number] = np.abs(chance.normal(0, 2, (LINES, ACROSS, 3)))
    found = proposals(trace(frames), [], ())
    assert [one.reason for one in found] == ["black"]
    assert (found[0].clip_start_s, found[0].clip_end_s) == (60 / RATE, 100 / RATE)
    assert found[0].reason in REASONS


def test_a_knock_is_a_bump_and_a_pan_is_not() -> None:
    chance = np.random.default_rng(3)
    wall = chance.uniform(0.05, 0.6, (24, 60)).repeat(8, axis=0).repeat(8, axis=1)

    def view(right: float, down: float) -> np.ndarray:
        y, x = 40 + round(down), 40 + round(right)
        code = bt709(wall[y : y + LINES, x : x + ACROSS])[:, :, None].repeat(3, axis=2)
        return np.clip(code + chance.normal(0, 2, code.shape), 0, 255)

    after = np.arange(200) / RATE - 5
    swing = np.where(after > 0, 7 * np.exp(-after / 0.2) * np.sin(2 * np.pi * 5 * after), 0)
    knocked = proposals(trace([view(0.3 * one, one) for one in swing]), [], ())
    assert [one.reason for one in knocked] == ["bump"]
    assert knocked[0].clip_start_s == pytest.approx(5.0, abs=0.15)
    panned = [view(200 * np.clip((one + 0.5) / 0.4, 0, 1), 0) for one in after]
    assert not proposals(trace(panned), [], ())


def test_a_trace_is_kept_as_arrays() -> None:
    chance = np.random.default_rng(1)
    seen = trace([band(n, chance) for n in range(60)])
    again = Trace.from_arrays(seen.arrays())
    for name, values in seen.arrays().items():
        assert np.array_equal(values, again.arrays()[name], equal_nan=values.dtype.kind == "f"), name
    assert proposals(again, [], ()) == proposals(seen, [], ())


def test_small_pictures_spread_over_a_long_clip() -> None:
    grey = np.full((72, 128, 3), 90, np.uint8)
    seen = trace_of((picture_of(4.0 * n, grey, n) for n in range(250)), 4.0 * np.arange(250))
    assert 60 <= len(seen.thumbs) <= 120
    assert seen.thumbs.shape[1:] == (72, 128, 3)
    assert seen.thumbs_s[-1] > 950
    assert np.isnan(seen.change).all()  # every picture begins a run


def test_trouble_in_sentences() -> None:
    with pytest.raises(BadSignal, match="no picture"):
        trace_of([], np.zeros(0))
    with pytest.raises(Stopped):
        trace_of([picture_of(0.0, np.zeros((72, 128, 3), np.uint8))], np.zeros(1), stop=lambda: True)
