"""Nothing of the engine, and no looking at the disk of the clips, happens on the window's thread."""

import threading
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from app.model.document import store
from app.window.clips import moved_media
from app.window.frame.main_window import MainWindow
from app.window.jobs import Tasks
from app.window.work import work
from tests.app.window.made_up import MadeUpTasks

ENGINE = [name for name in vars(Tasks) if not name.startswith("_")]


def test_the_engine_and_the_disk_are_asked_elsewhere(
    qtbot: QtBot, window: MainWindow, tasks: MadeUpTasks, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: dict[str, set[bool]] = {}

    def noted(name: str, function: object) -> object:
        def call(*arguments: object, **more: object) -> object:
            here = threading.current_thread() is threading.main_thread()
            asked.setdefault(name, set()).add(here)
            return function(*arguments, **more)  # type: ignore[operator]

        return call

    for name in ENGINE:
        monkeypatch.setattr(tasks, name, noted(name, getattr(tasks, name)))
    monkeypatch.setattr(work, "media_ref", noted("media_ref", work.media_ref))
    monkeypatch.setattr(moved_media, "missing", noted("missing", store.missing))
    monkeypatch.setattr(moved_media, "find_again", noted("find_again", moved_media.find_again))
    song, card = tmp_path / "song.wav", tmp_path / "card"
    song.write_bytes(b"song")
    card.mkdir()
    for n in range(3):
        (card / f"C000{n}.mov").write_bytes(b"x")
    tasks.files = sorted(card.iterdir())
    for name in tasks.files:
        tasks.answers[str(name)] = next(iter(tasks.answers.values()))
    window.take_in([song])
    qtbot.waitUntil(lambda: window.session.view.song is not None and not window.running.doing)
    window.take_in([card])
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 3 and not window.running.doing)
    late = card / "C0009.mov"
    late.write_bytes(b"x")
    tasks.files.append(late)
    window.watch.start(card)
    window.watch.look_every(5)
    qtbot.waitUntil(lambda: len(window.session.view.clips) == 4 and not window.running.doing)
    window.watch.stop()
    for place in range(6):
        window.go(place)
        qtbot.wait(50)
    monkeypatch.setattr(window.dialogs, "folder", tmp_path)
    window.moved.find()
    qtbot.waitUntil(lambda: not window.running.doing)
    assert {"find_clips", "song_from_file", "place_clips", "trouble", "media_ref", "missing"} <= set(asked)
    assert {name for name, here in asked.items() if True in here} == set()
