"""Takes that do not run straight through: sound lost, a recorder that paused, playback that paused, and
recordings of hours."""

from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from audio.files.media import Sound
from audio.line import Line
from audio.placement.align import place
from audio.placement.answer import PlaceVerdict
from audio.placement.impulse_response import SegmentCorrelations
from audio.placement.line_fit import LineFit
from audio.placement.rivals import RivalFit
from audio.placement.takes import FittedTake, Takes, is_chance
from audio.placement.verdicts import take_verdict
from audio.placement.viterbi import NOWHERE, ViterbiPath
from tests.audio.engine_songs import RATE, hiss, index, noisy, placed, run, song, sound, worst_s


@pytest.mark.parametrize("lost_s", [0.01, 0.002, 0.04])
def test_lost_sound_parts_a_take_where_it_was_lost(lost_s: float) -> None:
    """480 samples of 48 000 a second, fewer, more; each piece exact, and they meet at the loss."""
    clip = np.concatenate([run(5.0, 21.0), run(26.0 + lost_s, 25.0)])
    answer = placed(sound(noisy(clip, 0)))
    assert answer.verdict is PlaceVerdict.PLACED, answer.reason
    first, second = answer.takes
    assert worst_s(first, 5.0) < 0.0002
    assert worst_s(second, 5.0 + lost_s) < 0.0002
    assert first.clip_end_s == pytest.approx(21.0, abs=0.1)
    assert second.clip_start_s == pytest.approx(21.0, abs=0.1)


