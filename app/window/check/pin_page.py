"""Placing by pins: slide or step through the clip by frames and through the song by beats, and say that they
belong together."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QSignalBlocker, Signal
from PySide6.QtGui import QAction, QShowEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from app.model.document.decisions import Pin
from app.model.document.song import Song, SongMap
from app.model.edits.pins import frame_s
from app.model.on_song import Clip, Take
from app.window.check import check_words
from app.window.check.frame_slider import FrameSlider
from app.window.check.song_beats import AROUND_S, SongBeats
from app.window.jobs import Jobs, Tasks, Ticket
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.buttons import ActionButton
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.playing.play_bar import place_words

SLOT = "song loudness"
COUNT = 1600
LEAD = "Find a frame where something happens on a beat, such as a clap. Find that beat. Then press Enter."
FALLBACK_S = 0.5
"""A step through a song in which no beats were found."""


class PinPage(QWidget):
    """The frame and the beat that are to be pinned."""

    moved = Signal()
    """Another frame or another beat."""

    def __init__(
        self,
        theme: Theme,
        tasks: Tasks,
        jobs: Jobs,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._theme, self._tasks, self._jobs = theme, tasks, jobs
        self._clip: Clip | None = None
        self._take: Take | None = None
        self._song: Song | None = None
        self._asked: tuple[str, float] | None = None
        self.frame = 0
        self.song_s = 0.0
        em = round(theme.em())
        self._frame_words = TextLabel(theme, size=looks.LARGE, bold=True)
        self._beat_words = TextLabel(theme, size=looks.LARGE, bold=True)
        self.pinned = TextLabel(theme, size=looks.SMALL, role="dim")
        self.warning = TextLabel(theme, role="warm")
        self.slider = FrameSlider()
        self.slider.valueChanged.connect(self._on_slid)
        self.beats = SongBeats(theme)
        self.beats.wanted.connect(self.go_to_beat)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(em // 2)
        box.addWidget(TextLabel(theme, LEAD, size=looks.SMALL, role="dim"))
        box.addWidget(self._frame_words)
        self._clip_row = QHBoxLayout()
        self._clip_row.addWidget(self.slider, 1)
        box.addLayout(self._clip_row)
        box.addWidget(self._beat_words)
        box.addWidget(self.beats, 1)
        self._buttons = QGridLayout()
        self._buttons.setSpacing(em // 2)
        box.addLayout(self._buttons)
        box.addWidget(self.pinned)
        box.addWidget(self.warning)

    def add_buttons(self, actions: Sequence[QAction]) -> None:
        """Put the first button beside the slider, the others below the beats."""
        self._clip_row.insertWidget(0, ActionButton(actions[0]))
        for n, action in enumerate(actions[1:]):
            self._buttons.addWidget(ActionButton(action), n // 2, n % 2)

    @property
    def clip_s(self) -> float:
        """Start of the frame (clip time)."""
        return 0.0 if self._clip is None else self.frame * frame_s(self._clip)

    def show_clip(self, clip: Clip, take: Take | None, song: Song | None) -> None:
        """Pin frames of a clip; what it is placed by so far is told."""
        other = self._clip is None or self._clip.id != clip.id
        self._clip, self._take, self._song = clip, take, song
        if other:
            self.frame = 0
            self._show_length()
            self.song_s = self._beats()[0] if self._beats() else 0.0
        self._refresh()

    def start_at(self, clip_s: float, song_s: float) -> None:
        """Begin at a moment of the clip and the beat nearest to one of the song."""
        if self._clip is not None:
            self.frame = self._inside(int(clip_s / frame_s(self._clip) + 1e-6))
        self.go_to_beat(song_s)

    def go_to_end(self, *, last: bool) -> None:
        """Go to the first frame of the clip, or the last."""
        self.frame = self._last if last else 0
        self._refresh()

    def follow(self, clip_s: float) -> None:
        """Show the frame of a moment at which the clip plays; the beat stays."""
        if self._clip is not None:
            self.frame = self._inside(int(clip_s / frame_s(self._clip) + 1e-6))
            self._tell_frame()

    def step_frames(self, by: int) -> None:
        """Go some frames on or back."""
        self.frame = self._inside(self.frame + by)
        self._refresh()

    def step_seconds(self, by: int) -> None:
        """Go some seconds on or back in the clip."""
        if self._clip is not None:
            self.step_frames(round(by / frame_s(self._clip)))

    def step_beats(self, by: int) -> None:
        """Go some beats on or back."""
        self._go(self._beats(), by)

    def step_bars(self, by: int) -> None:
        """Go some bars on or back."""
        self._go(self._map().bars_s or self._beats(), by)

    def go_to_beat(self, song_s: float) -> None:
        """Go to the beat nearest to a moment of the song."""
        beats = self._beats()
        self.song_s = min(beats, key=lambda beat: abs(beat - song_s)) if beats else max(0.0, song_s)
        self._refresh()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._fetch()

    def _go(self, grid: Sequence[float], by: int) -> None:
        if not grid:
            return
        at = bisect_right(grid, self.song_s + 1e-6) - 1 if by > 0 else bisect_left(grid, self.song_s - 1e-6)
        at += by
        self.song_s = grid[min(max(at, 0), len(grid) - 1)]
        self._refresh()

    def _map(self) -> SongMap:
        return SongMap() if self._song is None else self._song.map

    def _beats(self) -> Sequence[float]:
        """Beats of the song; every half second where none were found."""
        if self._song is None:
            return ()
        steps = int(self._song.duration_s / FALLBACK_S) + 1
        return self._map().beats_s or tuple(n * FALLBACK_S for n in range(steps))

    @property
    def _last(self) -> int:
        """The last frame of the clip."""
        clip = self._clip
        return 0 if clip is None else max(0, int(clip.duration_s / frame_s(clip) - 1e-6))

    def _inside(self, frame: int) -> int:
        return min(max(frame, 0), self._last)

    def _show_length(self) -> None:
        clip = self._clip
        with QSignalBlocker(self.slider):
            self.slider.setRange(0, self._last)
            self.slider.setPageStep(1 if clip is None else max(1, round(1 / frame_s(clip))))

    def _on_slid(self, frame: int) -> None:
        self.frame = self._inside(frame)
        self._refresh()

    def _tell_frame(self) -> None:
        """Say which frame it is, and where in the clip."""
        clip = self._clip
        if clip is None:
            return
        with QSignalBlocker(self.slider):
            self.slider.setValue(self.frame)
        moment = "This moment" if clip.frame_rate is None else f"Frame {self.frame}"
        self._frame_words.setText(f"{moment} · {words.song_time(self.clip_s)}")

    def _refresh(self) -> None:
        clip = self._clip
        if clip is None:
            return
        self._tell_frame()
        self._beat_words.setText(f"Song: {place_words(self._map(), self.song_s)}")
        pins: tuple[Pin, ...] = () if self._take is None else self._take.pins
        lines = [
            f"Pinned: frame {round(pin.clip_s / frame_s(clip))} to {place_words(self._map(), pin.song_s)}."
            for pin in pins
        ]
        self.pinned.setText(" ".join([*lines, check_words.speed_of_pins(clip, pins)]))
        odd = check_words.odd_speed(clip, pins)
        self.warning.setText(odd)
        self.warning.setVisible(bool(odd))
        self.beats.show_beat(self._map(), self.song_s)
        self._fetch()
        self.moved.emit()

    def _fetch(self) -> None:
        """Have the song's loudness read where it is not known."""
        if self._song is None or not self.isVisible():
            return
        path = self._song.media.path
        if (
            self._asked is not None
            and self._asked[0] == path
            and abs(self._asked[1] - self.song_s) < AROUND_S
        ):
            return
        self._asked = asked = path, self.song_s
        tasks = self._tasks

        def work(ticket: Ticket) -> list[float]:
            low, high = asked[1] - 2 * AROUND_S, asked[1] + 2 * AROUND_S
            return [float(one) for one in tasks.song_loudness(Path(path), low, high, COUNT)]

        # Without its loudness the beats are there all the same; what is wrong with the song is told in Song.
        self._jobs.start(
            SLOT, work, lambda loud: self.beats.show_loudness(asked[1], loud), lambda error: None
        )
