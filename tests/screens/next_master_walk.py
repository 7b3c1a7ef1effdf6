"""The next master in a real window, with clicks and keys: ``python -m tests.screens.next_master_walk [OUT]``.

The sample shoot is dropped and placed, a take confirmed and a need planned. Then the next master comes: with
a longer lead-in, a verse cut, the chorus doubled, remixed and limited. It is dropped, the window shows what
became of what, a piece is corrected and put back, the song replaced, every take checked by sound; undo brings
all back, redo carries it again; what has no place is seen later, and what moved is handed off. With a folder
as argument pictures are put there; with ``--shoot FILE`` a shoot that was placed before is opened instead.
Ends with 0 when all was as it should be.
"""

import argparse
import csv
import os
import sys
import tempfile
from pathlib import Path

import numpy as np
import soundfile
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QCheckBox, QLineEdit, QPushButton, QWidget

from app.model.document.plan import Need, Passage
from app.model.document.verdict import Verdict
from app.model.edits.planning import add_need
from app.model.renewing.carried_reasons import HERE
from app.window.frame.main_window import MainWindow
from app.window.handoff.handoff_place import SLOT as HAND_OFF
from app.window.parts.choice import Choice
from tests.screens.faint import SAMPLE
from tests.screens.first_evening import answering, say, start
from tests.screens.freezes import Freezes
from tests.screens.walking import action, click, control, drop, press, show, type_text, wait, wait_until

LEAD_S = 2.0
CUT_S = (30.507, 50.527)
"""The old master's stretch that is not in the new one."""
DOUBLED_S = (60.496, 70.526)
"""The stretch that comes twice."""
SIZES = ((1280, 720), (2560, 1440))


def main() -> int:
    """Walk; gives the exit status."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("out", type=Path, nargs="?", help="folder for pictures")
    parser.add_argument("--shoot", type=Path, help="a shoot of the sample that was placed before")
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
            drop(window, window.places[0], [SAMPLE / "song.ogg", SAMPLE / "clips"])
        else:
            window.take_in([chosen.shoot])
        wait_until(lambda: len(window.session.view.clips) == 16 and not window.jobs.busy("place"), 900)
        wait_until(lambda: not window.work.waiting, 900)
        wait(1000)
        while window.running.doing:  # pictures are looked at: not what this walk is about
            press("Ctrl+T")
            wait(500)
        old = Path(window.session.view.song.media.path)  # type: ignore[union-attr]
        renewed(window, next_master(old, folder / "ferry mix 2.wav"), chosen.out)
        handed_off(window, folder / "edit", chosen.out)
        window.session.save(folder / "renewed.anglebook")
        window.close()
    return 0


def next_master(old: Path, path: Path) -> Path:
    """The next master of the sample's song."""
    sound, rate = soundfile.read(old, always_2d=True)

    def part(from_s: float, to_s: float) -> np.ndarray:
        return np.asarray(sound[round(from_s * rate) : round(to_s * rate)])

    parts = [
        np.zeros((round(LEAD_S * rate), sound.shape[1])),
        part(0.0, CUT_S[0]),
        part(CUT_S[1], DOUBLED_S[1]),
        part(DOUBLED_S[0], 1e6),
    ]
    whole = np.concatenate(parts)
    mix = np.stack([0.8 * whole[:, 0] + 0.2 * whole[:, -1], 0.3 * whole[:, 0] + 0.7 * whole[:, -1]], axis=1)
    soundfile.write(path, 0.9 * np.tanh(4 * mix / np.abs(mix).max()), rate, subtype="PCM_24")
    return path


def dues_s(old_s: float) -> list[float]:
    """Where a moment of the old master comes in the new one: nowhere, once or twice."""
    if CUT_S[0] <= old_s < CUT_S[1]:
        return []
    gone_s = CUT_S[1] - CUT_S[0] if old_s >= CUT_S[1] else 0.0
    more_s = DOUBLED_S[1] - DOUBLED_S[0]
    first_s = LEAD_S + old_s - gone_s
    if old_s < DOUBLED_S[0]:
        return [first_s]
    return [first_s, first_s + more_s] if old_s < DOUBLED_S[1] else [first_s + more_s]


