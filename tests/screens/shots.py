"""Pictures of every place of the window, on the sample shoot: ``python -m tests.screens.shots OUTDIR``.

The window takes the sample shoot in as a person would drop it, and three clips the engine is in doubt about,
waits for the engine, and is painted at every place and in other states of it, in both colour schemes and in
two sizes, under whatever platform ``QT_QPA_PLATFORM`` names (offscreen unless it is
set).
"""

import argparse
import os
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QSettings
from PySide6.QtGui import QKeySequence
from PySide6.QtWidgets import QApplication, QDialog

from app.engine import tasks
from app.model.document.verdict import Verdict
from app.model.edits.look_edits import see_clip
from app.model.seen import Proposed, Seen
from app.window.check.proving import SLOT as PROOFS
from app.window.clips.moved_media import Sought
from app.window.frame.drops import hint
from app.window.frame.folders import Folders
from app.window.frame.main_window import MainWindow
from app.window.frame.safe_copy import ANSWERS, NOT_NOW
from app.window.handoff.hand_over import hand_over
from app.window.parts.choice import Choice
from app.window.parts.clip_pictures import SLOT
from app.window.song.song_place import PEAKS_SLOT
from tests.screens.faint import SAMPLE, faint
from tests.screens.freezes import Freezes
from tests.screens.walking import show, wait, wait_until

SHOWN = "Fiddle"
"""Angle of the take that stands for all that nobody doubts."""
SIZES = "1280x720,2560x1440"
PLACES = ("clips", "song", "plan", "check", "score", "hand-off")


