"""Where a clip runs: known delays, restarts, drift, refusals, doubts, channels and bad input."""

from collections.abc import Callable

import numpy as np
import pytest

from audio.errors import BadSignal, Stopped
from audio.files.media import Sound
from audio.line import Line
from audio.placement.align import place
from audio.placement.answer import Placement, PlaceVerdict, TakeFit
from audio.placement.local_fit import fit_nearby
from audio.placement.reason_codes import Reason, ReasonCode
from audio.placement.search import SongIndex
from audio.placement.verdicts import clip_answer, doubt_spread
from tests.audio.engine_songs import (
    RATE,
    Samples,
    errors_s,
    hiss,
    index,
    noisy,
    placed,
    run,
    song,
    sound,
    worst_s,
)
from tests.quality import damage
from tests.quality.instruments import talk
from tests.quality.songs import SongKey, composed

EXACT_S = 0.00005


def only(answer: Placement) -> None:
    assert answer.verdict is PlaceVerdict.PLACED, answer.reason
    assert len(answer.takes) == 1


@pytest.mark.parametrize("song_from_s", [0.0, 0.0000625, 17.31, 40.123456789, -3.7, -0.00003])
def test_a_known_delay_is_found(song_from_s: float) -> None:
    """Below zero the camera rolls before the song; errors at both ends of the take."""
    answer = placed(sound(run(song_from_s, 16.0)))
    only(answer)
    assert worst_s(answer.takes[0], song_from_s) < EXACT_S


def test_fractions_of_a_sample_are_kept() -> None:
    """Eighths of a sample (16 µs) come out in order and to a tenth of a sample."""
    step = 1 / RATE / 8
    found = []
    for eighths in range(1, 8, 2):
        answer = placed(sound(run(20.0 + eighths * step, 10.0)))
        only(answer)
        start, end = errors_s(answer.takes[0], 20.0)
        found.append((start + end) / 2 / step)
    assert np.abs(np.array(found) - [1, 3, 5, 7]).max() < 0.8, found


def test_the_clip_s_own_start_counts() -> None:
    """Sound that begins 0.4375 s after the picture, or 21 ms before it."""
    for start_s in (0.4375, -0.0213):
        answer = placed(sound(run(10.0, 12.0), start_s=start_s))
        only(answer)
        assert worst_s(answer.takes[0], 10.0 - start_s) < EXACT_S
        assert answer.takes[0].clip_start_s == pytest.approx(start_s, abs=1e-6)
        assert answer.takes[0].lags[0][0] > start_s


@pytest.mark.parametrize("over_db", [0.0, 10.0])
def test_noise_over_the_song(over_db: float) -> None:
    answer = placed(sound(noisy(run(23.4567, 30.0), over_db)))
    only(answer)
    fit = answer.takes[0]
    assert worst_s(fit, 23.4567) < min(5 * EXACT_S, fit.uncertainty_s)


def test_a_false_start_and_the_song_again() -> None:
    """Playback for 12 s, 9 s of talk, then from the top; each take with its own place and ends."""
    rng = np.random.default_rng(3)
    words = talk(9.0, RATE, rng).astype(np.float32)
    words *= 0.1 / damage.rms(words)
    clip = np.concatenate([hiss(2.5), run(0.0, 12.0), words[: 9 * RATE], run(0.0, 30.0), hiss(3.0)])
    answer = placed(sound(noisy(clip, -20)))
    assert answer.verdict is PlaceVerdict.PLACED, answer.reason
    first, second = answer.takes
    assert worst_s(first, -2.5) < EXACT_S
    assert worst_s(second, -23.5) < EXACT_S
    ends = [first.clip_start_s, first.clip_end_s, second.clip_start_s, second.clip_end_s]
    # The song begins with 0.3 s of silence, which belongs to the take.
    assert np.abs(np.array(ends) - [2.5, 14.5, 23.5, 53.5]).max() < 0.35, ends


def test_two_passages_in_one_clip_the_later_one_first() -> None:
    clip = np.concatenate([run(40.0, 14.0), hiss(6.0), run(8.0, 14.0)])
    answer = placed(sound(clip))
    assert answer.verdict is PlaceVerdict.PLACED, answer.reason
    assert [round(take.song_start_s) for take in answer.takes] == [40, 8]
    assert worst_s(answer.takes[0], 40.0) < EXACT_S
    assert worst_s(answer.takes[1], 8.0 - 20.0) < EXACT_S


def test_a_pick_up_of_eight_seconds() -> None:
    clip = np.concatenate([hiss(3.2), run(33.3, 8.0), hiss(4.1)])
    answer = placed(sound(noisy(clip, -6)))
    only(answer)
    fit = answer.takes[0]
    assert worst_s(fit, 33.3 - 3.2) < 2 * EXACT_S
    assert [fit.clip_start_s, fit.clip_end_s] == pytest.approx([3.2, 11.2], abs=0.3)


