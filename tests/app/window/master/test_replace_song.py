"""Replacing the song by its next master, with keys, clicks and a drop: shown, corrected, checked, undone."""

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from app.model.document.masters import MasterPiece
from app.model.edits import shoot_edits
from app.model.on_song import on_song
from app.model.renewing.carried_reasons import HERE, NOT_HEARD
from app.window.clips.clips_model import WHY
from app.window.frame.main_window import MainWindow
from app.window.master.master_window import NOTHING_FOUND, MasterWindow
from app.window.master.two_waves import TwoWaves
from app.window.parts.theme import Theme
from audio.errors import Unreadable
from tests.app.window.answers import Answers
from tests.app.window.made_up import MadeUpTasks
from tests.app.window.parts.test_names import check

NEW = Path("/shoot/harbour-waltz mix 2.wav")
CUT = (48.5, 72.5)
"""Of the old master (s): bars 25 to 36."""
PIECES = (MasterPiece(0.0, CUT[0], 4.0), MasterPiece(CUT[1], 128.5, 4.0 + CUT[0]))


@pytest.fixture
def there(shoot_window: MainWindow, tasks: MadeUpTasks) -> MainWindow:
    """The made-up shoot, and an engine that hears its takes where the new master has them."""
    tasks.digests[NEW.name] = "mix 2"
    tasks.pieces = PIECES
    for path, clip in tasks.answers.items():
        takes = []
        for take in clip.takes:
            for piece in PIECES:
                low, high = max(take.song_start_s, piece.old_start_s), min(take.song_end_s, piece.old_end_s)
                if high - low > 0.5:
                    takes.append(
                        replace(
                            take,
                            clip_start_s=take.clip_time(low),
                            clip_end_s=take.clip_time(high),
                            song_start_s=piece.line.song_time(low),
                        )
                    )
        tasks.answers[path] = replace(clip, takes=tuple(takes))
    return shoot_window


def opened(window: MainWindow, qtbot: QtBot) -> MasterWindow:
    qtbot.waitUntil(lambda: window.replacing.window is not None and window.replacing.ready)
    page = window.replacing.window
    assert page is not None
    return page


def texts(page: MasterWindow) -> str:
    return "\n".join(page.changes.item(n).text() for n in range(page.changes.count()))


def test_the_next_master_from_the_menu_to_undo(
    there: MainWindow, qtbot: QtBot, answers: Answers, tasks: MadeUpTasks
) -> None:
    window, session = there, there.session
    before = session.shoot
    answers.song = NEW
    window.action_table["replace song"].trigger()
    assert answers.asked[-1] == "Choose the new master"
    page = opened(window, qtbot)
    check(page)
    assert [one.fate.value for one in page.told] == ["added", "moved", "cut", "moved", "added"]
    assert "2 pieces live on, 1 cut, 2 added" in page._summary.text()
    told = texts(page)
    assert "! Takes" in told
    assert "C0002.mov: shortened" in told
    assert "split into 2" in told
    assert session.shoot is before, "nothing changes as long as it is only looked at"

    # Choosing in the drawing chooses in the list, and the other way round.
    page.list.setCurrentRow(1)
    page.waves.setFocus()
    QTest.keyClick(page.waves, Qt.Key.Key_Right)
    QTest.keyClick(page.waves, Qt.Key.Key_Right)
    assert (page.list.currentRow(), page.number) == (3, 1)
    qtbot.waitUntil(lambda: page.proof.text() == "! This piece lies 4.0 ms late: so it is at 5 of 5 moments.")
    assert tasks.proved[-1][0].song == NEW

    nudged(page, qtbot, window)
    page.close()
    qtbot.waitUntil(lambda: window.replacing.window is None)
    assert session.shoot is before

    # Dropped, it is asked what it is.
    answers.one = 1
    window.work._take_sound(NEW)
    assert answers.offered[1].startswith("It is a new master")
    page = opened(window, qtbot)
    assert page.action_table is not None
    page.action_table["replace"].trigger()
    qtbot.waitUntil(lambda: window.replacing.window is None)
    assert session.undo_label == "Replace the Song"
    qtbot.waitUntil(lambda: not window.work.waiting and not window.jobs.busy("place"))
    codes = [take.reason.code for clip in session.view.clips for take in clip.takes]
    # The one in doubt before is what the sound makes of it; all others agree.
    assert codes.count(HERE) == len(codes) - 1
    assert f"{len(codes) - 1} takes carried over" in window.notice.text
    window.clips.catch_up()
    assert any("Carried over and heard here." in text for text in window.clips.model.texts(WHY))
    session.undo()
    assert session.shoot == before, "one step brings everything back"
    session.redo()
    assert [t.reason.code for c in session.view.clips for t in c.takes] == codes

    window.action_table["earlier masters"].trigger()
    later = window.earlier.window
    assert later is not None
    check(later)
    assert "Sections" in texts(later)
    assert later.action_table is None
    later.close()
    qtbot.waitUntil(lambda: window.earlier.window is None)


