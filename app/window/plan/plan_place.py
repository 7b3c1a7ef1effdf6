"""Plan: who must be seen where, the set-ups for it, and what is still missing."""

import re

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QMenu, QStackedWidget, QVBoxLayout, QWidget

from app.model.coverage.missing_words import minutes_words
from app.model.coverage.needs import NeedState, need_results
from app.model.coverage.passages import passage_parts
from app.model.document.change import Change
from app.model.document.plan import Passage
from app.model.song_map.bar_spans import bar_spans
from app.window.jobs import Tasks
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.actions import ActionTable
from app.window.parts.button_row import ButtonRow
from app.window.parts.buttons import ActionButton
from app.window.parts.dialogs import Dialogs
from app.window.parts.empty_page import EmptyPage
from app.window.parts.large_type import LargeType
from app.window.parts.missing_list import MissingList
from app.window.parts.place import Place
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.plan.costs_window import CostsWindow
from app.window.plan.kit_steps import KitSteps
from app.window.plan.lyrics_window import LyricsWindow
from app.window.plan.plan_actions import MOST_ANGLES, plan_actions
from app.window.plan.plan_grid import PlanGrid
from app.window.plan.plan_split import PlanSplit
from app.window.plan.plan_steps import PlanSteps, subjects_typed
from app.window.plan.set_up_list import SetUpList
from app.window.plan.sheet_saver import SheetSaver
from app.window.playing.player import Player
from app.window.session import Session
from app.window.slate.slate import Slate
from app.window.work.running import Running

NEEDS_BUTTONS = ("ask", "family", "subject", "range", "offer", "lyrics")
SET_UP_BUTTONS = ("set-up", "suggest", "up", "down")
MISSING_BUTTONS = ("large", "costs", "sheet", "kit", "slate")
BY = tuple(f"by {count}" for count in range(1, MOST_ANGLES + 1))
CELL_ACTIONS = ("ask", "family", *BY, "bars", "note")
"""What is done to the chosen cell of the grid."""
CELL_MENU = (("ask", "family", "back"), BY, ("bars", "note"), ("set-up", "hear"))
"""The menu of a cell, in groups."""
_RANGE = re.compile(r"\s*(\d{1,5})(?:\s*[-–]\s*(\d{1,5}))?\s*")


