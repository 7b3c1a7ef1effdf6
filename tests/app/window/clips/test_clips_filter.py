"""Clips searched and filtered; what is chosen and edited is what is seen."""

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QStyle, QStyleOptionViewItem
from pytestqt.qtbot import QtBot

from app.model.document.verdict import Verdict
from app.model.edits import shoot_edits
from app.window.clips import clips_table
from app.window.clips.clips_actions import CLIP_MENU
from app.window.clips.clips_model import FILE, HEADS, NOTE
from app.window.frame.main_window import MainWindow
from app.window.parts.style_sheet import padding
from app.window.session import EVERYTHING
from tests.app.window.answers import Answers
from tests.app.window.made_up import make_clip, with_clip


def files(window: MainWindow) -> list[str]:
    model = window.clips.table.model()
    return [model.index(row, FILE).data() for row in range(model.rowCount())]


def test_words_are_searched_in_the_row(qtbot: QtBot, shoot_window: MainWindow) -> None:
    qtbot.keyClick(shoot_window, Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)
    text = shoot_window.clips.filter.text
    assert text.hasFocus()
    qtbot.keyClicks(text, "drums 0005")
    assert files(shoot_window) == ["C0005.mov"]
    text.clear()
    qtbot.keyClicks(text, "CUT off")
    assert files(shoot_window) == ["C0011.mov"], "the reason is searched too"
    qtbot.keyClick(text, Qt.Key.Key_Escape)
    assert len(files(shoot_window)) == 12
    assert text.text() == ""
    assert shoot_window.clips.table.hasFocus()


def test_verdict_and_angle_hold_clips_back_together(shoot_window: MainWindow) -> None:
    line = shoot_window.clips.filter
    line.verdict.setCurrentIndex([line.verdict.itemText(n)[3:] for n in range(6)].index("placed"))
    assert len(files(shoot_window)) == 8
    line.angle.setCurrentIndex(line.angle.findText("Drums"))
    assert files(shoot_window) == ["C0005.mov", "C0006.mov"]
    line.show_all()
    assert len(files(shoot_window)) == 12


def test_what_is_not_shown_is_not_chosen_and_not_edited(shoot_window: MainWindow) -> None:
    table, line = shoot_window.clips.table, shoot_window.clips.filter
    table.selectAll()
    assert len(table.selected_ids()) == 12
    line.text.setText("drums")
    chosen = table.selected_ids()
    assert len(chosen) == 3
    line.text.setText("")
    assert table.selected_ids() == chosen, "what was held back was no longer chosen"
    line.text.setText("drums")
    table.selectAll()
    shoot_window.clips.steps.remove()
    names = [clip.media.path[-9:] for clip in shoot_window.session.view.clips]
    assert len(names) == 9
    assert "C0005.mov" not in names
    shoot_window.session.undo()
    assert len(shoot_window.session.view.clips) == 12


def test_an_angle_that_is_gone_holds_nothing_back(shoot_window: MainWindow) -> None:
    line = shoot_window.clips.filter
    line.angle.setCurrentIndex(line.angle.findText("Safety"))
    assert files(shoot_window) == ["C0009.mov"]
    shoot_window.clips.table.selectAll()
    shoot_window.clips.steps.remove()
    shoot_window.clips.catch_up()
    assert len(files(shoot_window)) == 11


def test_sorting_and_filtering_go_together(shoot_window: MainWindow) -> None:
    shoot_window.clips.filter.text.setText("c000")
    shoot_window.clips.table.sortByColumn(FILE, Qt.SortOrder.DescendingOrder)
    assert files(shoot_window) == [f"C000{n}.mov" for n in range(9, 0, -1)]


