"""Clips and song that are no longer where the shoot has them, and finding them again.

Whether files are there is asked away from the window's thread: a disk that sleeps, or a network that is slow
to answer, must not hold the window up.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path, PurePath

from PySide6.QtCore import QObject, Signal

from app.model.document.change import Change
from app.model.document.identity import Search, find_again
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.store import missing
from app.model.edits import shoot_edits
from app.window.jobs import Jobs, Ticket
from app.window.parts.dialogs import Dialogs
from app.window.session import Session
from app.window.work.running import Running

LOOK, FIND = "missing", "relink"
ORIGIN = "moved media"


@dataclass(frozen=True, slots=True)
class Sought:
    """What became of one file that was looked for."""

    path: str
    """Where it was."""
    found: str
    """Where it is now; empty where it was not found."""
    why: str
    """Why it was not found."""


class MovedMedia(QObject):
    """Keeps an eye on which files are gone."""

    changed = Signal()
    """Other files are gone than before."""
    searched = Signal(object)
    """A search ended: a tuple of `Sought`, one for every file that was gone."""

    def __init__(
        self, session: Session, jobs: Jobs, running: Running, dialogs: Dialogs, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._session, self._jobs, self._running, self._dialogs = session, jobs, running, dialogs
        self._gone: frozenset[str] = frozenset()
        self._looked_at: tuple[str, ...] = ()
        session.changed.connect(self._on_session_changed)

    @property
    def gone(self) -> frozenset[str]:
        """Ids of the clips, and of the song, whose file is gone."""
        return self._gone

    def look(self) -> None:
        """Find out which files are gone; ``changed`` tells when others are than before."""
        shoot = self._session.shoot
        self._looked_at = _paths(shoot)
        if not self._looked_at and not self._gone:
            return

        def done(gone: Sequence[str]) -> None:
            if frozenset(gone) != self._gone:
                self._gone = frozenset(gone)
                self.changed.emit()

        self._jobs.start(LOOK, lambda ticket: missing(shoot), done, lambda error: None)

    def find(self) -> None:
        """Ask for a folder and look there, and in all folders below it, for the files that are gone."""
        folder = self._dialogs.choose_folder("Where are the files now?")
        if folder is None:
            return
        shoot = self._session.shoot

        def work(ticket: Ticket) -> tuple[list[MediaRef], Search]:
            gone = _gone_media(shoot)
            return gone, find_again(gone, [folder], stop=ticket.stop)

        def done(answer: tuple[list[MediaRef], Search]) -> None:
            gone, search = answer
            # Where a file lies was found out, not decided: undoing an earlier step must not lose it again.
            self._session.find_out(lambda shoot: shoot_edits.relink(shoot, search.found), ORIGIN)
            self.look()
            self.searched.emit(tuple(_sought(ref, search, folder) for ref in gone))

        self._running.start(FIND, "Looking for moved files", work, done)

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if origin == "open":
            self._jobs.abandon(LOOK)
            self._looked_at = ()
            if self._gone:
                self._gone = frozenset()  # they were those of the shoot before
                self.changed.emit()
        if _paths(self._session.shoot) != self._looked_at:
            self.look()


def _paths(shoot: Shoot) -> tuple[str, ...]:
    songs = (song.media.path for song in shoot.songs)
    return (*songs, *(clip.media.path for clip in shoot.clips))


def _gone_media(shoot: Shoot) -> list[MediaRef]:
    gone = missing(shoot)
    songs = [song.media for song in shoot.songs if song.id in gone]
    return [*songs, *(clip.media for clip in shoot.clips if clip.id in gone)]


def _sought(ref: MediaRef, search: Search, folder: Path) -> Sought:
    name = PurePath(ref.path).name
    if ref.path in search.found:
        return Sought(ref.path, search.found[ref.path].path, "")
    if ref.size_bytes == 0:
        return Sought(
            ref.path, "", f"{name} was never read, so it cannot be recognised. Drop it on the window."
        )
    if ref.path in search.namesakes:
        other = search.namesakes[ref.path]
        return Sought(
            ref.path,
            "",
            f"{other} has the same name but different content. To use it, drop it on the window.",
        )
    return Sought(ref.path, "", f"No file in {folder} or its subfolders has the same size and content.")
