"""What the keys and buttons of Check do."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from app.engine.checking import Placed
from app.model.check_queue import Entry
from app.model.edits.pins import frame_s
from app.window.check.check_page import CheckPage
from app.window.check.examined_take import ExaminedTake
from app.window.check.examining import Examining
from app.window.check.proving import Proving
from app.window.check.queue_list import QueueList
from app.window.check.take_decisions import Deciding
from app.window.parts import words
from app.window.parts.angle_steps import AngleSteps
from app.window.playing.player import Heard, Player
from app.window.session import Session

if TYPE_CHECKING:
    from app.engine.checking import LocalFit


UNSEEN = "Song and take are not in view. Press C to go back to the proof first."


class CheckCommands(QObject):
    """Puts a person's decisions about the examined take into the shoot, and moves, pins and marks it."""

    def __init__(
        self,
        session: Session,
        queue: QueueList,
        page: CheckPage,
        examined: ExaminedTake,
        examining: Examining,
        proving: Proving,
        player: Player,
        angles: AngleSteps,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._player = player
        self._session, self._queue, self._page, self._proving = session, queue, page, proving
        self.examined, self._examining, self._angles = examined, examining, angles
        self._tell = examining.view.tell
        self._deciding = Deciding(session, self)
        self._deciding.message.connect(self._tell)
        proving.settled.connect(self._on_settled)
        page.strip.sliding.connect(self._on_sliding)
        page.strip.slid.connect(self._on_slid)

    @property
    def playing(self) -> bool:
        """Whether something is played."""
        return self._player.playing

    @property
    def pinning(self) -> bool:
        """Whether frames are being pinned."""
        return self._page.pinning

    @property
    def comparing(self) -> bool:
        """Whether the take is compared with the reference."""
        return self._page.comparing

    def toggle_comparing(self) -> None:
        """Compare the take with the reference in the place of the proofs, or show those again."""
        self._tell("")
        self._page.show_comparing(not self.comparing)
        self._show()

    def step_take(self, by: int) -> None:
        """Go to the take before or after: while comparing, in the list by distance."""
        distances = self._page.compare_page.distances
        if self.comparing and distances.ids:
            distances.step(by)
        else:
            self._queue.step(by)

    def decide(self) -> None:
        """Take the place that is looked at as the right one, and go to the next take; or pin the frame."""
        entry, rival = self.examined.entry, self.examined.preview
        if self.pinning:
            self._pin()
        elif self.comparing:
            self._tell(UNSEEN)
        elif entry is not None and entry.take is not None:
            following = self._examining.following(entry)
            if rival is None:
                self._deciding.confirm(entry.take)
            else:
                self._deciding.choose(entry.take, rival)
                self.examined.preview = None
            self._examining.go_on(following)

    def look_at_row(self, row: int) -> None:
        """Look at one of the places where the take could be, without deciding; the first is where it lies."""
        rows = self._examining.view.rows
        if row < len(rows) and not self.pinning:
            rows[row].setChecked(True)

    def refuse(self) -> None:
        """Say that the song does not run in the take, or in a clip without one; or take that back."""
        entry = self.examined.entry
        if self.comparing:
            self._tell(UNSEEN)
        elif entry is not None and entry.refused is not None:
            if self._deciding.take_back(entry.clip, entry.refused):
                self._examining.list_entries(None)
        elif entry is not None and entry.refused_clip:
            if self._deciding.take_back_clip(entry.clip):
                self._examining.list_entries(entry.key)
        elif entry is not None:
            following = self._examining.following(entry)
            if self._deciding.refuse(entry.clip, entry.take):
                self._examining.go_on(following)

    def next_doubt(self) -> None:
        """Go to the next take in doubt."""
        if not self._queue.next_doubt():
            self._tell("No listed take is in doubt.")

    def step(self, frames: float, seconds: float = 0.0) -> None:
        """An arrow key: move the take by frames of its clip and seconds; with pins, go through the clip."""
        entry, take = self.examined.entry, self.examined.take
        if self.pinning:
            self._tell("")
            if abs(frames) == 1:
                self._page.pin_page.step_frames(round(frames))
            else:
                self._page.pin_page.step_seconds(1 if frames + seconds > 0 else -1)
        elif entry is not None and take is not None and self._may_move():
            self._move_by(frames * frame_s(entry.clip) * take.speed + seconds)

    def step_bars(self, by: int) -> None:
        """Look at the next bar; with pins, go to the next beat."""
        if self.pinning:
            self._page.pin_page.step_beats(by)
        else:
            self._examining.look_at_bar(by)

    def step_moment(self, by: int) -> None:
        """Look at the next of the five moments; with pins, go to the next bar."""
        if self.pinning:
            self._page.pin_page.step_bars(by)
        else:
            self._examining.look_at_moment(self.examined.moment + by)

    def settle(self) -> None:
        """Look for the nearest good fit around the place looked at."""
        placed = self.examined.placed(self._session.view)
        if placed is not None and self._may_move():
            self._tell("Looking for the best fit nearby… Esc cancels.")
            self._proving.settle(placed)

    def toggle_pins(self) -> None:
        """Show the page for pins, or the proofs again."""
        entry = self.examined.entry
        if entry is None or entry.take is None:
            return
        self._tell("")
        if not self.pinning:
            song_s = self.examined.song_s
            held = self.examined.take or entry.take
            self._page.pin_page.start_at(held.clip_time(song_s), song_s)
        self._examining.show_pins(not self.pinning)

    def mark(self) -> None:
        """Begin to mark a stretch here, or end it here and make it a take."""
        entry, examined = self.examined.entry, self.examined
        if entry is None:
            return
        if self.comparing:
            self._tell(UNSEEN)
            return
        here = self._here()
        if examined.mark_s is None:
            examined.mark_s, examined.mark_song_s = here, self._page.pin_page.song_s
            self._tell("The new take starts here. Go to its end and press M again; Esc cancels.")
        else:
            from_s, examined.mark_s = examined.mark_s, None
            self._tell("")
            if entry.take is None:
                made = self._deciding.start(entry.clip, from_s, examined.mark_song_s, here)
            else:
                made = self._deciding.mark(entry.clip, from_s, here)
            if made:
                self._go_to_marked(entry, from_s, here)
        self._show()

    def give_up(self) -> None:
        """Leave what was begun: settling, a mark, a place that is only looked at, pins."""
        examined, rows = self.examined, self._examining.view.rows
        if self._proving.give_up_settling() or examined.mark_s is not None:
            examined.mark_s = None
        elif self.comparing:
            self._page.show_comparing(False)
        elif examined.preview is not None and rows:
            rows[0].setChecked(True)
        elif self.pinning and examined.take is not None:
            self._examining.show_pins(False)
        self._tell("")
        self._show()

    def play_clip(self) -> None:
        """Play the clip on its own from the frame that is looked at, or pause."""
        player = self._player
        if player.playing:
            player.pause()
        else:
            if not player.why_not():
                player.hear_until_paused(Heard.TAKE)
            player.play()

    def go_to_end(self, *, last: bool) -> None:
        """While pinning, go to the first or the last frame of the clip."""
        self._page.pin_page.go_to_end(last=last)

    def toggle_watching(self) -> None:
        """Show moving pictures in place of the frames, or the frames again."""
        self._page.show_watching(not self._page.watching)

    def rename_angle(self) -> None:
        """Ask for another name of the angle that the clip is on."""
        entry = self.examined.entry
        if entry is not None:
            self._angles.ask_name(entry.clip.angle_id)

    def _show(self) -> None:
        self._examining.changed.emit()
        self._examining.show_moment()

    def _go_to_marked(self, entry: Entry, from_s: float, to_s: float) -> None:
        clip = self._session.view.clip(entry.clip.id)
        middle = (from_s + to_s) / 2
        new = [take.id for take in clip.takes if take.clip_start_s <= middle < take.clip_end_s]
        self.examined.start_over()
        self._examining.list_entries(new[0] if new else entry.key)

    def _may_move(self) -> bool:
        """Whether the take can be moved: nothing that is only looked at is. Says what to do where not."""
        entry, rival = self.examined.entry, self.examined.preview
        if self.comparing:
            self._tell(UNSEEN)
            return False
        if entry is not None and entry.refused is not None:
            self._tell("You marked this as not this song. Press N to unmark it; then you can move it.")
        elif rival is not None:
            self._tell(
                f"This is a preview of place {self._page.places.row_number(rival)}. "
                "Press Enter to choose it or Esc to leave it; then you can move the take."
            )
        return rival is None and entry is not None and entry.take is not None

    def _move_by(self, song_s: float) -> None:
        entry, take = self.examined.entry, self.examined.take
        if entry is None or entry.take is None or take is None:
            return
        if self._deciding.move(entry.take, take.song_start_s + song_s):
            self._examining.list_entries(entry.key)

    def _pin(self) -> None:
        entry = self.examined.entry
        pins = self._page.pin_page
        if entry is not None and self._deciding.pin(entry.clip, entry.take, pins.clip_s, pins.song_s):
            known = {take.id for take in entry.clip.takes}
            clip = self._session.view.clip(entry.clip.id)
            new = [take.id for take in clip.takes if take.id not in known]
            self._examining.list_entries(new[0] if new else entry.key)
            self._examining.show_pins(True)
            self._tell("Pinned. Press P to compare song and take, or pin another frame far from this one.")

    def _here(self) -> float:
        """The moment of the clip that is looked at."""
        take = self.examined.take
        if self.pinning or take is None:
            return self._page.pin_page.clip_s
        return min(max(take.clip_time(self.examined.song_s), take.clip_start_s), take.clip_end_s)

    def _on_settled(self, placed: Placed, fit: "LocalFit | None") -> None:
        entry = self.examined.entry
        if entry is None or entry.take is None or placed != self.examined.placed(self._session.view):
            return
        if fit is None:
            self._tell("No fit within half a second of here. Slide the take nearer, or pin a frame.")
            return
        by_s = fit.song_start_s - placed.song_start_s
        if self._deciding.settle(entry.take, fit):
            self._examining.list_entries(entry.key)
        way = "later" if by_s > 0 else "earlier"
        faint = "" if fit.clear else " The fit is faint: listen before you trust it."
        sure = words.sureness(fit.uncertainty_s)
        self._tell(f"Snapped {abs(by_s) * 1000:.1f} ms {way} in the song, {sure}.{faint}")

    def _on_sliding(self, song_s: float) -> None:
        entry = self.examined.entry
        if self.examined.preview is None and entry is not None and entry.take is not None:
            self.examined.slide_s = song_s
            self._examining.show_moment()

    def _on_slid(self, song_s: float) -> None:
        self.examined.slide_s = 0.0
        if abs(song_s) > 1e-5 and self._may_move():
            self._move_by(song_s)
        self._examining.show_moment()
