"""One clip against several songs: which it is, what is told where nobody can know, and glances."""

from functools import cache

import numpy as np
import pytest

from audio.files.media import Sound
from audio.line import Line
from audio.placement.align import Hearing, place
from audio.placement.answer import Placement, PlaceVerdict
from audio.placement.reason_codes import ReasonCode
from audio.placement.search import SongIndex
from audio.progress import never
from audio.references.composite import Composite
from audio.references.held import LONG_REST_S, Held, held_against
from audio.references.reference import Reference
from audio.references.settled import settled
from audio.references.witnesses import Witness
from tests.audio.engine_songs import RATE, Samples, hiss, noisy, run, song, sound

SAME_S = 30.0
"""``half`` is ``rock`` up to here, and goes on with something else."""


@cache
def masters() -> dict[str, Samples]:
    rock, loops = song("rock").master, song("loops").master
    at = int(SAME_S * RATE)
    return {"rock": rock, "half": np.concatenate([rock[:at], loops[: len(rock) - at]]), "loops": loops}


@cache
def index_of(key: str) -> SongIndex:
    return SongIndex.build(masters()[key], RATE)


@cache
def composite_of(keys: tuple[str, ...]) -> Composite:
    return Composite.of(keys, [index_of(key) for key in keys])


def held(clip: Sound, *keys: str, known: dict[str, Held] | None = None) -> dict[str, Held]:
    return held_against(Hearing(clip), keys, index_of, known or {}, never)


def answers(clip: Sound, *keys: str) -> dict[str, Placement]:
    placements = {key: one.placement for key, one in held(clip, *keys).items()}
    references = [Reference(key, f"{key}.wav") for key in keys]
    return settled(lambda: Hearing(clip), placements, references, composite_of, never)


def clip(*parts: Samples, start_s: float = 0.0) -> Sound:
    return sound(noisy(np.concatenate(parts), -15.0), start_s=start_s)


def test_one_song_alone_gives_what_placing_gives() -> None:
    made = clip(hiss(2.0), run(12.0, 14.0))
    assert held(made, "rock") == {"rock": Held(place(made, index_of("rock")))}


def test_a_camera_that_rolled_through_has_both_songs() -> None:
    made = clip(run(10.0, 20.0), hiss(2.0), run(20.0, 20.0, style="loops"), start_s=0.5)
    found = answers(made, "rock", "loops")
    (one,), (other,) = found["rock"].takes, found["loops"].takes
    assert one.verdict is other.verdict is PlaceVerdict.PLACED
    assert one.line.song_time(0.5) == pytest.approx(10.0, abs=0.001)
    assert other.line.song_time(22.5) == pytest.approx(20.0, abs=0.001)
    assert one.clip_end_s <= other.clip_start_s


def test_where_two_songs_are_the_same_nobody_knows_and_both_say_so() -> None:
    found = answers(clip(run(5.0, 20.0)), "rock", "half")
    for key, other in (("rock", "half"), ("half", "rock")):
        (take,) = found[key].takes
        assert take.verdict is PlaceVerdict.DOUBTFUL
        assert take.reason is not None
        assert (take.reason.code, dict(take.reason.figures)) == (
            ReasonCode.OTHER_SONG_AS_WELL,
            {"song": f"{other}.wav"},
        )
        assert take.line.song_time(0.0) == pytest.approx(5.0, abs=0.001)


def told(clip: Sound, *witnesses: Witness) -> dict[str, Placement]:
    """What the clip is of ``rock`` and ``half``, with witnesses asked."""
    keys = ("rock", "half")
    placements = {key: one.placement for key, one in held(clip, *keys).items()}
    references = [Reference(key, key) for key in keys]
    return settled(
        lambda: Hearing(clip), placements, references, composite_of, never, lambda: list(witnesses)
    )


def seen(song: str, song_s: float) -> Witness:
    """A slate at the head of a clip that says where its beginning lies in a song."""
    return Witness(song, Line(0.0, song_s, 1.0), 1.0, 3.0, 0.15)


def test_a_slate_decides_where_the_sound_cannot() -> None:
    made = clip(run(5.0, 20.0))
    for key, other in (("rock", "half"), ("half", "rock")):
        found = told(made, seen(key, 5.05))
        (take,) = found[key].takes
        assert (take.verdict, found[other].takes) == (PlaceVerdict.PLACED, ())
        assert take.reason is not None
        assert take.reason.code is ReasonCode.CODE_DECIDES
    # A slate that puts it elsewhere in its song, and slates of both, decide nothing.
    for witnesses in ([seen("rock", 17.0)], [seen("rock", 5.0), seen("half", 5.0)]):
        found = told(made, *witnesses)
        assert [take.verdict for one in found.values() for take in one.takes] == [PlaceVerdict.DOUBTFUL] * 2


def test_a_slate_against_what_the_sound_decides_is_a_doubt() -> None:
    made = clip(run(20.0, 25.0))
    assert told(made, seen("rock", 20.0)) == told(made)
    found = told(made, seen("half", 20.0))
    for key, other in (("rock", "half"), ("half", "rock")):
        (take,) = found[key].takes
        assert take.verdict is PlaceVerdict.DOUBTFUL
        assert take.reason is not None
        assert dict(take.reason.figures) == {"song": other}


def test_where_two_songs_part_it_is_the_one_that_goes_on() -> None:
    found = answers(clip(run(20.0, 25.0)), "half", "rock")
    (take,) = found["rock"].takes
    assert take.verdict is PlaceVerdict.PLACED
    assert take.line.song_time(0.0) == pytest.approx(20.0, abs=0.001)
    assert found["half"].takes == ()


def test_what_one_song_explains_spares_the_others_all_but_a_glance() -> None:
    made = clip(run(10.0, 25.0))
    one = held(made, "rock")
    both = held(made, "rock", "loops", known=one)
    assert both["rock"] == one["rock"]
    assert both["loops"].beside == ("rock",)
    assert both["loops"].placement.takes == ()
    # A glance that shows something is followed: the song that is half the same is found.
    assert held(made, "rock", "half", known=one)["half"].placement.takes != ()


def test_no_song_is_none_of_them() -> None:
    found = answers(clip(hiss(9.0, 0.1, seed=5)), "rock", "loops")
    assert [one.verdict for one in found.values()] == [PlaceVerdict.NO_SONG] * 2


def test_a_camera_rolls_on_into_a_song_that_is_played_faster() -> None:
    """Found in the long, loud stretch that the first song leaves; its pitch goes along."""
    made = clip(run(36.0, 12.0), run(4.0, LONG_REST_S + 1.0, 1.25, style="loops"))
    found = held(made, "rock", "loops")
    ((first,), (second,)) = (found[key].placement.takes for key in ("rock", "loops"))
    assert (first.speed, second.speed) == pytest.approx((1.0, 1.25), abs=1e-4)
    assert second.line.song_time(12.0) == pytest.approx(4.0, abs=0.001)
    assert found["loops"].beside == ("rock",)
