"""Plan, driven as a person drives it: clicks and keys on the grid, set-ups, lyrics, what is missing."""

import threading
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QContextMenuEvent
from PySide6.QtWidgets import QApplication, QLabel, QMenu
from pytestqt.qtbot import QtBot

from app.handoff.sheets.contents import Kind, sheet_of
from app.handoff.sheets.jpeg_picture import PICTURE_HEIGHT, jpeg_picture
from app.handoff.sheets.sheet import Paper, Picture
from app.handoff.sheets.writing import sheet_bytes
from app.model.document.plan import Passage
from app.model.edits import shoot_edits
from app.model.edits.shoot_edits import set_map
from app.model.on_song import Clip
from app.window.jobs import Jobs
from app.window.parts.theme import Scheme, Theme
from app.window.plan.lyrics_window import LyricsWindow, lyrics_text
from app.window.plan.plan_place import PlanPlace
from app.window.plan.sheet_saver import SLOT
from app.window.session import Session
from tests.app.window.answers import Answers
from tests.app.window.made_up import MadeUpTasks, bar_s, make_song
from tests.app.window.plan.made_plan import plan_place


def needs(session: Session) -> list[tuple[Passage, str, int, int]]:
    return [(one.passage, one.subject, one.least_bars, one.least_angles) for one in session.shoot.plan.needs]


def key(qtbot: QtBot, place: PlanPlace, name: Qt.Key, held: Qt.KeyboardModifier | None = None) -> None:
    place.grid.setFocus()
    qtbot.keyClick(place.grid, name, held or Qt.KeyboardModifier.NoModifier)
    place.catch_up()


def section(session: Session, row: int) -> str:
    song = session.view.song
    assert song is not None
    return song.map.sections[row - 1].id


def test_an_empty_cell_is_filled_by_a_click_and_emptied_by_a_key(
    qtbot: QtBot, place: PlanPlace, session: Session
) -> None:
    column = place.grid.subjects.index("Singer")
    at = place.grid.visualItemRect(place.grid.item(2, column)).center()
    qtbot.mouseClick(place.grid.viewport(), Qt.MouseButton.LeftButton, pos=at)
    place.catch_up()
    assert needs(session) == [(Passage(section_id=section(session, 2)), "Singer", 0, 1)]
    assert place.grid.item(2, column).text().split()[1] in ("met", "partly", "missing")
    # A second click chooses it and changes nothing; Delete takes it back; so does undo of that.
    qtbot.mouseClick(place.grid.viewport(), Qt.MouseButton.LeftButton, pos=at)
    place.catch_up()
    assert len(needs(session)) == 1
    key(qtbot, place, Qt.Key.Key_Delete)
    assert needs(session) == []
    session.undo()
    assert len(needs(session)) == 1


def test_columns_stay_where_they_are(qtbot: QtBot, place: PlanPlace, session: Session) -> None:
    columns = place.grid.subjects
    for subject in (columns[-1], columns[3]):
        place.grid.scrollTo(place.grid.model().index(2, columns.index(subject)))
        at = place.grid.visualItemRect(place.grid.item(2, columns.index(subject))).center()
        qtbot.mouseClick(place.grid.viewport(), Qt.MouseButton.LeftButton, pos=at)
        place.catch_up()
        assert place.grid.subjects == columns
    assert [subject for _, subject, _, _ in needs(session)] == [columns[-1], columns[3]]


def test_a_need_is_made_by_keys_alone(
    qtbot: QtBot, place: PlanPlace, session: Session, answers: Answers
) -> None:
    answers.text = " horn  section "
    key(qtbot, place, Qt.Key.Key_S)
    assert place.grid.subject == "horn section"
    key(qtbot, place, Qt.Key.Key_Down)
    key(qtbot, place, Qt.Key.Key_Return)
    key(qtbot, place, Qt.Key.Key_2)
    answers.text = "4"
    key(qtbot, place, Qt.Key.Key_B)
    assert needs(session) == [(Passage(section_id=section(session, 1)), "horn section", 4, 2)]
    assert place.grid.item(1, place.grid.currentColumn()).text() == "○ missing\n2 angles, 4 bars"
    answers.text = "the smile"
    key(qtbot, place, Qt.Key.Key_N)
    assert session.shoot.plan.needs[0].note == "the smile"
    answers.text = "four"
    key(qtbot, place, Qt.Key.Key_B)
    assert answers.asked[-1] == "In at least how many bars? (0: all)"
    assert "whole number" in place.message
    assert place.text.startswith("0 of 1 need covered")


