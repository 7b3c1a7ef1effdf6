"""Faults that pictures propose, in the score: gone through, seen, accepted and dismissed by key."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from app.model.document.marks import FaultReason, Mark, MarkState
from app.model.edits.angle_edits import hide_angles
from app.model.edits.look_edits import see_clip
from app.model.seen import Proposed, Seen
from app.window.frame.main_window import MainWindow
from app.window.parts.text_label import TextLabel
from app.window.score.proposal_panel import ProposalPanel
from app.window.score.score_canvas import ScoreCanvas

KEY = Qt.Key
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
SEEN = {
    "C0001.mov": (("soft", 4.0, 8.0, 0.4), ("bump", 30.0, 31.0, 1.5)),
    "C0003.mov": (("soft", 20.0, 22.0, 0.5),),
    "C0011.mov": (("soft", 1.0, 2.0, 0.5),),
}
"""Faults by the clip's file: what, from and to in the clip (s), the figure; the last clip has no take."""


@pytest.fixture
def canvas(shoot_window: MainWindow) -> ScoreCanvas:
    """The score, with faults proposed."""
    for file, faults in SEEN.items():
        media = next(clip.media for clip in shoot_window.session.view.clips if clip.media.path.endswith(file))
        seen = Seen(media, proposed=tuple(Proposed(*one) for one in faults))
        shoot_window.session.find_out(lambda shoot, seen=seen: see_clip(shoot, seen), "look")  # type: ignore[misc]
    shoot_window.go(4)
    shoot_window.score.catch_up()
    shoot_window.score.canvas.setFocus()
    return shoot_window.score.canvas


def at(window: MainWindow) -> str:
    """Which proposal one is at: the word of its check."""
    mark = window.score.proposals.chosen
    return "" if mark is None else f"{mark.by} {mark.clip_start_s:g}"


def marks(window: MainWindow, state: MarkState) -> list[Mark]:
    return [mark for mark in window.session.shoot.marks if mark.state is state]


def press(qtbot: QtBot, canvas: ScoreCanvas, *keys: Qt.Key) -> None:
    for key in keys:
        qtbot.keyClick(canvas, key)


