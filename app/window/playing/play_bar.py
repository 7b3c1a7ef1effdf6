"""The row of controls for playing."""

from bisect import bisect_right

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from app.model.document.song import SongMap
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.buttons import ActionButton
from app.window.parts.drop_down import DropDown
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.playing.loops import LOOPS, RANGE, loop_kind, loop_words, set_loop
from app.window.playing.play_keys import HEARD, LOOP, PLAY
from app.window.playing.player import Heard, Player
from app.window.playing.volume_slider import CAUTION, VolumeSlider, level_words

HEARD_WORDS = {
    Heard.SONG: "Song",
    Heard.TAKE: "Take",
    Heard.EARS: "Song left, take right",
    Heard.MIXED: "Song and take",
}


HAIR_S = 0.05
"""So near its start or end a take is as good as heard: times are said in tenths."""
LOOP_TIP = f"Loop this bar or this section, or play straight through ({LOOP})"


class PlayBar(QWidget):
    """Play, what is heard, loop, volume, and where in the song one is."""

    def __init__(
        self, player: Player, theme: Theme, parent: QWidget | None = None, *, alone: QWidget | None = None
    ) -> None:
        """``alone`` stands in the place of what is heard, where only the song is."""
        super().__init__(parent)
        self._player, self._theme, self._alone = player, theme, alone
        self.setAccessibleName("Playing")
        self._play = QAction("Play", self)
        self._play.setToolTip(f"Play or pause ({PLAY})")
        self._play.triggered.connect(player.toggle)
        self.button = ActionButton(self._play)
        self.place = TextLabel(theme, wrap=False)
        self.place.setToolTip("Position in the song: bar, beat, time")
        self.heard = self._box("What you hear", f"What you hear ({HEARD})", list(HEARD_WORDS.values()))
        self.heard.activated.connect(lambda index: player.hear(list(HEARD_WORDS)[index]))
        self.loop = self._box("Loop", LOOP_TIP, LOOPS)
        self.loop.activated.connect(self._on_loop_activated)
        self.volume = VolumeSlider(player, theme)
        self._level = TextLabel(theme, size=looks.SMALL, role="dim", wrap=False)
        self._level.setToolTip(CAUTION)
        self.note = TextLabel(theme, size=looks.SMALL, role="dim")
        self._arrange()
        player.changed.connect(self.refresh)
        player.moved.connect(self._show_place)
        self.refresh()

    def refresh(self) -> None:
        """Show the player as it is."""
        player = self._player
        self._play.setText("Pause" if player.playing else "Play")
        self.heard.setCurrentIndex(list(HEARD_WORDS).index(player.heard))
        self.heard.setEnabled(not player.alone)
        self._show_loop()
        self._level.setText(level_words(player.volume_db))
        self.note.set_role("warm" if player.trouble else "dim")
        self.note.setText(player.trouble)
        self.note.setToolTip(player.trouble)
        self._show_place(player.song_s)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.refresh()

    def _arrange(self) -> None:
        em = self._theme.em()
        # As wide as the longer of its two words, so that nothing moves.
        self.button.setMinimumWidth(round(em * 4.6))
        metrics = self.place.fontMetrics()
        self.place.setMinimumWidth(metrics.horizontalAdvance("bar 888, beat 8 · 88:88.8"))
        self._level.setMinimumWidth(self._level.fontMetrics().horizontalAdvance("−88 dB "))
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(round(em * 0.25))
        self._row, self._below = QHBoxLayout(), QHBoxLayout()
        for row in (self._row, self._below):
            row.setSpacing(round(em * 0.6))
            column.addLayout(row)
        self._row.addWidget(self.button)
        self._row.addWidget(self.place)
        self._row.addStretch(1)
        for widget in (self._alone or self.heard, self.loop, self.volume, self._level):
            self._row.addWidget(widget)
        self._below.addWidget(self.note, 1)
        for control in (self.button, self.heard, self.loop, self.volume):
            # A click leaves the keyboard where it was, so that Space goes on playing.
            control.setFocusPolicy(Qt.FocusPolicy.TabFocus)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Where there is no room for all in a row, the place in the song goes below."""
        super().resizeEvent(event)
        shown = (self.button, self.place, self._alone or self.heard, self.loop, self.volume, self._level)
        wanted = sum(max(one.sizeHint().width(), one.minimumWidth()) for one in shown)
        narrow = self.width() < wanted + self._row.spacing() * len(shown)
        if narrow != (self._below.indexOf(self.place) >= 0):
            (self._below if narrow else self._row).insertWidget(0 if narrow else 1, self.place)
        self._show_place(self._player.song_s)

    def _box(self, name: str, tip: str, entries: "list[str] | tuple[str, ...]") -> DropDown:
        box = DropDown(self._theme)
        box.setSizeAdjustPolicy(DropDown.SizeAdjustPolicy.AdjustToContents)
        box.addItems(list(entries))
        box.setAccessibleName(name)
        box.setToolTip(tip)
        # With large text on a small screen the box gives way; its list opens as wide as it needs.
        box.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        box.setMinimumWidth(round(self._theme.em() * 4))
        return box

    def _map(self) -> SongMap:
        return self._player.song_map

    def _show_loop(self) -> None:
        """Name what is looped; a range of bars has an entry of its own as long as it is looped."""
        said, kind = loop_words(self._map(), self._player.loop), loop_kind(self._map(), self._player.loop)
        wanted = [*LOOPS, said] if kind == RANGE else list(LOOPS)
        wanted[kind] = said
        if [self.loop.itemText(n) for n in range(self.loop.count())] != wanted:
            self.loop.clear()
            self.loop.addItems(wanted)
        self.loop.setCurrentIndex(kind)
        self.loop.setToolTip(f"{said}. {LOOP_TIP}")

    def _on_loop_activated(self, kind: int) -> None:
        if kind != RANGE:
            set_loop(self._map(), self._player, kind)

    def _show_place(self, song_s: float) -> None:
        if self.isVisible():
            self.place.setText(place_words(self._map(), song_s))
            if not self._player.trouble:
                self._tell(self._what())

    def _tell(self, text: str) -> None:
        """Tell it on one line, so that nothing above moves while it plays."""
        room = max(self.note.width() - 2, 0)
        self.note.setText(self.note.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, room))
        self.note.setToolTip(text)

    def _what(self) -> str:
        """What plays, in a line."""
        player = self._player
        if player.waiting:
            return "Reading the sound…"
        found = player.found()
        if self._alone is not None:
            return ""
        if player.alone:
            return "You hear the song; the pictures follow the first pass."
        if found is None:
            return "No take selected: you hear only the song." if player.heard is not Heard.SONG else ""
        clip, take = found
        name = f"{player.angle_name(clip)} · {words.take_name(clip, take)}"
        if player.trying:
            return f"{player.angle_name(clip)} · {words.file_name(clip)} · with this frame on this beat"
        if take.song_start_s - HAIR_S <= player.song_s < take.song_end_s + HAIR_S:
            return f"{name} · {words.take_place(self._map(), take, to_its_end=True)}"
        start, end = words.song_time(take.song_start_s, 1), words.song_time(take.song_end_s, 1)
        return f"{name} · not at this moment: it runs from {start} to {end}"


def place_words(song_map: SongMap, song_s: float) -> str:
    """A moment of the song by bar, beat and time.

    >>> place_words(SongMap(beats_s=(0.0, 0.5, 1.0, 1.5, 2.0, 2.5), bars_s=(0.0, 2.0)), 2.6)
    'bar 2, beat 2 · 0:02.6'
    >>> place_words(SongMap(), 61.25)
    '1:01.2'
    >>> place_words(SongMap(bars_s=(3.45, 5.2)), 1.0)
    'lead-in · 0:01.0'
    """
    time = words.song_time(song_s, 1)
    bar = bisect_right(song_map.bars_s, song_s)
    if not bar:
        return f"lead-in · {time}" if song_map.bars_s else time
    start_s = song_map.bars_s[bar - 1]
    # A hair is left for beats that were written down a little before their bar.
    beat = bisect_right(song_map.beats_s, song_s) - bisect_right(song_map.beats_s, start_s - 0.01)
    return f"bar {bar}, beat {max(1, beat)} · {time}"