def test_a_family_of_sections_is_asked_for_at_once(qtbot: QtBot, place: PlanPlace, session: Session) -> None:
    song = session.view.song
    assert song is not None
    sections = tuple(
        replace(one, family="R" if one.name == "Chorus" else one.letter) for one in song.map.sections
    )
    session.apply("families", set_map(session.shoot, replace(song.map, sections=sections)), "test")
    place.catch_up()
    row = next(n for n, one in enumerate(place.grid.rows) if one.title.endswith("Chorus"))
    place.grid.choose(row, "Singer")
    key(qtbot, place, Qt.Key.Key_Return, Qt.KeyboardModifier.ShiftModifier)
    assert needs(session) == [(Passage(family="R"), "Singer", 0, 1)]
    column = place.grid.currentColumn()
    shown = [n for n in range(len(place.grid.rows)) if place.grid.item(n, column).text()]
    assert shown == [n for n, one in enumerate(place.grid.rows) if one.title.endswith("Chorus")]
    key(qtbot, place, Qt.Key.Key_Delete)
    assert needs(session) == []
    assert "all sections" in place.message
    assert place.message.endswith("sound alike: C, E, G.")


def test_what_one_section_had_is_not_said_of_others(place: PlanPlace, session: Session) -> None:
    song = session.view.song
    assert song is not None
    sections = tuple(replace(one, family=one.letter) for one in song.map.sections)
    session.apply("families", set_map(session.shoot, replace(song.map, sections=sections)), "test")
    place.steps.ask_for(Passage(family="C"), "Singer")
    place.steps.take_back(session.shoot.plan.needs)
    assert place.message == ""
    place.catch_up()
    place.grid.choose(0, "Singer")
    family = place.action_table["family"]
    assert not family.isEnabled()
    assert family.toolTip().startswith("Select a section that others sound like.")


def test_a_passage_is_heard_by_key_and_by_a_click_on_its_name(
    qtbot: QtBot, place: PlanPlace, session: Session
) -> None:
    place.grid.choose(3, "Singer")
    assert place.toggle_own()
    assert (place.player.playing, place.player.song_s) == (True, bar_s(17))
    assert not place.toggle_own(), "the player pauses it"
    place.player.pause()
    header = place.grid.verticalHeader()
    at = QPoint(5, header.sectionViewportPosition(2) + 5)
    qtbot.mouseClick(header.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert (place.player.playing, place.player.song_s) == (True, bar_s(9))
    assert session.shoot.plan.needs == ()
    place.player.pause()
    place.grid.choose(0, "Singer")
    key(qtbot, place, Qt.Key.Key_H)
    assert place.player.song_s == 0.0
    place.player.pause()
    place.steps.add_set_up("Crane", Passage(first_bar=20, last_bar=22), ())
    place.catch_up()
    place.set_ups.setCurrentCell(0, 1)
    place.set_ups.setFocus()
    place.hear()
    assert place.player.song_s == bar_s(20)
    place.player.close()


def test_a_cell_has_a_menu_of_what_can_be_done_there(
    qtbot: QtBot, place: PlanPlace, session: Session
) -> None:
    item = place.grid.item(2, 1)
    at = place.grid.visualItemRect(item).center()
    event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, at, place.grid.viewport().mapToGlobal(at))
    QApplication.sendEvent(place.grid.viewport(), event)
    assert (place.grid.currentRow(), place.grid.currentColumn()) == (2, 1)
    (menu,) = place.findChildren(QMenu)
    names = [action.text() for action in menu.actions()]
    assert {"Must Be Seen Here", "Minimum Bars…", "At Least 2 Angles", "Note…", "Remove"} <= {*names}
    menu.close()
    assert session.shoot.plan.needs == (), "to open it adds nothing"


