"""The clips of one angle while angles are named: small pictures that can be dragged to another angle."""

from collections.abc import Sequence

from PySide6.QtCore import QMimeData, QSize, Qt, Signal
from PySide6.QtGui import (
    QDragEnterEvent,
    QDragMoveEvent,
    QDropEvent,
    QFocusEvent,
    QIcon,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import QAbstractItemView, QListWidget, QListWidgetItem, QWidget

from app.model.on_song import Clip
from app.window.parts import words
from app.window.parts.clip_pictures import Pictures
from app.window.parts.theme import Theme

MIME = "application/x-anglebook-clips"
ID = Qt.ItemDataRole.UserRole


class NamingClips(QListWidget):
    """Shows clips side by side; what is chosen can be dragged away, and clips of others can be dropped."""

    dropped = Signal(object)
    """Ids of clips that were dropped here, a list."""

    def __init__(self, theme: Theme, pictures: Pictures, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._pictures, self._em = pictures, theme.em()
        self._clips: tuple[Clip, ...] = ()
        self.setObjectName("namingClips")
        self.setFlow(QListWidget.Flow.LeftToRight)
        self.setWrapping(True)
        self.setResizeMode(QListWidget.ResizeMode.Adjust)
        self.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setDragDropMode(QAbstractItemView.DragDropMode.DragDrop)
        self.setDefaultDropAction(Qt.DropAction.MoveAction)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setIconSize(QSize(round(self._em * 4), round(self._em * 2.25)))
        self.setGridSize(QSize(round(self._em * 15), round(self._em * 3)))
        pictures.arrived.connect(self._show_pictures)

    def show_clips(self, clips: Sequence[Clip]) -> None:
        """Show these; what is chosen stays so."""
        if tuple(clips) == self._clips:
            return
        chosen = self.chosen_ids()
        self._clips = tuple(clips)
        self.clear()
        for clip in clips:
            item = QListWidgetItem(words.file_name(clip))
            item.setData(ID, clip.id)
            item.setToolTip(f"{clip.media.path}\nDrag it to another angle, or press Alt+Up or Alt+Down")
            self.addItem(item)
            item.setSelected(clip.id in chosen)
        self._show_pictures()
        self._fit()

    def chosen_ids(self) -> list[str]:
        """Ids of the chosen clips."""
        return [item.data(ID) for item in self.selectedItems()]

    def mimeData(self, items: Sequence[QListWidgetItem]) -> QMimeData:
        data = QMimeData()
        data.setData(MIME, "\n".join(item.data(ID) for item in items).encode())
        return data

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        self._accept(event)

    def dragMoveEvent(self, event: QDragMoveEvent) -> None:
        self._accept(event)

    def dropEvent(self, event: QDropEvent) -> None:
        ids = dropped_ids(event)
        if ids:
            event.setDropAction(Qt.DropAction.CopyAction)  # the list itself is to remove nothing
            event.accept()
            self.dropped.emit(ids)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if not self.selectedItems() and event.reason() != Qt.FocusReason.MouseFocusReason:
            self.setCurrentRow(max(0, self.currentRow()))  # so that a key can move it at once

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _accept(self, event: QDropEvent) -> None:
        event.setAccepted(bool(dropped_ids(event)))

    def _fit(self) -> None:
        across = max(1, (self.width() - 2 * self.frameWidth()) // self.gridSize().width())
        rows = -(-max(1, self.count()) // across)
        self.setFixedHeight(rows * self.gridSize().height() + 2 * self.frameWidth())

    def _show_pictures(self) -> None:
        if not self.isVisibleTo(self.window()):
            return
        ratio = self.devicePixelRatioF()
        for row, clip in enumerate(self._clips):
            item = self.item(row)
            if item.icon().isNull():
                image = self._pictures.get(clip, shown_moment(clip), self.iconSize().height(), ratio)
                if image is not None:
                    item.setIcon(QIcon(QPixmap.fromImage(image)))


def dropped_ids(event: QDropEvent) -> list[str]:
    """Ids of the clips that are dragged; empty for anything else."""
    data = event.mimeData()
    return bytes(data.data(MIME).data()).decode().split("\n") if data.hasFormat(MIME) else []


def shown_moment(clip: Clip) -> float:
    """The moment that shows a clip best, clip seconds: a third into its longest take, or into itself."""
    take = max(clip.takes, key=lambda one: one.clip_end_s - one.clip_start_s, default=None)
    if take is None:
        return clip.duration_s / 3
    return take.clip_start_s + (take.clip_end_s - take.clip_start_s) / 3
