"""Where sound comes out: the system's device, or a clock that runs in silence where there is none.

The multimedia library is loaded when something is played for the first time.
"""

import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

from PySide6.QtCore import QIODevice, QObject, Signal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray
    from PySide6.QtMultimedia import QAudioSink, QMediaDevices

    Read = Callable[[int], "NDArray[np.float32]"]
    """Gives so many frames, shape (n, 2), full scale 1.0."""

RATE = 48_000
BUFFER_S = 0.2
"""What waits in the device: the window may be busy for as long without a gap."""
AHEAD_S = 0.1
"""The silent clock takes as much ahead of time."""
_SNAP_S = 0.06
"""The device's clock leaps by more than this only if it stood still."""
_PULL = 0.08
"""Share of the difference to the device's clock, which goes in steps, that is made up with every look."""
_STUCK_S = 3.0
"""A device that stands still for so long is taken for dead; some take more than a second to begin."""
_LOOK_S = 0.1
"""Looks further apart than this tell of a busy window, not of a dead device."""


class Out(Protocol):
    """Something that takes frames and tells how many of them were heard."""

    trouble: str

    def start(self, read: "Read") -> bool: ...

    def hush(self) -> None: ...

    def stop(self) -> None: ...

    def heard(self) -> float | None: ...


class SilentOut:
    """Takes frames as fast as a device would, and drops them."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self.trouble = ""
        self._clock = clock
        self._read: Read | None = None
        self._begun = 0.0
        self._taken = 0

    def start(self, read: "Read") -> bool:
        """Begin to take frames; always possible."""
        self._read, self._begun, self._taken = read, self._clock(), 0
        return True

    def hush(self) -> None:
        """It is silent already."""

    def stop(self) -> None:
        """Take no more."""
        self._read = None

    def heard(self) -> float | None:
        """Frames that would have been heard by now."""
        if self._read is None:
            return None
        now_s = self._clock() - self._begun
        due = round((now_s + AHEAD_S) * RATE) - self._taken
        while due > 0:
            # After a stretch in which nobody looked, in blocks.
            self._taken += len(self._read(min(due, RATE)))
            due = round((now_s + AHEAD_S) * RATE) - self._taken
        return now_s * RATE


class _Feed(QIODevice):
    """What the device pulls its bytes from."""

    def __init__(self, read: "Read", short: bool, parent: QObject) -> None:
        super().__init__(parent)
        self._read, self._short = read, short
        self.frames = 0
        self.open(QIODevice.OpenModeFlag.ReadOnly | QIODevice.OpenModeFlag.Unbuffered)

    def readData(self, most: int) -> bytes:
        size = 4 if self._short else 8
        count = most // size
        if count <= 0:
            return b""
        frames = self._read(count)
        self.frames += count
        if self._short:
            return (frames * 32767).round().astype("<i2").tobytes()
        return frames.tobytes()

    def writeData(self, data: bytes | bytearray | memoryview, most: int) -> int:
        return -1

    def isSequential(self) -> bool:
        return True

    def bytesAvailable(self) -> int:
        return RATE * 8 + super().bytesAvailable()


class DeviceOut(QObject):
    """The system's sound device."""

    lost = Signal()
    """The device is gone, or another one is the system's choice now: start again."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.trouble = ""
        self._sink: QAudioSink | None = None
        self._feed: _Feed | None = None
        self._devices: QMediaDevices | None = None
        self._used: bytes | bytearray | memoryview = b""
        self._offset: float | None = None
        self._told_s = self._looked_s = self._still_s = 0.0
        self._dead = False

    def start(self, read: "Read") -> bool:
        """Begin to play; False, with a sentence in ``trouble``, where that cannot be."""
        self.stop()
        if self._dead:
            self.trouble = (
                "The sound device has stopped: connect or choose another, or save and open Anglebook again. "
                "Pictures run without sound until then."
            )
            return False
        try:
            from PySide6.QtMultimedia import QAudioFormat, QAudioSink, QMediaDevices
        except ImportError as error:
            self.trouble = f"Sound cannot be played here: {error}. Pictures run without it."
            return False
        if self._devices is None:
            self._devices = QMediaDevices(self)
            self._devices.audioOutputsChanged.connect(self._on_devices_changed)
        device = QMediaDevices.defaultAudioOutput()
        self._used = device.id().data()
        if device.isNull():
            self.trouble = "There is no sound device: connect one. Pictures run without sound until then."
            return False
        form = QAudioFormat()
        form.setSampleRate(RATE)
        form.setChannelCount(2)
        form.setSampleFormat(QAudioFormat.SampleFormat.Float)
        short = not device.isFormatSupported(form)
        if short:
            form.setSampleFormat(QAudioFormat.SampleFormat.Int16)
        self._feed = _Feed(read, short, self)
        self._sink = QAudioSink(device, form, self)
        self._sink.setBufferSize(round(BUFFER_S * RATE) * form.bytesPerFrame())
        self._frame_bytes = form.bytesPerFrame()
        self._offset = None
        self._told_s, self._still_s, self._looked_s = 0.0, 0.0, time.monotonic()
        self._sink.start(self._feed)
        # By name: the library has had two enumerations for the same errors.
        if self._sink.error().name not in ("NoError", "UnderrunError"):
            name = device.description()
            self.stop()
            self.trouble = (
                f"The sound device {name} cannot be opened: choose another in the system's settings."
            )
            return False
        self.trouble = ""
        return True

    def hush(self) -> None:
        """Turn down at once what waits in the device."""
        if self._sink is not None:
            self._sink.setVolume(0.0)

    def stop(self) -> None:
        """Let go of the device."""
        if self._sink is not None:
            self._sink.stop()
            self._sink.deleteLater()
            self._sink = None
        if self._feed is not None:
            self._feed.close()
            self._feed.deleteLater()
            self._feed = None

    def heard(self) -> float | None:
        """Frames that came out by now; None as long as nothing did.

        What the device tells goes in steps of some milliseconds, so the time between is the computer's.
        """
        if self._sink is None or self._feed is None or self._dead:
            return None
        now = time.monotonic()
        waiting = self._sink.bufferSize() - self._sink.bytesFree()
        # Some releases of the library count what was handed over, some what left the buffer.
        device_s = min(
            self._sink.processedUSecs() / 1e6, self._feed.frames / RATE - waiting / self._frame_bytes / RATE
        )
        if self._stands_still(device_s, now):
            # To start anything on it again would take the whole program down where the system's sound server
            # died (its client library asserts that it is there), and the library does not tell which it is.
            self._dead = True
            self.lost.emit()
            return None
        if device_s <= 0:
            return None
        if self._offset is None or abs(device_s - now - self._offset) > _SNAP_S:
            self._offset = device_s - now
        self._offset += _PULL * (device_s - now - self._offset)
        return max(0.0, now + self._offset) * RATE

    def _stands_still(self, device_s: float, now: float) -> bool:
        """Whether the device has made no step for long, as far as somebody looked."""
        self._still_s += min(now - self._looked_s, _LOOK_S)
        self._looked_s = now
        if device_s > self._told_s:
            self._told_s, self._still_s = device_s, 0.0
        return self._still_s > _STUCK_S

    def _on_devices_changed(self) -> None:
        self._dead = False
        from PySide6.QtMultimedia import QMediaDevices

        if QMediaDevices.defaultAudioOutput().id().data() != self._used:
            self.lost.emit()
