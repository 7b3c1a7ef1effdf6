"""The window: puts the places together and hands each what it needs."""

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QEvent, QSettings, Qt
from PySide6.QtGui import QCloseEvent, QShowEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QStackedWidget, QVBoxLayout, QWidget

from app.engine.sample import NAME, sample_shoot
from app.model.document.change import Change
from app.model.edits import shoot_edits
from app.model.songs_of_clips import song_of_take
from app.window.clips.clips_place import WaysIn
from app.window.clips.moved_media import MovedMedia
from app.window.clips.watched_folder import WatchedFolder
from app.window.frame.drops import Drops
from app.window.frame.enter_key import EnterKey
from app.window.frame.focus_keeper import FocusKeeper
from app.window.frame.folders import Folders, user_folders
from app.window.frame.menus import Menus
from app.window.frame.missing_bar import MissingBar
from app.window.frame.places_column import PlacesColumn
from app.window.frame.preferences import Preferences
from app.window.frame.progress_strip import ProgressStrip
from app.window.frame.remembered import Remembered
from app.window.frame.safe_copy import ORIGIN as SAFE_COPY
from app.window.frame.safe_copy import SafeCopy
from app.window.frame.shoot_file import ShootFile
from app.window.frame.side_windows import SideWindows
from app.window.frame.window_actions import PLACE_NAMES, window_actions
from app.window.frame.window_places import PLACES, Ahead, Places, WindowPlaces
from app.window.frame.window_state import WindowState
from app.window.handoff.hand_over import HandOver
from app.window.handoff.handoff_place import SLOT as HAND_OFF
from app.window.handoff.handoff_place import HandoffPlace
from app.window.jobs import Jobs, Tasks
from app.window.master.earlier_masters import EarlierMasters
from app.window.master.replace_song import ReplaceSong
from app.window.parts.actions import ActionTable
from app.window.parts.clip_pictures import Pictures
from app.window.parts.dialogs import Dialogs, WindowDialogs
from app.window.parts.large_type import LargeType
from app.window.parts.last_folders import LastFolders
from app.window.parts.notice import Notice
from app.window.parts.place import Place
from app.window.parts.recent import Recent
from app.window.parts.style_sheet import style_sheet
from app.window.parts.theme import Scheme, Theme
from app.window.playing.clip_player import ClipPlayer
from app.window.playing.play_keys import PlayKeys
from app.window.playing.player import Player
from app.window.session import SUFFIX, Session
from app.window.slate.slate import Slate
from app.window.work.background_look import FIRST, BackgroundLook
from app.window.work.background_look import SLOT as LOOK
from app.window.work.background_match import BackgroundMatch
from app.window.work.running import Running
from app.window.work.song_question import CAUSE as WRONG_SONG
from app.window.work.song_question import WrongSong
from app.window.work.work import ORIGIN as FOUND
from app.window.work.work import Work

LEAST_EMS = 20
"""A place is never less high than so many lines of text."""
CLIPS, CHECK, SCORE, HANDOFF = (PLACES.index(name) for name in ("clips", "check", "score", "handoff"))


