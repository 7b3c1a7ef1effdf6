"""Whether it clicks on the beats of the song, kept on this computer."""

from collections.abc import Sequence

from PySide6.QtCore import Signal

from app.model.document.song import SongMap
from app.window.parts.drop_down import DropDown
from app.window.parts.theme import Theme
from app.window.playing.player import Player

CLICKS = ("Clicks on the beats", "No clicks")
SETTING = "player/clicks"


class ClicksField(DropDown):
    """Chooses between clicks and none."""

    changed = Signal()

    def __init__(self, theme: Theme, player: Player) -> None:
        super().__init__(theme)
        self._player = player
        self.addItems(list(CLICKS))
        self.setAccessibleName("Clicks")
        self.setToolTip("Click on every beat, with a higher click on the first beat of a bar (C)")
        self.setCurrentIndex(int(player.recall(SETTING, "on") == "off"))
        self.activated.connect(self._on_activated)

    def toggle(self) -> None:
        """Click on the beats, or not."""
        self.setCurrentIndex(1 - self.currentIndex())
        self._on_activated()

    def moments(self, song_map: SongMap) -> tuple[Sequence[float], Sequence[bool]]:
        """The moments of a song on which it clicks, and whether each is the first of a bar."""
        bars = set(song_map.bars_s)
        beats = () if self.currentIndex() else song_map.beats_s
        return beats, [beat in bars for beat in beats]

    def _on_activated(self) -> None:
        self._player.keep(SETTING, "off" if self.currentIndex() else "on")
        self.changed.emit()
