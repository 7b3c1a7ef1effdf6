"""Stretches that several songs claim, where no sound has to be heard to say whose they are."""

from collections.abc import Sequence

import numpy as np

from audio.line import Line
from audio.placement.align import Hearing
from audio.placement.answer import PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode
from audio.placement.search import SongIndex
from audio.progress import never
from audio.references.composite import Composite
from audio.references.contests import Court, decided, without_chance
from audio.references.held import left_over
from audio.references.reference import Reference, Told

NAMES = {"s1": "waltz.wav", "s2": "march.wav"}


def take(song: str, start_s: float, end_s: float, strength: float = 80.0, speed: float = 1.0) -> Told:
    """A placed take."""
    line = Line(start_s, 30.0, speed)
    fit = TakeFit(line, end_s, 0.001, 1e-6, PlaceVerdict.PLACED, None, strength, (), ())
    return Told(song, song, fit, fit)


def weak(song: str, start_s: float, end_s: float, strength: float, speed: float = 1.0) -> Told:
    """A take in doubt."""
    one = take(song, start_s, end_s, strength, speed)
    fit = TakeFit(
        one.fit.line, end_s, 0.001, 1e-6, PlaceVerdict.DOUBTFUL, Reason(ReasonCode.FAINT), strength, (), ()
    )
    return Told(song, song, fit, fit)


def judged(takes: Sequence[Told]) -> list[Told]:
    def unheard() -> Hearing:
        raise AssertionError("the recording was heard")

    def unjoined(keys: tuple[str, ...]) -> Composite:
        raise AssertionError("references were joined")

    references = {key: Reference(key, name) for key, name in NAMES.items()}
    return decided(takes, Court(unheard, references, NAMES, unjoined, never))


def stretch(one: Told) -> tuple[str, float, float]:
    return one.song, one.fit.clip_start_s, one.fit.clip_end_s


def test_where_two_songs_meet_the_weaker_one_is_trimmed() -> None:
    found = judged([take("s1", 0.0, 61.0, 200.0), take("s2", 59.5, 90.0, 60.0)])
    assert [stretch(one) for one in found] == [("s1", 0.0, 61.0), ("s2", 61.0, 90.0)]
    assert found[1].fit.song_start_s == found[1].found.song_start_s == 31.5


def test_a_doubt_far_weaker_than_another_song_over_it_goes() -> None:
    strong = take("s1", 0.0, 60.0, 300.0)
    assert judged([strong, weak("s2", 20.0, 28.0, 12.0)]) == [strong]
    assert without_chance([strong, weak("s2", 70.0, 78.0, 8.0)]) == [strong]
    assert len(without_chance([strong, weak("s2", 70.0, 78.0, 25.0)])) == 2


def test_at_different_speeds_a_placed_take_is_believed_beside_weak_doubt_only() -> None:
    placed = take("s1", 0.0, 30.0, 40.0)
    assert judged([placed, weak("s2", 5.0, 25.0, 20.0, speed=1.25)]) == [placed]
    for other in (take("s2", 5.0, 25.0, 40.0, 1.25), weak("s2", 5.0, 25.0, 70.0, 1.25)):
        one, two = judged([placed, other])
        assert (one.fit.verdict, two.fit.verdict) == (PlaceVerdict.DOUBTFUL,) * 2
        assert one.fit.reason == Reason(ReasonCode.OTHER_SONG_AS_WELL, (("song", "march.wav"),))
        assert two.fit.reason == Reason(ReasonCode.OTHER_SONG_AS_WELL, (("song", "waltz.wav"),))


def test_references_are_joined_with_silence_between() -> None:
    rng = np.random.default_rng(1)
    hiss = [rng.standard_normal(8000 * length).astype(np.float32) for length in (20, 30)]
    joined = Composite.of(("a", "b"), [SongIndex.build(one, 8000) for one in hiss])
    assert joined.starts_s == (0.0, 36.0)
    assert [joined.at(at)[0] for at in (5.0, 21.0, 34.0, 50.0, 90.0)] == ["a", "a", "b", "b", "b"]
    assert (joined.length_s("a"), joined.length_s("b")) == (20.0, 30.0)


def test_what_is_left_over_is_worth_a_search() -> None:
    assert left_over([], 0.0, 20.0) == [(0.0, 20.0)]
    assert left_over([(5.0, 18.0)], 0.0, 20.0) == [(0.0, 5.0)]