def test_a_row_keeps_its_lines_when_it_was_filtered_or_sorted(
    qtbot: QtBot, shoot_window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Else a slow machine has not fitted all rows when their heights are noted.
    monkeypatch.setattr(clips_table, "FITTING_MS", 60_000)
    table = shoot_window.clips.table

    def heights() -> dict[str, int]:
        return {name: table.rowHeight(row) for row, name in enumerate(files(shoot_window))}

    table.model().setData(table.model().index(4, NOTE), "boom in the picture " * 5)
    shoot_window.clips.catch_up()
    qtbot.waitUntil(lambda: table.fitted)
    before = heights()
    assert before["C0005.mov"] > before["C0012.mov"], "a long note needs several lines"
    shoot_window.clips.filter.text.setText("accordion")
    shoot_window.clips.filter.show_all()
    qtbot.waitUntil(lambda: heights() == before)
    table.sortByColumn(FILE, Qt.SortOrder.DescendingOrder)
    qtbot.waitUntil(lambda: heights() == before)


def test_all_of_many_rows_get_their_lines(qtbot: QtBot, shoot_window: MainWindow) -> None:
    shoot = shoot_window.session.shoot
    names = [f"Drums/D{n:04}.mov" for n in range(500)]
    for name in names:
        shoot = with_clip(shoot, make_clip(name, [(9, 12, False)]))
    shoot, _ = shoot_edits.set_note(shoot, [shoot.clips[-1].id], "boom in the picture " * 5)
    shoot_window.session.apply("Make", (shoot, EVERYTHING), "test")
    shoot_window.clips.catch_up()
    table = shoot_window.clips.table
    qtbot.waitUntil(lambda: table.rowHeight(511) > table.rowHeight(510))


def test_a_note_is_written_to_all_chosen_clips(
    qtbot: QtBot, shoot_window: MainWindow, answers: Answers
) -> None:
    table = shoot_window.clips.table
    shoot_window.clips.filter.text.setText("accordion")
    table.setFocus()
    table.selectAll()
    answers.text = "  second lens "
    qtbot.keyClick(table, Qt.Key.Key_E, Qt.KeyboardModifier.ControlModifier)
    assert answers.asked == ["Note for 2 clips:"]
    notes = [clip.note for clip in shoot_window.session.view.clips]
    assert notes == ["", "", "second lens", "second lens"] + [""] * 8
    assert shoot_window.session.undo_label == "Change Note"
    shoot_window.session.undo()
    assert not any(clip.note for clip in shoot_window.session.view.clips)


def test_a_note_is_typed_in_its_row_and_searched(shoot_window: MainWindow) -> None:
    model = shoot_window.clips.table.model()
    assert model.setData(model.index(1, NOTE), "boom in the picture")
    shoot_window.clips.catch_up()
    shoot_window.clips.filter.text.setText("boom")
    assert files(shoot_window) == ["C0002.mov"]


def test_several_clips_are_not_this_song(qtbot: QtBot, shoot_window: MainWindow) -> None:
    table = shoot_window.clips.table
    shoot_window.clips.filter.text.setText("singer")
    table.setFocus()
    table.selectAll()
    qtbot.keyClick(table, Qt.Key.Key_D, Qt.KeyboardModifier.ControlModifier)
    refused = [c for c in shoot_window.session.view.clips if c.verdict is Verdict.NO_SONG and c.decided]
    assert [clip.media.path[-9:] for clip in refused] == ["C0001.mov", "C0002.mov"]
    assert shoot_window.action_table["undo"].text() == "&Undo Not This Song"
    shoot_window.session.undo()
    assert not any(clip.decided for clip in shoot_window.session.view.clips)


def test_what_is_not_this_song_is_taken_back_by_the_same_action(shoot_window: MainWindow) -> None:
    table, action = shoot_window.clips.table, shoot_window.clips.action_table["refuse"]
    before = shoot_window.session.view
    chosen = [clip.id for clip in before.clips if clip.media.path.endswith(("C0008.mov", "C0010.mov"))]
    table.select_ids(chosen)
    assert action.text() == "Not This Song"
    action.trigger()
    shoot_window.clips.catch_up()
    assert action.text() == "Unmark"
    assert "after all (Ctrl+D)" in action.toolTip()
    action.trigger()
    assert shoot_window.session.view == before
    shoot_window.clips.catch_up()
    assert action.text() == "Not This Song"


def test_nothing_chosen_leaves_nothing_to_do(shoot_window: MainWindow, answers: Answers) -> None:
    steps = shoot_window.clips.steps
    shoot_window.clips.table.clearSelection()
    before = shoot_window.session.view
    for step in (steps.assign_angle, steps.write_note, steps.refuse, steps.remove):
        step()
    assert shoot_window.session.view is before
    assert answers.asked == []
    actions = shoot_window.clips.action_table.several(*CLIP_MENU)
    assert not any(action.isEnabled() for action in actions if action.text() != "Edit Angle")


def test_a_row_is_as_high_as_its_text_is_painted(qtbot: QtBot, shoot_window: MainWindow) -> None:
    """At every width: between two widths a line more is needed, and Qt reckons with the larger of them."""
    table = shoot_window.clips.table
    column = list(HEADS).index("Why")
    index = table.model().index(files(shoot_window).index("C0010.mov"), column)
    text = index.data()
    pad = padding(shoot_window.theme.em())
    margin = table.style().pixelMetric(QStyle.PixelMetric.PM_FocusFrameHMargin, None, table) + 1
    metrics = QFontMetrics(table.font())
    for width in range(100, 400, 7):
        room = QRect(0, 0, width - 2 * (pad + margin), 1000)
        needs = metrics.boundingRect(room, Qt.TextFlag.TextWordWrap, text).height()
        option = QStyleOptionViewItem()
        option.initFrom(table)
        option.rect = QRect(0, 0, width, 1000)
        option.features |= QStyleOptionViewItem.ViewItemFeature.WrapText
        assert table.itemDelegate().sizeHint(option, index).height() >= needs, width


@pytest.mark.parametrize("which", ["verdict", "angle"])
def test_a_list_that_drops_down_shows_its_last_entry(
    qtbot: QtBot, shoot_window: MainWindow, which: str
) -> None:
    box = getattr(shoot_window.clips.filter, which)
    box.showPopup()
    view = box.view()
    qtbot.waitUntil(view.isVisible)
    last = view.visualRect(box.model().index(box.count() - 1, 0))
    assert view.viewport().rect().contains(last)
    box.hidePopup()
