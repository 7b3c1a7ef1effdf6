"""Several songs and a playback file on real files: read once, kept by song, told in song time."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from app.engine import place_recording, references, tasks
from app.engine.answer_cache import Kept, as_seen
from app.model.answers import Answer
from app.model.document.identity import media_ref
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.storage.cache import Cache, user_cache
from audio.errors import Unreadable
from tests.audio.engine_songs import camera_file, song, song_file
from tests.audio.media_files import Recipe, make
from tests.quality.songs import WORK_RATE

LEAD_S, SPEED = 3.0, 1.2
"""The playback file: silence, then ``rock`` played faster, pitch along."""


class Room:
    """Two songs, a playback file, three clips; and a count of the files whose sound is read."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv("XDG_CACHE_HOME", str(folder / "cache"))
        self.rock = Song(media_ref(song_file(folder / "rock.wav")), song("rock").seconds, id="song-1")
        media = media_ref(song_file(folder / "loops.wav", "loops"))
        self.loops = Song(media, song("loops").seconds, id="song-2")
        self.paths = [
            camera_file(folder / "rock.mov", (20.0, 9.0)),
            camera_file(folder / "loops.mov", (33.0, 9.0), style="loops"),
            make(folder / "quiet.mov", Recipe(picture_s=1.0)),
        ]
        self.read: list[str] = []
        self.indexed: list[str] = []
        read_sound, index = place_recording.read_sound, references.Shelf.index

        def counted(path: Path, *rest: Any, **more: Any) -> Any:
            self.read.append(path.name)
            return read_sound(path, *rest, **more)

        def looked_up(shelf: references.Shelf, key: str) -> Any:
            self.indexed.append(key)
            return index(shelf, key)

        monkeypatch.setattr(place_recording, "read_sound", counted)
        monkeypatch.setattr(references.Shelf, "index", looked_up)

    def place(self, songs: list[Song], paths: list[Path], **more: Any) -> dict[tuple[str, str], Answer]:
        self.read, self.indexed = [], []
        answers: list[Answer] = []
        tasks.place_clips(songs, paths, answered=answers.append, workers=0, **more)
        return {(one.song_id, Path(one.media.path).name): one for one in answers}


@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Room:
    return Room(tmp_path, monkeypatch)


def test_every_clip_finds_its_song_and_is_read_once(room: Room) -> None:
    both = [room.rock, room.loops]
    found = room.place(both, room.paths)
    assert sorted(room.read) == ["loops.mov", "quiet.mov", "rock.mov"]
    verdicts = {key: one.verdict for key, one in found.items() if one.takes}
    assert verdicts == {("song-1", "rock.mov"): Verdict.PLACED, ("song-2", "loops.mov"): Verdict.PLACED}
    assert len(found) == 6
    (take,) = found["song-1", "rock.mov"].takes
    assert take.line.song_time(0.0) == pytest.approx(20.0, abs=0.0005)
    assert {one.verdict for key, one in found.items() if key[1] == "quiet.mov"} == {Verdict.NO_SONG}
    assert room.place(both, room.paths) == found
    assert (room.read, room.indexed) == ([], [])


def test_a_second_song_is_all_that_is_heard_when_it_comes(room: Room) -> None:
    alone = room.place([room.rock], room.paths[:1])
    both = room.place([room.rock, room.loops], room.paths[:1])
    assert both["song-1", "rock.mov"] == alone["song-1", "rock.mov"]
    assert both["song-2", "rock.mov"].takes == ()
    assert room.indexed != []
    assert set(room.indexed) == {"song-2"}
    # A glance beside another song is no answer by itself: alone, the second song is heard more closely.
    kept = Kept(Path(room.loops.media.path), Cache(user_cache() / "answers")).heard(room.paths[:1])
    assert kept is not None
    assert kept.beside == (as_seen(Path(room.rock.media.path)),)


def playback(folder: Path, room: Room) -> PlaybackFile:
    feed = song("rock").room_feed.astype(np.float64)
    times = np.arange(0, int(song("rock").seconds / SPEED * WORK_RATE)) * SPEED
    wave = np.interp(times, np.arange(len(feed)), feed)
    file = np.concatenate([np.zeros(int(LEAD_S * WORK_RATE)), wave])
    soundfile.write(folder / "faster.wav", file, WORK_RATE, subtype="PCM_24")
    camera = file[20 * WORK_RATE : 32 * WORK_RATE].astype(np.float32)
    make(
        folder / "faster.mov",
        Recipe(tracks=[0.6 * camera], sound_rate=WORK_RATE, picture_s=12.0, key_every=50),
    )
    end_s = LEAD_S + song("rock").seconds / SPEED
    piece = PlaybackPiece(room.rock.id, LEAD_S, end_s, 0.0, SPEED)
    return PlaybackFile("playback-1", media_ref(folder / "faster.wav"), end_s, (piece,), made=True)


def test_what_is_heard_on_a_playback_file_is_told_in_song_time(room: Room, tmp_path: Path) -> None:
    file = playback(tmp_path, room)
    found = room.place([room.rock], [tmp_path / "faster.mov"], playbacks=[file])
    (answer,) = found.values()
    (take,) = answer.takes
    assert (take.verdict, take.playback_id) == (Verdict.PLACED, "playback-1")
    assert take.speed == pytest.approx(SPEED, abs=1e-4)
    assert take.line.song_time(0.0) == pytest.approx((20.0 - LEAD_S) * SPEED, abs=0.0005)
    assert take.uncertainty_s < 0.001


def test_a_playback_file_that_is_gone_is_named(room: Room, tmp_path: Path) -> None:
    file = playback(tmp_path, room)
    (tmp_path / "faster.wav").unlink()
    with pytest.raises(Unreadable, match=r"The playback file faster.wav cannot be read\."):
        room.place([room.rock], room.paths[:1], playbacks=[file])


def test_how_a_playback_file_runs_is_found(room: Room, tmp_path: Path) -> None:
    rock = song("rock").room_feed[: 20 * WORK_RATE]
    wave = np.concatenate([np.zeros(2 * WORK_RATE), song("loops").room_feed, rock])
    soundfile.write(tmp_path / "evening.wav", wave, WORK_RATE, subtype="PCM_24")
    made = tasks.playback_from_file([room.rock, room.loops], tmp_path / "evening.wav")
    first, second = made.pieces
    assert (first.song_id, second.song_id) == ("song-2", "song-1")
    assert first.line.song_time(2.0) == pytest.approx(0.0, abs=0.0005)
    assert second.line.song_time(2.0 + song("loops").seconds) == pytest.approx(0.0, abs=0.0005)
