"""The selected clip, larger: its picture as it plays, moments of it, and where in it one is."""

from PySide6.QtCore import QSignalBlocker, Qt
from PySide6.QtGui import QAction, QHideEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QSizePolicy, QSlider, QVBoxLayout, QWidget

from app.model.document.verdict import GLYPHS
from app.model.on_song import Clip, SongView
from app.window.clips.clips_model import clip_verdict
from app.window.clips.moment_strip import MomentStrip
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.buttons import ActionButton
from app.window.parts.clip_pictures import Pictures
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.playing.clip_player import ClipPlayer
from app.window.playing.clip_screen import ClipScreen
from app.window.playing.play_keys import PLAY
from app.window.playing.volume_slider import CAUTION, VolumeSlider, level_words

TICKS = 10
"""Steps of the slider in a second."""
PAGE_S = 5


class ClipPanel(QFrame):
    """Follows a `ClipPlayer`; pauses it when it is put away."""

    def __init__(
        self,
        theme: Theme,
        pictures: Pictures,
        player: ClipPlayer,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._theme, self._player = theme, player
        self.setAccessibleName("Selected clip")
        self.screen_of_clip = ClipScreen(player, theme)
        self.strip = MomentStrip(theme, pictures)
        self.strip.picked.connect(player.seek)
        self._name = TextLabel(theme, size=looks.LARGE, bold=True, wrap=False)
        self._about = TextLabel(theme, size=looks.SMALL, role="dim", wrap=False)
        for line in (self._name, self._about):
            line.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
        self._note = TextLabel(theme, size=looks.SMALL, role="warm")
        self._play = QAction("Play", self)
        self._play.setToolTip(f"Play or pause this clip on its own ({PLAY})")
        self._play.triggered.connect(player.toggle)
        self.button = ActionButton(self._play)
        self.button.setMinimumWidth(round(theme.em() * 4.6))
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setAccessibleName("Place in the clip")
        self.slider.setToolTip("Place in the clip (Ctrl+Left, Ctrl+Right)")
        self.slider.setSingleStep(TICKS)
        self.slider.setPageStep(PAGE_S * TICKS)
        self.slider.valueChanged.connect(lambda value: player.seek(value / TICKS))
        self.place = TextLabel(theme, wrap=False)
        self.place.setToolTip("Where in the clip you are, and how long it is")
        self.place.setMinimumWidth(self.place.fontMetrics().horizontalAdvance("88:88.8 of 88:88.8"))
        self.volume = VolumeSlider(player, theme)
        self._level = TextLabel(theme, size=looks.SMALL, role="dim", wrap=False)
        self._level.setMinimumWidth(self._level.fontMetrics().horizontalAdvance("−88 dB "))
        self._level.setToolTip(CAUTION)
        for control in (self.button, self.volume):
            # A click leaves the keyboard in the table, so that arrows go on to the next clip.
            control.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.slider.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self._arrange()
        player.changed.connect(self.refresh)
        player.moved.connect(self._show_place)
        self.show_clip(None, SongView())

    def add_button(self, hide: QAction) -> None:
        """Put the button that puts the panel away at its top."""
        button = ActionButton(hide)
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self._head.addWidget(button)

    def show_clip(self, clip: Clip | None, shoot: SongView) -> None:
        """Show a clip of a shoot, or none."""
        self._player.show_clip(clip)
        self.strip.show_clip(clip)
        name, about = ("No clip is selected", "") if clip is None else _told(clip, shoot)
        self._name.setText(name)
        self._about.setText(about)
        self._about.setToolTip("" if clip is None else clip.media.path)
        end_s = 0.0 if clip is None else clip.duration_s
        with QSignalBlocker(self.slider):
            self.slider.setRange(0, round(end_s * TICKS))
        self.slider.setEnabled(end_s > 0)
        self.refresh()

    def refresh(self) -> None:
        """Show the player as it is."""
        player = self._player
        self._play.setText("Pause" if player.playing else "Play")
        self._play.setEnabled(not player.why_not())
        self._level.setText(level_words(player.volume_db))
        trouble = player.trouble or (player.why_not() if player.clip is not None else "")
        self._note.setText(trouble)
        self._note.setVisible(bool(trouble))
        self._show_place(player.song_s)

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._player.pause()

    def _show_place(self, clip_s: float) -> None:
        end_s = self._player.song_end_s
        self.place.setText(f"{words.song_time(clip_s, 1)} of {words.song_time(end_s, 1)}" if end_s else "")
        with QSignalBlocker(self.slider):
            self.slider.setValue(round(clip_s * TICKS))

    def _arrange(self) -> None:
        em = round(self._theme.em())
        row = QHBoxLayout(self)
        row.setContentsMargins(0, em // 4, 0, 0)
        row.setSpacing(em)
        row.addWidget(self.screen_of_clip, 2)
        side = QVBoxLayout()
        side.setSpacing(em // 3)
        row.addLayout(side, 3)
        self._head = QHBoxLayout()
        self._head.setSpacing(em)
        self._head.addWidget(self._name, 1)
        side.addLayout(self._head)
        side.addWidget(self._about)
        side.addWidget(self.strip, 1)
        side.addWidget(self._note)
        line = QHBoxLayout()
        line.setSpacing(em // 2)
        line.addWidget(self.button)
        line.addWidget(self.slider, 1)
        for widget in (self.place, self.volume, self._level):
            line.addWidget(widget)
        side.addLayout(line)


def _told(clip: Clip, shoot: SongView) -> tuple[str, str]:
    """The clip's name with its angle, and what it is."""
    angle = shoot.angle(clip.angle_id).name
    parts = [f"{GLYPHS[clip.verdict]} {clip_verdict(clip)}"]
    if clip.duration_s:
        frames = words.rate(clip.frame_rate, clip.variable_frame_rate)
        parts.append(frames if clip.frame_rate is None else f"{frames} fps")
    if clip.width and clip.height:
        parts.append(f"{clip.width} × {clip.height}")
    return f"{angle} · {words.file_name(clip)}", " · ".join(parts)