def test_one_goes_from_proposal_to_proposal_and_not_to_other_marks(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    order = []
    for _ in range(5):
        press(qtbot, canvas, KEY.Key_I)
        order.append(at(shoot_window))
    told = "in the song's order, then those outside of it, around the end"
    assert order == ["soft 4", "soft 20", "bump 30", "soft 1", "soft 4"], told
    qtbot.keyClick(canvas, KEY.Key_I, SHIFT)
    qtbot.keyClick(canvas, KEY.Key_I, SHIFT)
    assert at(shoot_window) == "bump 30"
    press(qtbot, canvas, KEY.Key_Return, KEY.Key_I, KEY.Key_I, KEY.Key_I, KEY.Key_I)
    assert at(shoot_window) == "soft 1", "what was accepted is passed over"


def test_what_lies_outside_the_score_is_reached_shown_and_decided(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    panel = shoot_window.score.proposal
    press(qtbot, canvas, KEY.Key_I)
    assert "2 more of this kind, 1 of them outside the score." in said(panel)
    bar = canvas.chosen.bar
    qtbot.keyClick(canvas, KEY.Key_I, SHIFT)
    assert at(shoot_window) == "soft 1"
    assert canvas.chosen.bar == bar, "there is no bar to go to"
    assert "0:01.0–0:02.0 in the clip · C0011.mov · the clip has no take" in said(panel)
    assert panel.boxes[0].accessibleDescription() == "C0011.mov at 0:01.500"
    press(qtbot, canvas, KEY.Key_Return)
    (mark,) = marks(shoot_window, MarkState.SET)
    assert mark.clip_start_s == 1.0
    # On a hidden angle the score shows nothing either.
    angle = next(one.id for one in shoot_window.session.view.angles if one.name == "Accordion")
    shoot_window.session.apply("Hide", hide_angles(shoot_window.session.shoot, [angle], on=True), "test")
    shoot_window.score.catch_up()
    press(qtbot, canvas, KEY.Key_I)
    while at(shoot_window) != "soft 20":
        press(qtbot, canvas, KEY.Key_I)
    assert "its angle is hidden" in said(panel)
    press(qtbot, canvas, KEY.Key_Delete)
    assert len(marks(shoot_window, MarkState.DISMISSED)) == 1


def said(panel: ProposalPanel) -> str:
    return "\n".join(one.text() for one in panel.findChildren(TextLabel))


def test_a_proposal_tells_what_was_measured_and_shows_it(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    panel = shoot_window.score.proposal
    assert panel.isHidden()
    press(qtbot, canvas, KEY.Key_I)
    assert panel.isVisible()
    assert "soft" in panel.accessibleName()
    assert panel.sentence.text() == "Fine detail is down to 40 % of the best in this angle."
    assert panel.boxes[0].accessibleDescription() == "C0001.mov at 0:06.000"
    assert panel.boxes[1].accessibleDescription() == "C0001.mov at 0:03.000", "to compare with"
    words = [one.text() for one in panel.findChildren(QPushButton)]
    assert words == ["Accept", "Dismiss", "Accept All 3 Soft", "Dismiss All 3 Soft"]
    press(qtbot, canvas, KEY.Key_Escape)
    assert panel.isHidden()
    press(qtbot, canvas, KEY.Key_I, KEY.Key_I, KEY.Key_I)
    assert at(shoot_window) == "bump 30"
    shown = [one.text() for one in panel.findChildren(QPushButton) if one.isVisible()]
    assert shown == ["Accept", "Dismiss"], "one is not all"


def test_an_accepted_proposal_is_a_fault_like_any_other(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    press(qtbot, canvas, KEY.Key_I, KEY.Key_Return)
    (mark,) = marks(shoot_window, MarkState.SET)
    assert (mark.reason, mark.by) == (FaultReason.FOCUS, "soft")
    assert shoot_window.score.proposal.isHidden()
    stretch = shoot_window.score.marks.stretch()
    assert stretch is not None, "one can cut away from it"
    press(qtbot, canvas, KEY.Key_3)
    (mark,) = marks(shoot_window, MarkState.SET)
    assert mark.reason is FaultReason.BUMP
    shoot_window.session.undo()
    assert shoot_window.session.undo_label == "Accept Fault"
    shoot_window.session.undo()
    assert not marks(shoot_window, MarkState.SET)


def test_after_dismissing_one_goes_on_from_there(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    press(qtbot, canvas, KEY.Key_I, KEY.Key_I, KEY.Key_Delete)
    assert len(marks(shoot_window, MarkState.DISMISSED)) == 1
    assert at(shoot_window) == ""
    press(qtbot, canvas, KEY.Key_I)
    assert at(shoot_window) == "bump 30"
    shoot_window.session.undo()
    assert not marks(shoot_window, MarkState.DISMISSED)


@pytest.mark.parametrize(
    ("key", "state"), [(KEY.Key_Return, MarkState.SET), (KEY.Key_Delete, MarkState.DISMISSED)]
)
def test_all_of_a_kind_are_decided_at_once_as_one_step(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas, key: Qt.Key, state: MarkState
) -> None:
    press(qtbot, canvas, KEY.Key_I)
    qtbot.keyClick(canvas, key, CTRL | SHIFT)
    assert [mark.by for mark in marks(shoot_window, state)] == ["soft"] * 3
    assert [mark.by for mark in marks(shoot_window, MarkState.PROPOSED)] == ["bump"]
    assert shoot_window.score.proposal.isHidden()
    shoot_window.session.undo()
    assert len(marks(shoot_window, MarkState.PROPOSED)) == 4


def test_buttons_do_what_keys_do_and_none_proposed_is_told(
    qtbot: QtBot, shoot_window: MainWindow, canvas: ScoreCanvas
) -> None:
    for button, left in (("dismiss all", 1), ("accept", 0)):
        press(qtbot, canvas, KEY.Key_I)
        shoot_window.score.action_table[button].trigger()
        assert len(marks(shoot_window, MarkState.PROPOSED)) == left
    assert not shoot_window.score.action_table["accept"].isEnabled()
    press(qtbot, canvas, KEY.Key_I)
    assert "No fault is proposed" in shoot_window.score.marks.text
