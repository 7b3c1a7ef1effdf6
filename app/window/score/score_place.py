"""The place Score: overview, score, playing, and the side panel about the chosen bars."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QPoint, Qt, Signal
from PySide6.QtGui import QHideEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QMenu, QStackedLayout, QVBoxLayout, QWidget

from app.model.coverage.coverage import SectionCoverage, coverage, unnamed_angles
from app.model.coverage.need_bars import missing_remarks, subject_bars
from app.model.document.change import Change
from app.model.song_map.bar_spans import BarSpan
from app.window.jobs import Jobs, Tasks, Ticket
from app.window.parts import words
from app.window.parts.actions import ActionTable, KeyLine
from app.window.parts.angle_steps import AngleSteps
from app.window.parts.clip_pictures import Pictures
from app.window.parts.dialogs import Dialogs
from app.window.parts.empty_page import EmptyPage
from app.window.parts.floating_note import FloatingNote
from app.window.parts.large_type import LargeType
from app.window.parts.place import Place
from app.window.parts.theme import Theme
from app.window.playing.play_bar import PlayBar
from app.window.playing.player import Player
from app.window.playing.watch_panel import WatchPanel
from app.window.playing.watch_slot import WatchSlot
from app.window.score.angle_commands import AngleCommands
from app.window.score.angles_panel import AnglesPanel
from app.window.score.bar_panel import BarPanel
from app.window.score.chosen import Chosen
from app.window.score.mark_actions import ALL, MARKS_BESIDE, PROPOSAL_BUTTONS, mark_actions
from app.window.score.mark_steps import MarkSteps
from app.window.score.overview import Overview
from app.window.score.pass_actions import pass_actions
from app.window.score.pass_steps import PassSteps
from app.window.score.proposal_panel import ProposalPanel
from app.window.score.proposal_steps import ProposalSteps
from app.window.score.rules_window import RulesWindow
from app.window.score.score_actions import ANGLE_BUTTONS, ANGLE_MENU, BESIDE, ZOOM_BUTTONS, score_actions
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.score_cursor import ScoreCursor
from app.window.score.score_filters import ScoreFilters
from app.window.score.score_playing import ScorePlaying
from app.window.score.score_pointer import ScorePointer
from app.window.score.score_side import ScoreSide, divided
from app.window.score.version_steps import VersionSteps
from app.window.score.zoom_row import ZoomRow
from app.window.session import Session

PEAKS = 2400
WHERE = "Go to Clips (Ctrl+1) and drop them there."


class ScorePlace(Place):
    """Who covers which bar."""

    title = "Score"
    nothing_thin = Signal(str)
    """There is no thin place to go to; in a sentence."""

    def __init__(
        self,
        session: Session,
        theme: Theme,
        tasks: Tasks,
        jobs: Jobs,
        pictures: Pictures,
        dialogs: Dialogs,
        large: LargeType,
        parent: QWidget | None = None,
        *,
        player: Player,
    ) -> None:
        super().__init__(session, theme, parent)
        self._player = player
        self._tasks, self._jobs = tasks, jobs
        self._sections: Sequence[SectionCoverage] = ()
        self._spans: dict[int, BarSpan] = {}
        self._peaks_of = ""
        self._told_bar: int | None = None
        """The bar that the panel tells of because it plays."""
        self.overview = Overview(theme)
        self.canvas = ScoreCanvas(theme, pictures)
        self.score_cursor = ScoreCursor(self.canvas)
        self._pointer = ScorePointer(self.canvas)
        self.panel = BarPanel(theme, pictures)
        self.playing = ScorePlaying(session, self.canvas, player, self.isVisible, self)
        self.angles = AnglesPanel(theme)
        self.watch = WatchPanel(player, session, theme, jobs)
        self.watch_slot = WatchSlot(self.watch, player, theme, self, self.driven_from)
        self.proposal = ProposalPanel(theme, pictures)
        self.side = ScoreSide(theme, self.watch_slot, self.proposal, self.panel, self.angles, player)
        self.marks = MarkSteps(session, player, self.canvas, self.playing, dialogs, self)
        self.proposals = ProposalSteps(session, self.marks, self)
        self.first_pass = PassSteps(session, jobs, player, self.canvas, self.side.shot, self.watch, self)
        self.versions = VersionSteps(session, self.first_pass.solving, dialogs, self)
        self.filters = ScoreFilters(theme, self.canvas, dialogs, self._on_filtered)
        self._notes = FloatingNote(theme, self.canvas), FloatingNote(theme, self.watch)
        self._steps = AngleSteps(session, dialogs)
        self._commands = AngleCommands(session, self._steps, self.canvas, self.angles, self.side, self)
        lines = score_actions(
            self.canvas, self.score_cursor, self.playing, self.side, self.angles, self._commands
        )
        marking = mark_actions(self.marks, self.proposals, self.filters, self.canvas, self.side, large.open)
        self.action_table = ActionTable(
            self,
            (
                *lines[:BESIDE],
                *marking,
                *lines[BESIDE:],
                *pass_actions(self.first_pass, self._open_rules),
                *self.watch_slot.lines(),
            ),
        )
        self.filters.add_button(self.action_table[ALL])
        self.watch_slot.add_buttons(self.action_table)
        self._keys_watching: bool | None = None
        self._list_keys()
        self.side.add_large(self.action_table["large"])
        self.proposal.add_buttons(self.action_table.several(*PROPOSAL_BUTTONS))
        self.angles.add_buttons(self.action_table.several(*ANGLE_BUTTONS))
        self.zoom_row = ZoomRow(
            theme, self.canvas, self.action_table["show"], self.action_table.several(*ZOOM_BUTTONS)
        )
        self.play_bar = PlayBar(player, theme)
        self.empty = EmptyPage(
            theme,
            "No score yet",
            (
                "The score shows, bar by bar, which clips cover the song.",
                "It needs the song and at least one placed clip.",
                WHERE,
            ),
        )
        self._arrange(round(theme.em()))
        self._connect()

    def key_lines(self) -> list[KeyLine]:
        return [*super().key_lines(), *self.watch.key_lines()]

    def driven_from(self) -> QWidget:
        return self.canvas

    def refresh(self, change: Change) -> None:
        shoot = self.session.view
        self._sections = coverage(shoot)
        self._spans = {bar.bar.number: bar.bar for section in self._sections for bar in section.bars}
        duration = shoot.song.duration_s if shoot.song else 0.0
        needs = subject_bars(shoot)
        self.score_cursor.show_sections(self._sections, needs)
        self.playing.show_bars(tuple(self._spans.values()))
        self.overview.show_song(duration, self._sections, final=not words.to_be_placed(shoot))
        self.canvas.show_shoot(shoot, self._sections, needs)
        self.filters.show_shoot(shoot)
        self.first_pass.show_shoot(shoot)
        self._list_missing()
        hidden = sum(angle.hidden for angle in shoot.angles)
        thin = [place.words for section in self._sections for place in section.thin]
        not_named = bool(unnamed_angles(shoot))
        self.zoom_row.show_facts(hidden, thin, words.to_be_placed(shoot), not_named=not_named)
        self.zoom_row.count_by("bar" if shoot.song is None or shoot.song.map.bars_s else "section")
        self.angles.show_angles(shoot, self.canvas.chosen.angle_id)
        self.action_table.refresh()
        shown = bool(self._sections) and any(clip.takes for clip in shoot.clips)
        self._stack.setCurrentIndex(0 if shown else 1)
        if not shown:
            self._tell_empty()
        self._fetch_peaks()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.playing.arrive()
        self.first_pass.seen(True)

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.first_pass.seen(False)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit_side()

    def _arrange(self, margin: int) -> None:
        column = QVBoxLayout()
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(margin // 3)
        top = QVBoxLayout()
        top.setContentsMargins(margin, margin // 2, margin + 10, 0)
        top.setSpacing(margin // 3)
        top.addWidget(self.overview)
        top.addWidget(self.zoom_row)
        top.addWidget(self.filters)
        column.addLayout(top)
        column.addWidget(self.canvas, 1)
        foot = QVBoxLayout()
        foot.setContentsMargins(margin, 0, margin + 10, margin // 2)
        foot.addWidget(self.play_bar)
        column.addLayout(foot)
        score = QWidget()
        score.setLayout(column)
        tip = "Drag to make the side panel wider or narrower"
        self.split = divided(Qt.Orientation.Horizontal, self.theme, tip, score, self.side)
        self.split.splitterMoved.connect(
            lambda *_: self.side.keep_width(self.side.width(), self.split.width())
        )
        self.side.changed.connect(self._fit_side)
        self.side.changed.connect(self._list_keys)
        self._stack = QStackedLayout(self)
        self._stack.addWidget(self.split)
        self._stack.addWidget(self.empty)
        self._stack.setCurrentIndex(1)

    def _fit_side(self) -> None:
        wide = self.side.wanted_width(self.width())
        self.split.setSizes([max(1, self.width() - wide - self.split.handleWidth()), wide])
        self.side.fit_height()

    def _list_keys(self) -> None:
        """List the keys beside the score; who watches pictures marks what is seen, so those come first."""
        if self.side.watching is not self._keys_watching:
            self._keys_watching = self.side.watching
            page = self.action_table.page
            score, marking = page[:BESIDE], page[BESIDE : BESIDE + MARKS_BESIDE]
            self.panel.show_keys([*marking, *score] if self.side.watching else [*score, *marking])

    def _connect(self) -> None:
        canvas, angles, steps = self.canvas, self.angles, self._steps
        canvas.chosen_changed.connect(self._on_chosen_changed)
        canvas.view_moved.connect(self.overview.show_seen)
        self._pointer.pointed.connect(self.playing.go)
        self._pointer.play_wanted.connect(self.playing.play)
        self._pointer.menu_wanted.connect(self._on_menu_wanted)
        self._pointer.angle_dropped.connect(steps.place)
        self._pointer.mark_pressed.connect(self.marks.choose)
        self._pointer.watch_wanted.connect(self.first_pass.watch)
        self.first_pass.changed.connect(self.action_table.refresh)
        self.score_cursor.play_wanted.connect(self._on_enter)
        self.score_cursor.escaped.connect(self.playing.end_loop)
        self.score_cursor.escaped.connect(self.marks.drop)
        self.marks.changed.connect(self._on_marks_changed)
        self.watch_slot.moved.connect(self._on_marks_changed)
        self.side.missing_wanted.connect(self._list_missing)
        self.side.missing.opened.connect(self._on_missing_opened)
        self.side.cut_aways.wanted.connect(
            lambda take_id, start_s, end_s: self._player.play_to(start_s, take_id, end_s)
        )
        self.score_cursor.nothing_thin.connect(self.nothing_thin)
        self.overview.wanted.connect(self._on_moment_wanted)
        self._player.moved.connect(self._on_player_moved)
        self._commands.gone_into.connect(self._on_gone_into)
        angles.chosen.connect(lambda angle_id: canvas.choose_at_rest(canvas.chosen.bar, angle_id))
        angles.chosen.connect(self.action_table.refresh)
        angles.renamed.connect(self._commands.take_name)
        angles.subject_given.connect(steps.set_subject)
        angles.group_given.connect(steps.set_group)
        angles.place_given.connect(steps.set_place)
        angles.camera_given.connect(steps.set_camera)
        angles.rank_given.connect(steps.set_rank)
        angles.safety_set.connect(steps.set_safety)
        angles.hidden_set.connect(steps.hide)
        angles.list.dropped.connect(steps.place)

    def _on_enter(self) -> None:
        if self.marks.chosen is not None:
            self.marks.write_words()
        else:
            self.playing.play()

    def _on_marks_changed(self) -> None:
        over_score, over_pictures = self._notes
        over_score.tell(self.marks.text)
        away = self.watch_slot.outside is not None
        over_pictures.tell(self.marks.told(escape=False) if away else "")
        found = self.marks.found() if self.proposals.chosen is not None else None
        self.side.show_proposal(found, len(self.proposals.alike), self.proposals.outside)
        self._show_cut_aways()
        self.action_table.refresh()

    def _show_cut_aways(self) -> None:
        if self.isVisible():
            self.side.cut_aways.show_stretch(self.session.view, self.marks.stretch())

    def _on_filtered(self) -> None:
        self.action_table.refresh()

    def _open_rules(self) -> None:
        for other in self.findChildren(RulesWindow):
            other.close()
        RulesWindow(self.theme, self.versions, self).show()

    def _list_missing(self) -> None:
        if self.side.lists_missing:
            self.side.missing.show_shoot(self.session.view)

    def _on_missing_opened(self, number: int) -> None:
        one = self.side.missing.passes[number]
        self.canvas.choose(one.first_bar)
        if one.last_bar != one.first_bar:
            self.canvas.choose_at_rest(one.last_bar, extend=True)
        self.playing.go()

    def _on_gone_into(self, angle_id: str) -> None:
        self.catch_up()
        self.canvas.choose(self.canvas.chosen.bar, angle_id)

    def _on_menu_wanted(self, angle_id: str, at: QPoint) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.action_table.refresh()
        for group in ANGLE_MENU:
            if menu.actions():
                menu.addSeparator()
            menu.addActions(self.action_table.several(*group))
        menu.popup(at)

    def _on_chosen_changed(self) -> None:
        chosen, shoot = self.canvas.chosen, self.session.view
        self._tell_bars(chosen, self.playing.take_id)
        self.angles.choose(chosen.angle_id)
        angle = next((a.name for a in shoot.angles if a.id == chosen.angle_id), "")
        found = self._player.found(self.playing.take_id or "")
        take = words.take_name(*found) if found is not None else ""
        where = [self.panel.text.partition("\n")[0], angle, take]
        # The name is what screen readers say when it changes; the description holds the rest.
        self.canvas.setAccessibleName(", ".join(["Score", *(part for part in where if part)]))
        self.canvas.setAccessibleDescription(self.panel.text)
        self._show_cut_aways()
        span = self._spans.get(chosen.bar or 0)
        self.overview.show_at(span.start_s if span is not None else None)
        self.action_table.refresh()

    def _tell_bars(self, chosen: Chosen, take_id: str | None) -> None:
        """Have the panel tell of some bars."""
        self._told_bar = None
        first, last = chosen.span or (chosen.bar or 0, chosen.bar or 0)
        lacking = missing_remarks(self.canvas.needs, first, last, where=first != last)
        self.panel.show_bar(self.session.view, self._sections, chosen, take_id, lacking)

    def _tell_playing(self, song_s: float) -> None:
        """While it plays, have the panel tell of the bar that is heard: once as each begins; at rest, of
        what is chosen again."""
        bar = self.playing.bar_at(song_s) if self._player.playing else None
        if bar is not None and bar.number != self._told_bar:
            self._tell_bars(Chosen(bar.number, self.canvas.chosen.angle_id), self._player.take_id)
            self._told_bar = bar.number
        elif bar is None and self._told_bar is not None:
            self._tell_bars(self.canvas.chosen, self.playing.take_id)

    def _on_player_moved(self, song_s: float) -> None:
        if self.isVisible():
            self._tell_playing(song_s)
            self.canvas.show_position(song_s, follow=self._player.playing)
            self.overview.show_playing(song_s)

    def _on_moment_wanted(self, song_s: float) -> None:
        self.canvas.scroll_to(song_s)
        for bar in self._spans.values():
            if bar.start_s <= song_s < bar.end_s:
                self.canvas.choose_at_rest(bar.number)
                self.playing.go()

    def _tell_empty(self) -> None:
        shoot = self.session.view
        waiting = words.to_be_placed(shoot)
        if shoot.song is None:
            missing = "The clips are waiting for the song." if shoot.clips else "There is no song yet."
        elif not shoot.clips:
            missing = "There are no clips yet."
        elif waiting:
            missing = f"{words.count(waiting, 'clip')} still to be placed."
        else:
            missing = f"None of the {words.count(len(shoot.clips), 'clip')} has been placed yet."
        self.empty.lines[1].setText(f"It needs the song and at least one placed clip. {missing}")
        self.empty.lines[2].setText("Clips (Ctrl+1) shows how far along each one is." if waiting else WHERE)

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
