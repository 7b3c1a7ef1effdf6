"""A playback file's timecode in a clip's sound: made by the kit, recorded beside the room, and placed by."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from app.engine import tasks
from app.engine.kit_making import make_files
from app.model.answers import Answer
from app.model.document.identity import media_ref
from app.model.document.playback_file import PlaybackFile
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.kit.planned import RATE, planned
from app.model.kit.wish import Wish
from app.model.reasons import sentence
from app.model.storage.guard import Guard
from audio.files.media import read_played
from audio.kit.ltc_sound import ltc_sound
from audio.kit.ltc_words import Label
from tests.audio.engine_songs import song, song_file
from tests.quality import damage
from tests.quality.songs import ENGINE_RATE, to_rate

LENGTH_S, FROM_S = 8, 20.0
"""Each clip holds so much of the file, from there on."""
ELSEWHERE_S = 38.0


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Song, PlaybackFile, NDArray[np.float64]]:
    """A song, a playback file of it with timecode, and that file's samples, shape (n, 2)."""
    folder = tmp_path_factory.mktemp("kit")
    rock = Song(media_ref(song_file(folder / "rock.wav")), song().seconds, id="song-1")
    plan = planned(Wish(count_in_bars=0, timecode=True, frame_rate=Fraction(24000, 1001)), rock)
    path = folder / "play.wav"
    (one,) = make_files(rock, [(plan, path)], Guard())
    return rock, replace(one.playback, id="playback-1"), soundfile.read(path)[0]


def test_the_reference_is_the_music_without_the_timecode(
    made: tuple[Song, PlaybackFile, NDArray[np.float64]],
) -> None:
    _, playback, sound = made
    heard = read_played(Path(playback.media.path), ENGINE_RATE)
    music = to_rate(sound[:, 0], RATE, ENGINE_RATE)[: len(heard)]
    assert np.corrcoef(heard[: len(music)], music)[0, 1] > 0.99


def _part(sound: NDArray[np.float64], from_s: float) -> NDArray[np.float64]:
    return sound[round(from_s * RATE) :][: LENGTH_S * RATE]


def test_timecode_places_and_is_held_against_sound(
    made: tuple[Song, PlaybackFile, NDArray[np.float64]], tmp_path: Path
) -> None:
    rock, playback, sound = made
    room = 0.02 * damage.pink(LENGTH_S * RATE, np.random.default_rng(4))
    code, heard, other = (
        _part(sound[:, 1], FROM_S),
        0.3 * _part(sound[:, 0], FROM_S),
        0.3 * _part(sound[:, 0], ELSEWHERE_S),
    )
    assert playback.timecode is not None
    # The same labels, as a clock of the day sends them: without the file's number.
    labels = [Label(1, 0, 19 + number // 24, number % 24) for number in range(24 * LENGTH_S)]
    of_day = ltc_sound(labels, playback.timecode.frame_rate, rate=RATE, length=LENGTH_S * RATE)
    clips = {
        "room": (room, code),
        "music": (room + heard, code),
        "elsewhere": (room + other, code),
        "no microphone": (0 * room, code),
        "only": (code, code),
        "of day": (room, of_day),
        "none": (room + heard, room[::-1]),
    }
    for name, channels in clips.items():
        soundfile.write(tmp_path / f"{name}.wav", np.stack(channels, axis=1), RATE, subtype="PCM_24")
    answers: list[Answer] = []
    paths = [tmp_path / f"{name}.wav" for name in clips]
    tasks.place_clips([rock], paths, playbacks=[playback], answered=answers.append, workers=0)
    found = {Path(one.media.path).stem: one for one in answers}
    due_s = playback.pieces[0].line.song_time(FROM_S)

    for name in ("room", "no microphone", "only"):
        (take,) = found[name].takes
        assert take.verdict is Verdict.PLACED
        assert take.line.song_time(0.0) == pytest.approx(due_s, abs=0.001)
        assert take.clip_end_s - take.clip_start_s > LENGTH_S - 0.2
        assert "timecode" in sentence(take.reason)
    (take,) = found["music"].takes
    assert take.verdict is Verdict.PLACED
    assert take.line.song_time(0.0) == pytest.approx(due_s, abs=0.0001)
    assert sentence(take.reason) == "The playback's timecode agrees."
    (take,) = found["elsewhere"].takes
    assert take.verdict is Verdict.DOUBTFUL
    assert "18.00 s earlier" in sentence(take.reason)
    assert any(abs(rival.song_start_s - due_s) < 0.2 for rival in take.rivals)
    assert found["of day"].verdict is Verdict.NO_SONG
    (take,) = found["none"].takes
    assert (take.verdict, sentence(take.reason)) == (Verdict.PLACED, "")
