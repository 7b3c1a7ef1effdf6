"""How a row of the queue is painted: which take it is comes first and stays whole; the rest gives way."""

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from app.window.parts import theme as looks
from app.window.parts.theme import Theme

TAIL = Qt.ItemDataRole.UserRole + 1
"""The end of the first line, which is never left out: a file's takes differ in nothing else."""
Index = QModelIndex | QPersistentModelIndex


class QueueRow(QStyledItemDelegate):
    """Paints two lines: file and take; state and angle, small."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        return QSize(0, round(self._theme.em() + self._theme.em(looks.SMALL) + self._theme.em() * 0.5))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        theme, em = self._theme, self._theme.em()
        rect = QRectF(option.rect)
        chosen = bool(option.state & QStyle.StateFlag.State_Selected)
        painter.save()
        if chosen:
            painter.fillRect(rect, theme.colour("chosen"))
            painter.fillRect(QRectF(rect.left(), rect.top(), 4, rect.height()), theme.colour("ink"))
        name, _, rest = str(index.data()).partition("\n")
        inner = rect.adjusted(em * 0.7, em * 0.2, -em * 0.3, -em * 0.2)
        font = theme.font(bold=chosen)
        painter.setFont(font)
        painter.setPen(theme.colour("ink"))
        top = QRectF(inner.left(), inner.top(), inner.width(), em * 1.1)
        shown = fitted(name, str(index.data(TAIL) or ""), QFontMetricsF(font), inner.width())
        painter.drawText(top, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, shown)
        small = theme.font(looks.SMALL)
        painter.setFont(small)
        painter.setPen(theme.colour("warm" if rest.startswith("?") else "ink" if chosen else "dim"))
        low = QRectF(inner.left(), top.bottom(), inner.width(), inner.bottom() - top.bottom())
        shown = QFontMetricsF(small).elidedText(rest, Qt.TextElideMode.ElideRight, inner.width())
        painter.drawText(low, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, shown)
        painter.restore()


def fitted(name: str, tail: str, metrics: QFontMetricsF, width: float) -> str:
    """A name that ends in ``tail``, with its middle left out where there is no room."""
    if metrics.horizontalAdvance(name) <= width:
        return name
    stem = name.removesuffix(tail)
    room = width - metrics.horizontalAdvance(tail)
    if room < metrics.horizontalAdvance("…"):
        return metrics.elidedText(name, Qt.TextElideMode.ElideMiddle, width)
    return metrics.elidedText(stem, Qt.TextElideMode.ElideMiddle, max(0.0, room)) + tail
