"""The engine's reasons and their sentences: none without one, and each word for word."""

import pytest

from app.engine.place_recording import reason_of
from app.model.reasons import NO_REASON, SENTENCES, sentence
from audio.placement.reason_codes import Figure, Reason, ReasonCode

REPEATS = "in the song about as well: the song repeats itself there."
CLIP = "WIDE.MP4"
OTHER = f"It contradicts {CLIP}: by the live sound that both heard, it lies"
CHECK = "in the song. Check both against the picture."


def test_every_code_has_a_sentence() -> None:
    assert {code.value for code in ReasonCode} <= set(SENTENCES)


def test_no_reason_has_no_words() -> None:
    assert reason_of(None) is NO_REASON
    assert sentence(NO_REASON) == ""


@pytest.mark.parametrize(
    ("code", "figures", "words"),
    [
        (ReasonCode.SONG_NOT_FOUND, {}, "Nothing in this clip is the song."),
        (ReasonCode.FITS_ELSEWHERE, {"places": 1}, f"It fits another place {REPEATS}"),
        (ReasonCode.FITS_ELSEWHERE, {"places": 2}, f"It fits 2 other places {REPEATS}"),
        (ReasonCode.FITS_ELSEWHERE, {"places": 10}, f"It fits 10 other places {REPEATS}"),
        (ReasonCode.FITS_ELSEWHERE, {}, f"It fits other places {REPEATS}"),
        (
            ReasonCode.LOUD_ECHO,
            {},
            "An echo is as loud as the song itself: check it against the picture.",
        ),
        (
            ReasonCode.CLOCK_UNCLEAR,
            {},
            "Its clock cannot be made out: check its end against the picture.",
        ),
        (ReasonCode.FAINT, {}, "The song is only faintly there: listen and decide."),
        (
            ReasonCode.LEAP,
            {},
            "The song leaps here without a rest: it may be bits of another recording.",
        ),
        (ReasonCode.MOSTLY_DOUBTFUL, {}, "Most of this clip is in doubt: listen to it."),
        (
            ReasonCode.NEAR_SONG_TEMPO,
            {},
            "It may be the band playing the song again: nearly its tempo, but not its sound.",
        ),
        (
            ReasonCode.UNSTEADY_TEMPO,
            {},
            "It keeps no steady tempo: it may be the band playing the song again.",
        ),
        (ReasonCode.BLURRED, {}, "The player has blurred the song: check it against the picture."),
        (ReasonCode.CORROBORATED, {"clip": CLIP}, f"Decided by another clip of the same moment: {CLIP}."),
        (ReasonCode.CONTRADICTED, {"clip": CLIP, "off_s": 7.746}, f"{OTHER} 7.75 s later {CHECK}"),
        (ReasonCode.CONTRADICTED, {"clip": CLIP, "off_s": -12.5}, f"{OTHER} 12.50 s earlier {CHECK}"),
        (
            ReasonCode.SOME_TAKES,
            {"doubtful": 2, "takes": 3, "reason": "fits elsewhere", "places": 4},
            f"2 of 3 takes: It fits 4 other places {REPEATS}",
        ),
        (
            ReasonCode.SOME_TAKES,
            {"doubtful": 1, "takes": 2, "reason": "contradicted", "clip": CLIP, "off_s": 0.3},
            f"1 of 2 takes: {OTHER} 0.30 s later {CHECK}",
        ),
    ],
)
def test_sentences_word_for_word(code: ReasonCode, figures: dict[str, Figure], words: str) -> None:
    assert sentence(reason_of(Reason(code, tuple(figures.items())))) == words
