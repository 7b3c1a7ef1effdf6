"""The place Hand-off: where to, what is written, and what came of it."""

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLineEdit,
    QPlainTextEdit,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from app.handoff.outcome import HandoffReport
from app.jobs import Jobs, Ticket, sentence
from app.model.change import Change
from app.model.shoot import Shoot
from app.session import Session
from app.views import theme as looks
from app.views import words
from app.views.buttons import ActionButton
from app.views.dialogs import Dialogs
from app.views.empty_page import EmptyPage
from app.views.ink import Ink
from app.views.place import Place
from app.views.theme import Theme

SLOT = "hand-off"


HandOver = Callable[[Shoot, Path], Sequence[HandoffReport]]
"""Writes everything into a folder and checks it; gives a report a file. Raises with a sentence."""

WHAT = (
    "Written are a timeline (OpenTimelineIO), with every take at its place below the song, and a table (CSV) "
    "with all places as figures. Both are read back and compared. Clips stay where they are."
)


class HandoffPlace(Place):
    """Writes what the editing program reads."""

    title = "Hand-off"

    def __init__(
        self,
        session: Session,
        theme: Theme,
        jobs: Jobs,
        dialogs: Dialogs,
        hand_over: HandOver,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(session, theme, parent)
        self._jobs, self._dialogs, self._hand_over = jobs, dialogs, hand_over
        self._choose = self.action("Choose Folder…", "Ctrl+L", "Choose where to write", self._choose_folder)
        self._write = self.action(
            "Write Hand-off", "Ctrl+Return", "Write the hand-off into the folder", self.write
        )
        self._summary = Ink(theme, size=looks.TEXT)
        self._doubts = Ink(theme, size=looks.TEXT, role="warm")
        self.folder = QLineEdit()
        self.folder.setPlaceholderText("Folder for the hand-off")
        self.folder.setAccessibleName("Folder for the hand-off")
        self.folder.setToolTip("Where the files are written; clips are left where they are")
        self.folder.textChanged.connect(self._enable)
        self.report = QPlainTextEdit()
        self.report.setReadOnly(True)
        self.report.setFrameShape(QFrame.Shape.NoFrame)
        self.report.setTabChangesFocus(True)
        self.report.setAccessibleName("What was written")
        self.report.setToolTip("What was written, and what the formats could not carry")
        for field in (self.folder, self.report):
            field.setAcceptDrops(False)  # files dropped anywhere belong to the window
        self._arrange(round(theme.em()))

    def keys(self) -> list[tuple[str, str]]:
        return [("Ctrl+L", "choose the folder"), ("Ctrl+Enter", "write")]

    def take_focus(self) -> None:
        self.folder.setFocus()

    def refresh(self, change: Change) -> None:
        shoot = self.session.shoot
        takes = [take for clip in shoot.clips for take in clip.takes]
        self._stack.setCurrentIndex(1 if takes else 0)
        placed = len(takes) - len(words.open_takes(shoot))
        angles = {clip.angle_id for clip in shoot.clips if clip.takes}
        self._summary.setText(
            f"{words.count(placed, 'take')} from {words.count(len(angles), 'angle')} "
            f"will be handed over, each at its place in the song."
        )
        doubts = len(words.open_takes(shoot))
        self._doubts.setVisible(doubts > 0)
        self._doubts.setText(
            f"{words.count(doubts, 'take')} in doubt: decide in Check (Ctrl+3), or they go over switched off."
        )
        if not self.folder.text() and self.session.path is not None:
            self.folder.setText(str(self.session.path.parent / f"{self.session.path.stem} hand-off"))
        self._enable()

    def write(self) -> None:
        """Write the hand-off into the folder."""
        if not self._write.isEnabled():
            return
        hand_over, shoot = self._hand_over, self.session.shoot
        folder = Path(self.folder.text().strip()).expanduser().absolute()

        def work(ticket: Ticket) -> Sequence[HandoffReport]:
            return hand_over(shoot, folder)

        self.report.setPlainText("Writing, reading back and comparing …")
        self._jobs.start(SLOT, work, self._written, self._failed)
        self._enable()

    def _written(self, reports: Sequence[HandoffReport]) -> None:
        lines = []
        for report in reports:
            lines += [f"✓  {report.path}, {words.count(report.takes, 'take')}", *report.lines, ""]
        self.report.setPlainText("\n".join(lines).strip())
        self._enable()

    def _failed(self, error: Exception) -> None:
        self.report.setPlainText(f"✕ {sentence(error)}")
        self._enable()

    def _choose_folder(self) -> None:
        folder = self._dialogs.choose_folder("Folder for the hand-off")
        if folder is not None:
            self.folder.setText(str(folder))

    def _enable(self) -> None:
        ready = bool(self.folder.text().strip())
        self._write.setEnabled(ready and not self._jobs.busy(SLOT))

    def _arrange(self, em: int) -> None:
        page = QWidget()
        box = QVBoxLayout(page)
        box.setContentsMargins(em, em, em, em)
        box.setSpacing(round(em * 0.7))
        box.addWidget(Ink(self.theme, "Hand over to the edit", size=looks.HEADING, bold=True))
        box.addWidget(self._summary)
        box.addWidget(self._doubts)
        row = QHBoxLayout()
        row.addWidget(self.folder, 1)
        row.addWidget(ActionButton(self._choose))
        box.addLayout(row)
        box.addWidget(Ink(self.theme, WHAT, size=looks.SMALL, role="dim"))
        box.addSpacing(em // 2)
        box.addWidget(ActionButton(self._write, main=True), 0, Qt.AlignmentFlag.AlignLeft)
        box.addWidget(self.report, 1)
        lines = (
            "There is nothing to hand over yet.",
            "Placed takes go to the editing program as a list it can open.",
            "Drop the song and the clips in Clips (Ctrl+1) first.",
        )
        self._stack = QStackedLayout(self)
        self._stack.addWidget(EmptyPage(self.theme, "Hand over to the edit", lines))
        self._stack.addWidget(page)