def test_a_set_up_says_which_passage_it_is_for(place: PlanPlace, session: Session, answers: Answers) -> None:
    place.grid.choose(3, "Singer")
    assert place.action_table["set-up"].text() == "Add Set-up for C…"
    answers.texts = ["Slider", "singer; hands", " stage left "]
    place.add_set_up()
    assert answers.asked[-1].startswith("A set-up for C Chorus, bars 17–24")
    assert [label for label, _ in answers.fields] == [
        "&Angle",
        "&Shows",
        "&Place of the camera, or another note",
    ]
    (made,) = session.shoot.plan.set_ups
    assert (made.angle, made.subjects, made.note) == ("Slider", ("singer", "hands"), "stage left")


def test_bars_can_be_asked_for(qtbot: QtBot, place: PlanPlace, session: Session, answers: Answers) -> None:
    place.grid.choose(0, "Singer")
    for text, said in (
        ("12-", "Type bars"),
        ("0-3", "Type bars"),
        ("9-8", "Type bars"),
        ("60-65", "1 to 64"),
    ):
        answers.text = text
        key(qtbot, place, Qt.Key.Key_B, Qt.KeyboardModifier.ShiftModifier)
        assert said in place.message
    answers.text = "12–20"
    key(qtbot, place, Qt.Key.Key_B, Qt.KeyboardModifier.ShiftModifier)
    assert needs(session) == [(Passage(first_bar=12, last_bar=20), "Singer", 0, 1)]
    assert place.grid.rows[-1].title == "Bars 12–20"


def test_a_plan_starts_from_the_song_and_says_when_there_is_nothing_to_add(
    qtbot: QtBot, place: PlanPlace, session: Session
) -> None:
    key(qtbot, place, Qt.Key.Key_O, Qt.KeyboardModifier.ShiftModifier)
    assert len(needs(session)) == 16
    key(qtbot, place, Qt.Key.Key_O, Qt.KeyboardModifier.ShiftModifier)
    assert "already has these needs" in place.message


def test_set_ups_are_planned_moved_typed_and_removed(
    qtbot: QtBot, place: PlanPlace, session: Session, answers: Answers
) -> None:
    place.grid.choose(3, "Singer")
    for name in ("Singer close", "Crane"):
        answers.text = name
        key(qtbot, place, Qt.Key.Key_U)
    assert [(one.angle, one.subjects) for one in session.shoot.plan.set_ups] == [
        ("Singer close", ("Singer",)),
        ("Crane", ("Singer",)),
    ]
    place.set_ups.setCurrentCell(0, 1)
    place.set_ups.setFocus()
    place.action_table["down"].trigger()
    place.catch_up()
    assert [one.angle for one in session.shoot.plan.set_ups] == ["Crane", "Singer close"]
    assert place.set_ups.currentRow() == 1, "the moved one stays chosen"
    place.action_table["down"].trigger()
    place.action_table["up"].trigger()
    place.catch_up()
    assert [one.angle for one in session.shoot.plan.set_ups] == ["Singer close", "Crane"]
    place.set_ups.item(0, 4).setText("low light")
    place.set_ups.item(0, 2).setText("singer, hands")
    place.catch_up()
    first = session.shoot.plan.set_ups[0]
    assert (first.note, first.subjects) == ("low light", ("singer", "hands"))
    place.set_ups.setCurrentCell(0, 1)
    place.set_ups.setFocus()
    QApplication.processEvents()
    place.take_back()
    place.catch_up()
    assert [one.angle for one in session.shoot.plan.set_ups] == ["Crane"]


