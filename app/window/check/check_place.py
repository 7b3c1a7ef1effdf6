"""The place Check: for one take after the other, song and take side by side, and a person's decision."""

from collections.abc import Callable, Iterable, Sequence

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QAbstractButton, QComboBox, QSlider, QStackedLayout, QWidget

from app.model.check_queue import Shown, queue, touched
from app.model.document.change import Change
from app.model.document.verdict import Verdict
from app.window.check.check_actions import BUTTONS, PIN_BUTTONS, check_actions
from app.window.check.check_commands import CheckCommands
from app.window.check.check_page import CheckPage
from app.window.check.compare_actions import COMPARE_BUTTONS, compare_actions
from app.window.check.compare_page import ComparePage
from app.window.check.compare_reading import Comparing
from app.window.check.compare_steps import CompareSteps
from app.window.check.examined_take import ExaminedTake
from app.window.check.examining import Examining
from app.window.check.fit_row import FitRow
from app.window.check.frame_trio import FrameTrio
from app.window.check.match_settings import MatchSettings
from app.window.check.pin_page import PinPage
from app.window.check.proving import Proving
from app.window.check.queue_list import QueueList
from app.window.jobs import Jobs, Tasks
from app.window.parts import words
from app.window.parts.actions import ActionTable, KeyLine
from app.window.parts.angle_steps import AngleSteps
from app.window.parts.clip_pictures import Pictures
from app.window.parts.dialogs import Dialogs
from app.window.parts.empty_page import EmptyPage
from app.window.parts.place import Place
from app.window.parts.theme import Theme
from app.window.playing.play_bar import PlayBar
from app.window.playing.player import Player
from app.window.playing.watch_panel import WatchPanel
from app.window.playing.watch_slot import WatchSlot
from app.window.session import Session
from app.window.work.background_match import BackgroundMatch

CONTROLS = (QAbstractButton, QComboBox, QSlider)
"""What gives the keyboard back to the takes when it is clicked."""
WHERE = "Add the song and its clips in Clips (Ctrl+1)."


