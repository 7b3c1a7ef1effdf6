"""What pictures tell of a clip on several songs."""

from pathlib import Path

from app.engine.on_songs import of_one_song
from app.model.answers import Answer
from app.model.document.findings import TakePlacement
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict

NAMES = {"s1": "waltz.wav", "s2": "march.wav"}
PATH = Path("/card/a.mov")


def told(verdict: Verdict) -> dict[Path, Answer]:
    take = TakePlacement(0.0, 9.0, 5.0, verdict=verdict)
    return {PATH: Answer(MediaRef(str(PATH), 1, "a"), verdict=verdict, takes=(take,))}


def test_what_light_places_on_one_song_is_of_no_other() -> None:
    seen = {"s1": told(Verdict.DOUBTFUL), "s2": told(Verdict.PLACED)}
    assert of_one_song(seen, NAMES) == {("s2", PATH): seen["s2"][PATH]}


def test_what_is_only_guessed_stays_a_guess_on_each() -> None:
    seen = {"s1": told(Verdict.DOUBTFUL), "s2": told(Verdict.DOUBTFUL)}
    assert of_one_song(seen, NAMES) == {(song, PATH): found[PATH] for song, found in seen.items()}


def test_placed_on_two_it_is_of_neither_for_sure() -> None:
    found = of_one_song({song: told(Verdict.PLACED) for song in NAMES}, NAMES)
    assert [one.verdict for one in found.values()] == [Verdict.DOUBTFUL] * 2
    assert dict(found["s1", PATH].takes[0].reason.figures) == {"song": "march.wav"}
