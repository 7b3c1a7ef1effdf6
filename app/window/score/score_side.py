"""The side panel of the score: moving pictures; below them the chosen bars, the angles, or what lacks."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QSplitter, QStackedWidget, QVBoxLayout, QWidget

from app.window.parts.buttons import ActionButton
from app.window.parts.missing_list import MissingList
from app.window.parts.theme import Theme
from app.window.playing.player import Player
from app.window.playing.watch_slot import WatchSlot
from app.window.score.angles_panel import AnglesPanel
from app.window.score.bar_panel import BarPanel
from app.window.score.cut_away_list import CutAwayList
from app.window.score.mark_steps import Found
from app.window.score.proposal_panel import ProposalPanel
from app.window.score.shot_note import ShotNote

WIDTH, WIDTH_WATCHING, HEIGHT = "score/side", "score/side_watching", "score/pictures"
"""What is remembered once it was chosen by hand: shares of the width of the place, of the panel's height."""
LEAST_EM = 14
"""The panel is no narrower than so many lines of text, as long as the place is not small itself."""
STEP_EM = 4
"""What a key makes the panel wider or narrower by."""


class ScoreSide(QWidget):
    """Shows one of the three, and pictures or none; the pictures can be made larger by dragging."""

    changed = Signal()
    """It wants another width; see `wanted_width`."""
    missing_wanted = Signal()
    """What is missing comes to be seen."""

    def __init__(
        self,
        theme: Theme,
        watch: WatchSlot,
        proposal: ProposalPanel,
        panel: BarPanel,
        angles: AnglesPanel,
        player: Player,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._theme, self._watch, self._panel, self._angles = theme, watch, panel, angles
        self._player = player
        self.watching = False
        """Whether moving pictures are shown."""
        margin = round(theme.em())
        self.proposal, self.cut_aways = proposal, CutAwayList(theme)
        self.shot = ShotNote(theme)
        self.missing = MissingList(theme)
        self._bars = QWidget()
        bars = QVBoxLayout(self._bars)
        bars.setContentsMargins(0, 0, 0, 0)
        bars.setSpacing(0)
        bars.addWidget(proposal)
        bars.addWidget(self.cut_aways)
        bars.addWidget(self.shot)
        bars.addWidget(panel, 1)
        self._lacking = QWidget()
        self._below_missing = QVBoxLayout(self._lacking)
        self._below_missing.setContentsMargins(margin, margin, margin, margin)
        self._below_missing.addWidget(self.missing)
        self._stack = QStackedWidget()
        for page in (self._bars, angles, self._lacking):
            self._stack.addWidget(page)
        self._leave_room()
        self.setObjectName("sidePanel")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._pictures = QWidget()
        frame = QVBoxLayout(self._pictures)
        frame.setContentsMargins(margin, margin // 2, margin, 0)
        frame.addWidget(watch)
        self.split = divided(
            Qt.Orientation.Vertical, theme, "Drag to resize the pictures", self._pictures, self._stack
        )
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.addWidget(self.split)
        watch.hide()
        self._pictures.hide()
        watch.panel.controls.changed.connect(self._fit)
        watch.moved.connect(self._fit)
        watch.wanted.connect(self._on_wanted)
        self.split.splitterMoved.connect(self._on_dragged)

    @property
    def lists_angles(self) -> bool:
        """Whether the angles are listed."""
        return self._stack.currentWidget() is self._angles

    def toggle_angles(self) -> None:
        """List the angles, or tell of the bars again."""
        self._show(self._bars if self.lists_angles else self._angles)

    @property
    def lists_missing(self) -> bool:
        """Whether what is still missing is listed."""
        return self._stack.currentWidget() is self._lacking

    def toggle_missing(self) -> None:
        """List what is still missing, or tell of the bars again."""
        self._show(self._bars if self.lists_missing else self._lacking)
        if self.lists_missing:
            self.missing_wanted.emit()
            self.missing.list.setFocus()
        else:
            self._panel.setFocus()

    def add_large(self, action: QAction) -> None:
        """Put a button for large type below what is still missing."""
        button = ActionButton(action)
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self._below_missing.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)

    def show_proposal(self, found: Found | None, alike: int, outside: int) -> None:
        """Show the proposed fault one is at, of which kind there are so many, so many of them outside the
        score; None: at none."""
        if found is not None and self.proposal.isHidden():
            self._show(self._bars)
        self.proposal.show_proposal(found, alike, outside)

    def go_to_cut_aways(self) -> None:
        """Put the keyboard where one can cut away from the fault one is at."""
        if not self.cut_aways.isHidden():
            self._show(self._bars)
            self.cut_aways.list.setFocus()

    def _show(self, page: QWidget) -> None:
        self._stack.setCurrentWidget(page)
        self._leave_room()
        self.fit_height()

    def toggle_watching(self) -> None:
        """Show moving pictures, or no longer."""
        self.watching = not self.watching
        self._pictures.setVisible(self.watching)
        self._watch.setVisible(self.watching)
        self._fit()

    def wanted_width(self, room: int) -> int:
        """Its width in a place so wide: what was chosen by hand, else a fair part, more with pictures."""
        em = self._theme.em()
        share = self._recall(self._width_name)
        if share:
            return round(max(share * room, min(LEAST_EM * em, 0.4 * room)))
        part, least = (0.36, 24) if self._large else (0.22, 20)
        return round(min(max(part * room, least * em), 60 * em, max(0.36 * room, LEAST_EM * em)))

    def keep_width(self, width: int, room: int) -> None:
        """Remember a width that was chosen by hand, in a place so wide."""
        self._player.keep(self._width_name, f"{min(max(width / max(1, room), 0.0), 0.9):.4f}")

    def widen(self, by: int, room: int) -> None:
        """Make it a step wider (1) or narrower (-1), by a key."""
        self.keep_width(self.width() + round(by * STEP_EM * self._theme.em()), room)
        self._fit()

    def fit_height(self) -> None:
        """Divide its height between pictures and words."""
        self._panel.show_picture(not self._large)
        controls, em = self._watch.panel.controls, self._theme.em()
        share = self._recall(HEIGHT)
        if not self._large:
            pictures = 4 * em
        elif share:
            pictures = share * self.height()
        else:
            # One picture is as high as the panel is wide; several may have more, to be larger.
            one = self.width() * 9 / 16 + controls.height_for(self.width()) + em
            pictures = 0.6 * self.height() if controls.many else min(one, 0.6 * self.height())
        rest = self.height() - round(pictures) - self.split.handleWidth()
        self.split.setSizes([round(pictures), max(1, rest)])

    @property
    def _large(self) -> bool:
        """Whether pictures move here, not in a window of their own."""
        return self.watching and self._watch.outside is None

    @property
    def _width_name(self) -> str:
        return WIDTH_WATCHING if self._large else WIDTH

    def _recall(self, name: str) -> float:
        try:
            share = float(self._player.recall(name, "0"))
        except ValueError:
            return 0.0  # a damaged setting is none
        return share if 0.0 < share < 1.0 else 0.0

    def _leave_room(self) -> None:
        """The list of the angles needs its height only while it is seen: else the pictures may have it."""
        self._stack.setMinimumHeight(0 if self.lists_angles else round(10 * self._theme.em()))

    def _fit(self) -> None:
        self.changed.emit()
        self.fit_height()

    def _on_wanted(self) -> None:
        if not self.watching:
            self.toggle_watching()

    def _on_dragged(self) -> None:
        if self._large and self.height():
            self._player.keep(HEIGHT, f"{self.split.sizes()[0] / self.height():.4f}")


def divided(direction: Qt.Orientation, theme: Theme, tip: str, *parts: QWidget) -> QSplitter:
    """Two parts and a border between them that can be dragged; ``tip`` says what for."""
    split = QSplitter(direction)
    for part in parts:
        split.addWidget(part)
    split.setHandleWidth(max(5, round(theme.em() * 0.4)))
    split.setChildrenCollapsible(False)
    split.handle(1).setToolTip(tip)
    return split
