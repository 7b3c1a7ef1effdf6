"""The engine's reasons and their sentences: none without one, and each word for word."""

import pytest

from app.engine.file_part import reason_of
from app.model.reasons import NO_REASON, SENTENCES, sentence
from app.model.reasons import Reason as Said
from audio.placement.reason_codes import Figure, Reason, ReasonCode

REPEATS = "The song repeats itself:"
CLIP = "WIDE.MP4"
OTHER = f"This contradicts {CLIP}: by the live sound that both recorded, it belongs"
CHECK = "in the song. Check both against the picture."


def test_every_code_has_a_sentence() -> None:
    assert {code.value for code in ReasonCode} <= set(SENTENCES)


def test_no_reason_has_no_words() -> None:
    assert reason_of(None) is NO_REASON
    assert sentence(NO_REASON) == ""


@pytest.mark.parametrize(
    ("code", "figures", "words"),
    [
        (ReasonCode.SONG_NOT_FOUND, {}, "Song not found in this clip."),
        (ReasonCode.FITS_ELSEWHERE, {"places": 1}, f"{REPEATS} another place fits just as well."),
        (ReasonCode.FITS_ELSEWHERE, {"places": 2}, f"{REPEATS} 2 other places fit just as well."),
        (ReasonCode.FITS_ELSEWHERE, {"places": 10}, f"{REPEATS} 10 other places fit just as well."),
        (ReasonCode.FITS_ELSEWHERE, {}, f"{REPEATS} other places fit just as well."),
        (
            ReasonCode.LOUD_ECHO,
            {},
            "An echo is as loud as the direct sound. Check it against the picture.",
        ),
        (
            ReasonCode.CLOCK_UNCLEAR,
            {},
            "The speed of its clock is unclear. Check the end against the picture.",
        ),
        (ReasonCode.FAINT, {}, "The song is only faintly audible. Listen and decide."),
        (
            ReasonCode.LEAP,
            {},
            "The song jumps here without a pause. It may be parts of another recording.",
        ),
        (ReasonCode.MOSTLY_DOUBTFUL, {}, "Most of this clip is in doubt. Listen to it."),
        (
            ReasonCode.NEAR_SONG_TEMPO,
            {},
            "This may be the band playing the song again: nearly the same tempo, but not the same sound.",
        ),
        (
            ReasonCode.UNSTEADY_TEMPO,
            {},
            "The tempo is not steady. This may be the band playing the song again.",
        ),
        (
            ReasonCode.PERHAPS_STRETCHED,
            {"speed": 0.97},
            "This may be the song at 97.0 % of its speed with its pitch kept. "
            "Add the file that you played under Playback Files in Plan to place it exactly.",
        ),
        (
            ReasonCode.BY_TIMECODE,
            {"frames": 240.0},
            "Placed by the playback's timecode in its sound: 240 frames of it.",
        ),
        (ReasonCode.TIMECODE_AGREES, {"off_s": 0.001}, "The playback's timecode agrees."),
        (ReasonCode.TIMECODE_DECIDES, {"off_s": 0.001}, "Decided by the playback's timecode."),
        (
            ReasonCode.TIMECODE_CONTRADICTS,
            {"off_s": -18.0},
            "The playback's timecode puts this 18.00 s earlier in the song than its sound does. "
            "Check it against the picture.",
        ),
        (
            ReasonCode.TIMECODE_CONTRADICTS,
            {"song": "Waltz"},
            "The playback's timecode in its sound is that of Waltz. Listen and decide.",
        ),
        (ReasonCode.BLURRED, {}, "The playback blurred the song. Check it against the picture."),
        (ReasonCode.CORROBORATED, {"clip": CLIP}, f"Decided by another clip of the same moment: {CLIP}."),
        (ReasonCode.CODE_AGREES, {"off_s": -0.02}, "The code on the slate agrees."),
        (ReasonCode.CODE_DECIDES, {"off_s": 0.01}, "Decided by the code on the slate."),
        (
            ReasonCode.CODE_CONTRADICTS,
            {"off_s": -12.5},
            "The code on the slate puts this 12.50 s earlier in the song than its sound does. "
            "Check it against the picture.",
        ),
        (ReasonCode.CONTRADICTED, {"clip": CLIP, "off_s": 7.746}, f"{OTHER} 7.75 s later {CHECK}"),
        (ReasonCode.CONTRADICTED, {"clip": CLIP, "off_s": -12.5}, f"{OTHER} 12.50 s earlier {CHECK}"),
        (
            ReasonCode.SOME_TAKES,
            {"doubtful": 2, "takes": 3, "reason": "fits elsewhere", "places": 4},
            f"2 of 3 takes: {REPEATS} 4 other places fit just as well.",
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


@pytest.mark.parametrize(
    ("code", "figures", "words"),
    [
        ("by code", {"codes": 12.0, "speed": "1/5"}, "Placed by the code on the slate: 12 codes agree."),
        (
            "code speed",
            {"codes": 9.0, "off_s": 0.246},
            "By the code on the slate. Its speed is unclear: the take may be off by 0.25 s. "
            "Check its end against the picture.",
        ),
        ("code of another song", {}, "The code on the slate is that of another song file."),
        ("by light", {"events": 6.0}, "Placed by its light: 6 changes of light come as in other clips."),
        (
            "by motion",
            {},
            "It has no usable sound. Its motion fits the listed places best. Check them against the picture.",
        ),
    ],
)
def test_what_pictures_say(code: str, figures: dict[str, Figure], words: str) -> None:
    assert sentence(Said(code, tuple(figures.items()))) == words
