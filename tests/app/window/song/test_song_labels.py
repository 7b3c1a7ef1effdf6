"""Labels out of Song and into it."""

from pathlib import Path

import pytest

from app.model.document.song import SongMap
from app.model.song_map.labels import from_labels
from app.window.frame.main_window import MainWindow
from app.window.song.song_place import SongPlace
from tests.app.window.answers import Answers


@pytest.fixture
def song(shoot_window: MainWindow) -> SongPlace:
    shoot_window.go(1)
    shoot_window.song.catch_up()
    return shoot_window.song


def test_a_corrected_map_is_written_and_read_again(song: SongPlace, answers: Answers, tmp_path: Path) -> None:
    before = song.song_cursor.song_map
    answers.labels = tmp_path / "map.txt"
    song.steps.rename(1, "Bridge")
    song.action_table["write labels"].trigger()
    assert song.message == "Exported every beat, bar and section to map.txt."
    assert answers.asked[-1].startswith("labels ")
    written = from_labels(answers.labels.read_text("utf-8"), song.song_cursor.end_s)
    assert written.sections[1].name == "Bridge"
    assert written.bars_s == pytest.approx(before.bars_s, abs=1e-6)

    answers.labels.write_text("0\t10\tA Verse\n1.5\t1\n3.5\t2\n", "utf-8")
    song.action_table["read labels"].trigger()
    song.catch_up()
    assert song.message == "Imported map.txt: the song now has 2 bars and 2 sections."
    assert song.song_cursor.song_map.bars_s == (1.5, 3.5)
    assert song.song_cursor.song_map.levels_db == before.levels_db
    assert song.session.undo_label == "Import Labels"
    song.session.undo()
    assert song.song_cursor.song_map.sections[1].name == "Bridge"


def test_what_is_no_map_and_cannot_be_written_is_told(
    song: SongPlace, answers: Answers, tmp_path: Path
) -> None:
    before = song.song_cursor.song_map
    answers.labels = tmp_path / "map.txt"
    for content, why in (
        (b"\xff\xfe0", "not plain text (UTF-8)"),
        (b"", "holds no labels"),
        (b"9\t5\tA", "Line 1 ends"),
    ):
        answers.labels.write_bytes(content)
        song.action_table["read labels"].trigger()
        assert why in song.message
    answers.labels = tmp_path / "missing.txt"
    song.action_table["read labels"].trigger()
    assert "cannot be read" in song.message
    answers.labels = tmp_path / "nowhere" / "map.txt"
    song.action_table["write labels"].trigger()
    assert "map.txt could not be written" in song.message
    answers.labels = tmp_path / "song.wav"
    song.action_table["write labels"].trigger()
    assert "ends with .txt" in song.message
    assert not answers.labels.exists()
    answers.labels = None
    song.action_table["read labels"].trigger()
    song.action_table["write labels"].trigger()
    assert song.song_cursor.song_map == before


def test_without_a_song_there_is_nothing_to_write(song: SongPlace, shoot_window: MainWindow) -> None:
    shoot_window.session.new()
    song.catch_up()
    assert song.song_cursor.song_map == SongMap()
    assert not song.action_table["write labels"].isEnabled()
    assert not song.action_table["read labels"].isEnabled()
