"""How Check is laid out: the list at the left, the proofs in the middle, pictures and the decision at the
right, playing below."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QAction, QColor, QResizeEvent
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from app.window.check.compare_page import ComparePage
from app.window.check.frame_trio import FrameTrio
from app.window.check.lag_view import LagView
from app.window.check.pin_page import PinPage
from app.window.check.places_list import PlacesList
from app.window.check.proof_cell import ProofCell
from app.window.check.proof_strip import ProofStrip
from app.window.check.queue_list import QueueList
from app.window.parts import theme as looks
from app.window.parts.buttons import ActionButton
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

SAID = ("start", "first quarter", "middle", "third quarter", "end")
HINT_FROM_EM = 36
"""Height of the page from which on the keys are told below the strip."""
HINT = "Drag to slide · ← → a frame · Shift+← → a quarter · Alt+← → a millisecond · Ctrl+← → bar by bar"


class CheckPage(QWidget):
    """The widgets of Check, put together."""

    def __init__(
        self,
        theme: Theme,
        queue: QueueList,
        trio: FrameTrio,
        watch: QWidget | None,
        play_bar: QWidget | None,
        pin_page: PinPage,
        compare_page: ComparePage,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._em = round(theme.em())
        self._gap = self._em // 2
        self._queue, self.trio = queue, trio
        self._watching, self._has_take, self._running = False, True, False
        self.pin_page, self.compare_page = pin_page, compare_page
        self._comparing = False
        self.name = TextLabel(theme, size=looks.HEADING, bold=True, wrap=False)
        self.line = TextLabel(theme, size=looks.SMALL, role="dim")
        self.reason = TextLabel(theme, role="warm")
        self.message = TextLabel(theme)
        self.cells = [
            ProofCell(theme, f"Look at the take at its {said} (Page Up, Page Down)") for said in SAID
        ]
        self.strip = ProofStrip(theme, trio.pictures)
        self.strip.setToolTip(f"{self.strip.toolTip()}\n{HINT}")
        self.hint = TextLabel(theme, HINT, size=looks.SMALL, role="dim")
        self.hint.hide()
        self.lag_words = TextLabel(theme, bold=True)
        self.agreement = TextLabel(theme, size=looks.SMALL, role="dim")
        self.apart = TextLabel(theme, size=looks.SMALL, role="dim")
        self.apart.hide()
        self.lag = LagView(theme)
        self.places = PlacesList(theme)
        self._pictures = QWidget()
        # Said outright, or what is not shown of them would claim room as well.
        self._pictures.setMinimumHeight(trio.minimumSizeHint().height())
        self._shown = QStackedLayout(self._pictures)
        self._shown.setContentsMargins(0, 0, 0, 0)
        self._shown.addWidget(trio)
        if watch is not None:
            self._shown.addWidget(watch)
        # In a widget of its own: a page without one would be shown as a window of its own.
        self._proofs = QWidget()
        self._middle = QStackedLayout(self._proofs)
        self._middle.setContentsMargins(0, 0, 0, 0)
        self._middle.addWidget(self._evidence())
        self._middle.addWidget(pin_page)
        self._middle.addWidget(compare_page)
        self._buttons = QGridLayout()
        self._side = self._right()
        self._side.installEventFilter(self)
        self.places.filled.connect(self._fit_pictures)
        self._watch_button = QHBoxLayout()
        self._play_bar = play_bar

    def arrange(self, actions: Sequence[QAction], watch: QAction) -> None:
        """Lay all out, once, with buttons for these actions below the places; the first is the main one.
        ``watch`` has its button above the pictures."""
        self._watch_button.addWidget(ActionButton(watch))
        self._buttons.addWidget(ActionButton(actions[0], main=True), 0, 0, 1, 2)
        for n, action in enumerate(actions[1:]):
            self._buttons.addWidget(ActionButton(action), 1 + n // 2, n % 2)
        self._lay_out()

    @property
    def pinning(self) -> bool:
        """Whether frames are being pinned."""
        return self._middle.currentIndex() == 1

    def show_pins(self, on: bool) -> None:
        """Show the page for pins, or what was shown before."""
        self._middle.setCurrentIndex(1 if on else 2 if self._comparing else 0)
        # Its buttons would decide about song and take, which are not in view; and colours need the room.
        self._side.setVisible(not self.comparing)
        self._fit_pictures()

    @property
    def comparing(self) -> bool:
        """Whether the take is compared with the reference, in the place of the proofs."""
        return self._middle.currentIndex() == 2

    def show_comparing(self, on: bool) -> None:
        """Compare the take with the reference, or show the proofs."""
        self._comparing = on
        self.show_pins(False)

    def tell_apart(self, text: str) -> None:
        """Say how far the take sits from the reference, beside the proof."""
        self.apart.setText(text)
        self.apart.setVisible(bool(text))

    @property
    def watching(self) -> bool:
        """Whether moving pictures are shown in place of the frames; while pinning, only while it plays."""
        return self._running if self.pinning else self._watching and self._has_take

    def let_watch(self, on: bool) -> None:
        """Whether there is a take to be watched: else pictures would be those of another one."""
        if on != self._has_take:
            self._has_take = on
            self._fit_pictures()

    def let_run(self, on: bool) -> None:
        """Whether it plays: while frames are pinned, moving pictures are shown just then."""
        if on != self._running:
            self._running = on and self._shown.count() > 1
            self._fit_pictures()

    def show_watching(self, on: bool) -> None:
        """Show moving pictures, or the frames."""
        self._watching = on and self._shown.count() > 1
        self._fit_pictures()

    def show_nothing(self, why: str) -> None:
        """No take is looked at: nothing of another one is left."""
        self.strip.show_moment(None, None, 0.0, QColor(), (), why)
        for cell, said in zip(self.cells, SAID, strict=True):
            cell.show_moment(said, None, None, 0.0, QColor())
            cell.setChecked(False)
        self.lag.show_nothing()
        self.hint.setText("")
        self.lag_words.setText("")
        self.agreement.setText("")

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        # With large text in a small window the tip of the strip tells the keys; the strip needs the room.
        self.hint.setVisible(self.height() > HINT_FROM_EM * self._em)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Resize:
            self._fit_pictures()
        return super().eventFilter(watched, event)

    def _fit_pictures(self) -> None:
        """Frames take the height their width asks for, as far as the places leave it; moving pictures take
        what there is."""
        self._shown.setCurrentIndex(int(self.watching))
        high = 2 * self.height()
        if not self.watching:
            spare = self._side.height() - self._buttons.sizeHint().height() - 2 * self._gap
            spare -= self.places.wanted_height
            high = min(
                max(spare, self.trio.minimumSizeHint().height()), self.trio.height_for(self._side.width())
            )
        self._pictures.setMaximumHeight(high)
        # The row over moving pictures needs more room than three frames do; while pinning there is none.
        least = round(self._em * (30 if self.watching and not self.pinning else 16))
        self._side.setMinimumWidth(max(least, self._buttons.minimumSize().width()))

    def _evidence(self) -> QWidget:
        page = QWidget()
        box = QVBoxLayout(page)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(round(self._em * 0.4))
        row = QHBoxLayout()
        row.setSpacing(round(self._em * 0.4))
        for cell in self.cells:
            row.addWidget(cell)
        box.addLayout(row)
        box.addWidget(self.strip, 5)
        box.addWidget(self.hint)
        box.addWidget(self.lag_words)
        box.addWidget(self.agreement)
        box.addWidget(self.apart)
        box.addWidget(self.lag, 2)
        return page

    def _right(self) -> QWidget:
        side = QWidget()
        box = QVBoxLayout(side)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(self._gap)
        box.addWidget(self._pictures, 100)
        box.addWidget(self.places, 1)
        self._buttons.setSpacing(round(self._em * 0.4))
        box.addLayout(self._buttons)
        return side

    def _lay_out(self) -> None:
        em = self._em
        top = QVBoxLayout()
        top.setSpacing(round(em * 0.2))
        head = QHBoxLayout()
        head.setSpacing(em)
        head.addWidget(self.name)
        head.addWidget(self.line, 1)
        # In the place of that line, so that nothing moves under the mouse when something is said.
        head.addWidget(self.message, 1)
        head.addLayout(self._watch_button)
        top.addLayout(head)
        top.addWidget(self.reason)
        centre = QHBoxLayout()
        centre.setSpacing(em)
        centre.addWidget(self._proofs, 56)
        self._side.setMinimumWidth(em * 16)
        self._side.setMaximumWidth(em * 90)
        centre.addWidget(self._side, 29)
        column = QVBoxLayout()
        column.setSpacing(em // 2)
        column.addLayout(top)
        column.addLayout(centre, 1)
        upper = QVBoxLayout(self)
        upper.setContentsMargins(em, round(em * 0.6), em, round(em * 0.6))
        upper.setSpacing(em // 2)
        whole = QHBoxLayout()
        whole.setSpacing(em)
        upper.addLayout(whole, 1)
        # Below all, for larger text needs the whole width there.
        if self._play_bar is not None:
            upper.addWidget(self._play_bar)
        self._queue.setMinimumWidth(round(em * 10.5))
        self._queue.setMaximumWidth(em * 20)
        whole.addWidget(self._queue, 17)
        whole.addLayout(column, 83)