def test_a_start_in_the_middle_and_on_to_the_end() -> None:
    rest = song().seconds - 38.0
    answer = placed(sound(np.concatenate([hiss(4.0), run(38.0, rest + 5.0)])))
    only(answer)
    fit = answer.takes[0]
    assert worst_s(fit, 34.0) < EXACT_S
    assert fit.clip_start_s == pytest.approx(4.0, abs=0.3)
    assert fit.clip_end_s == pytest.approx(4.0 + rest, abs=0.3)


@pytest.mark.parametrize("ppm", [-300, -100, 100, 300])
def test_clocks_that_drift(ppm: int) -> None:
    """Over a minute: speed within 2 ppm, and the take's end as exact as its start."""
    speed = 1 + ppm * 1e-6
    answer = placed(sound(noisy(run(1.5, 60.0, speed), -3)))
    only(answer)
    fit = answer.takes[0]
    assert (fit.speed / speed - 1) * 1e6 == pytest.approx(0, abs=2)
    assert worst_s(fit, 1.5, speed) < 2 * EXACT_S


def refusals() -> dict[str, Callable[[], Samples]]:
    key = SongKey("rock", 1, short=True)
    second = RATE

    def speech() -> Samples:
        return talk(16.0, RATE, np.random.default_rng(5)).astype(np.float32)

    return {
        "a song of the same style, key and tempo": lambda: key.sister().master[: 24 * second],
        "eight seconds of it": lambda: key.sister().master[20 * second : 28 * second],
        "a song of another style": lambda: composed("waltz", 51, True).master[: 16 * second],
        "talk": speech,
        "white noise": lambda: np.random.default_rng(1).standard_normal(12 * second).astype(np.float32) / 9,
        "room tone": lambda: hiss(12.0),
        "a tone": lambda: (np.sin(np.arange(20 * second) * 0.4)).astype(np.float32),
        "a click": lambda: np.eye(1, 10 * second, 4 * second, dtype=np.float32)[0],
    }


@pytest.mark.parametrize("what", refusals())
def test_what_is_not_the_song_is_never_placed(what: str) -> None:
    answer = placed(sound(refusals()[what]()))
    assert answer.verdict is PlaceVerdict.NO_SONG, answer
    assert answer.takes == ()
    assert answer.reason == Reason(ReasonCode.SONG_NOT_FOUND)


@pytest.mark.parametrize("seconds", [0.01, 1.0, 20.0])
def test_silence_is_no_song(seconds: float) -> None:
    answer = placed(sound(np.zeros(int(seconds * RATE), np.float32)))
    assert (answer.verdict, answer.takes) == (PlaceVerdict.NO_SONG, ())


@pytest.mark.parametrize(
    ("into_s", "over_db"), [(0.3671451, -60.0), (1.7589931, -60.0), (1.51327, -30.0), (1.1, 0.0)]
)
@pytest.mark.parametrize("first", [True, False], ids=["first round", "second round"])
def test_inside_a_loop_nobody_can_tell(first: bool, into_s: float, over_db: float) -> None:
    """The song plays one round twice, at 15.48 and at 23.23 s, the same to the sample.

    A method of any kind can but guess, however clean the sound: both places are named, neither is chosen.
    """
    twin = song("loops").twins[0]
    true = into_s + (twin.first_s if first else twin.second_s)
    other = into_s + (twin.second_s if first else twin.first_s)
    answer = placed(sound(noisy(run(true, 5.0, style="loops"), over_db)), "loops")
    assert answer.verdict is PlaceVerdict.DOUBTFUL
    (fit,) = answer.takes
    assert fit.reason is not None
    assert fit.reason.code is ReasonCode.FITS_ELSEWHERE
    places = [fit.song_start_s, *(rival.song_start_s for rival in fit.rivals)]
    for wanted in (true, other):
        assert min(abs(one - fit.clip_start_s - wanted) for one in places) < 0.001, (wanted, places)
    assert all(0.0 <= rival.strength <= 1.0 for rival in fit.rivals)


def test_a_take_that_leaves_the_loop_is_decided() -> None:
    """From inside the second round on into what follows it, which comes once."""
    answer = placed(sound(noisy(run(26.0, 16.0, style="loops"), -20)), "loops")
    only(answer)
    assert worst_s(answer.takes[0], 26.0) < EXACT_S


def test_the_channel_with_the_song_is_taken() -> None:
    other = talk(12.0, RATE, np.random.default_rng(8))[: 12 * RATE].astype(np.float32)
    answer = placed(sound(other, run(12.0, 12.0)))
    only(answer)
    assert answer.channel == 1
    assert worst_s(answer.takes[0], 12.0) < EXACT_S


def test_the_clearer_channel_is_taken() -> None:
    clip = run(12.0, 20.0)
    assert placed(sound(noisy(clip, 12), noisy(clip, -12), noisy(clip, 6))).channel == 1


