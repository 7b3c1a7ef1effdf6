"""Faults that pictures propose, in the table of clips: counted, told, sorted by and filtered."""

import pytest
from PySide6.QtCore import Qt

from app.model.edits.look_edits import see_clip
from app.model.edits.mark_edits import dismiss_marks
from app.model.faults_seen import seen_faults
from app.model.seen import Proposed, Seen
from app.window.clips.clips_model import FILE, HEADS, PROPOSED
from app.window.frame.main_window import MainWindow


@pytest.fixture
def seen_window(shoot_window: MainWindow) -> MainWindow:
    """Two clips of the made-up shoot have faults proposed."""
    for path, reasons in (("Drums/C0005.mov", ("soft", "bump")), ("Safety/C0009.mov", ("soft",))):
        clip = next(one for one in shoot_window.session.view.clips if one.media.path == f"/shoot/{path}")
        proposed = tuple(Proposed(one, 3.0 + n, 3.5 + n, 0.4) for n, one in enumerate(reasons))
        seen = Seen(clip.media, proposed=proposed)
        shoot_window.session.find_out(lambda shoot, seen=seen: see_clip(shoot, seen), "look")  # type: ignore[misc]
    shoot_window.clips.catch_up()
    return shoot_window


def shown(window: MainWindow, role: Qt.ItemDataRole = Qt.ItemDataRole.DisplayRole) -> dict[str, str]:
    """What the column says of each clip that is shown, in the order of the rows."""
    model = window.clips.table.model()
    return {
        str(model.index(row, FILE).data())[:5]: str(model.index(row, PROPOSED).data(role) or "")
        for row in range(model.rowCount())
    }


def test_proposed_faults_are_counted_until_decided(seen_window: MainWindow) -> None:
    assert HEADS[PROPOSED] == "Proposed"
    told = shown(seen_window)
    assert {name: count for name, count in told.items() if count} == {"C0005": "2", "C0009": "1"}
    tips = shown(seen_window, Qt.ItemDataRole.ToolTipRole)
    assert tips["C0005"] == "2 proposed: soft, bump"
    assert tips["C0001"] == ""
    marks = [mark.id for clip in seen_window.session.view.clips for mark in seen_faults(clip.marks)]
    seen_window.session.apply("Dismiss", dismiss_marks(seen_window.session.shoot, marks), "test")
    seen_window.clips.catch_up()
    assert not any(shown(seen_window).values())


def test_clips_are_sorted_and_filtered_by_what_is_proposed(seen_window: MainWindow) -> None:
    seen_window.clips.table.sortByColumn(PROPOSED, Qt.SortOrder.AscendingOrder)
    assert list(shown(seen_window))[:2] == ["C0005", "C0009"]
    line = seen_window.clips.filter
    line.proposed.setCurrentIndex(line.proposed.findText("Faults proposed"))
    assert list(shown(seen_window)) == ["C0005", "C0009"]
    line.proposed.setCurrentIndex(line.proposed.findText("Proposed: bump"))
    assert list(shown(seen_window)) == ["C0005"]
    line.show_all()
    assert len(shown(seen_window)) == 12
    line.text.setText("soft")
    assert set(shown(seen_window)) == {"C0005", "C0009"}


def test_the_column_is_there_as_long_as_something_is_proposed(seen_window: MainWindow) -> None:
    table, session = seen_window.clips.table, seen_window.session
    table.columns.fit()
    assert not table.isColumnHidden(PROPOSED)
    marks = [mark.id for clip in session.view.clips for mark in seen_faults(clip.marks)]
    session.apply("Dismiss", dismiss_marks(session.shoot, marks), "test")
    seen_window.clips.catch_up()
    table.columns.fit()
    assert table.isColumnHidden(PROPOSED)
