"""Faults and keepers: set while the music plays or on chosen bars, chosen, changed and taken away."""

import math
from bisect import bisect_left, bisect_right
from dataclasses import dataclass, replace
from typing import NamedTuple

from PySide6.QtCore import QObject, QTimer, Signal

from app.model.document.marks import FaultReason, Mark, MarkKind, MarkState
from app.model.edits import mark_edits
from app.model.on_song import Clip, Take
from app.window.parts import words
from app.window.parts.dialogs import Dialogs
from app.window.playing.player import Player
from app.window.playing.seats import covering_takes
from app.window.score.chosen import Chosen
from app.window.score.score_canvas import ScoreCanvas
from app.window.score.score_marks import mark_words
from app.window.score.score_playing import ScorePlaying
from app.window.session import Session

REASONS = tuple(FaultReason)
KEYS = {MarkKind.FAULT: "X", MarkKind.KEEPER: "Y"}
"""The key that begins and ends each kind."""
ORIGIN = "marks"
LEAST_S = 0.04
"""A mark of less than about a frame was a slip of the finger: its end is waited for."""
HINT_MS = 8000
"""So long the keys for a mark are told after it was made or chosen: two lines are read in that time."""
NOT_HERE = "This take does not run here. Choose one that does, then mark it."
NONE_MARKED = "Nothing is marked yet. X begins and ends a fault, Y a keeper."
NONE_PROPOSED = "No fault is proposed. Look at Pictures in the menu File looks for some (Ctrl+Shift+K)."
ASKED = " · ".join(f"{number} {reason.value}" for number, reason in enumerate(REASONS, 1))


class Found(NamedTuple):
    """A mark, and where it lies."""

    clip: Clip
    take: Take | None
    """None where it lies in no take that the score shows."""
    mark: Mark
    place: tuple[float, str]
    """By which marks are sorted: those of the song first, then those outside of it, clip by clip."""


@dataclass(frozen=True, slots=True)
class Begun:
    """A mark of which only one end is set."""

    take_id: str
    kind: MarkKind
    song_s: float
    reason: FaultReason = FaultReason.OTHER