def test_opposite_polarity_is_the_same_place() -> None:
    answer = placed(sound(-run(12.0, 20.0)))
    only(answer)
    assert worst_s(answer.takes[0], 12.0) < EXACT_S


@pytest.mark.parametrize("gain", [1e-4, 40.0])
def test_loudness_does_not_matter(gain: float) -> None:
    answer = placed(sound(gain * run(12.0, 20.0)))
    only(answer)
    assert worst_s(answer.takes[0], 12.0) < EXACT_S


def test_lags_lie_on_the_line_and_inside_the_take() -> None:
    answer = placed(sound(noisy(run(5.0, 40.0), -3)))
    fit = answer.takes[0]
    times, lags, strengths = np.array(fit.lags).T
    assert np.all(np.diff(times) > 0)
    assert fit.clip_start_s <= times[0] < times[-1] <= fit.clip_end_s
    assert times[-1] - times[0] > 25
    assert np.abs(lags).max() < 0.0002
    assert strengths.min() > 4


@pytest.mark.parametrize("rate", [4000, 11025, 12000, 44100])
def test_any_other_rate_is_refused_with_a_sentence(rate: int) -> None:
    sentence = rf"has a sample rate of {rate} Hz, but placing needs 8000 Hz: resample it\.$"
    with pytest.raises(BadSignal, match=f"^The sound {sentence}"):
        place(Sound(np.ones((1, 100), np.float32), rate, 0.0, ("a",)), index())
    with pytest.raises(BadSignal, match=f"^The song {sentence}"):
        SongIndex.build(song().master, rate)
    with pytest.raises(BadSignal, match=f"^The song {sentence}"):
        fit_nearby(song().master, run(5.0, 9.0), rate, Line(0.0, 5.0, 1.0), (0.0, 9.0))


@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_values_that_are_no_numbers_are_refused(value: float) -> None:
    clip = run(12.0, 10.0)
    clip[500] = value
    with pytest.raises(BadSignal, match="not numbers"):
        placed(sound(run(12.0, 10.0), clip))


def test_an_empty_sound_is_refused() -> None:
    with pytest.raises(BadSignal, match="no sound"):
        placed(sound(np.zeros(0, np.float32)))


@pytest.mark.parametrize("after", [0, 1])
def test_stop_is_obeyed(after: int) -> None:
    asked = 0

    def stop() -> bool:
        nonlocal asked
        asked += 1
        return asked > after

    with pytest.raises(Stopped):
        place(sound(run(0.0, 60.0)), index(), stop=stop)
    assert asked == after + 1


def test_stop_is_obeyed_while_other_speeds_are_tried() -> None:
    """A clip without the song at speed 1 goes on to other speeds: long work that can be stopped too."""
    reports: list[float] = []
    with pytest.raises(Stopped):
        place(
            sound(hiss(20.0)),
            index(),
            stop=lambda: bool(reports) and reports[-1] >= 0.5,
            progress=reports.append,
        )
    assert reports[-1] < 0.8


@pytest.mark.parametrize(("channels", "song_there"), [(1, True), (2, True), (1, False)])
def test_progress_rises_to_one(channels: int, song_there: bool) -> None:
    clip = run(0.0, 20.0) if song_there else hiss(9.0)
    reports: list[float] = []
    place(sound(*[clip] * channels), index(), progress=reports.append)
    assert reports[-1] == pytest.approx(1.0)
    assert reports == sorted(reports)
    assert reports[0] >= 0
    # No bar stands still: what follows the search, half of the work, is told too.
    assert max(np.diff([0.0, *reports])) < 0.45


def _take(seconds: float, strength: float, verdict: PlaceVerdict) -> TakeFit:
    return TakeFit(Line(0.0, 5.0, 1.0), seconds, 0.001, 1e-6, verdict, None, strength, (), ())


def test_a_take_among_many_shaky_ones_is_in_doubt_too_however_loud() -> None:
    """A recording whose speed was changed with its pitch kept fits here and there, once in a while loudly."""
    shaky = _take(30.0, 40.0, PlaceVerdict.DOUBTFUL)
    loud = _take(7.0, 105.0, PlaceVerdict.PLACED)
    answer = clip_answer(doubt_spread([shaky, shaky, loud]), 0)
    assert [take.verdict for take in answer.takes] == [PlaceVerdict.DOUBTFUL] * 3


def test_twins_that_are_surely_the_song_put_no_other_take_in_doubt() -> None:
    twin = _take(30.0, 200.0, PlaceVerdict.DOUBTFUL)
    loud = _take(7.0, 105.0, PlaceVerdict.PLACED)
    answer = clip_answer(doubt_spread([twin, twin, loud]), 0)
    assert answer.verdict is PlaceVerdict.DOUBTFUL
    assert answer.takes[2].verdict is PlaceVerdict.PLACED
