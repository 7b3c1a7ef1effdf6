"""A slider over all frames of a clip: a click goes to the frame there, and can be dragged on from it."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QSlider, QStyle, QStyleOptionSlider, QWidget

TIP = (
    "Slide through the whole clip. "
    "← → go by a frame, Shift+← → by a second, Home and End to its first and last frame"
)


class FrameSlider(QSlider):
    """Chooses a frame, counted from 0."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self.setAccessibleName("Frame of the clip")
        self.setToolTip(TIP)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        option = QStyleOptionSlider()
        self.initStyleOption(option)
        part = QStyle.SubControl.SC_SliderHandle
        handle = self.style().subControlRect(QStyle.ComplexControl.CC_Slider, option, part, self)
        x = round(event.position().x())
        if event.button() == Qt.MouseButton.LeftButton and not handle.contains(event.position().toPoint()):
            reach = max(1, self.width() - handle.width())
            at = QStyle.sliderValueFromPosition(
                self.minimum(), self.maximum(), x - handle.width() // 2, reach
            )
            self.setValue(at)
        super().mousePressEvent(event)