class PlanPlace(Place):
    """The grid of needs, the set-ups below it, what is missing at the side."""

    title = "Plan"

    def __init__(
        self,
        session: Session,
        theme: Theme,
        tasks: Tasks,
        running: Running,
        dialogs: Dialogs,
        choose_song: QAction,
        large: LargeType,
        slate: Slate,
        parent: QWidget | None = None,
        *,
        player: Player,
    ) -> None:
        super().__init__(session, theme, parent)
        self._dialogs, self.player = dialogs, player
        self._typed: list[str] = []
        self.steps = PlanSteps(session, self)
        self.grid = PlanGrid(theme)
        self.set_ups = SetUpList(theme)
        self.missing = MissingList(theme)
        self.large = large
        self.kit = KitSteps(session, theme, tasks, running, dialogs, self)
        self._sheets = SheetSaver(session, tasks, running, dialogs, self)
        self.action_table = ActionTable(self, (*plan_actions(self), slate.line()))
        # The keys of a cell of the grid mean nothing of a set-up.
        self.set_ups.keep_keys(
            key for action in self.action_table.several(*CELL_ACTIONS) for key in action.shortcuts()
        )
        self._name = TextLabel(theme, "Plan", size=looks.HEADING, bold=True, wrap=False)
        self._figures = TextLabel(theme, size=looks.SMALL, role="dim")
        self._message = TextLabel(theme, size=looks.SMALL)
        self._arrange(choose_song)
        self.grid.filled.connect(
            lambda row, subject: self.steps.ask_for(self.grid.rows[row].passage, subject)
        )
        self.grid.moved.connect(self.action_table.refresh)
        self.grid.headed.connect(self._on_headed)
        self.grid.menu_wanted.connect(self._on_menu_wanted)
        self.set_ups.typed.connect(self._on_typed)
        self.steps.said.connect(self._message.setText)
        self._sheets.said.connect(self._message.setText)
        theme.changed.connect(lambda: self.refresh(Change.PLAN))

    @property
    def text(self) -> str:
        """The figures as one line."""
        return self._figures.text()

    @property
    def message(self) -> str:
        """What was last said about a step."""
        return self._message.text()

    def driven_from(self) -> QWidget:
        return self.grid

    def refresh(self, change: Change) -> None:
        shoot = self.session.view
        self._stack.setCurrentIndex(0 if shoot.song is None else 1)
        if shoot.song is not None:
            results = need_results(shoot)
            self.grid.show_shoot(shoot, self._typed, results)
            self.set_ups.show_shoot(shoot)
            self._split.share()
            self.missing.show_shoot(shoot)
            met = sum(one.state is NeedState.MET for one in results)
            plan = shoot.plan
            figures = (
                f"{met} of {words.count(len(results), 'need')} covered",
                f"pre-roll {plan.lead_in_s:.0f} s",
                f"reset {minutes_words(plan.reset_s / 60)}",
                f"handles {plan.handle_frames} frames",
            )
            hint = (
                "Click a cell to say that a subject must be seen there, or press Shift+O to ask for the "
                "safety and one more angle in every section."
            )
            self._figures.setText(" · ".join(figures) if results else hint)
        self.action_table.refresh()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        for row in (self.needs_row, self.set_ups_row):
            row.keep_to_one_line(self.is_low)

    # What can be done here, as `plan_actions` tells it.

    def ask_for(self) -> None:
        row, subject, cell = self.grid.passage_row, self.grid.subject, self.grid.cell
        if row is None or not subject:
            return
        if cell is None:
            self.steps.ask_for(row.passage, subject)
        else:
            self.steps.take_back(cell.needs)

    def ask_in_family(self) -> None:
        row, subject, cell = self.grid.passage_row, self.grid.subject, self.grid.cell
        if row is None or not subject:
            return
        if row.section is None or not row.section.family:
            return  # it is greyed there, and says why
        self.steps.ask_again(Passage(family=row.section.family), subject, () if cell is None else cell.needs)

    def take_back(self) -> None:
        if self.set_ups.hasFocus():
            if self.set_ups.chosen_id:
                self.steps.remove_set_up(self.set_ups.chosen_id)
        elif self.grid.cell is not None:
            self.steps.take_back(self.grid.cell.needs)

    def set_angles(self, count: int) -> None:
        self.ask_if_not_yet()
        if self.grid.cell is not None:
            self.steps.change(self.grid.cell.needs, "Change Number of Angles", least_angles=count)

    def set_bars(self) -> None:
        self.ask_if_not_yet()
        if self.grid.cell is None:
            return
        now = max(need.least_bars for need in self.grid.cell.needs)
        text = self._dialogs.ask_text("Minimum bars", "In at least how many bars? (0: all)", str(now))
        if text is None:
            return
        if not (text.strip().isascii() and text.strip().isdigit()):
            self._message.setText("Type a whole number of bars; 0 is all of them.")
            return
        self.steps.change(self.grid.cell.needs, "Change Minimum Bars", least_bars=int(text))

    def set_note(self) -> None:
        self.ask_if_not_yet()
        if self.grid.cell is not None:
            note = self._dialogs.ask_text(
                "Note", "What to remember about this need:", self.grid.cell.needs[0].note
            )
            if note is not None:
                self.steps.change(self.grid.cell.needs, "Change Note", note=note.strip())

    def ask_if_not_yet(self) -> None:
        """Ask for the chosen subject where it is not asked for, and show that at once."""
        if self.grid.cell is None:
            self.ask_for()
            self.catch_up()

    def add_subject(self) -> None:
        subject = self._dialogs.ask_text("Add a subject", "Who or what must be seen:", "")
        if subject and subject.strip():
            self._typed.append(" ".join(subject.split()))
            self.refresh(Change.PLAN)
            self.grid.choose(max(0, self.grid.currentRow()), self._typed[-1])

    def add_bars(self) -> None:
        song = self.session.view.song
        if song is None or not self.grid.subject:
            return
        bars = len(bar_spans(song))
        text = self._dialogs.ask_text(
            "Add bars", f"Bars in which {self.grid.subject} must be seen, such as 12-20:", ""
        )
        match = None if text is None else _RANGE.fullmatch(text)
        if text is None:
            return
        first = int(match[1]) if match else 0
        last = int(match[2] or match[1]) if match else 0
        if not 1 <= first <= last <= bars:
            self._message.setText(f"Type bars from 1 to {bars}, such as 12-20.")
            return
        self.steps.ask_for(Passage(first_bar=first, last_bar=last), self.grid.subject)

    def offer(self) -> None:
        if self.session.view.song is not None:
            self.steps.offer()

    def add_set_up(self) -> None:
        row, subject = self.grid.passage_row, self.grid.subject
        if row is None:
            return
        texts = self._dialogs.ask_texts(
            "Add a set-up",
            f"A set-up for {', '.join([self.passage_name, *row.detail.splitlines()[:1]])}.",
            (("&Angle", subject), ("&Shows", subject), ("&Place of the camera, or another note", "")),
        )
        if texts is not None and texts[0].strip():
            self.steps.add_set_up(texts[0], row.passage, subjects_typed(texts[1]), texts[2].strip())

    @property
    def passage_name(self) -> str:
        """What the chosen passage is called; empty where none is."""
        row = self.grid.passage_row
        if row is None or row.section is not None:
            return "" if row is None else row.title
        return row.title.lower() if row.passage.first_bar else "the whole song"

    @property
    def passage_short(self) -> str:
        """The same on a button: a section by its letter."""
        row = self.grid.passage_row
        return "" if row is None else row.title if row.section is None else row.section.letter

    @property
    def why_not_family(self) -> str:
        """Why a need cannot be for all sections that sound like the chosen one; empty where it can."""
        row = self.grid.passage_row
        alike = row is not None and row.section is not None and row.section.family
        return "" if alike else "Select a section that others sound like."

    def toggle_own(self) -> bool:
        if self.player.playing or self.session.view.song is None:
            return False
        self.hear()
        return True

    def hear(self) -> None:
        """Play from where the passage begins that has the keyboard: of the grid, or of a set-up."""
        song, row = self.session.view.song, self.grid.passage_row
        passage = None if row is None else row.passage
        if self.set_ups.hasFocus():
            chosen = (one for one in self.set_ups.set_ups if one.id == self.set_ups.chosen_id)
            passage = next((one.passage for one in chosen), passage)
        if song is None or passage is None:
            return
        bars = bar_spans(song)
        parts = passage_parts(passage, song, bars)
        # The whole song begins before its first bar.
        self.player.play(bars[parts[0].bars[0]].start_s if parts and passage != Passage() else 0.0)

    def _on_headed(self, row: int) -> None:
        self.grid.setCurrentCell(row, max(0, self.grid.currentColumn()))
        self.grid.setFocus()
        self.hear()

    def _on_menu_wanted(self, at: QPoint) -> None:
        menu = QMenu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        menu.setToolTipsVisible(True)
        self.action_table.refresh()
        for group in CELL_MENU:
            if menu.actions():
                menu.addSeparator()
            menu.addActions(self.action_table.several(*group))
        menu.popup(at)

    def suggest_set_ups(self) -> None:
        if self.session.view.song is not None:
            self.steps.plan_passes(self.missing.passes)

    def move_set_up(self, step: int) -> None:
        ids = [one.id for one in self.set_ups.set_ups]
        at = self.set_ups.currentRow()
        if not 0 <= at < len(ids) or not 0 <= at + step < len(ids):
            return
        behind = at + step + (1 if step > 0 else 0)
        self.steps.move_set_up(ids[at], ids[behind] if behind < len(ids) else None)

    def edit_lyrics(self) -> None:
        song = self.session.view.song
        if song is not None:
            window = LyricsWindow(self.theme, song, self)
            if window.exec():
                self.steps.set_lyrics(window.lines)
            window.deleteLater()

    def set_costs(self) -> None:
        window = CostsWindow(self.session.view.plan, self)
        if window.exec():
            self.steps.set_costs(window.handle.value(), window.lead_in.value(), window.reset.value())
        window.deleteLater()

    def read_aloud(self) -> None:
        self.large.open()

    def playback_files(self) -> None:
        self.kit.open()

    def save_sheet(self) -> None:
        if self.session.view.song is not None:
            self._sheets.save()

    def _on_typed(self, set_up_id: str, column: int, text: str) -> None:
        # As it is now: what was typed just before may not be shown yet.
        set_ups = self.session.view.plan.set_ups
        one = next((one for one in set_ups if one.id == set_up_id), None)
        if one is not None:
            self.steps.type_set_up(one, column, text)

    def _arrange(self, choose_song: QAction) -> None:
        em = round(self.theme.em())
        empty = EmptyPage(
            self.theme,
            "Plan what must be seen",
            (
                "The plan needs the song's sections: choose the song first.",
                "Then say who must be seen where, before anything is shot.",
                "While you shoot, Still missing lists what to shoot next.",
            ),
            (ActionButton(choose_song, main=True),),
        )
        heading = TextLabel(self.theme, "Set-ups, in order", size=looks.LARGE, bold=True, wrap=False)
        self.needs_row = self._buttons(em, NEEDS_BUTTONS)
        self.set_ups_row = self._buttons(em, SET_UP_BUTTONS)
        self._split = PlanSplit(em, self.grid, [self.needs_row], self.set_ups, [heading, self.set_ups_row])
        side = QWidget()
        side.setObjectName("sidePanel")
        column = QVBoxLayout(side)
        column.setContentsMargins(em, em, em, em)
        column.addWidget(self.missing, 1)
        column.addWidget(self._buttons(em, MISSING_BUTTONS))
        side.setMinimumWidth(round(em * 14))
        side.setMaximumWidth(round(em * 24))
        head = QVBoxLayout()
        head.setContentsMargins(em, em, em, 0)
        head.setSpacing(em // 4)
        for label in (self._name, self._figures, self._message):
            head.addWidget(label)
        main = QVBoxLayout()
        main.addLayout(head)
        main.addWidget(self._split, 1)
        page = QWidget()
        row = QHBoxLayout(page)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addLayout(main, 3)
        row.addWidget(side, 1)
        self._stack = QStackedWidget()
        self._stack.addWidget(empty)
        self._stack.addWidget(page)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.addWidget(self._stack)

    def _buttons(self, em: int, names: tuple[str, ...]) -> ButtonRow:
        buttons: list[QWidget] = [ActionButton(action) for action in self.action_table.several(*names)]
        for button in buttons:
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        return ButtonRow(round(em * 0.4), buttons)