class MarkSteps(QObject):
    """What is done to marks. All of it can be undone; nothing stops the music."""

    changed = Signal()
    """Another mark was begun, chosen or changed; see `text`."""

    def __init__(
        self,
        session: Session,
        player: Player,
        canvas: ScoreCanvas,
        playing: ScorePlaying,
        dialogs: Dialogs,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._player, self._canvas = session, player, canvas
        self._playing, self._dialogs = playing, dialogs
        self.begun: Begun | None = None
        self._chosen_id = ""
        self._chosen_at = Chosen()
        self._trouble = ""
        self._heard_id: str | None = None
        """The take that was heard when the mark was chosen."""
        self._hint = QTimer(self)
        self._hint.setSingleShot(True)
        self._hint.setInterval(HINT_MS)
        self._hint.timeout.connect(self.changed)
        player.changed.connect(self._on_player_changed)
        self._left: tuple[float, str] | None = None
        """Where in the order the mark was that is gone, so that one goes on from there."""
        player.moved.connect(self._on_player_moved)
        session.changed.connect(self._on_session_changed)
        canvas.chosen_changed.connect(self._on_chosen_changed)

    @property
    def chosen(self) -> Mark | None:
        """The mark one is at."""
        if not self._chosen_id:
            return None  # asked at every change: the shoot need not be put together for that
        marks = (mark for clip in self._session.view.clips for mark in clip.marks)
        return next((mark for mark in marks if mark.id == self._chosen_id), None)

    @property
    def can_change(self) -> bool:
        """Whether there is a mark to give a reason."""
        begun = self.begun is not None and self.begun.kind is MarkKind.FAULT
        return begun or (self.chosen is not None and self.chosen.kind is MarkKind.FAULT)

    @property
    def text(self) -> str:
        """What is being marked, or which mark one is at, and its keys; empty where there is none."""
        return self.told()

    def told(self, *, escape: bool = True) -> str:
        """The same; without ``escape`` for where Esc does something else."""
        if self._trouble:
            return self._trouble
        begun = self.begun
        if begun is not None:
            found = self._player.found(begun.take_id)
            name = words.take_name(*found) if found is not None else ""
            why = f" · {begun.reason.value}" if begun.reason is not FaultReason.OTHER else ""
            started = f"{begun.kind.value.capitalize()} from {words.song_time(begun.song_s, 1)}{why} · {name}"
            return f"{started}\n{KEYS[begun.kind]} ends it{' · Esc drops it' if escape else ''}"
        mark = self.chosen
        if mark is None or not self._hint.isActive():
            return ""
        name = " · ".join([mark_words(mark), *self._place_of(mark)])
        if mark.state is MarkState.PROPOSED:
            keys = "Enter accepts it · Delete dismisses it · I next proposal"
            return f"{name} · proposed, not counted\n{_reasons(mark)}{keys}"
        return f"{name}\n{_reasons(mark)}Enter words · Delete removes it"

    def _place_of(self, mark: Mark) -> list[str]:
        """Where a mark lies in the song, and the take; nothing where it lies in none."""
        one = self._place(mark.id)
        if one is None:
            return []
        if one.take is None:
            span = f"{words.song_time(mark.clip_start_s, 1)}–{words.song_time(mark.clip_end_s, 1)}"
            return [f"{span} in the clip", words.file_name(one.clip)]
        start_s, end_s = _song_span(one.take, mark)
        span = f"{words.song_time(start_s, 1)}–{words.song_time(end_s, 1)}"
        return [span, words.take_name(one.clip, one.take)]

    def press(self, kind: MarkKind) -> None:
        """Begin a mark at the moment that is heard, or end the one begun.

        At rest, with a range of bars chosen, all of the range is marked at once.
        """
        self._trouble = ""
        span = self._playing.range_s()
        if self.begun is None and span is not None and not self._player.playing:
            found = self._player.found(self._playing.take_id or "")
            self._mark(found, kind, *span)
        elif self.begun is None or self.begun.kind is not kind:
            self._begin(kind)
        else:
            self._end(self._player.position())
        self.changed.emit()

    def drop(self) -> None:
        """Forget the mark begun, and be at none."""
        self.begun, self._trouble = None, ""
        self.choose("")

    def choose(self, mark_id: str) -> None:
        """Be at a mark; at none by an empty id."""
        self._chosen_id, self._chosen_at, self._left = mark_id, self._canvas.chosen, None
        if mark_id:
            self._trouble, self._heard_id = "", self._player.take_id
            self._hint.start()
        self._canvas.show_mark(mark_id)
        self.changed.emit()

    def set_reason(self, reason: FaultReason) -> None:
        """Say why the fault begun, or the one chosen, is one; a proposed one is accepted with that."""
        if self.begun is not None:
            self.begun = replace(self.begun, reason=reason)
            self.changed.emit()
            return
        mark = self.chosen
        if mark is not None and mark.kind is MarkKind.FAULT:
            self._change(replace(mark, reason=reason, state=MarkState.SET))

    def write_words(self) -> None:
        """Ask for the reason in free words; accept the mark where it is only proposed."""
        mark = self.chosen
        if mark is None:
            return
        if mark.state is MarkState.PROPOSED:
            self.accept()
            return
        what = "What is wrong:" if mark.kind is MarkKind.FAULT else "Why to use it:"
        text = self._dialogs.ask_text(f"{mark.kind.value.capitalize()} in words", what, mark.words)
        if text is not None:
            self._change(replace(mark, words=" ".join(text.split())))

    def accept(self) -> None:
        """Accept the mark one is at, where it is only proposed: it is one like any other then."""
        mark = self.chosen
        if mark is not None and mark.state is MarkState.PROPOSED:
            label = f"Accept {mark.kind.value.capitalize()}"
            self._session.apply(label, mark_edits.accept_marks(self._session.shoot, [mark.id]), ORIGIN)

    def remove(self) -> None:
        """Take the chosen mark away; what was only proposed is dismissed, and not proposed again."""
        mark = self.chosen
        if mark is None:
            return
        shoot, kind = self._session.shoot, mark.kind.value.capitalize()
        one = self._place(mark.id)
        at = None if one is None else one.place
        if mark.state is MarkState.PROPOSED:
            self._session.apply(f"Dismiss {kind}", mark_edits.dismiss_marks(shoot, [mark.id]), ORIGIN)
        else:
            self._session.apply(f"Remove {kind}", mark_edits.remove_marks(shoot, [mark.id]), ORIGIN)
        self.choose("")
        self._left = at

    def go(self, step: int, *, proposed: bool = False) -> None:
        """Go to the next mark in the song's order (with -1: the one before), around the end.

        ``proposed``: only to those that are proposed.
        """
        every = self.in_order()
        found = [one for one in every if not proposed or one.mark.state is MarkState.PROPOSED]
        if not found:
            self._trouble = NONE_PROPOSED if proposed else NONE_MARKED
            self.changed.emit()
            return
        here = next((one.place for one in every if one.mark.id == self._chosen_id), self._left)
        order = [one.place for one in found]
        ids = [one.mark.id for one in found]
        if self._chosen_id in ids:
            index = ids.index(self._chosen_id) + step
        elif here is None:
            index = 0 if step > 0 else -1
        else:
            index = bisect_right(order, here) if step > 0 else bisect_left(order, here) - 1
        clip, take, mark, place = found[index % len(found)]
        if take is not None:
            span = self._playing.bar_at(place[0])
            bar = None if span is None else span.number
            self._canvas.choose_at_rest(bar, clip.angle_id, take_id=take.id)
            self._canvas.choose(bar, clip.angle_id)
        self.choose(mark.id)

    def found(self) -> Found | None:
        """The mark one is at, with where it lies."""
        return self._place(self._chosen_id)

    def stretch(self) -> tuple[Take, float, float] | None:
        """The fault one is at: its take, and from where to where it runs in the song.

        Without a mark chosen, the first that the take heard has in the chosen bars.
        """
        mark = self.chosen
        if mark is None:
            return self._fault_in_bars()
        if not _spoils(mark):
            return None
        one = self._place(mark.id)
        return None if one is None or one.take is None else (one.take, *_song_span(one.take, mark))

    def _fault_in_bars(self) -> tuple[Take, float, float] | None:
        found, bars = self._player.found(self._playing.take_id or ""), self._playing.chosen_s()
        if found is None or bars is None:
            return None
        clip, take = found
        spans = [_song_span(take, mark) for mark in clip.marks if _spoils(mark)]
        here = [one for one in spans if one[0] < one[1] and one[0] < bars[1] and one[1] > bars[0]]
        return (take, *min(here)) if here else None

    def _place(self, mark_id: str) -> Found | None:
        return next((one for one in self.in_order() if one.mark.id == mark_id), None)

    def in_order(self) -> list[Found]:
        """The marks that lie in takes of the score, with where they begin in the song, once each; then those
        that are proposed elsewhere: before a take, in a clip without one, on a hidden angle."""
        found: dict[str, Found] = {}
        hidden = {angle.id for angle in self._session.view.angles if angle.hidden}
        for number, clip in enumerate(self._session.view.clips):
            for mark in clip.marks:
                if mark.state is MarkState.DISMISSED:
                    continue
                for take in () if clip.angle_id in hidden else clip.takes:
                    start_s, end_s = _song_span(take, mark)
                    if start_s < end_s and mark.id not in found:
                        found[mark.id] = Found(clip, take, mark, (start_s, take.id))
                if mark.state is MarkState.PROPOSED and mark.id not in found:
                    outside = math.inf, f"{number:06d} {mark.clip_start_s:012.3f}"
                    found[mark.id] = Found(clip, None, mark, outside)
        return sorted(found.values(), key=lambda one: (one.place, one.mark.id))

    def _begin(self, kind: MarkKind) -> None:
        now = self._player.position()
        found = self._player.found()
        if found is None:
            found = next(iter(covering_takes(self._session.view, now)), None)
        if found is None or not found[1].song_start_s <= now <= found[1].song_end_s:
            self._trouble = NOT_HERE
            return
        self.choose("")
        self.begun = Begun(found[1].id, kind, now)

    def _end(self, song_s: float) -> None:
        begun = self.begun
        assert begun is not None
        if abs(song_s - begun.song_s) < LEAST_S:
            return
        self.begun = None
        found = self._player.found(begun.take_id)
        start_s, end_s = sorted((begun.song_s, song_s))
        self._mark(found, begun.kind, start_s, end_s, begun.reason)

    def _mark(
        self,
        found: tuple[Clip, Take] | None,
        kind: MarkKind,
        start_s: float,
        end_s: float,
        reason: FaultReason = FaultReason.OTHER,
    ) -> None:
        """Mark what a take has between two moments of the song."""
        if found is None or found[1].song_end_s <= start_s or found[1].song_start_s >= end_s:
            self._trouble = NOT_HERE
            return
        clip, take = found
        from_s = take.clip_time(max(start_s, take.song_start_s))
        to_s = take.clip_time(min(end_s, take.song_end_s))
        try:
            edit = mark_edits.add_mark(self._session.shoot, clip.id, kind, from_s, to_s, reason)
        except ValueError as error:
            self._trouble = str(error)
            return
        known = {mark.id for mark in self._session.shoot.marks}
        self._session.apply(f"Mark {kind.value.capitalize()}", edit, ORIGIN)
        self.choose(next(mark.id for mark in edit[0].marks if mark.id not in known))

    def _change(self, mark: Mark) -> None:
        edit = mark_edits.change_mark(self._session.shoot, mark)
        self._session.apply(f"Change {mark.kind.value.capitalize()}", edit, ORIGIN)
        self.changed.emit()

    def _on_player_moved(self, song_s: float) -> None:
        """Where the take ends, or a loop begins anew, the mark begun ends too."""
        begun = self.begun
        if begun is None or not self._player.playing:
            return
        found = self._player.found(begun.take_id)
        loop = self._player.loop
        if found is not None and song_s > found[1].song_end_s >= begun.song_s:
            self._end(found[1].song_end_s)
        elif loop is not None and loop[0] <= song_s < begun.song_s < loop[1]:
            self._end(loop[1])
        else:
            return
        self.changed.emit()

    def _on_player_changed(self) -> None:
        """What is said of a mark is over where another take is heard; the mark stays chosen."""
        if self._hint.isActive() and self._player.take_id != self._heard_id:
            self._hint.stop()
            self.changed.emit()

    def _on_session_changed(self) -> None:
        """What was undone or opened anew may have taken the mark or the take away."""
        if self.begun is not None and self._player.found(self.begun.take_id) is None:
            self.begun = None
        if self._chosen_id and self.chosen is None:
            self._chosen_id = ""
            self._canvas.show_mark("")
        self.changed.emit()

    def _on_chosen_changed(self) -> None:
        """At rest, who goes to other bars leaves the mark; music that goes on does not."""
        now, then = self._canvas.chosen, self._chosen_at
        moved = (now.bar, now.anchor, now.angle_id) != (then.bar, then.anchor, then.angle_id)
        if moved and not self._player.playing and (self._chosen_id or self._trouble):
            self._trouble = ""
            self.choose("")


def _song_span(take: Take, mark: Mark) -> tuple[float, float]:
    """Where a mark lies in the song by a take; empty where it is not of that take."""
    start_s, end_s = max(mark.clip_start_s, take.clip_start_s), min(mark.clip_end_s, take.clip_end_s)
    return take.song_time(start_s), take.song_time(end_s)


def _spoils(mark: Mark) -> bool:
    """Whether a stretch cannot be used because of it."""
    return mark.kind is MarkKind.FAULT and mark.state is MarkState.SET


def _reasons(mark: Mark) -> str:
    return f"{ASKED} · " if mark.kind is MarkKind.FAULT else ""
