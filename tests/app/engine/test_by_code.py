"""Clips of the slate page: placed where sound tells nothing, held against sound where it does."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from app.engine import place_recording
from app.engine.by_code import by_code, takes_by_code
from app.engine.place_recording import hear
from app.engine.probing import Looked, look
from app.model.answers import Answer
from app.model.document.clip import FileFacts
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict
from app.model.reasons import Reason, sentence
from audio.errors import Stopped
from audio.line import Line
from audio.pictures.code_lines import CodeLine
from audio.pictures.code_reader import FrameRead
from audio.pictures.slate_code import SlateCode
from audio.progress import never
from tests.app.engine.grounds import SONG, on_all, on_song
from tests.audio.engine_songs import RATE, camera_file, song
from tests.audio.pictures.test_code_lines import reads
from tests.quality.slate_camera import Shot, film

DIGEST = "9f3c01aa" + "0" * 56
SAID = SlateCode("9F3C01AA", 40_000, Fraction(1), 1)
LINE = CodeLine(Line(5.0, 43.0, 1.0), Fraction(1), (1.0,), 0.01, 12, 0, 0.04, SAID, 2.0, 8.0)
FILE = Looked(Path("/s/a.mov"), MediaRef("/s/a.mov", 1, "00"), None, "")
ANSWER = Answer(
    FILE.media, FileFacts(60.0), verdict=Verdict.NO_SONG, reason=Reason("words", (("words", "!"),))
)


def heard(path: Path, digest: str) -> Answer:
    heard = hear([look(path)], on_song(digest=digest), stop=never, progress=lambda *_: None)
    (clip,) = heard.songs[SONG].answers
    return clip


def test_a_silent_clip_is_placed_by_its_slate_and_refused_on_another_song(tmp_path: Path) -> None:
    shot = Shot(song_s=12.0, page_s=2.8, after_s=1.5, waits_s=0.4, seed=21)
    film(tmp_path / "a.mp4", shot)
    clip = heard(tmp_path / "a.mp4", DIGEST)
    (take,) = clip.takes
    assert clip.verdict is Verdict.PLACED
    assert sentence(take.reason).startswith("Placed by the code on the slate: ")
    assert take.line.song_time(1.0) == pytest.approx(shot.song_time(1.0), abs=0.02)
    assert take.clip_start_s == pytest.approx(0.4, abs=0.13)
    assert take.clip_end_s == pytest.approx(clip.facts.duration_s)
    other = heard(tmp_path / "a.mp4", "00000000" + DIGEST[8:])
    assert (other.verdict, other.takes, other.reason.code) == (Verdict.NO_SONG, (), "code of another song")
    assert "no sound" in sentence(heard(tmp_path / "a.mp4", "").reason)


def test_a_slate_decides_between_two_songs_that_sound_alike(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rock = song("rock").master
    at = int(30 * RATE)
    masters = {"rock": rock, "half": np.concatenate([rock[:at], song("loops").master[: len(rock) - at]])}
    digests = {"rock": DIGEST, "half": "00000000" + DIGEST[8:]}
    ground = replace(on_all(masters), digests=digests)
    file = look(camera_file(tmp_path / "a.mov", (5.0, 10.0)))
    shown = reads(Fraction(25), Fraction(25), song="00000000", song_s=5.5, length_s=3.0)
    asked: list[bool] = []

    def codes(*_: object, **more: object) -> tuple[FrameRead, ...]:
        asked.append(True)
        return tuple(shown)

    monkeypatch.setattr(place_recording, "codes_seen", codes)
    first = hear([file], ground, stop=never, progress=lambda *_: None)
    # Nothing of it is heard again, and the slate still counts.
    again = hear([file], ground, known=first.alone, stop=never, progress=lambda *_: None)
    for heard in (first, again):
        (answer,), (other,) = heard.songs["half"].answers, heard.songs["rock"].answers
        assert (answer.verdict, other.verdict) == (Verdict.PLACED, Verdict.NO_SONG)
        assert sentence(answer.takes[0].reason) == "Decided by the code on the slate."
    assert len(asked) == 2
    shown = [FrameRead(number / 25, None) for number in range(75)]
    without = hear([file], ground, known=first.alone, stop=never, progress=lambda *_: None)
    assert [one.answers[0].verdict for one in without.songs.values()] == [Verdict.DOUBTFUL] * 2


def test_a_slate_at_the_head_is_of_what_follows_and_one_at_the_end_of_what_was() -> None:
    (take,) = takes_by_code([LINE], 60.0, 100.0)
    assert (take.clip_start_s, take.clip_end_s, take.song_start_s) == (2.0, 60.0, 40.0)
    late = replace(LINE, line=Line(55.0, 90.0, 1.0), first_s=52.0, last_s=58.0)
    (take,) = takes_by_code([late], 60.0, 100.0)
    assert (take.clip_start_s, take.song_start_s) == (0.0, 35.0)
    assert take.clip_end_s == pytest.approx(58.04)


def test_a_take_ends_with_the_song_and_where_the_next_slate_comes() -> None:
    (take,) = takes_by_code([LINE], 60.0, 70.0)
    assert take.clip_end_s == 32.0
    again = replace(LINE, line=Line(45.0, 3.0, 1.0), first_s=42.0, last_s=48.0)
    first, second = takes_by_code([LINE, again], 60.0, 100.0)
    assert (first.clip_end_s, second.clip_start_s, second.song_start_s) == (25.0, 42.0, 0.0)


def test_few_codes_and_an_open_speed_are_doubts() -> None:
    (few,) = takes_by_code([replace(LINE, changes=3)], 60.0, 100.0)
    assert (few.verdict, few.reason.code) == (Verdict.DOUBTFUL, "few codes")
    (open_speed,) = takes_by_code([replace(LINE, speeds=(1.0, 1.001))], 60.0, 100.0)
    assert (open_speed.verdict, open_speed.reason.code) == (Verdict.DOUBTFUL, "code speed")
    assert open_speed.uncertainty_s > 0.05
    (short,) = takes_by_code([replace(LINE, speeds=(1.0, 1.001))], 20.0, 100.0)
    assert short.verdict is Verdict.PLACED


def test_without_codes_the_answer_stays_and_a_still_slate_is_told() -> None:
    file = replace(FILE, info=None)
    assert by_code(ANSWER, file, [FrameRead(0.0, None)], DIGEST, 100.0) is ANSWER
    still = by_code(ANSWER, file, [FrameRead(0.0, SAID)], DIGEST, 100.0)
    assert (still.verdict, still.reason.code) == (Verdict.NO_SONG, "still slate")


def test_searching_for_a_slate_can_be_stopped(tmp_path: Path) -> None:
    film(tmp_path / "a.mp4", Shot(page_s=0.3, waits_s=0.0, after_s=0.0))
    with pytest.raises(Stopped):
        hear(
            [look(tmp_path / "a.mp4")],
            on_song(digest=DIGEST),
            stop=lambda: True,
            progress=lambda *_: None,
        )


def test_a_page_that_was_started_by_hand_is_never_sure() -> None:
    by_hand = replace(LINE, code=replace(SAID, by_hand=True))
    (take,) = takes_by_code([by_hand], 60.0, 100.0)
    (exact,) = takes_by_code([LINE], 60.0, 100.0)
    assert (take.verdict, take.reason.code) == (Verdict.DOUBTFUL, "code by hand")
    assert "by hand" in sentence(take.reason)
    assert take.line == exact.line
    assert take.uncertainty_s == pytest.approx(exact.uncertainty_s - 1 / 60 + 0.3)
    # Screens are late by a refresh more or less than the page counts on.
    assert exact.uncertainty_s > 1 / 60