def test_what_is_missing_becomes_set_ups(qtbot: QtBot, place: PlanPlace, session: Session) -> None:
    place.grid.choose(1, "Drums")
    key(qtbot, place, Qt.Key.Key_Return)
    assert place.missing.passes
    assert place.missing.list.count() == len(place.missing.passes)
    key(qtbot, place, Qt.Key.Key_U, Qt.KeyboardModifier.ShiftModifier)
    assert len(session.shoot.plan.set_ups) == len(place.missing.passes)
    key(qtbot, place, Qt.Key.Key_U, Qt.KeyboardModifier.ShiftModifier)
    assert "is already planned" in place.message


def test_a_set_up_for_any_angle_says_so(qtbot: QtBot, place: PlanPlace, session: Session) -> None:
    place.grid.choose(1, "any angle")
    key(qtbot, place, Qt.Key.Key_5)
    key(qtbot, place, Qt.Key.Key_U, Qt.KeyboardModifier.ShiftModifier)
    made = session.shoot.plan.set_ups
    assert made
    assert all(one.subjects for one in made)
    assert {one.angle for one in made if one.subjects == ("any angle",)} == {"One more angle"}


def test_what_was_offered_stays_on_offer(
    qtbot: QtBot, tasks: MadeUpTasks, jobs: Jobs, answers: Answers
) -> None:
    session = Session()
    session.find_out(lambda shoot: shoot_edits.set_song(shoot, make_song()), "test")
    place = plan_place(session, tasks, jobs, answers)
    qtbot.addWidget(place)
    place.show()
    place.catch_up()
    offered = ["whole band", "voice", "drums", "bass"]
    assert [*place.grid.subjects] == ["safety", "any angle", *offered]
    answers.text = "fiddle"
    place.add_subject()
    assert {*offered, "fiddle"} <= {*place.grid.subjects}
    place.grid.choose(1, "fiddle")
    place.ask_for()
    place.catch_up()
    assert {*offered, "fiddle"} <= {*place.grid.subjects}


def test_large_letters_follow_the_shoot(qtbot: QtBot, place: PlanPlace, session: Session) -> None:
    place.read_aloud()
    window = place.large.window
    assert window is not None
    assert window.isFullScreen()
    assert any(label.text().startswith("Esc closes") for label in window.findChildren(QLabel))
    window.toggle_full()
    assert not window.isFullScreen()
    before = [label.text() for label in window.labels]
    place.hide()
    place.steps.ask_for(Passage(), "Trombone")
    after = [label.text() for label in window.labels]
    assert before != after
    assert any("Trombone" in text for text in after)
    assert any("Trombone is not seen in bars 1–64" in text for text in after), "why is told too"
    window.close()
    qtbot.waitUntil(lambda: place.large.window is None)


def test_a_sheet_is_written_where_it_was_chosen(
    qtbot: QtBot, place: PlanPlace, answers: Answers, tmp_path: Path
) -> None:
    for kind in range(4):
        answers.ones, answers.sheet = [kind, 1], tmp_path / f"{kind}.html"
        place.save_sheet()
        qtbot.waitUntil(lambda: place.message == f"Wrote {answers.sheet}")
        assert "size: letter" in answers.sheet.read_text("utf-8")
    answers.ones, answers.sheet = [0, 0], tmp_path / "sheet.doc"
    place.save_sheet()
    assert ".pdf or an .html" in place.message
    answers.ones, answers.sheet = [0, 0], tmp_path / "none" / "sheet.pdf"
    place.save_sheet()
    qtbot.waitUntil(lambda: "was not written" in place.message)


def test_the_coverage_sheet_shows_a_picture_of_each_angle_as_the_command_does(
    qtbot: QtBot, place: PlanPlace, session: Session, tasks: MadeUpTasks, answers: Answers, tmp_path: Path
) -> None:
    def picture(clip: Clip, clip_s: float) -> Picture:
        return jpeg_picture(tasks.pictures(Path(clip.media.path), [clip_s], PICTURE_HEIGHT)[0])

    wanted = sheet_bytes(sheet_of(session.view, Kind.COVERAGE, picture), ".html", Paper.A4)
    assert wanted.count(b"<img") > 3
    of_window: list[bool] = []
    tasks.before_picture = lambda: of_window.append(threading.current_thread() is threading.main_thread())
    answers.ones, answers.sheet = [list(Kind).index(Kind.COVERAGE), 0], tmp_path / "coverage.html"
    place.save_sheet()
    qtbot.waitUntil(lambda: place.message == f"Wrote {answers.sheet}")
    assert answers.sheet.read_bytes() == wanted
    assert of_window
    assert not any(of_window), "pictures are taken off the window's thread"