def renewed(window: MainWindow, path: Path, out: Path | None) -> None:
    """The next master takes the place of the song."""
    session = window.session
    section = session.view.song.map.sections[1]  # type: ignore[union-attr]
    wish = Need("", "song-1", Passage(section_id=section.id), "fiddle")
    session.apply("Add Need", add_need(session.shoot, wish), "walk")
    press("Ctrl+4")
    wait(500)
    press(action(window.check, "Confirm").shortcut())
    wait(300)
    before, takes = session.shoot, places(window)
    say(f"{sum(map(len, takes.values()))} takes, one of them confirmed, and a need")

    press("Ctrl+1")
    answering(lambda asked: choose(asked, "It is a new master"))
    told = drop(window, window.clips, [path])
    assert told == f"Drop to add {path.name}", told
    wait_until(lambda: bool(window.running.doing), 30)
    wait(800)
    picture(window, out, "1-comparing")
    freezes = Freezes(window)
    wait_until(lambda: window.replacing.window is not None, 300)
    page = window.replacing.window
    assert page is not None
    wait_until(lambda: window.replacing.ready, 60)
    wait_until(lambda: page.proof.text().startswith("Both masters agree"), 60)
    assert [one.fate.value for one in page.told] == ["added", "moved", "cut", "moved", "repeated", "moved"]
    for one in page.told:
        if one.old_s is not None and one.new_s is not None and one.fate.value == "moved":
            new_s = sum(one.new_s) / 2
            assert min(abs(new_s - due) for due in dues_s(sum(one.old_s) / 2)) < 0.001
    freezes.never_froze()
    say(f"dropped and compared: {page._summary.text()}")
    picture(page, out, "2-what-became")

    show(page)
    found = page.pieces
    page.list.setFocus()
    press("Down")
    press("Down")  # past what was cut
    press("Alt+Shift+Right")
    wait_until(lambda: window.replacing.ready, 60)
    wait_until(lambda: "lies 10.0 ms late" in page.proof.text(), 60)
    picture(page, out, "3-corrected")
    field = control(page, "Starts at", QLineEdit)
    field.setFocus()
    press("Ctrl+A")
    type_text("never")
    press("Tab")
    wait(200)
    assert "is not a time" in page.said.text(), page.said.text()
    picture(page, out, "4-wrong")
    press("Alt+Return")
    wait_until(lambda: page.proof.text().startswith("Both masters agree"), 60)
    off_s = max(abs(a.new_start_s - b.new_start_s) for a, b in zip(page.pieces, found, strict=True))
    assert off_s < 0.001, off_s
    press("Alt+Backspace")
    assert page.pieces == found
    say(f"a piece moved, typed wrong, snapped back to within {off_s * 1000:.2f} ms, and as it was found")

    wait_until(lambda: window.replacing.ready, 60)
    press("Ctrl+Return")
    wait_until(lambda: window.replacing.window is None, 30)
    wait(300)
    picture(window, out, "5-checking")
    wait_until(lambda: not window.work.waiting and not window.jobs.busy("place"), 900)
    assert "carried over" in window.notice.text, window.notice.text
    say(window.notice.text.replace("\n", " "))
    checked(window, takes)
    for number, name in ((1, "clips"), (2, "song"), (4, "check"), (5, "score")):
        press(f"Ctrl+{number}")
        wait(1500)
        picture(window, out, f"6-{name}")

    after = session.shoot
    press("Ctrl+Z")
    assert session.shoot == before, "undo does not bring everything back"
    press("Ctrl+Shift+Z")
    assert session.shoot == after
    say("one undo brings everything back, redo carries it again with what was heard")
    wait_until(lambda: not window.jobs.busy("place"), 300)

    press("Ctrl+Alt+M")
    wait_until(lambda: window.earlier.window is not None, 30)
    later = window.earlier.window
    assert later is not None
    wait(2500)
    picture(later, out, "7-later")
    listed = [later.changes.item(n).text() for n in range(later.changes.count())]
    assert any("of the old master" in text for text in listed), listed
    show(later)
    press("Escape")
    wait_until(lambda: window.earlier.window is None, 30)
    show(window)
    say("what has no place any more is listed later")


