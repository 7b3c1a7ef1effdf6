"""The place Score: overview, score, and the sheet about the chosen bar."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QMenu, QStackedLayout, QVBoxLayout, QWidget

from app.jobs import Jobs, Tasks, Ticket
from app.model import angle_edits
from app.model.change import Change
from app.model.coverage import SectionCoverage, coverage
from app.session import Session
from app.views.bar_panel import BarPanel
from app.views.dialogs import Dialogs
from app.views.empty_page import EmptyPage
from app.views.overview import Overview
from app.views.pictures import Pictures
from app.views.place import Place
from app.views.player import Player
from app.views.score_canvas import ScoreCanvas
from app.views.theme import Theme

PEAKS = 2400
KEYS = [
    ("← →", "bar by bar"),
    ("↑ ↓", "angle by angle"),
    ("Page ↑ ↓", "section by section"),
    ("Home End", "first and last bar"),
    ("T", "next thin place"),
    ("Shift+T", "thin place before"),
    ("F2", "rename the angle"),
    ("S", "keep the angle as safety"),
    ("Alt+↑ ↓", "move the angle's stave"),
    ("H", "hide or show silent staves"),
]


class ScorePlace(Place):
    """Who covers which bar."""

    title = "Score"
    nothing_thin = Signal()

    def __init__(
        self,
        session: Session,
        theme: Theme,
        tasks: Tasks,
        jobs: Jobs,
        pictures: Pictures,
        dialogs: Dialogs,
        parent: QWidget | None = None,
        *,
        player: Player | None = None,
    ) -> None:
        super().__init__(session, theme, parent)
        self._player = player
        self._tasks, self._jobs, self._dialogs = tasks, jobs, dialogs
        self._sections: Sequence[SectionCoverage] = ()
        self._peaks_of = ""
        self.overview = Overview(theme)
        self.canvas = ScoreCanvas(theme, pictures)
        self.panel = BarPanel(theme, pictures, KEYS)
        self._empty = EmptyPage(
            theme,
            "No score yet",
            (
                "The score shows, bar by bar, which clips cover the song.",
                "It needs the song and at least one clip that was placed.",
                "Go to Clips (Ctrl+1) and drop them there.",
            ),
        )
        self._arrange(round(theme.em()))
        self._actions()
        self.canvas.chosen_changed.connect(self._show_chosen)
        self.canvas.view_moved.connect(self.overview.show_seen)
        self.canvas.menu_wanted.connect(self._menu)
        self.overview.wanted.connect(self._go_to)

    def keys(self) -> list[tuple[str, str]]:
        return KEYS

    def take_focus(self) -> None:
        self.canvas.setFocus()

    def refresh(self, change: Change) -> None:
        shoot = self.session.shoot
        self._sections = coverage(shoot)
        duration = shoot.song.duration_s if shoot.song else 0.0
        self.overview.show_song(duration, self._sections)
        self.canvas.show_shoot(shoot, self._sections)
        shown = bool(self._sections) and any(clip.takes for clip in shoot.clips)
        self._stack.setCurrentIndex(0 if shown else 1)
        self._fetch_peaks()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.panel.fit(self.width())

    def next_thin(self) -> None:
        """Go to the next thin place."""
        if not self.canvas.next_thin():
            self.nothing_thin.emit()

    def thin_before(self) -> None:
        """Go to the thin place before."""
        if not self.canvas.next_thin(-1):
            self.nothing_thin.emit()

    def rename_angle(self) -> None:
        """Ask for another name of the chosen angle."""
        angle_id = self.canvas.chosen.angle_id
        if angle_id is None:
            return
        old = self.session.shoot.angle(angle_id).name
        name = self._dialogs.ask_text("Rename angle", "Name of the angle:", old)
        if name is None:
            return
        try:
            result = angle_edits.rename_angle(self.session.shoot, angle_id, name)
        except ValueError as error:
            self._dialogs.tell("Rename angle", str(error))
            return
        self.session.apply("Rename Angle", result, "score")

    def toggle_safety(self) -> None:
        """Keep the chosen angle as safety, or no longer."""
        angle_id = self.canvas.chosen.angle_id
        if angle_id is not None:
            shoot = self.session.shoot
            on = not shoot.angle(angle_id).safety
            label = "Mark as Safety" if on else "Unmark Safety"
            self.session.apply(label, angle_edits.mark_safety(shoot, angle_id, on), "score")

    def move_angle(self, step: int) -> None:
        """Move the chosen angle's stave up or down."""
        angle_id = self.canvas.chosen.angle_id
        if angle_id is not None:
            shoot = self.session.shoot
            index = [angle.id for angle in shoot.angles].index(angle_id) + step
            self.session.apply("Move Angle", angle_edits.move_angle(shoot, angle_id, index), "score")

    def _arrange(self, margin: int) -> None:
        column = QVBoxLayout()
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(margin // 2)
        top = QHBoxLayout()
        top.setContentsMargins(margin, margin // 2, margin + 10, 0)
        top.addWidget(self.overview)
        column.addLayout(top)
        column.addWidget(self.canvas, 1)
        score = QWidget()
        row = QHBoxLayout(score)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addLayout(column, 1)
        row.addWidget(self.panel)
        self._stack = QStackedLayout(self)
        self._stack.addWidget(score)
        self._stack.addWidget(self._empty)
        self._stack.setCurrentIndex(1)

    def _actions(self) -> None:
        self.action("Next Thin Place", "T", "Go to the next thin place", self.next_thin)
        self.action("Thin Place Before", "Shift+T", "Go to the thin place before", self.thin_before)
        self._rename = self.action("Rename Angle…", "F2", "Give the angle another name", self.rename_angle)
        self._safety = self.action(
            "Keep as Safety", "S", "The angle to cut to when the others fail", self.toggle_safety
        )
        self._safety.setCheckable(True)
        self._up = self.action("Move Up", "Alt+Up", "Move the stave up", lambda: self.move_angle(-1))
        self._down = self.action("Move Down", "Alt+Down", "Move the stave down", lambda: self.move_angle(1))
        self._silent = self.action(
            "Show Silent Staves", "H", "Show angles that have nothing in a section", self._toggle_silent
        )
        self._silent.setCheckable(True)
        self._silent.setChecked(True)

    def _toggle_silent(self, on: bool) -> None:
        self.canvas.show_silent(on)

    def _menu(self, angle_id: str, at: QPoint) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._safety.setChecked(self.session.shoot.angle(angle_id).safety)
        menu.addActions([self._rename, self._safety, self._up, self._down])
        menu.addSeparator()
        menu.addAction(self._silent)
        menu.popup(at)

    def _show_chosen(self) -> None:
        chosen = self.canvas.chosen
        self.panel.show_bar(self.session.shoot, self._sections, chosen)
        self.canvas.setAccessibleDescription(self.panel.text)
        spans = [b.bar for s in self._sections for b in s.bars if b.bar.number == chosen.bar]
        self.overview.show_at(spans[0].start_s if spans else None)

    def _go_to(self, song_s: float) -> None:
        self.canvas.scroll_to(song_s)
        for section in self._sections:
            for bar in section.bars:
                if bar.bar.start_s <= song_s < bar.bar.end_s:
                    self.canvas.choose_at_rest(bar.bar.number)

    def _fetch_peaks(self) -> None:
        song = self.session.shoot.song
        if song is None:
            self.overview.show_peaks(())
            self._peaks_of = ""
            return
        key = f"{song.media.path}|{song.media.digest}"
        if key == self._peaks_of:
            return
        self._peaks_of = key
        self.overview.show_peaks(())
        tasks, path = self._tasks, Path(song.media.path)

        def work(ticket: Ticket) -> list[tuple[float, float]]:
            return [(float(low), float(high)) for low, high in tasks.song_peaks(path, PEAKS)]

        # Without its loudness the strip still shows letters and depth; what is wrong with the file is told in
        # Clips.
        self._jobs.start("peaks", work, self.overview.show_peaks, lambda error: None)
