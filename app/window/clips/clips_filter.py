"""The line above the table of clips: search, verdict, angle, proposed faults, how many clips that leaves."""

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QHBoxLayout, QLineEdit, QWidget

from app.model.document.marks import MarkState
from app.model.document.verdict import GLYPHS, verdict_word
from app.model.faults_seen import CALLED
from app.model.on_song import SongView
from app.window.clips.clips_model import ORDER
from app.window.clips.clips_proxy_model import Wanted
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.buttons import ActionButton
from app.window.parts.drop_down import DropDown
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme


class ClipsFilter(QWidget):
    """Tells by ``wanted_changed`` what is to be shown."""

    wanted_changed = Signal(object)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        em = round(theme.em())
        self._row = row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(em // 2)
        self.text = QLineEdit()
        self.show_songs(several=False)
        self.text.setAccessibleName("Search clips")
        self.text.setToolTip("Shows the clips whose row contains all these words (Ctrl+F)")
        self.text.setMinimumWidth(em * 10)
        self.text.setMaximumWidth(em * 26)
        self.verdict = DropDown(theme)
        self.verdict.setAccessibleName("Verdict shown")
        self.verdict.setToolTip("Shows the clips with one verdict (Ctrl+Shift+V)")
        self.verdict.addItem("All verdicts")
        for verdict in ORDER:
            self.verdict.addItem(f"{GLYPHS[verdict]}  {verdict_word(verdict)}")
        self.angle = DropDown(theme)
        self.angle.setAccessibleName("Angle shown")
        self.angle.setToolTip("Shows the clips of one angle (Ctrl+Shift+A)")
        self.angle.addItem("All angles", None)
        self.proposed = DropDown(theme)
        self.proposed.setAccessibleName("Proposed faults shown")
        self.proposed.setToolTip("Shows the clips in which the pictures propose a fault (Ctrl+Shift+P)")
        self.proposed.addItem("Proposed or not", None)
        self.proposed.addItem("Faults proposed", "")
        for word, called in CALLED.items():
            self.proposed.addItem(f"Proposed: {called}", word)
        for box in (self.verdict, self.angle, self.proposed):
            box.setSizeAdjustPolicy(DropDown.SizeAdjustPolicy.AdjustToContents)
            box.setMaximumWidth(em * 16)
        # There is nothing to choose until something is proposed.
        self.proposed.hide()
        self.proposed.setSizeAdjustPolicy(DropDown.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.proposed.setMinimumContentsLength(12)
        self._shown = TextLabel(theme, size=looks.SMALL, role="dim", wrap=False)
        row.addWidget(self.text, 1)
        row.addWidget(self.verdict)
        row.addWidget(self.angle)
        row.addWidget(self.proposed)
        row.addWidget(self._shown)
        row.addStretch(1)
        self.text.setAcceptDrops(False)  # files dropped anywhere belong to the window
        self.text.textChanged.connect(self._tell)
        self.verdict.currentIndexChanged.connect(self._tell)
        self.angle.currentIndexChanged.connect(self._tell)
        self.proposed.currentIndexChanged.connect(self._tell)
        self._all: ActionButton | None = None

    def add_button(self, show_all: QAction) -> None:
        """Put the button that shows every clip again behind the fields; seen as long as some are left out."""
        self._all = ActionButton(show_all)
        self._row.insertWidget(self._row.indexOf(self._shown), self._all)
        self._all.setVisible(not self.wanted.everything)

    @property
    def wanted(self) -> Wanted:
        """What is to be shown."""
        number = self.verdict.currentIndex()
        verdict = ORDER[number - 1] if number > 0 else None
        return Wanted(self.text.text(), verdict, self.angle.currentData(), self.proposed.currentData())

    def show_shoot(self, shoot: SongView) -> None:
        """Offer the angles of a shoot; one that is gone no longer holds clips back."""
        anything = any(mark.state is MarkState.PROPOSED for clip in shoot.clips for mark in clip.marks)
        self.proposed.setVisible(anything or self.proposed.currentIndex() > 0)
        before = self.angle.currentData()
        entries = [(angle.name, angle.id) for angle in shoot.angles]
        known = [(self.angle.itemText(n), self.angle.itemData(n)) for n in range(1, self.angle.count())]
        if entries == known:
            return
        with QSignalBlocker(self.angle):
            while self.angle.count() > 1:
                self.angle.removeItem(1)
            for name, angle_id in entries:
                self.angle.addItem(name, angle_id)
            self.angle.setCurrentIndex(max(0, self.angle.findData(before)))
        if self.angle.currentData() != before:
            self._tell()

    def show_songs(self, *, several: bool) -> None:
        """Tell what can be searched: songs too, where there are several."""
        self.text.setPlaceholderText(f"Search angle, file,{' song,' if several else ''} why, note")

    def show_count(self, shown: int, of: int) -> None:
        """Tell how many clips are shown."""
        everything = self.wanted.everything
        self._shown.setText("" if everything else f"{shown} of {words.count(of, 'clip')} shown")
        if self._all is not None:
            self._all.setVisible(not everything)

    def show_all(self) -> None:
        """Show every clip again."""
        boxes = (self.verdict, self.angle, self.proposed)
        self.blockSignals(True)
        self.text.clear()
        for box in boxes:
            box.setCurrentIndex(0)
        self.blockSignals(False)
        self._tell()

    def choose_proposed(self) -> None:
        """Offer the kinds of proposed faults, where there are any."""
        if not self.proposed.isHidden():
            self.proposed.showPopup()

    def search(self) -> None:
        """Put the keyboard into the search."""
        self.text.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.text.selectAll()

    def _tell(self) -> None:
        self.wanted_changed.emit(self.wanted)
