"""How loud it is played, with a word of caution."""

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtWidgets import QSlider, QWidget

from app.engine.listening import LEAST_DB, MOST_DB
from app.window.parts.theme import Theme
from app.window.playing.player import Player

CAUTION = (
    "Start quietly, above all with headphones: loud sound over a long time harms hearing for good. "
    "Peaks are held down, but how loud it gets depends on your device. "
    "At work, the rules on noise of the place you are in come first."
)


class VolumeSlider(QSlider):
    """Follows the volume of a player, and sets it."""

    def __init__(self, player: Player, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(Qt.Orientation.Horizontal, parent)
        self._player = player
        self.setRange(round(LEAST_DB), round(MOST_DB))
        self.setPageStep(6)
        self.setMinimumWidth(round(theme.em() * 3))
        self.setMaximumWidth(round(theme.em() * 6))
        self.setAccessibleName("Volume")
        self.setToolTip(f"Volume (Ctrl+Up, Ctrl+Down). {CAUTION}")
        self.valueChanged.connect(lambda value: player.set_volume(float(value)))
        player.changed.connect(self._follow)
        self._follow()

    def _follow(self) -> None:
        with QSignalBlocker(self):
            self.setValue(round(self._player.volume_db))


def level_words(decibels: float) -> str:
    """A volume as it is told.

    >>> level_words(-20.0), level_words(-60.0)
    ('−20 dB', 'silent')
    """
    return "silent" if decibels <= LEAST_DB else f"{decibels:.0f} dB".replace("-", "−")