def places(window: MainWindow) -> dict[str, list[tuple[float, float, float, float]]]:
    """For each clip its placed takes: from, to, song time of the first, speed."""
    return {
        clip.id: [
            (one.clip_start_s, one.clip_end_s, one.song_start_s, one.speed)
            for one in clip.takes
            if one.verdict is Verdict.PLACED
        ]
        for clip in window.session.view.clips
    }


def checked(window: MainWindow, before: dict[str, list[tuple[float, float, float, float]]]) -> None:
    """Every moment of a take that still exists is where it belongs, to 1 ms, and was heard there."""
    worst_s, moments, codes = 0.0, 0, {}
    for clip in window.session.view.clips:
        for one in clip.takes:
            codes[one.reason.code] = codes.get(one.reason.code, 0) + 1
        for start_s, end_s, song_s, speed in before[clip.id]:
            for clip_s in np.arange(start_s + 0.05, end_s - 0.05, 0.1):
                old_s = song_s + (clip_s - start_s) * speed
                edges = [LEAD_S * 0, *CUT_S, *DOUBLED_S]
                dues = dues_s(old_s)
                if not dues or min(abs(old_s - edge) for edge in edges) < 0.6:
                    continue  # of a take less than half a second is not carried beyond an edge
                on = [one for one in clip.takes if one.clip_start_s <= clip_s <= one.clip_end_s]
                assert on, f"{clip.media.path} at {clip_s:.1f} s is lost"
                worst_s = max(worst_s, min(abs(one.song_time(clip_s) - due) for one in on for due in dues))
                moments += 1
    assert worst_s < 0.001, worst_s
    assert codes.get(HERE, 0) > 10, codes
    say(f"{moments} moments of takes are within {worst_s * 1000:.2f} ms of the truth; told {codes}")


def handed_off(window: MainWindow, folder: Path, out: Path | None) -> None:
    """What moved is written as a table."""
    press("Ctrl+6")
    wait(500)
    field = control(window, "Folder for the hand-off", QLineEdit)
    field.setFocus(Qt.FocusReason.MouseFocusReason)
    press("Ctrl+A")
    type_text(str(folder))
    box = control(window, "What moved", QCheckBox)
    if not box.isChecked():
        box.click()
    wait_until(lambda: window.handoff.action_table["write"].isEnabled(), 30)
    wait(800)
    picture(window, out, "8-hand-off")
    press("Ctrl+Return")
    wait_until(lambda: any(folder.glob("*moved.csv")) and not window.jobs.busy(HAND_OFF), 120)
    with next(folder.glob("*moved.csv")).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert any(row["fate"] == "moved" for row in rows)
    assert any(row["fate"] == "gone" for row in rows)
    say(f"handed off: {len(rows)} lines of what moved")


def choose(asked: QWidget, begins: str) -> None:
    """Choose an answer of a question by its words."""
    assert isinstance(asked, Choice), type(asked)
    click(next(one for one in asked.findChildren(QPushButton) if one.text().startswith(begins)))


def picture(widget: QWidget, out: Path | None, name: str) -> None:
    """Put pictures in both sizes and schemes into the folder."""
    if out is None:
        return
    out.mkdir(parents=True, exist_ok=True)
    main = widget if isinstance(widget, MainWindow) else widget.parentWidget()
    assert isinstance(main, MainWindow)
    size = widget.size()
    for width, height in SIZES:
        widget.resize(width, height)
        for scheme in ("light", "dark"):
            main.action_table[scheme].trigger()
            wait(250)
            widget.grab().save(str(out / f"{name}-{scheme}-{width}.png"))
    main.action_table["light"].trigger()
    widget.resize(size)
    wait(100)


if __name__ == "__main__":
    sys.exit(main())