class CheckPlace(Place):
    """One take after the other."""

    title = "Check"
    space_plays = True

    def __init__(
        self,
        session: Session,
        theme: Theme,
        tasks: Tasks,
        jobs: Jobs,
        pictures: Pictures,
        dialogs: Dialogs,
        matching: BackgroundMatch,
        parent: QWidget | None = None,
        *,
        player: Player,
    ) -> None:
        super().__init__(session, theme, parent)
        self.examined = ExaminedTake()
        self.proving = Proving(tasks, jobs, self)
        self.queue = QueueList(theme)
        self.list = self.queue.list
        self.pin_page = PinPage(theme, tasks, jobs)
        self.watch = WatchPanel(player, session, theme, jobs)
        self.watch_slot = WatchSlot(self.watch, player, theme, self, self.driven_from)
        self.compare_page = ComparePage(theme)
        self.page = CheckPage(
            theme,
            self.queue,
            FrameTrio(theme, pictures),
            self.watch_slot,
            PlayBar(player, theme),
            self.pin_page,
            self.compare_page,
        )
        self.examining = Examining(
            session,
            theme,
            self.queue,
            self.page,
            self.examined,
            self.proving,
            player,
            self.isVisible,
            self,
        )
        self.view = self.examining.view
        self.commands = CheckCommands(
            session,
            self.queue,
            self.page,
            self.examined,
            self.examining,
            self.proving,
            player,
            AngleSteps(session, dialogs),
            self,
        )
        self.comparing = Comparing(tasks, jobs, self)
        self.match_settings = MatchSettings(session, self.examined, tasks, jobs, self)
        self.compared = CompareSteps(
            session,
            self.compare_page,
            self.examined,
            self.comparing,
            matching,
            self.match_settings,
            self.compare_page.isVisible,
            self,
        )
        choices = self.compare_page.choices
        choices.transfer_chosen.connect(self.match_settings.set_transfer)
        choices.figures_chosen.connect(self.match_settings.set_figures)
        lines = (
            check_actions(self.commands, self.queue),
            compare_actions(self.commands, self.compared, self.match_settings, choices),
        )
        self.action_table = ActionTable(self, (*lines[0], *lines[1], *self.watch_slot.lines()))
        self.compare_page.add_buttons(self.action_table.several(*COMPARE_BUTTONS))
        self.watch_slot.add_buttons(self.action_table)
        self.pin_page.add_buttons(self.action_table.several(*PIN_BUTTONS))
        self.page.arrange(self.action_table.several(*BUTTONS), self.action_table["watch"])
        self.queue.add_button(self.action_table["doubt"])
        told = (
            "No take has been placed yet.",
            "Takes appear here to be checked, those in doubt first.",
            WHERE,
        )
        self._stack = QStackedLayout(self)
        self.empty = EmptyPage(theme, "Nothing to check", told)
        self._stack.addWidget(self.empty)
        self._stack.addWidget(self.page)
        self._seen = session.view
        self._gives_back = GivesBack(self.take_focus, self)
        self._gives_back.watch(self)
        session.changed.connect(self._on_undone)
        self.examining.listed.connect(self._on_listed)
        self.examining.changed.connect(self._on_examined)
        self.compared.told.connect(self.page.tell_apart)
        self.compare_page.distances.chosen.connect(self.look_at)
        self.watch_slot.wanted.connect(lambda: self.page.show_watching(True))
        for number, cell in enumerate(self.page.cells):
            cell.clicked.connect(lambda _, number=number: self.examining.look_at_moment(number))

    def key_lines(self) -> list[KeyLine]:
        return [*super().key_lines(), *self.watch.key_lines()]

    def driven_from(self) -> QWidget:
        return self.list

    def look_at(self, key: str) -> None:
        """Look at an entry of the list, by its key; where it is not listed, all are."""
        if key not in [entry.key for entry in queue(self.session.view, self.queue.shown)]:
            self.queue.filter.setCurrentIndex(list(Shown).index(Shown.ALL))
        self.examining.list_entries(key)

    @property
    def fits(self) -> Sequence[FitRow]:
        """The places where the take could be, as rows; the first is where it lies."""
        return self.view.rows

    def refresh(self, change: Change) -> None:
        self.examining.list_again(picked=False)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        # Elsewhere another take may have been chosen to be played, and nothing was drawn meanwhile.
        self.examining.show_entry()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.examining.rest()
        self.comparing.rest()

    def _on_undone(self, change: Change, origin: str) -> None:
        """What is undone or done again is looked at."""
        before, self._seen = self._seen, self.session.view
        if origin == "open":
            self.queue.start_over()
        elif origin in ("undo", "redo") and self.isVisible():
            key = touched(before, self._seen)
            self.catch_up()
            if key is not None:
                self.queue.reveal(self._seen, key)
                self.examining.list_entries(key)

    def _on_listed(self) -> None:
        """Show the takes, or what to do as long as there are none."""
        shoot = self.session.view
        some = any(clip.takes or clip.verdict is Verdict.NO_SONG for clip in shoot.clips)
        shown = shoot.song is not None and some
        self._stack.setCurrentIndex(int(shown))
        if not shown:
            self._tell_empty()

    def _on_examined(self) -> None:
        self._gives_back.add(self.view.rows)
        # What is tried while pinning is watched alone.
        self.watch.controls.setVisible(not self.page.pinning)
        self.compared.show_take()
        self.action_table.refresh()

    def _tell_empty(self) -> None:
        shoot = self.session.view
        waiting = words.to_be_placed(shoot)
        if waiting:
            where = (
                f"{words.count(waiting, 'clip')} still to be placed: Clips (Ctrl+1) shows how far each is."
            )
        elif shoot.clips and shoot.song is None:
            where = "The clips are waiting for the song: see Clips (Ctrl+1)."
        elif shoot.clips:
            where = "None of the clips could be read: Clips (Ctrl+1) shows why."
        else:
            where = WHERE
        self.empty.lines[2].setText(where)


class GivesBack(QObject):
    """Has controls that are clicked leave the keyboard with the takes: nothing stays armed on Enter."""

    def __init__(self, take_focus: Callable[[], None], parent: QObject) -> None:
        super().__init__(parent)
        self._take_focus = take_focus

    def watch(self, around: QWidget) -> None:
        """Watch all controls in a widget."""
        self.add(child for child in around.findChildren(QWidget) if isinstance(child, CONTROLS))

    def add(self, controls: Iterable[QWidget]) -> None:
        """Watch controls; those that never had the keyboard do not get it."""
        for control in controls:
            if control.focusPolicy() != Qt.FocusPolicy.NoFocus:
                control.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            control.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.MouseButtonPress:
            self._take_focus()
        return False
