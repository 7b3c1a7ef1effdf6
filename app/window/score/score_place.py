"""The place Score: overview, score, playing, and the sheet about the chosen bars."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QMenu, QStackedLayout, QStackedWidget, QVBoxLayout, QWidget

from app.model.coverage.coverage import BarSpan, SectionCoverage, coverage
from app.model.edits.change import Change
from app.window.jobs import Jobs, Tasks, Ticket
from app.window.parts import words
from app.window.parts.clip_pictures import Pictures
from app.window.parts.dialogs import Dialogs
from app.window.parts.empty_page import EmptyPage
from app.window.parts.place import Place
from app.window.parts.theme import Theme
from app.window.playing.play_bar import PlayBar
from app.window.playing.player import Player
from app.window.playing.watch_panel import KEYS as WATCH_KEYS
from app.window.playing.watch_panel import WatchPanel
from app.window.score.angle_steps import AngleSteps
from app.window.score.angles_panel import AnglesPanel
from app.window.score.bar_panel import BarPanel
from app.window.score.overview import Overview
from app.window.score.score_actions import BESIDE, KEYS, ScoreKeys
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.score_playing import ScorePlaying
from app.window.score.zoom_row import ZoomRow
from app.window.session import Session

PEAKS = 2400
WHERE = "Go to Clips (Ctrl+1) and drop them there."
FIRST = 1000
"""Stretch of the sheet beside the score, and of the pictures in it, which take as much as they may."""


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
        player: Player,
    ) -> None:
        super().__init__(session, theme, parent)
        self._player = player
        self._tasks, self._jobs = tasks, jobs
        self.deeds = AngleSteps(session, dialogs)
        self._sections: Sequence[SectionCoverage] = ()
        self._spans: dict[int, BarSpan] = {}
        self._peaks_of = ""
        self.overview = Overview(theme)
        self.canvas = ScoreCanvas(theme, pictures)
        self.panel = BarPanel(theme, pictures, KEYS[:BESIDE])
        self.playing = ScorePlaying(session, self.canvas, player, self.isVisible, self)
        self.acts = ScoreKeys(self)
        self.zoom_row = ZoomRow(
            theme,
            self.canvas,
            self.acts.show,
            self.acts.whole,
            (self.acts.angles, self.acts.watch),
        )
        acts = self.acts
        self.angles = AnglesPanel(
            theme,
            {"up": acts.up, "down": acts.down, "merge": acts.merge, "show": acts.show},
        )
        self.watch = WatchPanel(player, session, theme, jobs)
        self.watch.hide()
        self.play_bar = PlayBar(player, theme)
        self._empty = EmptyPage(
            theme,
            "No score yet",
            (
                "The score shows, bar by bar, which clips cover the song.",
                "It needs the song and at least one clip that was placed.",
                WHERE,
            ),
        )
        self._arrange(round(theme.em()))
        self._connect()

    def keys(self) -> list[tuple[str, str]]:
        return [*KEYS, *WATCH_KEYS]

    def take_focus(self) -> None:
        self.canvas.setFocus()

    def refresh(self, change: Change) -> None:
        shoot = self.session.view
        self._sections = coverage(shoot)
        self._spans = {bar.bar.number: bar.bar for section in self._sections for bar in section.bars}
        duration = shoot.song.duration_s if shoot.song else 0.0
        self.playing.show_bars(tuple(self._spans.values()))
        self.overview.show_song(duration, self._sections, final=not words.to_be_placed(shoot))
        self.canvas.show_shoot(shoot, self._sections)
        hidden = sum(angle.hidden for angle in shoot.angles)
        thin = sum(len(section.thin) for section in self._sections)
        self.zoom_row.show_facts(hidden, thin, words.to_be_placed(shoot))
        self.zoom_row.count_by("bar" if shoot.song is None or shoot.song.map.bars_s else "section")
        self.acts.show.setEnabled(hidden > 0)
        self.angles.show_angles(shoot, self.canvas.chosen.angle_id)
        shown = bool(self._sections) and any(clip.takes for clip in shoot.clips)
        self._stack.setCurrentIndex(0 if shown else 1)
        if not shown:
            self._tell_empty()
        self._fetch_peaks()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.playing.arrive()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def next_thin(self) -> None:
        """Go to the next thin place."""
        if not self.canvas.next_thin():
            self.nothing_thin.emit()

    def thin_before(self) -> None:
        """Go to the thin place before."""
        if not self.canvas.next_thin(-1):
            self.nothing_thin.emit()

    def toggle_watching(self) -> None:
        """Show moving pictures beside the score, or no longer."""
        self.watch.setVisible(not self.watch.isVisible())
        self.acts.watch.setChecked(self.watch.isVisible())
        self._fit()

    def toggle_angles(self) -> None:
        """List the angles beside the score, or tell of the bars again."""
        listed = self._side.currentWidget() is self.angles
        self._side.setCurrentWidget(self.panel if listed else self.angles)
        self.acts.angles.setChecked(not listed)
        (self.canvas if listed else self.angles.list).setFocus()

    def rename_angle(self) -> None:
        """Ask for another name of the chosen angle."""
        for angle_id in self._several()[:1]:
            self._choose_left(angle_id, self.deeds.ask_name(angle_id))

    def toggle_safety(self) -> None:
        """Keep the chosen angle as safety, or no longer."""
        for angle_id in self._several()[:1]:
            self.deeds.set_safety(angle_id, not self.session.view.angle(angle_id).safety)

    def hide_angle(self) -> None:
        """Hide the chosen angles, or show them where they are hidden."""
        ids = self._several()
        if ids:
            self.deeds.hide(ids, not all(self.session.view.angle(one).hidden for one in ids))

    def merge_angles(self) -> None:
        """Merge the chosen angles, or the chosen one into another."""
        left = self.deeds.merge(self._several())
        if left is not None:
            self._choose_left("", left)

    def group_angles(self) -> None:
        """Group the chosen angles."""
        ids = self._several()
        if ids:
            self.deeds.ask_group(ids)

    def move_angle(self, step: int) -> None:
        """Move the chosen angle's stave up or down."""
        listed = self._side.currentWidget() is self.angles
        shown = None if listed else {part.angle.id for part in self.canvas.parts}
        for angle_id in self._several()[:1]:
            self.deeds.step(angle_id, step, shown)

    def _several(self) -> list[str]:
        """The angles chosen in the list where it is open, else the one chosen in the score."""
        ids = {angle.id for angle in self.session.view.angles}
        if self._side.currentWidget() is self.angles and self.angles.selected():
            return [one for one in self.angles.selected() if one in ids]
        chosen = self.canvas.chosen.angle_id
        return [chosen] if chosen in ids and chosen is not None else []

    def _choose_left(self, before: str, left: str) -> None:
        """Choose the angle into which the one chosen before has gone."""
        if left != before:
            self.catch_up()
            self.canvas.choose(self.canvas.chosen.bar, left)

    def _arrange(self, margin: int) -> None:
        column = QVBoxLayout()
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(margin // 3)
        top = QVBoxLayout()
        top.setContentsMargins(margin, margin // 2, margin + 10, 0)
        top.setSpacing(margin // 3)
        top.addWidget(self.overview)
        top.addWidget(self.zoom_row)
        column.addLayout(top)
        column.addWidget(self.canvas, 1)
        foot = QVBoxLayout()
        foot.setContentsMargins(margin, 0, margin + 10, margin // 2)
        foot.addWidget(self.play_bar)
        column.addLayout(foot)
        self._side = QStackedWidget()
        self._side.addWidget(self.panel)
        self._side.addWidget(self.angles)
        self._beside = QWidget()
        self._beside.setObjectName("sidePanel")
        self._beside.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        beside = QVBoxLayout(self._beside)
        beside.setContentsMargins(0, 0, 0, 0)
        beside.setSpacing(0)
        frame = QVBoxLayout()
        frame.setContentsMargins(margin, margin // 2, margin, 0)
        frame.addWidget(self.watch)
        beside.addLayout(frame, FIRST)
        beside.addWidget(self._side, 1)
        score = QWidget()
        row = QHBoxLayout(score)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addLayout(column, 1)
        # The sheet takes the width that is left to it up to its most, and gives way when the window shrinks.
        row.addWidget(self._beside, FIRST)
        self._stack = QStackedLayout(self)
        self._stack.addWidget(score)
        self._stack.addWidget(self._empty)
        self._stack.setCurrentIndex(1)

    def _connect(self) -> None:
        canvas, angles, deeds = self.canvas, self.angles, self.deeds
        canvas.chosen_changed.connect(self._show_chosen)
        canvas.view_moved.connect(self.overview.show_seen)
        canvas.menu_wanted.connect(self._menu)
        canvas.angle_dropped.connect(deeds.place)
        self.overview.wanted.connect(self._go_to)
        self.watch.controls.changed.connect(self._fit)
        self._player.moved.connect(self._music_moved)
        angles.chosen.connect(lambda angle_id: canvas.choose_at_rest(canvas.chosen.bar, angle_id))
        angles.renamed.connect(lambda one, name: self._choose_left(one, deeds.rename(one, name)))
        angles.subject_given.connect(deeds.set_subject)
        angles.group_given.connect(deeds.set_group)
        angles.safety_set.connect(deeds.set_safety)
        angles.hidden_set.connect(deeds.hide)
        angles.list.dropped.connect(deeds.place)

    def _fit(self) -> None:
        """Give the sheet a fair part of the width; more of it while pictures move there."""
        em = self.theme.em()
        part, least = (0.36, 24) if self.acts.watch.isChecked() else (0.22, 20)
        width = min(max(part * self.width(), least * em), 60 * em, max(0.36 * self.width(), 14 * em))
        self._beside.setMaximumWidth(round(width))
        self.panel.show_picture(not self.acts.watch.isChecked())
        # One picture is as high as the sheet is wide; several may have more, to be larger.
        one = width * 9 / 16 + self.watch.controls.sizeHint().height() + em
        most = 0.6 * self.height()
        self.watch.setMaximumHeight(round(most if self.watch.controls.many else min(one, most)))

    def _menu(self, angle_id: str, at: QPoint) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.acts.safety.setChecked(self.session.view.angle(angle_id).safety)
        menu.addActions(self.acts.of_angle)
        menu.addSeparator()
        menu.addActions([self.acts.show, self.acts.silent, self.acts.angles])
        menu.popup(at)

    def _show_chosen(self) -> None:
        chosen, shoot = self.canvas.chosen, self.session.view
        self.panel.show_bar(shoot, self._sections, chosen, self.playing.take_id)
        self.angles.choose(chosen.angle_id)
        angle = next((a.name for a in shoot.angles if a.id == chosen.angle_id), "")
        found = self._player.found(self.playing.take_id or "")
        take = words.take_name(*found) if found is not None else ""
        where = [self.panel.text.partition("\n")[0], angle, take]
        # The name is what screen readers say when it changes; the description holds the rest.
        self.canvas.setAccessibleName(", ".join(["Score", *(part for part in where if part)]))
        self.canvas.setAccessibleDescription(self.panel.text)
        span = self._spans.get(chosen.bar or 0)
        self.overview.show_at(span.start_s if span is not None else None)

    def _music_moved(self, song_s: float) -> None:
        if self.isVisible():
            self.canvas.show_position(song_s, follow=self._player.playing)
            self.overview.show_playing(song_s)

    def _go_to(self, song_s: float) -> None:
        self.canvas.scroll_to(song_s)
        for bar in self._spans.values():
            if bar.start_s <= song_s < bar.end_s:
                self.canvas.choose_at_rest(bar.number)
                self.playing.go()

    def _tell_empty(self) -> None:
        shoot = self.session.view
        waiting = words.to_be_placed(shoot)
        if shoot.song is None:
            missing = "The clips wait for the song." if shoot.clips else "There is no song yet."
        elif not shoot.clips:
            missing = "There is no clip yet."
        elif waiting:
            missing = f"{words.count(waiting, 'clip')} still to be placed."
        else:
            missing = f"None of the {words.count(len(shoot.clips), 'clip')} has a place in the song yet."
        self._empty.lines[1].setText(f"It needs the song and at least one clip that was placed. {missing}")
        self._empty.lines[2].setText("Clips (Ctrl+1) tells how far each of them is." if waiting else WHERE)

    def _fetch_peaks(self) -> None:
        song = self.session.view.song
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