class MainWindow(WindowPlaces):
    """One shoot in one window."""

    def __init__(
        self,
        tasks: Tasks,
        hand_over: HandOver,
        settings: QSettings,
        *,
        dialogs: Dialogs | None = None,
        folders: Folders | None = None,
    ) -> None:
        super().__init__()
        self.preferences = Preferences(settings)
        self.session = Session(self)
        self.jobs = Jobs(self)
        self.theme = Theme(self.preferences.scheme, self)
        self.dialogs: Dialogs = dialogs or WindowDialogs(self, LastFolders(settings, self.near))
        self.running = Running(self.jobs, self)
        self.work = Work(self.session, self.jobs, self.running, tasks, self.dialogs, self)
        self.look = BackgroundLook(
            self.session, self.jobs, self.running, tasks, lambda: self.preferences.looks_at_pictures, self
        )
        self.match = BackgroundMatch(self.session, self.jobs, self.running, tasks, self)
        self.wrong_song = WrongSong(self.session, self.jobs, self.running, tasks, self)
        self.moved = MovedMedia(self.session, self.jobs, self.running, self.dialogs, self)
        self.watch = WatchedFolder(self.session, self.jobs, tasks, self.work, self.dialogs, self)
        self.recent = Recent(self.session, settings, self)
        self.shoot_file = ShootFile(self.session, self.dialogs, may_end=self._may_end)
        self.side = SideWindows(
            self, self.theme, self.preferences, self.jobs, self.dialogs, self.choose_scheme
        )
        folders = folders or user_folders()
        self.replacing = ReplaceSong(
            self.session, self.theme, self.jobs, self.running, tasks, self.dialogs, self.work, self
        )
        self.earlier = EarlierMasters(self.session, self.theme, self.jobs, tasks, self.dialogs, self)
        self.safe_copy = SafeCopy(self.session, self.dialogs, folders.unsaved, self)
        self.tasks, self.hand_over = tasks, hand_over
        self.pictures = Pictures(tasks, self.jobs, folders.pictures, self)
        self.player = Player(self.session, tasks, self.jobs, self, settings=settings)
        self.clip_player = ClipPlayer(self.session, tasks, self.jobs, self.player)
        self._enter_key = EnterKey(self)
        self._focus_keeper = FocusKeeper(self, lambda: self.places[self._number])
        self.play_keys = PlayKeys(
            self.player,
            lambda: self.player.song_map,
            lambda: self.score.playing.range_s() if self._number == SCORE else None,
            self._toggle,
            self,
        )
        self.places = Places(self)
        self._ahead = Ahead(self.places, self)
        self._number = 0
        self.has_sample = sample_shoot() is not None
        actions = window_actions(
            self,
            self.session,
            self.theme,
            self.shoot_file,
            self.recent,
            self.running,
            self.work,
            self.watch,
            self.moved,
            self.side,
            self.look,
            self.replacing,
            self.earlier,
        )
        self.action_table = ActionTable(self, actions, Qt.ShortcutContext.WindowShortcut)
        tables = (self.action_table, self.play_keys.action_table)
        self.menus = Menus(self, tables, self._table_here, self.recent, self._open_recent)
        self.large = LargeType(self.session, self.theme, self)
        self.slate = Slate(self.session, self.player, self)
        self.notice = Notice(self.theme)
        self._put_together()
        self.remembered = Remembered(
            self.session,
            WindowState(settings),
            self.preferences,
            self,
            self.clips.table,
            self.watch,
        )
        self.drops = Drops(self.theme, self)
        self.drops.dropped.connect(self.take_in)
        self.clips.wanted_in_check.connect(self._on_wanted_in_check)
        self.moved.searched.connect(self.side.sought)
        self.moved.changed.connect(self.action_table.refresh)
        self.jobs.busy_changed.connect(self._on_job)
        self.watch.changed.connect(self._on_watch_changed)
        self.running.failed.connect(lambda slot, sentence: self.notice.tell(sentence, slot))
        self.running.begun.connect(self.notice.mended)
        self.work.message.connect(self.notice.say)
        self.look.told.connect(self.notice.say)
        self.replacing.told.connect(self.notice.say)
        self.wrong_song.asked.connect(lambda sentence: self.notice.tell(sentence, WRONG_SONG))
        self.wrong_song.settled.connect(lambda: self.notice.mended(WRONG_SONG))
        self.work.moved.connect(lambda: self.column.show_reading(self.work.reading))
        self.safe_copy.message.connect(lambda sentence: self.notice.tell(sentence, SAFE_COPY))
        self.safe_copy.mended.connect(lambda: self.notice.mended(SAFE_COPY))
        self.theme.changed.connect(self._dress)
        self.session.changed.connect(self._on_session_changed)
        self.recent.changed.connect(self.action_table.refresh)
        self.setAcceptDrops(True)
        self._dress()
        self._name()
        self.go(0)

    @property
    def place_number(self) -> int:
        """The place one is at, counted from 0."""
        return self._number

    def go(self, index: int) -> None:
        """Go to a place by its number, counted from 0."""
        self._number = index
        self._stack.setCurrentWidget(self.places[index])
        self.action_table.refresh()
        self.places[index].take_focus()
        self.remembered.went(index)
        self.moved.look()
        self.notice.go_on()

    def take_in(self, paths: Sequence[Path]) -> None:
        """Take in files and folders, from the command line or a drop; a shoot among them is opened."""
        shoots = [path for path in paths if path.suffix == SUFFIX]
        if shoots:
            self.shoot_file.open_asking(shoots[0])
        self.work.take_in([path for path in paths if path.suffix != SUFFIX])

    def open_sample(self) -> None:
        """Take in the shoot that came along, as one of its own; its files are only read."""
        sample = sample_shoot()
        if sample is None or not self.shoot_file.may_leave("open the sample shoot"):
            return
        self.session.new()
        self.session.find_out(lambda shoot: shoot_edits.set_name(shoot, NAME), "sample")
        self.work.begin_with(sample.song, sample.clips)
        self.go(0)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.drops.attach(self.windowHandle())
        self._ahead.begin()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            self.moved.look()  # files are moved while one is in another window

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self.shoot_file.may_leave("quit"):
            event.ignore()
            return
        self._ahead.end()
        self.remembered.keep_all()
        self.watch.close()
        self.slate.end()
        self.hide()  # at once, though the jobs may need a moment to come to their end
        self.player.close()
        self.clip_player.close()
        self.jobs.close()
        self.safe_copy.close()
        event.accept()

    def name_angles(self) -> None:
        """Go to the page on which angles are named."""
        self.go(CLIPS)
        self.clips.name_angles()

    def step_song(self, by: int) -> None:
        """Take the next song in hand, or the one before."""
        self.column.songs.step(by)

    def offer_recent(self) -> None:
        """Offer the shoots opened last."""
        self.menus.pop_up_recent()

    def list_keys(self) -> None:
        """List the keys of the window and of all places."""
        self.side.keys([*self.play_keys.action_table.page, *self.action_table.page], self.places)

    def choose_scheme(self, scheme: Scheme) -> None:
        """Show the window in other colours, now and from the next start on."""
        self.theme.choose(scheme)
        self.preferences.set_scheme(scheme)
        self.action_table.refresh()

    def ways_in(self) -> WaysIn:
        table = self.action_table
        return WaysIn(
            song=table["song"],
            clips=table["clips"],
            folder=table["folder"],
            watch=table["watch"],
            sample=table["sample"],
            name=table["name angles"],
            redo=table["redo"],
            open_shoot=self._open_recent,
        )

    def _toggle(self) -> None:
        if not self.places[self._number].toggle_own():
            self.player.toggle()

    def _on_job(self, slot: str) -> None:
        if slot in (*FIRST, LOOK):
            self.action_table.refresh()  # whether pictures can be looked at
        if slot == HAND_OFF:
            self.moved.look()  # nothing is handed off without a word about what is missing

    def _on_watch_changed(self) -> None:
        self.action_table.refresh()
        self.column.show_watched(self.watch.folder)

    def _open_recent(self, path: Path) -> None:
        self.shoot_file.open_recent(path, self.recent.forget)

    def near(self) -> Path | None:
        """A folder of the open shoot: that of its file, its song or its first clip; but not of the sample."""
        shoot, path = self.session.view, self.session.path
        media = [shoot.song.media] if shoot.song is not None else []
        files = [path, *(Path(one.path) for one in (*media, *(clip.media for clip in shoot.clips[:1])))]
        sample = sample_shoot()
        near = [file.parent for file in files if file is not None]
        return next(
            (one for one in near if sample is None or sample.song.parent not in (one, *one.parents)), None
        )

    def _on_wanted_in_check(self, key: str) -> None:
        song = song_of_take(self.session.views, key)
        if song is not None:
            self.session.take_song(song.id)
        self.check.look_at(key)
        self.go(CHECK)

    def settle(self, place: Place) -> None:
        self._stack.addWidget(place)
        if self.places.made:
            # What follows the session here goes by what the places show: it is told after all of them.
            self.session.changed.disconnect(self._on_session_changed)
            self.session.changed.connect(self._on_session_changed)
        # Tab goes on from the place to the button that stops, be the place made later than that.
        last = self.previousInFocusChain()
        while last is not None and last is not place and last.focusPolicy() == Qt.FocusPolicy.NoFocus:
            last = last.previousInFocusChain()
        if last is not None and place.isAncestorOf(last):
            QWidget.setTabOrder(last, self.progress.button)
        if isinstance(place, HandoffPlace):
            self.remembered.take_handoff(place)

    def _may_end(self, then: str) -> bool:
        """Ask whether a hand-off that is being written may end."""
        return HANDOFF in self.places.unmade or self.handoff.may_end(then)

    def _table_here(self) -> ActionTable | None:
        return next((place.action_table for place in self.places.made if place.isVisible()), None)

    def _put_together(self) -> None:
        self._stack = QStackedWidget()
        # What is told above a place takes room from it: the window itself never outgrows the screen.
        self._stack.setMinimumHeight(round(self.theme.em() * LEAST_EMS))
        line = QFrame()
        line.setFrameShape(QFrame.Shape.VLine)
        column = QVBoxLayout()
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        self.missing = MissingBar(self.session, self.theme, self.moved, self.action_table["find"])
        column.addWidget(self.missing)
        column.addWidget(self.notice)
        column.addWidget(self._stack, 1)
        self.progress = ProgressStrip(self.theme, self.running, self.action_table["stop"])
        column.addWidget(self.progress)
        centre = QWidget()
        row = QHBoxLayout(centre)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        self.column = PlacesColumn(self.session, self.theme, self.action_table.several(*PLACE_NAMES))
        row.addWidget(self.column)
        row.addLayout(column, 1)
        self.setCentralWidget(centre)
        self.resize(1280, 800)

    def _dress(self) -> None:
        self.setStyleSheet(style_sheet(self.theme.colours, self.theme.em()))

    def _on_session_changed(self, change: Change, origin: str) -> None:
        self.remembered.follow(origin)
        self._name()
        self.action_table.refresh()
        if origin == "open":
            self.notice.clear()
        elif origin not in (FOUND, "save"):
            self.notice.go_on()
        if origin == "open" and self.session.path is not None:
            self.go(self.remembered.place())

    def _name(self) -> None:
        self.setWindowTitle(f"{self.session.title}[*] – Anglebook")
        self.setWindowModified(self.session.modified)
