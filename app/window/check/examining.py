"""Going from take to take in Check: list, page and player show the one that is examined."""

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QObject, QTimer, Signal

from app.model.check_queue import Entry
from app.model.on_song import Take
from app.window.check.check_page import CheckPage
from app.window.check.check_view import CheckView
from app.window.check.examined_take import MOMENTS, ExaminedTake
from app.window.check.proving import Proving
from app.window.check.queue_list import QueueList
from app.window.parts import words
from app.window.parts.theme import Theme
from app.window.playing.player import Player
from app.window.session import Session

ASKED_MS = 30
"""Proofs are asked for when nobody has moved on for so long."""


class Examining(QObject):
    """Chooses what is examined, and sees to it that all around it is about that."""

    listed = Signal()
    """The list was made anew."""
    changed = Signal()
    """Something else is examined, or in another way: other things can be done with it."""

    def __init__(
        self,
        session: Session,
        theme: Theme,
        queue: QueueList,
        page: CheckPage,
        examined: ExaminedTake,
        proving: Proving,
        player: Player,
        seen: Callable[[], bool],
        parent: QObject | None = None,
    ) -> None:
        """``seen`` tells whether Check is on screen: elsewhere nothing is drawn or asked for."""
        super().__init__(parent)
        self._session, self._queue, self._page, self._player = session, queue, page, player
        self._examined, self._proving, self._seen = examined, proving, seen
        self.view = CheckView(session, theme, page, examined, proving)
        self._asking = QTimer(self)
        self._asking.setSingleShot(True)
        self._asking.setInterval(ASKED_MS)
        self._asking.timeout.connect(self._ask)
        queue.chosen.connect(self.show_entry)
        queue.shown_changed.connect(self.list_again)
        proving.arrived.connect(self.show_moment)
        proving.failed.connect(self.view.tell)
        page.places.wanted.connect(self.look_at_place)
        page.lag.wanted.connect(self._on_lag_clicked)
        page.pin_page.moved.connect(self.show_pinned)
        player.moved.connect(self._on_player_moved)
        player.changed.connect(self._on_player_changed)
        self._played = False
        theme.changed.connect(self.show_moment)

    @property
    def asking(self) -> bool:
        """Whether proofs are about to be asked for, or on their way."""
        return self._asking.isActive() or self._proving.waiting

    def rest(self) -> None:
        """Ask for nothing more."""
        self._asking.stop()
        self._proving.rest()
        self._player.suppose(None)

    def list_again(self, *, picked: bool = True) -> None:
        """List the takes of the shoot as it is now; ``picked``: a person went there."""
        entry = self._queue.current
        if picked:
            self.view.tell("")
        self.list_entries(None if entry is None else entry.key, picked=picked)

    def list_entries(self, key: str | None, *, picked: bool = True) -> None:
        """List the takes, and go to the one of that key, or to what stands where the last one stood."""
        self._queue.show_shoot(self._session.view, key, picked=picked)
        self.listed.emit()
        self.show_entry()

    def following(self, entry: Entry) -> str | None:
        """The entry to go to when this one is decided; None where it is the last of the list."""
        keys = [one.key for one in self._queue.entries]
        at = keys.index(entry.key) + 1
        return keys[at] if at < len(keys) else None

    def go_on(self, following: str | None) -> None:
        """Go to the entry that follows; at the end of the list stay, and say so."""
        self.list_entries(following)
        if following is None:
            doubts = len(words.open_takes(self._session.view))
            left = f"{words.count(doubts, 'take')} in doubt: press D." if doubts else "Nothing is in doubt."
            self.view.tell(f"That was the last take in the list. {left}")

    def show_entry(self) -> None:
        """Examine what is chosen in the list."""
        shoot, entry, page = self._session.view, self._queue.current, self._page
        if entry != self._examined.entry:
            # What was said was about another take, or about how this one lay.
            self.view.tell("")
        if self._examined.look_at(entry, self.view.song_map):
            self._proving.give_up_settling()
            page.show_pins(entry is not None and entry.take is None and entry.refused is None)
        page.let_watch(entry is not None and entry.take is not None)
        self.view.show_entry(shoot, self._queue.shown)
        if entry is not None:
            page.pin_page.show_clip(entry.clip, entry.take, shoot.song)
        self._player.choose(None if entry is None or entry.take is None else entry.take.id)
        self._suppose()
        self.changed.emit()
        self.show_moment()
        self.show_pinned()
        self._asking.start()

    def show_pins(self, on: bool) -> None:
        """Show the page for pins, or the proofs."""
        self._page.show_pins(on)
        self._page.let_run(on and self._player.playing)
        self._suppose()
        self.changed.emit()
        self.show_pinned()
        self.show_moment()

    def show_pinned(self) -> None:
        """Show the frame that is to be pinned."""
        entry = self._examined.entry
        if self._page.pinning and entry is not None:
            self._page.trio.show_frame(entry.clip, self._page.pin_page.frame)
            if self._seen():
                self._suppose()
                self._bring_player(playing=True)

    def show_moment(self) -> None:
        """Draw what is examined at the moment it is looked at."""
        if self._seen():
            self.view.show_moment()
            self._bring_player()

    def look_at_place(self, rival: int | None) -> None:
        """Look at a rival without deciding, or at where the take lies."""
        self.view.tell("")
        self._examined.look_at_place(rival, self.view.song_map)
        self._suppose()
        self.changed.emit()
        self._look()

    def look_at_moment(self, number: int) -> None:
        """Look at one of the five moments; beyond the ends, at the first or the last."""
        self._examined.moment, self._examined.bar_s = min(max(number, 0), len(MOMENTS) - 1), None
        self._look()

    def look_at_bar(self, by: int) -> None:
        """Look at the bar before or after."""
        if self._examined.next_bar(by, self.view.song_map):
            self._look()

    def _on_lag_clicked(self, song_s: float) -> None:
        self._examined.near(song_s, self.view.song_map)
        self._look()

    def _look(self) -> None:
        self.show_moment()
        self._asking.start()

    def _suppose(self) -> None:
        """Have heard what is only tried: a preview; with pins, the whole clip, its frame on the beat."""
        entry, pins = self._examined.entry, self._page.pin_page
        if self._page.pinning and entry is not None:
            tried = entry.take or Take(f"{entry.clip.id} tried", 0.0, entry.clip.duration_s, 0.0)
            line = replace(tried, clip_start_s=0.0, clip_end_s=entry.clip.duration_s, lags=())
            start_s = pins.song_s - line.speed * pins.clip_s
            self._player.suppose(replace(line, song_start_s=start_s), entry.clip)
        else:
            self._player.suppose(self._examined.take if self._examined.preview is not None else None)

    def _on_player_moved(self, song_s: float) -> None:
        """While it plays, the frame to be pinned goes along; the beat stays."""
        found = self._player.found()
        if self._page.pinning and self._player.playing and found is not None and self._seen():
            self._page.pin_page.follow(found[1].clip_time(song_s))

    def _on_player_changed(self) -> None:
        playing = self._player.playing and self._seen()
        if playing == self._played:
            return
        self._played = playing
        self._page.let_run(playing)
        self.changed.emit()
        if not playing and self._page.pinning:
            self.show_pinned()

    def _bring_player(self, *, playing: bool = False) -> None:
        """At rest, stand at the moment that is looked at; with pins, at their beat.

        ``playing``: also where it plays, for the frame was moved by hand.
        """
        pinning, examined = self._page.pinning, self._examined
        song_s = self._page.pin_page.song_s if pinning else examined.song_s
        some = examined.entry is not None if pinning else examined.take is not None
        if some and (playing or not self._player.playing) and abs(self._player.song_s - song_s) > 0.001:
            self._player.seek(song_s)

    def _ask(self) -> None:
        placed, take = self._examined.placed(self._session.view), self._examined.take
        if placed is not None and take is not None and self._seen():
            moments = self._examined.all_moments
            self._proving.want(placed, [take.clip_time(song_s) for song_s in moments])
