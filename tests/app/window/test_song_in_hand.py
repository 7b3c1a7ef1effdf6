"""Several songs in one shoot: one is in hand, edits are about it, and the order of songs stays."""

from pathlib import Path

import pytest
from PySide6.QtCore import QObject

from app.model.answers import Answer
from app.model.document.findings import TakePlacement
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.song import Section, Song, SongMap
from app.model.document.store import load, save
from app.model.document.verdict import Verdict
from app.model.edits import deciding, map_edits, shoot_edits
from app.window.session import EVERYTHING, Session


def song(name: str, number: int) -> Song:
    song_map = SongMap(
        tempo_bpm=120.0,
        beats_s=tuple(0.5 * n for n in range(80)),
        bars_s=tuple(2.0 * n for n in range(20)),
        sections=(Section("A", f"{name} verse", 0.0, 40.0, id=f"section-{number}"),),
    )
    return Song(MediaRef(f"/songs/{name}.wav", 1, name), 40.0, song_map, f"song-{number}")


@pytest.fixture
def session(qapp: QObject, tmp_path: Path) -> Session:
    shoot = Shoot("Evening", songs=(song("reel", 1), song("waltz", 2)))
    shoot, _ = shoot_edits.add_clips(shoot, [MediaRef("/cards/fiddle.mov", 1, "x")])
    for number, start in ((1, 4.0), (2, 20.0)):
        take = TakePlacement(0.0, 10.0, start, verdict=Verdict.DOUBTFUL)
        answer = Answer(MediaRef("/cards/fiddle.mov", 1, "x"), verdict=Verdict.DOUBTFUL, takes=(take,))
        shoot, _ = shoot_edits.answer_clip(shoot, answer, song_id=f"song-{number}")
    save(shoot, tmp_path / "evening.anglebook")
    session = Session()
    session.open(tmp_path / "evening.anglebook")
    return session


def in_hand(session: Session) -> str:
    assert session.view.song is not None
    return session.view.song.called


def test_the_song_in_hand_is_what_views_show(session: Session) -> None:
    told = []
    session.changed.connect(lambda change, origin: told.append((change, origin)))
    assert in_hand(session) == "reel"
    assert session.view.clips[0].takes[0].song_start_s == 4.0
    session.take_song("song-2")
    assert in_hand(session) == "waltz"
    assert session.view.clips[0].takes[0].song_start_s == 20.0
    assert told == [(EVERYTHING, "song")]
    assert not session.modified
    assert session.undo_label is None
    with pytest.raises(KeyError):
        session.take_song("song-9")


def test_edits_are_about_the_song_in_hand_and_keep_the_order(session: Session, tmp_path: Path) -> None:
    session.take_song("song-2")
    session.apply("Rename", map_edits.rename(session.shoot, 0, "Slow part"), "test")
    assert [one.map.sections[0].name for one in session.songs] == ["reel verse", "Slow part"]
    assert in_hand(session) == "waltz"
    take = session.view.clips[0].takes[0]
    session.apply("Confirm", deciding.confirm_take(session.shoot, take.id, "2026-01-01T00:00:00Z"), "test")
    assert session.view.clips[0].verdict is Verdict.PLACED
    session.save()
    kept = load(tmp_path / "evening.anglebook")
    assert [one.id for one in kept.songs] == ["song-1", "song-2"]
    assert kept == session.whole
    session.take_song("song-1")
    assert session.view.clips[0].verdict is Verdict.DOUBTFUL
    session.undo()
    session.undo()
    assert [one.map.sections[0].name for one in session.songs] == ["reel verse", "waltz verse"]


def test_what_is_found_out_meanwhile_stays_with_its_song(session: Session) -> None:
    session.take_song("song-2")
    session.apply("Rename", map_edits.rename(session.shoot, 0, "Slow part"), "test")
    answer = Answer(MediaRef("/cards/fiddle.mov", 1, "x"), verdict=Verdict.NO_SONG)
    session.find_out(lambda shoot: shoot_edits.answer_clip(shoot, answer, song_id="song-1"), "work")
    assert session.view.clips[0].verdict is Verdict.DOUBTFUL
    session.undo()
    session.take_song("song-1")
    assert session.view.clips[0].verdict is Verdict.NO_SONG
    assert [one.id for one in session.whole.songs] == ["song-1", "song-2"]


def test_without_its_song_the_first_is_in_hand(session: Session) -> None:
    session.take_song("song-2")
    session.new()
    assert session.view.song is None
    assert session.songs == ()
