"""A hostile or broken shoot file is refused in a sentence, or opens and can be worked with.

``TROUBLE=all`` tries every spoilt file, and opens each in the window too.
"""

import json
import os
from pathlib import Path

import pytest
from PySide6.QtCore import QSettings
from pytestqt.qtbot import QtBot

from app.handoff.all import preview
from app.handoff.choices import DEFAULT
from app.handoff.outcome import HandoffError
from app.handoff.report import report_bytes
from app.handoff.report_text import table
from app.model.document import bounds, store
from app.model.document.shoot import Shoot
from app.model.on_song import on_song
from app.window.frame.folders import Folders
from app.window.frame.main_window import MainWindow
from audio.files import plausible
from tests.app.window.answers import Answers
from tests.app.window.made_hand_over import MadeHandOver
from tests.app.window.made_up import MadeUpTasks
from tests.trouble.bad_shoots import extreme, full_shoot, odd, spoilt

ALL = os.environ.get("TROUBLE") == "all"
SHARE = 1 if ALL else 80
"""One spoilt file of so many is tried."""


def load(path: Path) -> Shoot | str:
    """The shoot, or the sentence that refuses it."""
    try:
        return store.load(path, trust=True)
    except store.StoreError as error:
        return str(error)


def test_each_spoilt_value_is_refused_or_can_be_worked_with(tmp_path: Path) -> None:
    path, refused, opened = tmp_path / "spoilt.anglebook", 0, 0
    for number, one in enumerate(spoilt(tmp_path)):
        if number % SHARE:
            continue  # it is made when it is asked for
        path.write_text(one.text(), "utf-8")
        shoot = load(path)
        if isinstance(shoot, str):
            refused += 1
            assert shoot.endswith("."), one.where
            assert len(shoot) < 400, one.where
            continue
        opened += 1
        store.missing(shoot)
        views = [on_song(shoot, song.id) for song in shoot.songs] or [on_song(shoot)]
        report_bytes(*views)
        table(*views)
        store.save(shoot, tmp_path / "again.anglebook")
        try:
            preview(views[0], DEFAULT)
        except HandoffError as error:
            assert str(error).endswith("."), one.where  # noqa: PT017
    assert refused > 5
    assert opened > 5


@pytest.mark.parametrize(
    ("text", "says"),
    [
        pytest.param('{"anglebook_version": 9, "x": ' + "[" * 500 + "]" * 500 + "}", "", id="nested"),
        pytest.param(
            '{"anglebook_version": 5, "x": ' + '{"a":' * 5000 + "1" + "}" * 5000 + "}", "", id="nested more"
        ),
        pytest.param("[" * 200_000, "", id="nested without end"),
        pytest.param('{"anglebook_version": ' + "9" * 4000 + "}", "a long number", id="a long version"),
        pytest.param('{"anglebook_version": 9, "name": NaN}', "NaN", id="no number"),
        pytest.param("\0" * 1000, "damaged or not a shoot", id="zeros"),
        pytest.param("", "damaged or not a shoot", id="empty"),
        pytest.param("{}", "is missing", id="nothing"),
    ],
)
def test_what_is_no_shoot_is_told(text: str, says: str, tmp_path: Path) -> None:
    (tmp_path / "odd.anglebook").write_text(text)
    told = load(tmp_path / "odd.anglebook")
    assert isinstance(told, str)
    assert says in told
    assert told.endswith(".")
    assert len(told) < 400


def test_a_file_of_gigabytes_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "huge.anglebook"
    with path.open("wb") as file:
        file.truncate(5_000_000_000)  # holes take no room
    monkeypatch.setattr(json, "loads", None)
    assert load(path) == "huge.anglebook is not a shoot: it is larger than 64 MB. Open a .anglebook file."


def test_a_pipe_is_no_shoot(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.anglebook")
    assert load(tmp_path / "pipe.anglebook") == "pipe.anglebook could not be read: it is not a plain file."


def test_a_rate_that_was_believed_once_does_not_close_a_shoot(tmp_path: Path) -> None:
    data = json.loads(store.to_text(full_shoot(), tmp_path))
    data["clips"][0]["facts"]["frame_rate"] = "90000"
    (tmp_path / "old.anglebook").write_text(json.dumps(data))
    shoot = load(tmp_path / "old.anglebook")
    assert isinstance(shoot, Shoot)
    assert shoot.clips[0].facts.frame_rate is None


def test_rates_are_believed_alike_in_files_and_shoots() -> None:
    assert bounds.FRAME_RATES == plausible.FRAME_RATES


@pytest.fixture
def window(qtbot: QtBot, tmp_path: Path) -> MainWindow:
    """An empty window on screen."""
    settings = QSettings(str(tmp_path / "settings.ini"), QSettings.Format.IniFormat)
    folders = Folders(tmp_path / "pictures", tmp_path / "unsaved")
    made = MainWindow(MadeUpTasks(), MadeHandOver(), settings, dialogs=Answers(), folders=folders)
    qtbot.addWidget(made)
    made.resize(1280, 800)
    with qtbot.waitExposed(made):
        made.show()
    return made


def test_the_window_lives_with_values_at_every_bound(
    qtbot: QtBot, window: MainWindow, tmp_path: Path
) -> None:
    tried = [*spoilt(tmp_path), *extreme(tmp_path)] if ALL else [odd(tmp_path)]
    texts = [one.text() for one in tried]
    path, opened = tmp_path / "odd.anglebook", 0
    for text in texts:
        path.write_text(text, "utf-8")
        if isinstance(load(path), str):
            continue
        opened += 1
        window.shoot_file.open_path(path)
        for number in range(len(window.places)):
            window.go(number)
            qtbot.wait(1)
        window.session.new()
    assert opened == 1 or ALL
