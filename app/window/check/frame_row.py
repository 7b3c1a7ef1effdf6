"""The frames of a clip without sound, laid below the song: what is seen when a hit is heard."""

from collections.abc import Callable
from math import ceil

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QImage, QPainter, QPen

from app.engine.checking import SHOWN_S
from app.model.edits.pins import frame_s
from app.window.check.proof_painter import Held, ProofPainter
from app.window.parts.theme import Theme

NARROWEST_EM = 3.0
"""Of narrower frames every second one, or third, is shown."""


def draw_frames(
    p: QPainter,
    theme: Theme,
    proof_painter: ProofPainter,
    room: QRectF,
    held: Held,
    picture: Callable[[int, int], QImage | None],
) -> None:
    """Paint frames into the room below the song, each from the moment on at which it is shown.

    ``picture`` gives the frame of a number, so many pixels high, or None as long as it is not at hand.
    """
    length = frame_s(held.clip)
    wide = length * held.take.speed / (2 * SHOWN_S) * room.width()
    every = max(1, ceil(theme.em() * NARROWEST_EM / max(wide, 1e-6)))
    count = ceil(SHOWN_S / (length * held.take.speed * every)) + 1
    last = int(held.clip.duration_s / length - 1e-6)
    box_wide = wide * every
    high = min(room.height() - 4, box_wide * 9 / 16)
    p.save()
    p.setClipRect(room)
    p.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    for number in range(held.frame - count * every, held.frame + (count + 1) * every, every):
        if not 0 <= number <= last:
            continue
        left = proof_painter.x(held.take.song_time(number * length) + held.slide_s - held.song_s)
        box = QRectF(left, room.top() + 2, box_wide, high)
        image = picture(number, round(high))
        if image is not None and not image.isNull():
            size = image.deviceIndependentSize()
            fits = size.scaled(box.size(), Qt.AspectRatioMode.KeepAspectRatio)
            p.drawImage(QRectF(left, box.top(), fits.width(), fits.height()), image)
        p.setPen(QPen(theme.colour("warm" if number == held.frame else "rule"), 1.5))
        p.drawRect(box)
    p.restore()