def nudged(page: MasterWindow, qtbot: QtBot, window: MainWindow) -> None:
    """A piece moved by keys and by typing, wrong words, snapped, removed, added, and as it was found."""
    table = page.action_table
    assert table is not None
    start_s = page.pieces[1].new_start_s
    table["10 ms later"].trigger()
    assert page.pieces[1].new_start_s == pytest.approx(start_s + 0.010)
    assert not window.replacing.ready, "what it comes to is not worked out yet"
    qtbot.waitUntil(lambda: window.replacing.ready)
    type_into(page, 2, "0:53.5")
    assert page.pieces[1].new_start_s == pytest.approx(53.5)
    type_into(page, 3, "fast")
    assert "“fast” is not a speed" in page.said.text()
    type_into(page, 3, "9")
    assert "between 0.25 and 4" in page.said.text()
    type_into(page, 2, "20")
    assert "lie over another one" in page.said.text()
    assert page.pieces[1].new_start_s == pytest.approx(53.5)
    table["remove"].trigger()
    assert len(page.pieces) == 1
    table["as found"].trigger()
    assert page.pieces == PIECES
    assert not page.said.text()
    assert not table["as found"].isEnabled()


def type_into(page: MasterWindow, number: int, text: str) -> None:
    field = page.fields.fields[number]
    field.setText(text)
    field.editingFinished.emit()


def test_another_song_the_same_file_and_trouble(
    there: MainWindow, qtbot: QtBot, answers: Answers, tasks: MadeUpTasks
) -> None:
    window = there
    window.replacing.begin(Path("/shoot/harbour-waltz.wav"))
    qtbot.waitUntil(lambda: "is the song that is here already" in window.notice.text)
    tasks.song_error = Unreadable("The file is cut off.")
    window.replacing.begin(NEW)
    qtbot.waitUntil(lambda: "could not be compared with the song. The file is cut off." in window.notice.text)
    tasks.song_error, tasks.pieces = None, ()
    # It is chosen as the song, and the person says what it is.
    answers.song, answers.one = NEW, 0
    window.action_table["song"].trigger()
    assert answers.offered[0].startswith("A new master of harbour-waltz")
    qtbot.waitUntil(lambda: window.replacing.window is not None)
    page = window.replacing.window
    assert page is not None
    assert page._summary.text() == NOTHING_FOUND
    assert not window.replacing.ready
    # Who knows better says where it runs.
    answers.texts = ["0", "1:00", "0:04"]
    assert page.action_table is not None
    page.action_table["add"].trigger()
    assert page.pieces == (MasterPiece(0.0, 60.0, 4.0),)
    qtbot.waitUntil(lambda: window.replacing.ready)
    # What is done to the shoot meanwhile goes along; another song closes the page.
    result = shoot_edits.set_name(window.session.shoot, "evening")
    window.session.apply("Name", result, "test")
    assert not window.replacing.ready
    qtbot.waitUntil(lambda: window.replacing.ready)
    page.action_table["replace"].trigger()
    qtbot.waitUntil(lambda: not window.work.waiting and not window.jobs.busy("place"))
    codes = [take.reason.code for clip in window.session.view.clips for take in clip.takes]
    assert NOT_HEARD not in codes
    assert window.session.shoot.name == "evening"
    assert on_song(window.session.shoot).masters[0].pieces[0].new_start_s == 4.0


def test_what_became_of_what_is_drawn_and_clicked(qtbot: QtBot, theme: Theme) -> None:
    """Without sound to draw, too; what is narrow lies over what is wide."""
    page = MasterWindow(theme, ("a.wav", "b.wav"), (128.5, 120.0), ((), ()), None)
    qtbot.addWidget(page)
    page.resize(900, 600)
    page.show_pieces((*PIECES[:1], MasterPiece(20.0, 24.0, 60.0, again=True)))
    with qtbot.waitExposed(page):
        page.show()
    waves: TwoWaves = page.waves
    clicked: list[int] = []
    waves.chosen.connect(clicked.append)
    at = waves._shape(page.told[1]).boundingRect().center().toPoint()
    QTest.mouseClick(waves, Qt.MouseButton.LeftButton, pos=at)
    assert clicked
    assert page.told[page.list.currentRow()].old_s is not None
    image: QImage = waves.grab().toImage()
    colours = {image.pixel(x, image.height() // 2) for x in range(0, image.width(), 3)}
    assert len(colours) > 3
    page.close()
