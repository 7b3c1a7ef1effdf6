"""Tapping the tempo: a tap on every beat while the song plays."""

from PySide6.QtCore import QObject, QTimer, Signal

from app.model.edits import map_edits
from app.model.song_map.map_beats import FEWEST_TAPS
from app.window.parts import words
from app.window.playing.player import Player
from app.window.session import Session
from app.window.song.map_steps import MapSteps

OVER_MS = 2500
"""After so long without a tap, the tapping is over."""


class SongTaps(QObject):
    """Collects taps; from the third on, beats follow them."""

    ended = Signal(float, str)
    """Tapping is over: where it began (song time), and the key of the step it is to be part of."""

    def __init__(
        self, session: Session, player: Player, steps: MapSteps, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._session, self._player, self._steps = session, player, steps
        self._taps: list[float] = []
        self._round = 0
        self._over = QTimer(self)
        self._over.setSingleShot(True)
        self._over.setInterval(OVER_MS)
        self._over.timeout.connect(self.end)

    @property
    def count(self) -> int:
        """How many taps there are so far."""
        return len(self._taps)

    def tap(self) -> None:
        """A beat is now. At rest, the first tap begins to play."""
        if not self._player.playing:
            self._player.play()
            self._steps.message.emit("Now tap T on every beat.")
            return
        now = self._player.position()
        if self._taps and now <= self._taps[-1]:
            self._taps = []  # played on from further back
        self._taps.append(now)
        self._over.start()
        left = FEWEST_TAPS - len(self._taps)
        if left > 0:
            self._steps.message.emit(f"{words.count(left, 'more tap')}…")
            return
        taps = tuple(self._taps)
        tempo = 60 * (len(taps) - 1) / (taps[-1] - taps[0])
        said = f"{tempo:.1f} bpm from {len(taps)} taps. Keep tapping to refine it."
        # Taps as even as those before change nothing, and are counted all the same.
        if self._steps.do("Tap Tempo", lambda shoot: map_edits.tap(shoot, taps), self._key(), unchanged=said):
            self._steps.message.emit(said)

    def end(self) -> None:
        """No more taps."""
        self._over.stop()
        taps, key = self._taps, self._key()
        self._taps = []
        self._round += 1
        if len(taps) >= FEWEST_TAPS:
            self.ended.emit(taps[0], key)

    def forget(self) -> bool:
        """Discard the taps so far; tells whether there were any."""
        self._over.stop()
        some = bool(self._taps)
        self._taps = []
        return some

    def _key(self) -> str:
        return f"tap {self._round}"
