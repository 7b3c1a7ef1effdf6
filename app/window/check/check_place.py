"""The place Check: for one take after the other, song and take side by side, and a person's decision."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QTimer
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QStackedLayout, QWidget

from app.engine.checking import Placed
from app.model.check_queue import Entry, Shown, queue, touched
from app.model.document.shoot import Verdict
from app.model.edits.change import Change
from app.model.edits.pins import frame_s
from app.window.check.check_actions import CheckKeys
from app.window.check.check_page import CheckPage
from app.window.check.check_view import CheckView
from app.window.check.deciding import Deciding
from app.window.check.examined_take import MOMENTS, ExaminedTake
from app.window.check.fit_row import FitRow
from app.window.check.frame_trio import FrameTrio
from app.window.check.keyboard import GivesBack
from app.window.check.pin_page import PinPage
from app.window.check.proving import Proving
from app.window.check.queue_list import QueueList
from app.window.jobs import Jobs, Tasks
from app.window.parts import words
from app.window.parts.clip_pictures import Pictures
from app.window.parts.empty_page import EmptyPage
from app.window.parts.place import Place
from app.window.parts.theme import Theme
from app.window.playing.play_bar import PlayBar
from app.window.playing.player import Player
from app.window.playing.watch_panel import WatchPanel
from app.window.session import Session

if TYPE_CHECKING:
    from app.engine.checking import Settled

ASKED_MS = 30
"""Proofs are asked for when nobody has moved on for so long."""
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
        parent: QWidget | None = None,
        *,
        player: Player,
    ) -> None:
        super().__init__(session, theme, parent)
        self._player = player
        self.looking = ExaminedTake()
        self.proving = Proving(tasks, jobs, self)
        self.deciding = Deciding(session, self)
        self.queue = QueueList(theme)
        self.list = self.queue.list
        self.acts = CheckKeys(self)
        self.pin_page = PinPage(theme, tasks, jobs, self.acts.pin_buttons)
        self.sheet = CheckPage(
            theme,
            self.queue,
            FrameTrio(theme, pictures),
            WatchPanel(player, session, theme, jobs),
            PlayBar(player, theme),
            self.pin_page,
            self.acts.buttons,
        )
        self.view = CheckView(session, theme, self.sheet, self.looking, self.proving, self._look_at_place)
        lines = (
            "No take has been placed yet.",
            "Every take comes here to be looked at, those in doubt first.",
            WHERE,
        )
        self._stack = QStackedLayout(self)
        self._empty = EmptyPage(theme, "Nothing to check", lines)
        self._stack.addWidget(self._empty)
        self._stack.addWidget(self.sheet)
        self._seen = session.view
        self._asking = QTimer(self)
        self._asking.setSingleShot(True)
        self._asking.setInterval(ASKED_MS)
        self._asking.timeout.connect(self._ask)
        self._gives_back = GivesBack(self.take_focus, self)
        self._gives_back.watch(self)
        self._connect()

    def _connect(self) -> None:
        sheet = self.sheet
        self.session.changed.connect(self._follow_undo)
        self.queue.chosen.connect(self._show_entry)
        self.queue.shown_changed.connect(self._list_again)
        self.proving.arrived.connect(self._show_moment)
        self.proving.settled.connect(self._settled)
        self.proving.failed.connect(self.view.tell)
        self.deciding.told.connect(self.view.tell)
        sheet.strip.sliding.connect(self._sliding)
        sheet.strip.slid.connect(self._slid)
        sheet.lag.wanted.connect(self._look_near)
        self.pin_page.moved.connect(self._pin_moved)
        for number, cell in enumerate(sheet.cells):
            cell.clicked.connect(lambda _, number=number: self.go_to_moment(number))
        self.theme.changed.connect(self._show_moment)

    def keys(self) -> list[tuple[str, str]]:
        return self.acts.table()

    def take_focus(self) -> None:
        self.list.setFocus()

    def look_at(self, key: str) -> None:
        """Look at an entry of the list, by its key; where it is not listed, all are."""
        if key not in [entry.key for entry in queue(self.session.view, self.queue.shown)]:
            self.queue.filter.setCurrentIndex(list(Shown).index(Shown.ALL))
        self._list(key)

    @property
    def fits(self) -> list[FitRow]:
        """The places where the take could be, as rows; the first is where it lies."""
        return self.view.rows

    def refresh(self, change: Change) -> None:
        self._list_again(picked=False)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        # Elsewhere another take may have been chosen to be played, and nothing was drawn meanwhile.
        self._show_entry()

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._asking.stop()
        self.proving.rest()
        self._player.suppose(None)

    # What the keys and buttons do.

    def decide(self) -> None:
        """Take the place that is looked at as the right one, and go to the next take; or pin the frame."""
        entry, rival = self.looking.entry, self.looking.preview
        if self.sheet.pinning:
            self._pin()
        elif entry is not None and entry.take is not None:
            following = self._following(entry)
            if rival is None:
                self.deciding.confirm(entry.take)
            else:
                self.deciding.choose(entry.take, rival)
                self.looking.preview = None
            self._go_on(following)

    def look_at_row(self, row: int) -> None:
        """Look at one of the places where the take could be, without deciding; the first is where it lies."""
        if row < len(self.fits) and not self.sheet.pinning:
            self.fits[row].setChecked(True)

    def refuse(self) -> None:
        """Say that the song does not run in the take, or in a clip without one; or take that back."""
        entry = self.looking.entry
        if entry is not None and entry.refused is not None:
            if self.deciding.take_back(entry.clip, entry.refused):
                self._list(None)
        elif entry is not None:
            following = self._following(entry)
            if self.deciding.refuse(entry.clip, entry.take):
                self._go_on(following)

    def next_doubt(self) -> None:
        """Go to the next take in doubt."""
        if not self.queue.next_doubt():
            self.view.tell("No take that is listed is in doubt.")

    def step(self, frames: float, seconds: float = 0.0) -> None:
        """An arrow key: move the take by frames of its clip and seconds; with pins, go through the clip."""
        entry, take = self.looking.entry, self.looking.take
        if self.sheet.pinning:
            self.view.tell("")
            if abs(frames) == 1:
                self.pin_page.step_frames(round(frames))
            else:
                self.pin_page.step_seconds(1 if frames + seconds > 0 else -1)
        elif entry is not None and take is not None and self._may_move():
            self._move_by(frames * frame_s(entry.clip) * take.speed + seconds)

    def step_bars(self, by: int) -> None:
        """Look at the next bar; with pins, go to the next beat."""
        if self.sheet.pinning:
            self.pin_page.step_beats(by)
        elif self.looking.next_bar(by, self.view.song_map):
            self._show_moment()
            self._asking.start()

    def step_moment(self, by: int) -> None:
        """Look at the next of the five moments; with pins, go to the next bar."""
        if self.sheet.pinning:
            self.pin_page.step_bars(by)
        else:
            self.go_to_moment(min(max(self.looking.moment + by, 0), len(MOMENTS) - 1))

    def go_to_moment(self, number: int) -> None:
        """Look at one of the five moments."""
        self.looking.moment, self.looking.bar_s = number, None
        self._show_moment()
        self._asking.start()

    def settle(self) -> None:
        """Look for the nearest good fit around the place looked at."""
        placed = self.looking.placed(self.session.view)
        if placed is not None and self._may_move():
            self.view.tell("Looking for the nearest good fit … Esc stops it.")
            self.proving.settle(placed)

    def toggle_pins(self) -> None:
        """Show the page for pins, or the proofs again."""
        entry = self.looking.entry
        if entry is None or entry.take is None:
            return
        self.view.tell("")
        if not self.sheet.pinning:
            song_s = self.looking.song_s
            held = self.looking.take or entry.take
            self.pin_page.start_at(held.clip_time(song_s), song_s)
        self._show_pins(not self.sheet.pinning)

    def mark(self) -> None:
        """Begin to mark a stretch here, or end it here and make it a take."""
        entry, looking = self.looking.entry, self.looking
        if entry is None:
            return
        here = self._here()
        if looking.mark_s is None:
            looking.mark_s = here
            self.view.tell("A take of its own begins here. Go to its end and press M again; Esc gives up.")
        else:
            from_s, looking.mark_s = looking.mark_s, None
            self.view.tell("")
            if self.deciding.mark(entry.clip, from_s, here):
                clip = self.session.view.clip(entry.clip.id)
                middle = (from_s + here) / 2
                new = [take.id for take in clip.takes if take.clip_start_s <= middle < take.clip_end_s]
                looking.start_over()
                self._list(new[0] if new else entry.key)
        self.acts.name_mark(begun=looking.mark_s is not None)
        self._show_moment()

    def give_up(self) -> None:
        """Leave what was begun: settling, a mark, a place that is only looked at, pins."""
        looking = self.looking
        if self.proving.give_up_settling() or looking.mark_s is not None:
            looking.mark_s = None
        elif looking.preview is not None and self.fits:
            self.fits[0].setChecked(True)
        elif self.sheet.pinning and looking.take is not None:
            self._show_pins(False)
        self.view.tell("")
        self.acts.name_mark(begun=False)
        self._show_moment()

    def toggle_watching(self) -> None:
        """Show moving pictures in place of the frames, or the frames again."""
        self.sheet.show_watching(not self.sheet.watching)

    # What follows from that.

    def _follow_undo(self, change: Change, origin: str) -> None:
        """What is undone or done again is looked at."""
        before, self._seen = self._seen, self.session.view
        if origin == "open":
            self.queue.start_over()
        elif origin in ("undo", "redo") and self.isVisible():
            key = touched(before, self._seen)
            self.catch_up()
            if key is not None:
                self.queue.reveal(self._seen, key)
                self._list(key)

    def _may_move(self) -> bool:
        """Whether the take can be moved: nothing that is only looked at is. Says what to do where not."""
        entry, rival = self.looking.entry, self.looking.preview
        if entry is not None and entry.refused is not None:
            self.view.tell("The take was refused. N takes that back; then it can be moved.")
        elif rival is not None:
            self.view.tell(
                f"Place {rival + 2} is only looked at: Enter chooses it, Esc leaves it. "
                "Then the take can be moved."
            )
        return rival is None and entry is not None and entry.take is not None

    def _move_by(self, song_s: float) -> None:
        entry, take = self.looking.entry, self.looking.take
        if entry is None or entry.take is None or take is None:
            return
        if self.deciding.move(entry.take, take.song_start_s + song_s):
            self._list(entry.key)

    def _pin(self) -> None:
        entry = self.looking.entry
        page = self.pin_page
        if entry is not None and self.deciding.pin(entry.clip, entry.take, page.clip_s, page.song_s):
            known = {take.id for take in entry.clip.takes}
            clip = self.session.view.clip(entry.clip.id)
            new = [take.id for take in clip.takes if take.id not in known]
            self._list(new[0] if new else entry.key)
            self._show_pins(True)
            self.view.tell("Pinned. Look at the proofs with P, or pin another frame far from this one.")

    def _settled(self, placed: Placed, fit: "Settled | None") -> None:
        entry = self.looking.entry
        if entry is None or entry.take is None or placed != self.looking.placed(self.session.view):
            return
        if fit is None:
            self.view.tell("Nothing fits within half a second of here. Slide it nearer, or pin a frame.")
            return
        by_s = fit.song_start_s - placed.song_start_s
        if self.deciding.settle(entry.take, fit):
            self._list(entry.key)
        way = "later" if by_s > 0 else "earlier"
        faint = "" if fit.clear else " It is a faint fit: listen before you trust it."
        sure = words.sureness(fit.uncertainty_s)
        self.view.tell(f"Settled {abs(by_s) * 1000:.1f} ms {way} in the song, {sure}.{faint}")

    def _sliding(self, song_s: float) -> None:
        entry = self.looking.entry
        if self.looking.preview is None and entry is not None and entry.take is not None:
            self.looking.slide_s = song_s
            self._show_moment()

    def _slid(self, song_s: float) -> None:
        self.looking.slide_s = 0.0
        if abs(song_s) > 1e-5 and self._may_move():
            self._move_by(song_s)
        self._show_moment()

    def _look_near(self, song_s: float) -> None:
        self.looking.near(song_s, self.view.song_map)
        self._show_moment()
        self._asking.start()

    def _look_at_place(self, rival: int | None) -> None:
        """Look at a rival without deciding, or at where the take lies."""
        self.view.tell("")
        self.looking.look_at_place(rival, self.view.song_map)
        self._suppose()
        self._fit_words()
        self._show_moment()
        self._asking.start()

    def _suppose(self) -> None:
        self._player.suppose(self.looking.take if self.looking.preview is not None else None)

    def _following(self, entry: Entry) -> str | None:
        """The entry to go to when this one is decided; None where it is the last of the list."""
        keys = [one.key for one in self.queue.entries]
        at = keys.index(entry.key) + 1
        return keys[at] if at < len(keys) else None

    def _go_on(self, following: str | None) -> None:
        """Go to the entry that follows; at the end of the list stay, and say so."""
        self._list(following)
        if following is None:
            doubts = len(words.open_takes(self.session.view))
            left = (
                f"{words.count(doubts, 'take')} in doubt: D goes there." if doubts else "Nothing is in doubt."
            )
            self.view.tell(f"That was the last one of the list. {left}")

    def _here(self) -> float:
        """The moment of the clip that is looked at."""
        take = self.looking.take
        if self.sheet.pinning or take is None:
            return self.pin_page.clip_s
        return min(max(take.clip_time(self.looking.song_s), take.clip_start_s), take.clip_end_s)

    # What is shown.

    def _list_again(self, *, picked: bool = True) -> None:
        entry = self.queue.current
        if picked:
            self.view.tell("")
        self._list(None if entry is None else entry.key, picked=picked)

    def _list(self, key: str | None, *, picked: bool = True) -> None:
        shoot = self.session.view
        self.queue.show_shoot(shoot, key, picked=picked)
        some = any(clip.takes or clip.verdict is Verdict.NO_SONG for clip in shoot.clips)
        shown = shoot.song is not None and some
        self._stack.setCurrentIndex(int(shown))
        if not shown:
            self._tell_empty()
        self._show_entry()

    def _tell_empty(self) -> None:
        shoot = self.session.view
        waiting = words.to_be_placed(shoot)
        if waiting:
            where = (
                f"{words.count(waiting, 'clip')} still to be placed: Clips (Ctrl+1) tells how far each is."
            )
        elif shoot.clips and shoot.song is None:
            where = "The clips wait for the song: Clips (Ctrl+1) tells how it stands."
        elif shoot.clips:
            where = "None of the clips could be read: Clips (Ctrl+1) tells why."
        else:
            where = WHERE
        self._empty.lines[2].setText(where)

    def _show_entry(self) -> None:
        shoot, entry = self.session.view, self.queue.current
        if entry != self.looking.entry:
            # What was said was about another take, or about how this one lay.
            self.view.tell("")
        if self.looking.look_at(entry, self.view.song_map):
            self.proving.give_up_settling()
            self.acts.name_mark(begun=False)
            self.sheet.show_pins(entry is not None and entry.take is None and entry.refused is None)
        self.sheet.let_watch(entry is not None and entry.take is not None)
        self.view.show_entry(shoot, self.queue.shown)
        self._gives_back.add(self.view.rows)
        if entry is not None:
            self.pin_page.show_clip(entry.clip, entry.take, shoot.song)
        self._player.choose(None if entry is None or entry.take is None else entry.take.id)
        self._suppose()
        self._fit_words()
        self._show_moment()
        self._pin_moved()
        self._asking.start()

    def _show_pins(self, on: bool) -> None:
        self.sheet.show_pins(on)
        self._fit_words()
        self._pin_moved()
        self._show_moment()

    def _fit_words(self) -> None:
        choosing = self.looking.preview is not None
        self.acts.fit(self.looking.entry, self.sheet.pinning, choosing=choosing)

    def _pin_moved(self) -> None:
        entry = self.looking.entry
        if self.sheet.pinning and entry is not None:
            self.sheet.trio.show_frame(entry.clip, self.pin_page.frame)
            if self.isVisible():
                self._bring_player()

    def _show_moment(self) -> None:
        if not self.isVisible():
            return
        self.view.show_moment()
        self._bring_player()

    def _bring_player(self) -> None:
        """At rest, stand at the moment that is looked at; with pins, at their beat."""
        pinning = self.sheet.pinning
        song_s = self.pin_page.song_s if pinning else self.looking.song_s
        some = self.looking.entry is not None if pinning else self.looking.take is not None
        if some and not self._player.playing and abs(self._player.song_s - song_s) > 0.001:
            self._player.seek(song_s)

    def _ask(self) -> None:
        placed, take = self.looking.placed(self.session.view), self.looking.take
        if placed is not None and take is not None and self.isVisible():
            moments = self.looking.all_moments
            self.proving.want(placed, [take.clip_time(song_s) for song_s in moments])