def test_a_clip_without_a_picture_is_told_and_the_sheet_is_written(
    qtbot: QtBot, place: PlanPlace, tasks: MadeUpTasks, answers: Answers, tmp_path: Path
) -> None:
    def broken() -> None:
        raise OSError(5, "Input/output error")

    tasks.before_picture = broken
    answers.ones, answers.sheet = [list(Kind).index(Kind.COVERAGE), 0], tmp_path / "coverage.html"
    place.save_sheet()
    qtbot.waitUntil(lambda: place.message.startswith(f"Wrote {answers.sheet}"))
    assert "There is no picture of C0001.mov" in place.message
    assert b"<img" not in answers.sheet.read_bytes()


def test_a_sheet_that_is_stopped_is_not_written(
    qtbot: QtBot, place: PlanPlace, tasks: MadeUpTasks, jobs: Jobs, answers: Answers, tmp_path: Path
) -> None:
    begun, go_on = threading.Event(), threading.Event()

    def waiting() -> None:
        begun.set()
        go_on.wait(10)

    tasks.before_picture = waiting
    answers.ones, answers.sheet = [list(Kind).index(Kind.COVERAGE), 0], tmp_path / "coverage.html"
    place.save_sheet()
    qtbot.waitUntil(begun.is_set)
    jobs.stop(SLOT)
    go_on.set()
    qtbot.waitUntil(lambda: not jobs.busy(SLOT))
    assert tasks.pictures_taken == 1, "no more pictures are taken"
    assert not answers.sheet.exists()


def test_lyrics_are_typed_kept_and_told_when_wrong(qtbot: QtBot, session: Session, tmp_path: Path) -> None:
    song = session.view.song
    assert song is not None
    window = LyricsWindow(Theme(Scheme.LIGHT), song)
    qtbot.addWidget(window)
    window.show()
    window.text.setPlainText("[B]\nferry at six\n\n[C]\nhome again")
    window.keep.click()
    assert window.result() == 1
    assert [line.text for line in window.lines] == ["ferry at six", "home again"]
    sung = replace(song, lyrics=window.lines)
    assert lyrics_text(sung) == "[B]\nferry at six\n\n[C]\nhome again"
    again = LyricsWindow(Theme(Scheme.LIGHT), sung)
    qtbot.addWidget(again)
    again.show()
    (tmp_path / "words.lrc").write_text("[00:12.50]now", "utf-8")
    again.read_file(tmp_path / "words.lrc")
    again.keep.click()
    assert [(line.text, line.start_s) for line in again.lines] == [("now", 12.5)]
    assert lyrics_text(replace(song, lyrics=again.lines)) == "[00:12.50]now"
    (tmp_path / "bytes.txt").write_bytes(b"\xff\xfe")
    again.read_file(tmp_path / "bytes.txt")
    assert "not plain text" in again.trouble.text()


def test_without_a_song_it_says_what_to_do(
    qtbot: QtBot, tasks: MadeUpTasks, jobs: Jobs, answers: Answers
) -> None:
    place = plan_place(Session(), tasks, jobs, answers)
    qtbot.addWidget(place)
    place.show()
    place.catch_up()
    for action in (
        "ask",
        "family",
        "offer",
        "subject",
        "range",
        "set-up",
        "suggest",
        "lyrics",
        "sheet",
        "by 2",
    ):
        place.action_table[action].trigger()
    assert answers.asked in ([], ["Who or what must be seen:"])
    assert place.session.shoot.plan.needs == ()
