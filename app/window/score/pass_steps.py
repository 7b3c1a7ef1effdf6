"""What a person does with the first pass in Score: shows it, watches it, locks bars, swaps shots."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from PySide6.QtCore import QObject, Signal

from app.model.coverage.passages import bars_words
from app.model.document.change import NOTHING
from app.model.document.cut import Lock
from app.model.edits import cut_edits
from app.model.first_pass.fixed_bars import locks_in, not_met_words, shot_at
from app.model.first_pass.result import Shot
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans
from app.window.jobs import Jobs
from app.window.parts import words
from app.window.playing.player import Player
from app.window.playing.watch_panel import WatchPanel
from app.window.score.cut_shown import CutShown, cut_shown
from app.window.score.pass_solving import PassSolving
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.shot_note import ShotNote
from app.window.session import Session

ORIGIN = "first pass"
SHOWN = "score/first_pass"
"""Whether it was asked for is remembered under this."""


@dataclass(frozen=True, slots=True)
class Walk:
    """One after the other all takes that can be used in the bars of a shot."""

    takes: tuple[str, ...] = ()
    """Their ids, the one that was there at first before the others."""
    first_bar: int = 0
    last_bar: int = -1
    at: int = 0
    """Index of the take that it has come to."""

    @property
    def take_id(self) -> str:
        """The take that it has come to."""
        return self.takes[self.at] if self.takes else ""

    def next(self) -> "Walk":
        """One take further; after the last comes the first."""
        return replace(self, at=(self.at + 1) % len(self.takes))


class PassSteps(QObject):
    """Keeps the first pass on screen right, and does what is asked for."""

    told = Signal(str)
    """What came of it, in a sentence."""
    changed = Signal()
    """It is shown or not, watched or not, or another one."""

    def __init__(
        self,
        session: Session,
        jobs: Jobs,
        player: Player,
        canvas: ScoreCanvas,
        note: ShotNote,
        pictures: WatchPanel,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._player, self._canvas, self._note = session, player, canvas, note
        self._pictures = pictures
        self.solving = PassSolving(jobs, self)
        self.shown = CutShown()
        self.watched = False
        """It is what is watched, instead of the chosen angle."""
        self._at = (canvas.chosen.angle_id, canvas.chosen.take_id)
        """The angle and take that were chosen when it came to be watched."""
        self._seen = False
        self._told: tuple[str, ...] = ()
        """Locks that are not met, as far as that was told."""
        self._walk = Walk()
        self.solving.changed.connect(self._on_cut)
        note.wanted.connect(self._swap_for)
        canvas.chosen_changed.connect(self._on_chosen)
        if player.recall(SHOWN, "no") == "yes":
            self._set_shown(True)

    @property
    def on(self) -> bool:
        """Whether it is shown."""
        return self._canvas.shown.first_pass

    @property
    def can_unlock(self) -> bool:
        """Whether something of the chosen bars is locked."""
        return bool(self._locks())

    @property
    def shot(self) -> Shot | None:
        """The shot under the cursor."""
        bar, cut = self._bar, self.shown.cut
        song = self._session.view.song
        if not self.on or cut is None or song is None:
            return None
        start_s = next((one.start_s for one in bar_spans(song) if one.number == bar), None)
        return None if start_s is None else shot_at(cut, start_s)

    def show_shoot(self, view: SongView) -> None:
        """Follow the shoot."""
        self.solving.show_shoot(view)
        self._show()

    def seen(self, on: bool) -> None:
        """Score comes on screen, or goes: elsewhere the player plays what it played."""
        if self._seen and not on:
            self._player.hear_alone(False)
        self._seen = on
        self._follow()

    def toggle(self) -> None:
        """Show it, or no longer; where it comes, it is watched."""
        self._set_shown(not self.on)
        self._player.keep(SHOWN, "yes" if self.on else "no")
        self._watch(self.on)

    def toggle_watched(self) -> None:
        """Watch it, or the chosen angle."""
        if not self.on:
            self.toggle()
        else:
            self._watch(not self.watched)

    def watch(self, on: bool) -> None:
        """Watch it, or the chosen angle."""
        on = on and self.on
        if on != self.watched:
            self._watch(on)

    def lock(self) -> None:
        """In the chosen bars show the chosen angle; where the first pass is watched, keep what it shows."""
        span, angle_id = self._bars(), self._canvas.chosen.angle_id
        if span is None:
            return
        cut = self.shown.cut
        if self.watched and cut is not None:
            first, last = span
            there = [shot for shot in cut.shots if shot.first_bar <= last and first <= shot.last_bar]
            self._lock(
                [(max(first, one.first_bar), min(last, one.last_bar), one.angle_id) for one in there],
                f"{bars_words(first, last).capitalize()} stay as they are: "
                f"{words.count(len(there), 'shot')} locked.",
            )
        elif angle_id is None:
            self.told.emit("Choose an angle first: click one of its takes, or press Up or Down.")
        else:
            self._lock([(*span, angle_id)])

    def unlock(self) -> None:
        """Take away the locks of the chosen bars."""
        locks = self._locks()
        if not locks:
            self.told.emit("Nothing is locked in these bars.")
            return
        edit = cut_edits.remove_locks(self._session.shoot, [one.id for one in locks])
        if self._session.apply("Unlock Bars", edit, ORIGIN):
            self.told.emit(f"{words.count(len(locks), 'lock')} removed. Undo (Ctrl+Z) puts them back.")

    def swap(self) -> None:
        """Show the next best take instead of the shot under the cursor; after the last the first again."""
        shot, bar = self.shot, self._bar
        if shot is None or bar is None:
            self.told.emit("The first pass has no shot here.")
            return
        if not (self._walk.first_bar <= bar <= self._walk.last_bar and self._is_locked(self._walk)):
            self._walk = Walk((shot.take_id, *self._note.others), shot.first_bar, shot.last_bar)
        if len(self._walk.takes) < 2:
            self.told.emit("No other take can be used here.")
            return
        self._show_take(self._walk.next())

    def _swap_for(self, take_id: str) -> None:
        shot = self.shot
        if shot is not None:
            takes = (take_id, *(one for one in (shot.take_id, *self._note.others) if one != take_id))
            self._show_take(Walk(takes, shot.first_bar, shot.last_bar))

    def _show_take(self, walk: Walk) -> None:
        """Lock the bars of a walk to the take that it has come to."""
        found = self._player.found(walk.take_id)
        if found is None:
            return
        clip, take = found
        self._walk = walk
        number, count = walk.at + 1, len(walk.takes)
        said = f"{bars_words(walk.first_bar, walk.last_bar).capitalize()} locked to "
        said += f"{self._session.view.angle(clip.angle_id).name}, {words.take_name(clip, take)}"
        said += f": {number} of {count} that can be used there."
        middle_s = (take.clip_start_s + take.clip_end_s) / 2
        self._lock([(walk.first_bar, walk.last_bar, clip.angle_id)], said, (clip.id, middle_s))

    def _is_locked(self, walk: Walk) -> bool:
        """Whether the take that a walk has come to is still locked there."""
        found = self._player.found(walk.take_id)
        locks = locks_in(self._session.view, walk.first_bar, walk.last_bar)
        return found is not None and [one.clip_id for one in locks] == [found[0].id]

    def _lock(
        self, bars: Sequence[tuple[int, int, str]], said: str = "", take: tuple[str, float] = ("", 0.0)
    ) -> None:
        """Lock bars, from first to last, each to an angle, and to its take through a moment of a clip.

        It is one step to undo.
        """
        song, view = self._session.view.song, self._session.view
        if song is None or not bars:
            return
        if not self.on:
            self._set_shown(True)
            self._player.keep(SHOWN, "yes")
        shoot, change = self._session.shoot, NOTHING
        for first, last, angle_id in bars:
            place = f"{bars_words(first, last).capitalize()}: locked to"
            self._told = tuple(one for one in self._told if not one.startswith(place))
            shoot, more = cut_edits.fix_bars(shoot, song.id, first, last, angle_id, *take)
            change |= more
            said = said or f"{bars_words(first, last).capitalize()} locked to {view.angle(angle_id).name}."
        if self._session.apply("Lock Bars", (shoot, change), ORIGIN):
            self.told.emit(said)

    def _locks(self) -> tuple[Lock, ...]:
        span = self._bars()
        return () if span is None else locks_in(self._session.view, *span)

    @property
    def _bar(self) -> int | None:
        """The bar under the cursor; of several that are selected the first, for there the pictures stand."""
        span = self._bars()
        return None if span is None else span[0]

    def _bars(self) -> tuple[int, int] | None:
        chosen = self._canvas.chosen
        return None if chosen.bar is None else chosen.span or (chosen.bar, chosen.bar)

    def _set_shown(self, on: bool) -> None:
        self._canvas.show_only(replace(self._canvas.shown, first_pass=on))
        self.solving.want(on)
        self._show()

    def _watch(self, on: bool) -> None:
        self.watched = on
        self._at = (self._canvas.chosen.angle_id, self._canvas.chosen.take_id)
        self._follow()
        self.changed.emit()

    def _follow(self) -> None:
        """Have pictures and sound follow the first pass while it is watched; its sound is the song's."""
        on = self.on and self.watched
        self._pictures.follow(self.shown.cut if on else None)
        if self._seen:
            self._player.hear_alone(on)

    def _on_cut(self) -> None:
        self._show()
        cut = self.solving.cut
        if cut is None:
            return
        troubles = not_met_words(self.solving.of, cut)
        new = [one for one in troubles if one not in self._told]
        self._told = troubles
        if new:
            self.told.emit(" ".join(new))

    def _show(self) -> None:
        solving = self.solving
        # With the locks that it was cut by: newer ones are not broken, they are not looked at yet.
        self.shown = cut_shown(solving.of, solving.cut if self.on else None, solving.words)
        self._canvas.lines.show_cut(self.shown)
        self._canvas.viewport().update()
        self._tell()
        self._follow()
        self.changed.emit()

    def _tell(self) -> None:
        """Tell of the shot under the cursor."""
        bar = self._bar
        if not self.on or bar is None:
            self._note.end()
        else:
            self._note.show_shot(self._session.view, self.shown, self.shot, bar)

    def _on_chosen(self) -> None:
        self._tell()
        if self.watched and self._at != (self._canvas.chosen.angle_id, self._canvas.chosen.take_id):
            self._watch(False)  # another angle was chosen: that is watched
