"""The places of the window. Each is made when it is first needed: an evening begins in one of them."""

import gc
import time
from collections.abc import Sequence
from functools import cached_property
from typing import TypeVar, overload

from PySide6.QtCore import QObject, QTimer
from PySide6.QtWidgets import QMainWindow, QWidget
from shiboken6 import isValid

from app.window.check.check_place import CheckPlace
from app.window.clips.clips_place import ClipsPlace, WaysIn
from app.window.clips.moved_media import MovedMedia
from app.window.clips.watched_folder import WatchedFolder
from app.window.handoff.hand_over import HandOver
from app.window.handoff.handoff_place import HandoffPlace
from app.window.jobs import Jobs, Tasks
from app.window.parts.actions import ActionTable
from app.window.parts.clip_pictures import Pictures
from app.window.parts.dialogs import Dialogs
from app.window.parts.large_type import LargeType
from app.window.parts.notice import Notice
from app.window.parts.place import Place
from app.window.parts.recent import Recent
from app.window.parts.theme import Theme
from app.window.plan.plan_place import PlanPlace
from app.window.playing.clip_player import ClipPlayer
from app.window.playing.player import Player
from app.window.score.score_place import ScorePlace
from app.window.session import Session
from app.window.slate.slate import Slate
from app.window.song.song_place import SongPlace
from app.window.work.background_match import BackgroundMatch
from app.window.work.running import Running
from app.window.work.work import Work

PLACES = ("clips", "song", "plan", "check", "score", "handoff")
"""The places in their order, by their names in `WindowPlaces`."""
AHEAD_MS = 20
"""So long after the window is shown, or after the place before, the next one is made: the window is there at
once, and all of it before a person has looked around."""
DRESS_S = 0.008
"""So long at a time controls get their looks."""
AnyPlace = TypeVar("AnyPlace", bound=Place)


class WindowPlaces(QMainWindow):
    """A window with the places as attributes; what they are given has to be there when one is asked for."""

    session: Session
    theme: Theme
    tasks: Tasks
    hand_over: HandOver
    jobs: Jobs
    running: Running
    work: Work
    match: BackgroundMatch
    moved: MovedMedia
    watch: WatchedFolder
    recent: Recent
    dialogs: Dialogs
    pictures: Pictures
    player: Player
    clip_player: ClipPlayer
    large: LargeType
    slate: Slate
    notice: Notice
    action_table: ActionTable

    def ways_in(self) -> WaysIn:
        """The actions that Clips offers as long as it is empty."""
        raise NotImplementedError

    def settle(self, place: Place) -> None:
        """Give a place that was just made its place in the window."""
        raise NotImplementedError

    def _settled(self, place: AnyPlace) -> AnyPlace:
        self.settle(place)
        return place

    @cached_property
    def clips(self) -> ClipsPlace:
        return self._settled(
            ClipsPlace(
                self.session,
                self.theme,
                self.work,
                self.moved,
                self.watch,
                self.recent,
                self.dialogs,
                self.pictures,
                self.clip_player,
                self.ways_in(),
            )
        )

    @cached_property
    def song(self) -> SongPlace:
        return self._settled(
            SongPlace(
                self.session,
                self.theme,
                self.tasks,
                self.jobs,
                self.running,
                self.work,
                self.dialogs,
                self.action_table["song"],
                player=self.player,
            )
        )

    @cached_property
    def plan(self) -> PlanPlace:
        return self._settled(
            PlanPlace(
                self.session,
                self.theme,
                self.tasks,
                self.running,
                self.dialogs,
                self.action_table["song"],
                self.large,
                self.slate,
                player=self.player,
            )
        )

    @cached_property
    def check(self) -> CheckPlace:
        return self._settled(
            CheckPlace(
                self.session,
                self.theme,
                self.tasks,
                self.jobs,
                self.pictures,
                self.dialogs,
                self.match,
                player=self.player,
            )
        )

    @cached_property
    def score(self) -> ScorePlace:
        score = ScorePlace(
            self.session,
            self.theme,
            self.tasks,
            self.jobs,
            self.pictures,
            self.dialogs,
            self.large,
            self.slate,
            player=self.player,
        )
        score.nothing_thin.connect(self.notice.say)
        score.first_pass.told.connect(self.notice.say)
        return self._settled(score)

    @cached_property
    def handoff(self) -> HandoffPlace:
        place = HandoffPlace(self.session, self.theme, self.jobs, self.dialogs, self.hand_over)
        return self._settled(place)


class Places(Sequence[Place]):
    """All places, by their number; asking for one makes it."""

    def __init__(self, window: WindowPlaces) -> None:
        self._window = window

    def __len__(self) -> int:
        return len(PLACES)

    @overload
    def __getitem__(self, number: int) -> Place: ...
    @overload
    def __getitem__(self, number: slice) -> list[Place]: ...
    def __getitem__(self, number: int | slice) -> Place | list[Place]:
        names = PLACES[number]
        if isinstance(names, str):
            place: Place = getattr(self._window, names)
            return place
        return [getattr(self._window, name) for name in names]

    @property
    def made(self) -> list[Place]:
        """Those that were asked for so far."""
        return [vars(self._window)[name] for name in PLACES if name in vars(self._window)]

    @property
    def unmade(self) -> list[int]:
        """The numbers of the others."""
        return [number for number, name in enumerate(PLACES) if name not in vars(self._window)]


class Ahead(QObject):
    """Makes the places that nobody went to yet, one at a time, and gives their controls the window's looks, a
    few at a time, so that going to one is quick."""

    def __init__(self, places: Places, parent: QObject) -> None:
        super().__init__(parent)
        self._places = places
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(AHEAD_MS)
        self._timer.timeout.connect(self._go_on)
        self._bare: list[QWidget] | None = None
        """Controls that wait for their looks, the last ones first; None as long as places are made."""

    def begin(self) -> None:
        """Begin; called when the window is on screen."""
        if self._bare is None or self._bare:
            self._timer.start()

    def end(self) -> None:
        """Make no more."""
        self._timer.stop()

    def _go_on(self) -> None:
        if self._places.unmade:
            self._places[self._places.unmade[0]]
        else:
            self._dress()
        self.begin()

    def _dress(self) -> None:
        """What Qt does for a whole place when it is first shown, for some of its controls."""
        if self._bare is None:
            self._bare = [one for place in self._places.made for one in place.findChildren(QWidget)][::-1]
        until_s = time.perf_counter() + DRESS_S
        while self._bare and time.perf_counter() < until_s:
            one = self._bare.pop()
            if isValid(one):
                one.ensurePolished()
        if not self._bare:
            # All that was made and imported so far stays: looking through it again and again for what nobody
            # needs any more would hold the window up for a tenth of a second each time.
            gc.freeze()