@pytest.mark.parametrize("lost_at_s", [20.0, 40.0])
def test_lost_sound_is_seen_in_a_hall_too(lost_at_s: float) -> None:
    """Long reverberation makes the two sides of a loss alike at lags of its own, and one line through both
    explains much."""
    rng = np.random.default_rng(5)
    tail = 0.1 * rng.standard_normal(2 * RATE) * np.exp(-6.9 * np.arange(2 * RATE) / (2.4 * RATE))
    tail[:40] = 0.0
    tail[0] = 1.0
    dry = run(0.0, 52.0)
    wet = np.convolve(dry, tail)[: len(dry)].astype(np.float32)
    at = round(lost_at_s * RATE)
    answer = placed(sound(noisy(np.concatenate([wet[:at], wet[at + RATE // 100 :]]), 10)))
    assert answer.verdict is PlaceVerdict.PLACED, answer.reason
    first, second = answer.takes
    assert worst_s(first, 0.0) < 0.0002
    assert worst_s(second, 0.01) < 0.0002
    assert second.clip_start_s == pytest.approx(lost_at_s, abs=0.1)


@pytest.mark.parametrize("skipped_s", [2.0, 7.0])
def test_a_recorder_that_paused_skips_a_part_of_the_song(skipped_s: float) -> None:
    clip = np.concatenate([run(3.0, 24.0), run(27.0 + skipped_s, 24.0)])
    answer = placed(sound(noisy(clip, 0)))
    assert answer.verdict is PlaceVerdict.PLACED, answer.reason
    first, second = answer.takes
    assert worst_s(first, 3.0) < 0.0002
    assert worst_s(second, 3.0 + skipped_s) < 0.0002


def test_playback_that_paused_goes_on_where_it_was() -> None:
    clip = np.concatenate([run(3.0, 24.0), hiss(9.0, 0.02), run(27.0, 24.0)])
    first, second = placed(sound(clip)).takes
    assert worst_s(first, 3.0) < 0.0002
    assert worst_s(second, 3.0 - 9.0) < 0.0002
    assert first.clip_end_s == pytest.approx(24.0, abs=0.2)
    assert second.clip_start_s == pytest.approx(33.0, abs=0.2)


@pytest.mark.parametrize(("begin_s", "rounds"), [(26.0, -1), (2.0, 2), (26.0, -2)])
def test_a_second_start_a_round_off_the_first_ones_line_is_a_take_of_its_own(
    begin_s: float, rounds: int
) -> None:
    """One line explains much of both: of loops every round is like the others."""
    round_s = song("loops").twins[0].seconds
    again_s = begin_s + 19.5 + rounds * round_s
    parts = [run(begin_s, 18.0, style="loops"), hiss(1.5, 0.02), run(again_s, 14.0, style="loops")]
    answer = placed(sound(noisy(np.concatenate(parts), 6)), "loops")
    first, second = answer.takes
    assert worst_s(first, begin_s) < 0.0005
    assert worst_s(second, again_s - 19.5) < 0.0005
    assert first.clip_end_s == pytest.approx(18.0, abs=0.5)
    assert second.clip_start_s == pytest.approx(19.5, abs=0.5)


def test_bits_of_the_song_in_any_order_are_doubted() -> None:
    """Without a rest between them they may be another recording made of the same loops."""
    pieces = [run(begin, 5.0) for begin in (40.0, 10.0, 30.0, 3.0)]
    assert placed(sound(np.concatenate(pieces))).verdict is not PlaceVerdict.PLACED


def test_a_recording_of_hours_is_placed_as_any_other() -> None:
    """Samples in 16 bits are whitened where they are read; ten minutes stand for hours."""
    clip = np.concatenate(
        [hiss(311.3, 0.1), run(2.0, 40.0), hiss(200.0, 0.1), run(20.0, 30.0), hiss(20.0, 0.1)]
    )
    long = place(Sound(clip.astype(np.float16)[None], RATE, 0.0, ("one",)), index())
    assert long.verdict is PlaceVerdict.PLACED, long.reason
    first, second = long.takes
    assert worst_s(first, 2.0 - 311.3) < 0.0002
    assert worst_s(second, 20.0 - 551.3) < 0.0002


def test_a_path_begins_only_where_it_pays() -> None:
    blocks = [np.zeros(50, np.float32) for _ in range(6)]
    for number, place_ in enumerate((10, 11, 11, 12)):
        blocks[number][place_] = 8.0
    blocks[5][40] = 8.0
    cheap, dear = ViterbiPath(begin_cost=5.0), ViterbiPath(begin_cost=20.0)
    for path in (cheap, dear):
        for block in blocks:
            path.add(block, 0)
    assert [state for state, _ in cheap.best()] == [10, 11, 11, 12, NOWHERE, 40]
    assert dear.best()[5][0] != 40


@pytest.mark.parametrize(("step_s", "verdict"), [(0.034, "doubtful"), (9.0, "placed")])
def test_beside_a_step_the_direct_sound_must_be_plain(step_s: float, verdict: str) -> None:
    """A reflection taken for the direct sound in one part of a take steps as lost sound does; elsewhere the
    same doubt is less than a quarter of a frame."""
    segments = cast(SegmentCorrelations, None)

    def fit(at_s: float, song_s: float, ambiguity_s: float) -> LineFit:
        line, nothing = Line(at_s, song_s, 1.0), np.zeros(0)
        some = np.zeros(1, np.float32)
        return LineFit(
            line, some, 0, 50.0, ambiguity_s, 1e-5, 1e-7, nothing, nothing, nothing, None, segments
        )  # fmt: skip

    unsure = FittedTake(fit(5.0, 15.0, 0.0075), 0.0, 10.0, [], (0.0, 10.0))
    start_s = 10.0 if step_s < 1 else 19.0
    other = FittedTake(fit(20.0, 30.0 + step_s, 0.0), start_s, 40.0, [], (start_s, 40.0))
    assert take_verdict(Takes(1.0, [unsure, other]), 0, None)[0] == verdict
    assert take_verdict(Takes(1.0, [unsure, other]), 1, None)[0] == "placed"


@pytest.mark.parametrize(
    ("shift_s", "strength", "self_similarity", "undecided"),
    [(0.48, 0.84, 0.4, True), (-0.48, 0.84, 0.4, False), (1.5, 0.84, 0.4, False), (0.48, 0.6, 0.5, False)],
)
def test_a_line_may_be_the_echo_of_an_earlier_arrival(
    shift_s: float, strength: float, self_similarity: float, undecided: bool
) -> None:
    """A room only delays. In a church that is played loops, late sound can top what comes straight; but only
    from the near past of the song, and only where the song's self-similarity does not explain it."""
    assert RivalFit(shift_s, strength, self_similarity, twin=False, margin_sd=15.5).open is undecided


def _found(seconds: float, strength: float, *, undecided: bool) -> FittedTake:
    rivals = [RivalFit(9.0, 1.0, 1.0, twin=True, margin_sd=0.0)] if undecided else []
    return FittedTake(cast(LineFit, SimpleNamespace(strength=strength)), 0.0, seconds, rivals, (0.0, seconds))


def test_what_chance_finds_in_hours_is_no_take_beside_a_plain_one() -> None:
    plain = _found(190.0, 400.0, undecided=False)
    weak = _found(5.0, 7.0, undecided=True)
    assert is_chance(weak, [plain, weak])
    assert not is_chance(weak, [weak])
    assert not is_chance(plain, [plain, weak])
    assert not is_chance(_found(5.0, 7.0, undecided=False), [plain])
    assert not is_chance(_found(5.0, 60.0, undecided=True), [plain])
