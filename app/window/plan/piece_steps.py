"""Corrects the pieces of playback files: what a person says goes into the shoot as steps."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.engine.finding_pieces import DoubtfulPiece, FoundPieces
from app.model.document.change import Change
from app.model.document.playback_file import PlaybackFile
from app.model.document.shoot import Shoot
from app.model.edits.playback_edits import correct_piece, find_pieces, forget_hand, set_pieces
from app.window.jobs import Tasks, Ticket
from app.window.parts.theme import Theme
from app.window.plan.pieces_window import PiecesWindow
from app.window.session import Session
from app.window.work.running import Running

KNOWN, AGAIN, ORIGIN = "pieces in doubt", "pieces again", "pieces"


class PieceSteps(QObject):
    """At most one window at a time."""

    def __init__(
        self,
        session: Session,
        theme: Theme,
        tasks: Tasks,
        running: Running,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._theme = session, theme
        self._tasks, self._running = tasks, running
        self.window: PiecesWindow | None = None
        self._file = ""
        self._doubtful: Sequence[DoubtfulPiece] = ()
        session.changed.connect(self._on_session_changed)
        running.failed.connect(self._on_failed)

    def open(self, playback_id: str, over: QWidget) -> None:
        """Show the pieces of a playback file."""
        self._file, self._doubtful = playback_id, ()
        if self._playback is None:
            return
        if self.window is None:
            self.window = PiecesWindow(self._theme, over)
            self.window.destroyed.connect(self._on_gone)
            self.window.corrected.connect(self._correct)
            self.window.used.connect(self._use)
            self.window.again_wanted.connect(self._find_again)
        self._show()
        self.window.show()
        self.window.raise_()
        self.window.activateWindow()
        self._ask_doubtful()

    @property
    def _playback(self) -> PlaybackFile | None:
        return next((one for one in self._session.whole.playbacks if one.id == self._file), None)

    def _ask_doubtful(self) -> None:
        """Show what is known from an earlier search; the files' content is looked at away from the window."""
        playback, tasks, songs = self._playback, self._tasks, self._session.whole.songs
        if playback is None or playback.made:
            return
        path = Path(playback.media.path)

        def take(found: FoundPieces | None) -> None:
            shown = self._playback
            if found and shown and shown.media.same_content(found.playback.media):
                self._doubtful = found.doubtful
                self._show()

        self._running.start(
            KNOWN, "Looking at the file", lambda ticket: tasks.known_pieces(songs, path), take
        )

    def _correct(self, number: int, song_start_s: float, speed: float) -> None:
        shoot = self._session.whole
        self._apply("Move Piece", lambda: correct_piece(shoot, self._file, number, song_start_s, speed))

    def _use(self, number: int) -> None:
        playback = self._playback
        if playback is None or self.window is None:
            return
        shown = self.window.doubtful
        if not 0 <= number < len(shown):
            return
        piece = replace(shown[number].piece, uncertainty_s=0.0)
        # It ends where those that are sure begin.
        for one in playback.pieces:
            if one.start_s <= piece.start_s < one.end_s:
                moved_s = one.end_s - piece.start_s
                start_s = piece.song_start_s + moved_s * piece.speed
                piece = replace(piece, start_s=one.end_s, song_start_s=start_s)
            elif piece.start_s < one.start_s < piece.end_s:
                piece = replace(piece, end_s=one.start_s)
        shoot = self._session.whole
        self._apply("Add Piece", lambda: set_pieces(shoot, self._file, [*playback.pieces, piece]))

    def _apply(self, label: str, edit: Callable[[], tuple[Shoot, Change]]) -> None:
        window = self.window
        try:
            self._session.apply(label, edit(), ORIGIN)
        except (KeyError, ValueError) as error:
            if window is not None:
                window.say(str(error), warm=True)
                self._show()
            return
        if window is not None:
            window.say("")
            self._show()

    def _find_again(self) -> None:
        playback, tasks, songs = self._playback, self._tasks, self._session.whole.songs
        if playback is None or self.window is None:
            return
        path = Path(playback.media.path)
        self.window.say(f"Finding the song in {path.name}…")

        def work(ticket: Ticket) -> FoundPieces:
            return tasks.playback_pieces(
                songs, path, stop=ticket.stop, progress=ticket.progress, in_subprocess=True
            )

        def take(found: FoundPieces) -> None:
            known = [one.id for one in self._session.whole.playbacks]
            if playback.id not in known or self._session.whole.songs != songs:
                return
            forgotten, _ = forget_hand(self._session.whole, playback.id)
            after, _ = find_pieces(forgotten, found.playback)
            if after != self._session.whole:
                self._session.apply("Find Pieces Again", (after, Change.PLAYBACK), ORIGIN)
            if self._file == playback.id:
                self._doubtful = found.doubtful
                self._show()
                if self.window is not None:
                    self.window.say("Found again.")

        self._running.start(
            AGAIN,
            f"Finding the song in {path.name}",
            work,
            take,
            failing=f"The pieces of {path.name} were not found again.",
        )

    def _show(self) -> None:
        playback = self._playback
        if self.window is None:
            return
        if playback is None:
            self.window.close()
            return
        songs = {song.id: song.called for song in self._session.whole.songs}
        self.window.show_file(playback, songs, self._doubtful)

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if self.window is not None and origin != ORIGIN:
            self._show()

    def _on_failed(self, slot: str, told: str) -> None:
        if slot == AGAIN and self.window is not None:
            self.window.say(told, warm=True)

    def _on_gone(self) -> None:
        self.window = None
