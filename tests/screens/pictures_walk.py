"""What the pictures tell, in a real window with clicks and keys: ``python -m tests.screens.pictures_walk``.

The sample shoot with faults put in is dropped and placed; its pictures are looked at by themselves; proposals
are walked, accepted and dismissed, also one outside of all takes; a reference is chosen, a take's transfer
function and its match are set; the shoot is saved and opened again, and the match handed off. With a folder
as argument pictures are put there; with ``--shoot FILE`` a shoot of those clips that was placed before is
opened instead of placing them. Runs on whatever platform ``QT_QPA_PLATFORM`` names; ends with 0 when all was
as it should be.
"""

import argparse
import os
import sys
import tempfile
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QCheckBox, QComboBox, QLineEdit, QWidget

from app.model.document.marks import MarkState
from app.model.on_song import Take
from app.window.frame.main_window import MainWindow
from app.window.handoff.handoff_place import SLOT as HAND_OFF
from tests.screens.faulty_shoot import faulty_shoot
from tests.screens.first_evening import answering, save_as, say, start
from tests.screens.walking import control, drop, press, type_text, wait, wait_until

FAR = 60
"""More proposals than there are."""
WORK = ("find", "song", "place", "look", "match", "side by side", "colour tag", "proofs")


def main() -> int:
    """Walk; gives the exit status."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("out", type=Path, nargs="?", help="folder for pictures")
    parser.add_argument("--shoot", type=Path, help="a shoot of these clips that was placed before")
    chosen = parser.parse_args()
    QApplication.setAttribute(Qt.ApplicationAttribute.AA_DontUseNativeDialogs)
    app = QApplication(sys.argv[:1])
    app.setStyle("Fusion")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        if chosen.shoot is None:
            os.environ["ANGLEBOOK_CACHE"] = name  # nothing is known from earlier runs
        window = start(folder)
        window.resize(1280, 720)
        if chosen.shoot is None:
            drop(window, window.places[0], faulty_shoot(folder))
        else:
            window.take_in([chosen.shoot])
        saved = (folder if chosen.shoot is None else chosen.shoot.parent) / "looked at.anglebook"
        evening(window, saved, chosen.out)
        next_day(folder, saved, chosen.out)
    return 0


def evening(window: MainWindow, saved: Path, out: Path | None) -> None:
    """From the placed clips to the saved shoot."""
    wait_until(lambda: any(clip.look for clip in window.session.view.clips))
    settled(window)
    assert "propose" in window.notice.text, window.notice.text
    say(f"looked at by itself: {window.notice.text}")

    press("Ctrl+1")
    if window.clips.is_naming:
        press("Escape")
    press("Ctrl+Shift+P")
    choose(control(window, "Proposed faults shown", QComboBox), "Faults proposed")
    shown = window.clips.table.shown
    assert 0 < shown < len(window.session.view.clips), shown
    keep(window, out, "clips-proposed")
    press("Escape")
    say(f"the list shows the {shown} clips in which faults are proposed")

    press("Ctrl+5")
    settled(window)
    kinds = walk_proposals(window, out)
    say(f"walked every proposal: {', '.join(kinds)}")

    press("Ctrl+4")
    settled(window)
    press("C")
    settled(window)
    keep(window, out, "compare-none")
    go_to(window, "G0018")
    press("Shift+C")
    wait_until(lambda: bool(window.session.shoot.matches))
    settled(window)
    go_to(window, "over")
    keep(window, out, "compare")
    before = take_of(window, "over")
    assert before.match is not None
    press("T")
    choose(control(window, "Transfer function of this take", QComboBox), "S-Log3")
    wait_until(lambda: (take_of(window, "over").match or before.match) != before.match)
    settled(window)
    after = take_of(window, "over")
    assert after.settings.transfer == "slog3"
    assert after.match is not None
    assert after.match.transfer == "slog3"
    press("G")
    choose(control(window, "What the match of this take finds", QComboBox), "Slope, offset, saturation")
    wait_until(lambda: (take_of(window, "over").match or after.match) != after.match)
    settled(window)
    assert take_of(window, "over").match.saturation != 1.0  # type: ignore[union-attr]
    keep(window, out, "compare-set")
    press("Shift+T")
    settled(window)
    say("compared with a reference; transfer function and match of a take set, and compared again")

    saved.unlink(missing_ok=True)
    answering(save_as(saved.with_suffix("")))
    press("Ctrl+Shift+S")
    assert saved.is_file()
    press("Ctrl+Q")
    wait_until(lambda: not window.isVisible(), 60)
    say("saved and closed")


def walk_proposals(window: MainWindow, out: Path | None) -> list[str]:
    """Go through all proposals by key: accept the first, and one outside; dismiss all of one kind."""
    steps = window.score.proposals
    proposed = marks(window, MarkState.PROPOSED)
    seen: list[str] = []
    for _ in range(FAR):
        press("I")
        mark = steps.chosen
        assert mark is not None
        if mark.id in seen:
            break
        seen.append(mark.id)
    assert len(seen) == proposed, f"{len(seen)} of {proposed} proposals can be reached"
    keep(window, out, "score-proposal")
    kinds = {mark.by for mark in window.session.shoot.marks}
    press("I")
    while (found := window.score.marks.found()) is not None and found.take is not None:
        press("I")
    assert found is not None, "nothing is proposed outside of takes"
    wait(500)
    keep(window, out, "score-proposal-outside")
    press("Ctrl+Return")
    assert marks(window, MarkState.SET) == 1
    press("I")
    assert steps.chosen is not None
    kind = steps.chosen.by
    press("Ctrl+Shift+Delete" if len(steps.alike) > 1 else "Delete")
    assert not [
        one for one in window.session.shoot.marks if one.by == kind and one.state is MarkState.PROPOSED
    ]
    assert marks(window, MarkState.DISMISSED) >= 1
    return sorted(kinds)


def next_day(folder: Path, saved: Path, out: Path | None) -> None:
    """The shoot opened again, and the match handed off."""
    window = start(folder)
    wait(300)
    window.take_in([saved])
    wait_until(lambda: window.session.path is not None, 30)
    settled(window)
    assert take_of(window, "over").settings.transfer == "slog3"
    assert take_of(window, "over").match is not None
    assert not window.session.modified, "nothing was done to it"
    press("Ctrl+6")
    field = control(window, "Folder for the hand-off", QLineEdit)
    field.setFocus(Qt.FocusReason.MouseFocusReason)  # a click
    press("Ctrl+A")
    type_text(str(folder / "edit"))
    for box in window.handoff.findChildren(QCheckBox):
        if "match" in box.text() and not box.isChecked():
            box.click()
    wait_until(lambda: window.handoff.action_table["write"].isEnabled(), 30)
    keep(window, out, "hand-off")
    press("Ctrl+Return")
    wait_until(lambda: any((folder / "edit").glob("*.ccc")) and not window.jobs.busy(HAND_OFF), 120)
    written = next((folder / "edit").glob("*.ccc")).read_text()
    assert written.count("<ColorCorrection ") == len(window.session.shoot.matches)
    say(f"opened again as it was, and {len(window.session.shoot.matches)} matches handed off")
    window.session.save(saved)
    window.close()


def settled(window: MainWindow) -> None:
    """Wait until nothing is being done."""
    wait(300)
    wait_until(lambda: not window.running.doing and not any(map(window.jobs.busy, WORK)))
    wait(300)


def choose(box: QComboBox, text: str) -> None:
    """Choose from a list that is open, by its keys."""
    wait_until(lambda: box.view().isVisible(), 30)
    for _ in range(box.count()):
        if box.view().currentIndex().data() == text:
            break
        QTest.keyClick(box.view(), Qt.Key.Key_Down)
    assert box.view().currentIndex().data() == text, text
    QTest.keyClick(box.view(), Qt.Key.Key_Return)
    wait_until(lambda: not box.view().isVisible(), 30)


def go_to(window: MainWindow, file: str) -> None:
    """Go to a take in Check by the arrow keys."""
    for key in ("Up", "Down"):
        for _ in range(FAR):
            entry = window.check.examined.entry
            if entry is not None and Path(entry.clip.media.path).stem == file:
                settled(window)
                return
            press(key)
    raise LookupError(file)


def take_of(window: MainWindow, file: str) -> Take:
    clips = window.session.view.clips
    return next(clip for clip in clips if Path(clip.media.path).stem == file).takes[0]


def marks(window: MainWindow, state: MarkState) -> int:
    return sum(mark.state is state for mark in window.session.shoot.marks)


def keep(window: QWidget, out: Path | None, name: str) -> None:
    """Put a picture into the folder for pictures."""
    if out is not None:
        out.mkdir(parents=True, exist_ok=True)
        wait(300)
        window.grab().save(str(out / f"{name}.png"))


if __name__ == "__main__":
    sys.exit(main())