def main() -> int:
    """Take the pictures; gives the exit status."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("out", type=Path, help="folder for the pictures")
    parser.add_argument("--sizes", default=SIZES, help=f"comma-separated; {SIZES} unless told")
    chosen = parser.parse_args()
    out: Path = chosen.out
    sizes = [
        (int(width), int(height)) for width, height in (one.split("x") for one in chosen.sizes.split(","))
    ]
    out.mkdir(parents=True, exist_ok=True)
    app = QApplication(sys.argv[:1])
    app.setStyle("Fusion")
    with tempfile.TemporaryDirectory() as folder:
        settings = QSettings(str(Path(folder) / "settings.ini"), QSettings.Format.IniFormat)
        window = MainWindow(
            tasks,
            hand_over,
            settings,
            dialogs=NoDialogs(),
            folders=Folders(Path(folder) / "pictures", Path(folder) / "unsaved"),
        )
        show(window)
        shoot(window, out, sizes, "0-first")
        window.drops.hint.tell(hint([SAMPLE / "clips"]))
        shoot(window, out, sizes, "0-dragged")
        window.drops.hint.hide()
        window.take_in([SAMPLE / "song.ogg"])
        wait_until(lambda: window.session.view.song is not None and not window.running.doing)
        window.take_in([SAMPLE / "clips", faint(Path(folder) / "mandolin")])
        wait_until(lambda: bool(window.work.progress))
        shoot(window, out, sizes, "1-placing")
        freezes = Freezes(window)
        wait_until(lambda: bool(window.session.view.clips) and not window.running.doing)  # looked at, too
        freezes.never_froze()
        for index, name in enumerate(PLACES):
            window.go(index)
            wait(100)
            if name == "score":
                window.score.score_cursor.next_thin()
            if name == "hand-off":
                window.handoff.folder.setText(str(Path(folder) / "hand-off"))
                window.handoff.write()
                wait_until(lambda: not window.jobs.busy("hand-off"))
            shoot(window, out, sizes, f"{index + 2}-{name}")
            for state, action, undo in STATES.get(name, ()):
                action(window)
                shoot(window, out, sizes, f"{index + 2}-{name}-{state}")
                undo(window)
        side_windows(window, out)
        slate(window, out, sizes)
        window.close()
    return 0


def side_windows(window: MainWindow, out: Path) -> None:
    """Paint the small windows, light and dark."""
    unsaved = "Anglebook closed before your changes to “waltz” were saved.\n\nRestore unsaved changes?"
    for scheme, colours in (("light", window.action_table["light"]), ("dark", window.action_table["dark"])):
        colours.trigger()
        window.list_keys()
        window.side.how()
        window.side.about()
        window.side.preferences()
        window.plan.kit.open()
        window.go(PLACES.index("score"))
        pressed("Ctrl+Shift+P")(window)
        window.side.sought((Sought("/card/a.mov", "/disk/a.mov", ""), Sought("/card/b.mov", "", "No file.")))
        Choice("Unsaved changes", unsaved, ANSWERS, window, leave=NOT_NOW).show()
        wait(300)
        for dialog in [one for one in window.findChildren(QDialog) if one.isVisible()]:
            dialog.grab().save(str(out / f"{type(dialog).__name__.lower()}-{scheme}.png"))
            dialog.close()


def slate(window: MainWindow, out: Path, sizes: Sequence[tuple[int, int]]) -> None:
    """Paint the slate page before a take and in it; it is black on white in both schemes."""
    for width, height in sizes:
        window.slate.open()
        page = window.slate.page
        assert page is not None
        page.showNormal()
        page.setGeometry(0, 0, width, height)
        wait(500)
        page.grab().save(str(out / f"slate-before-{width}.png"))
        take = window.slate.take
        assert take is not None
        wait_until(lambda take=take: take.sound.ready, 60)  # type: ignore[misc]
        window.slate.toggle()
        wait_until(lambda page=page: page.has_code, 60)  # type: ignore[misc]
        wait(500)
        page.grab().save(str(out / f"slate-playing-{width}.png"))
        window.slate.end()


def filtered(window: MainWindow) -> None:
    """Clips of one verdict, two of them chosen, and a folder watched."""
    line = window.clips.filter
    line.text.setText("f")
    line.verdict.setCurrentIndex(line.verdict.count() - 1)
    window.clips.table.selectAll()
    window.watch.start(SAMPLE / "clips")
    wait(500)


def unfiltered(window: MainWindow) -> None:
    """As it was."""
    window.watch.stop()
    window.clips.filter.show_all()


def larger(window: MainWindow) -> None:
    """A clip in which the song was not found, larger."""
    clips = window.session.view.clips
    table = window.clips.table
    table.select_ids([one.id for one in clips if one.verdict is Verdict.NO_SONG and one.frame_rate][-1:])
    pressed("W")(window)
    wait(1000)


def placed_take(window: MainWindow) -> None:
    """A take with pictures that nobody doubts."""
    listed, angle = window.check.queue.entries, window.session.view.angle
    row = next(n for n, one in enumerate(listed) if angle(one.clip.angle_id).name == SHOWN)
    window.check.list.setCurrentRow(row)
    wait(500)


def first_take(window: MainWindow) -> None:
    """The first doubt again."""
    window.check.list.setCurrentRow(0)


def proposed(window: MainWindow) -> None:
    """Faults proposed in some clips, the last of which has no take; the list shows those clips."""
    propose(window)
    window.clips.filter.proposed.setCurrentIndex(1)
    wait(500)


def all_listed(window: MainWindow) -> None:
    """As it was; the proposals stay, for the score."""
    window.clips.filter.show_all()


def propose(window: MainWindow) -> None:
    """Have faults seen where the sample has none."""
    clips = [clip for clip in window.session.view.clips if clip.frame_rate is not None]
    some = [*(clip for clip in clips if clip.takes)][:2] + [clip for clip in clips if not clip.takes][:1]
    for clip in some:
        at_s = clip.takes[0].clip_start_s + 8 if clip.takes else 2.0
        faults = (Proposed("soft", at_s, at_s + 3, 0.4), Proposed("bump", at_s + 5, at_s + 6, 1.3))
        window.session.find_out(
            lambda shoot, c=clip, f=faults: see_clip(shoot, Seen(c.media, proposed=f)), "look"
        )


def naming(window: MainWindow) -> None:
    """The page on which angles are named."""
    window.name_angles()
    wait(1000)


def at_proposal(window: MainWindow) -> None:
    """A proposed fault."""
    pressed("I", 2)(window)
    wait(500)


def at_outside_proposal(window: MainWindow) -> None:
    """One in a clip without a take."""
    pressed("Shift+I", 3)(window)
    wait(500)


def left_proposal(window: MainWindow) -> None:
    """At no proposal any more."""
    window.score.marks.drop()


def comparing(window: MainWindow) -> None:
    """A take compared with the reference."""
    placed_take(window)
    pressed("C")(window)
    pressed("Shift+C")(window)
    wait_until(lambda: bool(window.session.shoot.matches))
    pressed("Up")(window)
    wait_until(lambda: not window.check.comparing.waiting)


def no_reference(window: MainWindow) -> None:
    """The page without a reference."""
    placed_take(window)
    pressed("C")(window)
    wait_until(lambda: not window.check.comparing.waiting)


def not_comparing(window: MainWindow) -> None:
    """The proof again."""
    pressed("C")(window)
    first_take(window)


def pressed(key: str, times: int = 1) -> Callable[[MainWindow], None]:
    """What pressing a key at a place does; told where nothing there has that key."""

    def action(window: MainWindow) -> None:
        for place in window.places:
            for one in place.actions() if place.isVisible() else ():
                if QKeySequence(key) in one.shortcuts():
                    for _ in range(times):
                        one.trigger()
                    return
        print(f"nothing has the key {key} there")

    return action


def first_pass(window: MainWindow) -> None:
    """The first pass above the score, with the cursor on one of its shots."""
    pressed("P")(window)
    wait_until(lambda: window.score.first_pass.solving.cut is not None)
    window.score.canvas.choose(10, None)
    wait(500)


def versions(window: MainWindow) -> None:
    """A first pass that has two versions, to be handed off."""
    window.score.versions.another()
    window.handoff.chosen.boxes["firstpass"].setChecked(True)
    wait_until(lambda: not window.jobs.busy("hand-off"))
    window.handoff.chosen.ensureWidgetVisible(window.handoff.chosen.sequences.version)
    wait(500)


def no_versions(window: MainWindow) -> None:
    """As it was."""
    window.handoff.chosen.boxes["firstpass"].setChecked(False)
    window.session.undo()
    window.session.undo()


STATES: dict[str, tuple[tuple[str, Callable[[MainWindow], None], Callable[[MainWindow], None]], ...]] = {
    "clips": (
        ("filtered", filtered, unfiltered),
        ("larger", larger, pressed("W")),
        ("proposed", proposed, all_listed),
        ("naming", naming, lambda window: window.clips.naming.left.emit()),
    ),
    "song": (("closer", pressed("+", 5), pressed("0")),),
    "plan": (("offered", pressed("Shift+O"), lambda window: window.session.undo()),),
    "check": (
        ("watching", pressed("W"), pressed("W")),
        ("placed", placed_take, first_take),
        ("no-reference", no_reference, not_comparing),
        ("compare", comparing, not_comparing),
    ),
    "score": (
        ("closer", pressed("+", 3), pressed("-", 3)),
        ("whole", pressed("0"), pressed("0")),
        ("watching", pressed("W"), pressed("W")),
        ("proposal", at_proposal, left_proposal),
        ("proposal-outside", at_outside_proposal, left_proposal),
        ("first-pass", first_pass, pressed("P")),
    ),
    "hand-off": (("versions", versions, no_versions),),
}
"""What else is painted of a place: what it is called, how to come there and how to leave it."""


def shoot(window: MainWindow, out: Path, sizes: Sequence[tuple[int, int]], name: str) -> None:
    """Paint the window in both schemes and all sizes."""
    for width, height in sizes:
        window.resize(width, height)
        for scheme, action in (
            ("light", window.action_table["light"]),
            ("dark", window.action_table["dark"]),
        ):
            action.trigger()
            wait(150)
            wait_until(lambda: not any(window.jobs.busy(slot) for slot in (SLOT, PROOFS, PEAKS_SLOT)))
            wait(100)
            window.grab().save(str(out / f"{name}-{scheme}-{width}.png"))


class NoDialogs:
    """Nobody is there to ask: every question is left unanswered, changes may go."""

    def choose_song(self, title: str = "") -> None:
        return None

    def choose_playback(self) -> None:
        return None

    def choose_clips(self) -> list[Path]:
        return []

    def choose_folder(self, title: str) -> None:
        return None

    def choose_shoot(self) -> None:
        return None

    def choose_save_path(self, name: str) -> None:
        return None

    def choose_labels(self) -> None:
        return None

    def choose_labels_path(self, name: str) -> None:
        return None

    def choose_rules(self) -> None:
        return None

    def choose_rules_path(self, name: str) -> None:
        return None

    def choose_sheet_path(self, name: str) -> None:
        return None

    def keep_changes(self, name: str) -> str:
        return "discard"

    def choose_one(self, title: str, question: str, answers: object, leave: str = "") -> None:
        return None

    def ask_text(self, title: str, question: str, text: str) -> None:
        return None

    def ask_texts(self, title: str, question: str, fields: object) -> None:
        return None

    def tell(self, title: str, sentence: str) -> None:
        raise AssertionError(f"{title}: {sentence}")


if __name__ == "__main__":
    sys.exit(main())
