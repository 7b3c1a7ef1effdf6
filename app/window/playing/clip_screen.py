"""The picture of a clip that is played by itself."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, Qt, QTimer
from PySide6.QtGui import QHideEvent, QImage, QPainter, QPaintEvent, QShowEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.engine import watching
from app.model.on_song import Clip
from app.window.parts import theme as looks
from app.window.parts.theme import Theme
from app.window.playing.clip_player import ClipPlayer
from app.window.playing.proxy_maker import ProxyMaker
from app.window.playing.watch_tile import WRAPPED, fitting

if TYPE_CHECKING:
    from app.engine.watching import FramePrefetcher

STEP_MS = 16
LAST_S = 0.001
"""So long before its end a clip still shows its last picture."""


class ClipScreen(QWidget):
    """Shows what a `ClipPlayer` plays; pictures are decoded by threads that run only while it is seen."""

    def __init__(self, player: ClipPlayer, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._player, self._theme = player, theme
        self.proxies = ProxyMaker(player.jobs, parent=self)
        self._watcher: FramePrefetcher | None = None
        self._path = ""
        self._image: QImage | None = None
        self._pixels: object = None
        self._pending = False
        self._says = ""
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setInterval(STEP_MS)
        self._timer.timeout.connect(self._step)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(round(theme.em() * 8), round(theme.em() * 4.5))
        self.setAccessibleName("Picture of the clip")
        player.changed.connect(self._look)
        player.moved.connect(self._look)
        self.proxies.changed.connect(self._look)
        theme.changed.connect(self.update)

    @property
    def says(self) -> str:
        """What is written where there is no picture."""
        return self._says if self._image is None else ""

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._look()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._timer.stop()
        self._path = ""  # shown again, it asks for everything anew
        self.proxies.rest()
        watcher, self._watcher = self._watcher, None
        if watcher is not None:
            watcher.close()

    def paintEvent(self, event: QPaintEvent) -> None:
        p = QPainter(self)
        room = QRectF(self.rect())
        p.fillRect(room, self._theme.mixed(self._theme.colour("ink"), 0.08))
        if self._image is None:
            p.setPen(self._theme.colour("dim"))
            p.setFont(self._theme.font(looks.SMALL))
            inset = self._theme.em() * 0.5
            inside = room.adjusted(inset, 0, -inset, 0)
            p.drawText(inside, WRAPPED, fitting(self._says, p.fontMetrics(), inside))
            return
        scale = min(room.width() / self._image.width(), room.height() / self._image.height())
        shown = QRectF(0, 0, self._image.width() * scale, self._image.height() * scale)
        shown.moveCenter(room.center())
        p.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        p.drawImage(shown, self._image)

    def _look(self) -> None:
        """Show what is there and keep looking while something is to come."""
        if not self.isVisible():
            return
        clip = self._player.clip
        path = "" if clip is None else clip.media.path
        if path != self._path:
            self._path, self._image, self._pixels = path, None, None
            self.proxies.want([] if clip is None else [clip])
        self._step()
        if not self._timer.isActive() and (self._player.playing or self._pending):
            self._timer.start()

    def _step(self) -> None:
        clip = self._player.clip
        if clip is None or clip.frame_rate is None or not clip.duration_s:
            self._pending = False
            self._say(self._player.why_not() or "Sound only: there is no picture.")
        else:
            self._show_frame(clip)
        if not (self._player.playing or self._pending):
            self._timer.stop()

    def _show_frame(self, clip: Clip) -> None:
        if self._watcher is None:
            self._watcher = watching.watcher()
        lines = max(2, round(self.height() * self.devicePixelRatioF()))
        lines = min(lines, clip.height or lines)
        now_s = min(self._player.position(), clip.duration_s - LAST_S)
        path = self.proxies.path_of(clip)
        wish = watching.wish(clip.media.path, path, now_s, lines, running=self._player.playing)
        self._watcher.want([wish])
        shown = self._watcher.picture(wish.key, wish.clip_s)
        trouble = self._watcher.trouble(wish.key)
        self._pending = not trouble and (shown is None or shown.picture.shape[0] != lines)
        if shown is None:
            self._say(trouble or "…")
        elif shown.picture is not self._pixels:
            height, width, _ = shown.picture.shape
            self._pixels = shown.picture  # the image below uses its memory
            form = QImage.Format.Format_RGB888
            self._image = QImage(shown.picture.data, width, height, 3 * width, form)
            self.update()

    def _say(self, text: str) -> None:
        if text != self._says:
            self._says = text
            self.setAccessibleDescription(text)
            self.setToolTip(text if len(text) > 1 else "")
            self.update()
