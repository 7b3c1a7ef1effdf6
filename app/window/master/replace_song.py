"""Replaces the song by its next master: both are compared, a person looks, and everything is carried over."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePath
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtWidgets import QWidget

from app.engine.checking import Placed
from app.model.document.change import Change
from app.model.document.masters import MasterPiece
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.edits.renewing import renew
from app.model.on_song import on_song
from app.model.renewing.corrected import with_piece, without_piece
from app.model.renewing.told_pieces import Fate
from app.model.renewing.what_changes import Row, heard_words, unheard, what_changes
from app.window.jobs import Jobs, Tasks, Ticket, sentence
from app.window.master.master_peaks import peaks_of
from app.window.master.master_window import MasterWindow
from app.window.master.piece_words import proof_words, typed_time
from app.window.master.two_waves import Peak
from app.window.parts.dialogs import Dialogs
from app.window.parts.theme import Theme
from app.window.parts.words import song_time
from app.window.session import Session, now
from app.window.work.running import Running
from app.window.work.work import Work

if TYPE_CHECKING:
    from app.engine.checking import LocalFit

SLOT, PREPARE, PROVE, SNAP = "renew", "what changes", "agreement of masters", "snap masters"
ORIGIN = "renew"
LABEL = "Replace the Song"
SHARES = (0.02, 0.25, 0.5, 0.75, 0.98)
"""At these shares of a piece it is told how the masters agree."""


@dataclass(frozen=True, slots=True)
class Compared:
    """Two masters, and what of the old one was found in the new one."""

    old: Song
    new: Song
    found: tuple[MasterPiece, ...]
    peaks: tuple[Sequence[Peak], Sequence[Peak]]


@dataclass(frozen=True, slots=True)
class _Prepared:
    """What replacing comes to, worked out beforehand."""

    before: Shoot
    pieces: tuple[MasterPiece, ...]
    after: Shoot
    change: Change
    rows: tuple[Row, ...]


class ReplaceSong(QObject):
    """At most one window at a time."""

    told = Signal(str)
    """A sentence for the person; nothing went wrong."""

    def __init__(
        self,
        session: Session,
        theme: Theme,
        jobs: Jobs,
        running: Running,
        tasks: Tasks,
        dialogs: Dialogs,
        work: Work,
        over: QWidget | None = None,
    ) -> None:
        super().__init__(over)
        self._session, self._theme, self._jobs, self._running = session, theme, jobs, running
        self._tasks, self._dialogs, self._work, self._over = tasks, dialogs, work, over
        self.window: MasterWindow | None = None
        self._masters: Compared | None = None
        self._prepared: _Prepared | None = None
        self._checking = ""
        """Id of the song whose takes are checked by sound; empty where none is."""
        work.next_master.connect(self.begin)
        running.ended.connect(self._on_ended)
        session.changed.connect(self._on_session_changed)

    # Comparing.

    def choose(self) -> None:
        """Ask for the new master, and compare it with the song in hand."""
        if self._session.view.song is not None:
            path = self._dialogs.choose_song("Choose the new master")
            if path is not None:
                self.begin(path)

    def begin(self, path: Path) -> None:
        """Compare a file with the song in hand; the window opens when that is done."""
        old, tasks = self._session.view.song, self._tasks
        if old is None:
            return
        self._close()
        before = Path(old.media.path)
        reading, comparing = f"Reading {path.name}", f"comparing it with {before.name}"

        def work(ticket: Ticket) -> Compared:
            def part(low: float, share: float, words: str) -> Callable[[float], None]:
                return lambda fraction: ticket.progress(low + share * fraction, words)

            new = tasks.song_from_file(
                path, stop=ticket.stop, progress=part(0.0, 0.5, ""), in_subprocess=True
            )
            if new.media.same_content(old.media):
                return Compared(old, new, (), ((), ()))
            found = tasks.master_pieces(
                before, path, stop=ticket.stop, progress=part(0.5, 0.45, comparing), in_subprocess=True
            )
            return Compared(old, new, found, (peaks_of(tasks, before), peaks_of(tasks, path)))

        failing = f"{path.name} could not be compared with the song."
        self._running.start(SLOT, reading, work, self._compared, failing=failing)

    def _compared(self, masters: Compared) -> None:
        name = PurePath(masters.new.media.path).name
        if masters.new.media.same_content(masters.old.media):
            self.told.emit(f"{name} is the song that is here already.")
        elif self._song(masters) is None:
            self.told.emit("The song was changed meanwhile: choose the new master again.")
        else:
            self._open(masters)

    def _open(self, masters: Compared) -> None:
        self._masters, self._prepared = masters, None
        old, new = masters.old, masters.new
        names = PurePath(old.media.path).name, PurePath(new.media.path).name
        lengths = old.duration_s, new.duration_s
        self.window = MasterWindow(self._theme, names, lengths, masters.peaks, self, self._over)
        self.window.waves.show_sections(old.map.sections, ())
        self.window.destroyed.connect(self._on_gone)
        self.window.chosen.connect(self._prove)
        self.window.fields.typed.connect(self._correct)
        self.window.fields.wrong.connect(self.window.say)
        self._show(masters.found)
        QTimer.singleShot(0, self.window, self.window.show)  # a step of its own: each is short

    def _song(self, masters: Compared) -> Song | None:
        """The song as it is now; None where it is no longer the master that was compared."""
        songs = [one for one in self._session.songs if one.id == masters.old.id]
        return next((one for one in songs if one.media.same_content(masters.old.media)), None)

    # What the window does.

    @property
    def some(self) -> bool:
        return self.window is not None and self.window.piece is not None

    @property
    def ready(self) -> bool:
        prepared, window = self._prepared, self.window
        if prepared is None or window is None:
            return False
        return prepared.before is self._session.shoot and prepared.pieces == window.pieces

    @property
    def corrected(self) -> bool:
        window, masters = self.window, self._masters
        return window is not None and masters is not None and window.pieces != masters.found

    def nudge(self, by_s: float) -> None:
        """Move the chosen piece in the new master."""
        piece = None if self.window is None else self.window.piece
        if piece is not None:
            self._correct(replace(piece, new_start_s=piece.new_start_s + by_s))

    def snap(self) -> None:
        """Move the chosen piece to where both masters agree best nearby."""
        window, tasks = self.window, self._tasks
        if window is None or window.piece is None:
            return
        piece, placed = window.piece, self._placed(window.piece)
        window.show_proof("Looking for the best fit…")

        def done(fit: "LocalFit | None") -> None:
            if self.window is not window or window.piece != piece:
                return
            if fit is None:
                window.show_proof("The masters do not agree anywhere near this place.")
            else:
                self._correct(replace(piece, new_start_s=float(fit.song_start_s), speed=float(fit.speed)))

        self._jobs.start(
            SNAP,
            lambda ticket: tasks.settle(placed, stop=ticket.stop, progress=ticket.progress),
            done,
            self._failed,
        )

    def add(self) -> None:
        """Ask where a stretch of the old master runs, and add that piece."""
        window, masters = self.window, self._masters
        if window is None or masters is None:
            return
        row = window.list.currentRow()
        one = window.told[row] if 0 <= row < len(window.told) else None
        span = one.old_s if one is not None and one.fate is Fate.CUT else None
        start_s, end_s = span or (0.0, min(masters.old.duration_s, masters.new.duration_s))
        fields = [
            ("&From (old master)", song_time(start_s)),
            ("&To (old master)", song_time(end_s)),
            ("&Starts at (new master)", song_time(start_s)),
        ]
        question = "Where does a stretch of the old master run in the new one?"
        texts = self._dialogs.ask_texts("Add Piece", question, fields)
        if texts is None:
            return
        try:
            from_s, to_s, at_s = map(typed_time, texts)
        except ValueError as error:
            window.say(str(error))
            return
        self._put(MasterPiece(from_s, to_s, at_s), None)

    def remove(self) -> None:
        """Take the chosen piece away: what lies on it has no place any more."""
        if self.window is not None and self.window.number is not None:
            self._show(without_piece(self.window.pieces, self.window.number))

    def as_found(self) -> None:
        """Drop what was corrected."""
        if self._masters is not None:
            self._show(self._masters.found)

    def replace(self) -> None:
        """Put the new master in the place of the song: one step, and takes are checked by sound after it."""
        prepared, masters = self._prepared, self._masters
        if not self.ready or prepared is None or masters is None:
            return
        self._close()
        self._running.abandon("place")  # its answers are for the master before
        self._session.apply(LABEL, (prepared.after, prepared.change), ORIGIN)
        name = PurePath(masters.new.media.path).name
        self._checking = masters.old.id if unheard(self._session.whole) else ""
        more = " Its takes are checked by sound now." if self._checking else ""
        self.told.emit(f"{name} is the song now.{more}")
        self._work.place_waiting()

    def cancel(self) -> None:
        """Keep the song that is there."""
        self._close()

    # Pieces, and what they come to.

    def _correct(self, piece: MasterPiece) -> None:
        if self.window is not None:
            self._put(piece, self.window.number)

    def _put(self, piece: MasterPiece, number: int | None) -> None:
        window, masters = self.window, self._masters
        if window is None or masters is None:
            return
        ends_s = masters.old.duration_s, masters.new.duration_s
        try:
            pieces = with_piece(window.pieces, number, piece, *ends_s)
        except ValueError as error:
            window.say(str(error))
            window.fields.show_piece(window.piece)
            return
        self._show(pieces, piece.new_start_s)

    def _show(self, pieces: Sequence[MasterPiece], at_s: float | None = None) -> None:
        if self.window is not None:
            self.window.say("")
            self.window.show_pieces(pieces, at_s)
            self._prepare()

    def _prepare(self) -> None:
        """Work out what replacing comes to; of several wishes the newest counts."""
        window, masters = self.window, self._masters
        if window is None or masters is None:
            return
        self._prepared = None
        shoot, pieces, at = self._session.shoot, window.pieces, now()
        if not pieces:
            self._jobs.abandon(PREPARE)
            window.show_changes(())
            return
        window.refresh()

        def work(ticket: Ticket) -> _Prepared:
            after, change = renew(shoot, masters.new, pieces, at, masters.old.id)
            views = [on_song(one, masters.old.id) for one in (shoot, after)]
            rows = what_changes(views[0], views[1], after.masters[-1].left)
            return _Prepared(shoot, pieces, after, change, rows)

        def done(prepared: _Prepared) -> None:
            self._prepared = prepared
            if self.window is not None:
                song = prepared.after.song(masters.old.id)
                assert song is not None
                self.window.waves.show_sections(masters.old.map.sections, song.map.sections)
                self.window.show_changes(prepared.rows)

        self._jobs.start(PREPARE, work, done, self._failed)

    def _prove(self) -> None:
        """Tell how both masters agree along the chosen piece."""
        window, tasks = self.window, self._tasks
        piece = None if window is None else window.piece
        if window is None or piece is None:
            self._jobs.abandon(PROVE)
            return
        placed = self._placed(piece)
        length_s = piece.old_end_s - piece.old_start_s
        moments = [piece.old_start_s + share * length_s for share in SHARES]

        def work(ticket: Ticket) -> list[float | None]:
            found = tasks.proofs(placed, moments, stop=ticket.stop, progress=ticket.progress)
            return [one.late_s for one in found]

        def done(lates: list[float | None]) -> None:
            if window.piece == piece:
                window.show_proof(proof_words(lates))

        window.show_proof("Comparing both at five moments of this piece…")
        self._jobs.start(PROVE, work, done, self._failed)

    def _placed(self, piece: MasterPiece) -> Placed:
        """The piece as a take: the old master held against the new one."""
        assert self._masters is not None
        return Placed(
            Path(self._masters.new.media.path),
            Path(self._masters.old.media.path),
            piece.old_start_s,
            piece.old_end_s,
            piece.new_start_s,
            piece.speed,
        )

    def _failed(self, error: Exception) -> None:
        if self.window is not None:
            self.window.say(sentence(error))

    # Around it.

    def _on_ended(self, slot: str) -> None:
        if slot != "place" or not self._checking:
            return
        song_id, self._checking = self._checking, ""
        view = next((one for one in self._session.views if one.song and one.song.id == song_id), None)
        words = "" if view is None else heard_words(view)
        if words:
            self.told.emit(words)

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if origin == "open":
            self._checking = ""
            self._running.abandon(SLOT)
        if self.window is None or self._masters is None or not change:
            return
        if origin == "open" or self._song(self._masters) is None:
            self._close()
        elif self._prepared is None or self._prepared.before is not self._session.shoot:
            self._prepare()

    def _close(self) -> None:
        if self.window is not None:
            self.window.close()

    def _on_gone(self) -> None:
        self.window = None
        for slot in (PREPARE, PROVE, SNAP):
            self._jobs.abandon(slot)
