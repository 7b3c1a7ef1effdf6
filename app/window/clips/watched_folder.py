"""A folder watched while the shoot goes on: new clips are taken in as soon as they stop growing.

The folder is looked at every two seconds, away from the window's thread. Being told by the system instead
would be quicker by a second, but the disks that cards are copied to (network shares, some card readers) tell
nothing, and a file must be seen to stay the same for some seconds anyway.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from app.model.document.change import Change
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict
from app.model.storage.steady_files import Facts, SteadyFiles
from app.window.jobs import Jobs, Tasks, Ticket, sentence
from app.window.parts import words
from app.window.parts.dialogs import Dialogs
from app.window.session import Session
from app.window.work.work import SOUND_SUFFIXES, Work, reference

SLOT = "watch"
LOOK_MS = 2000
PATIENCE = 30
"""Looks after which a file that stays as it is and cannot be opened is taken in all the same: then the engine
tells what is wrong with it."""


@dataclass(frozen=True, slots=True)
class _Seen:
    ready: list[MediaRef] = field(default_factory=list)
    growing: list[str] = field(default_factory=list)
    closed: list[str] = field(default_factory=list)
    """Files that stay the same and do not open yet."""
    for_song: int = 0
    """Sound files that wait until there is a song."""
    trouble: str = ""


class WatchedFolder(QObject):
    """Watches one folder for one window."""

    changed = Signal()
    """Another folder is watched, or none; or there is something else to tell about it."""

    def __init__(
        self,
        session: Session,
        jobs: Jobs,
        tasks: Tasks,
        work: Work,
        dialogs: Dialogs,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._jobs, self._tasks, self._work = session, jobs, tasks, work
        self._dialogs = dialogs
        self._folder: Path | None = None
        self._steady = SteadyFiles()
        self._seen = _Seen()
        self._taken = 0
        self._timer = QTimer(self)
        self._timer.timeout.connect(self.look)
        session.changed.connect(self._on_session_changed)

    @property
    def folder(self) -> Path | None:
        """The folder watched; None where none is."""
        return self._folder

    @property
    def passed(self) -> list[str]:
        """Files done with, so that one taken out of the shoot does not come back."""
        return self._steady.passed

    @property
    def looking(self) -> bool:
        """Whether the folder is looked at again and again."""
        return self._timer.isActive()

    def pass_over(self, paths: Sequence[str]) -> None:
        """Take these files for done with."""
        self._steady.pass_over(list(paths))

    def look_every(self, ms: int) -> None:
        """Look again and again, after so many milliseconds."""
        self._timer.start(ms)

    def choose(self) -> None:
        """Ask for a folder and watch it; where one is watched, stop."""
        if self._folder is not None:
            self.stop()
            return
        folder = self._dialogs.choose_folder("Folder that you copy clips into while you shoot")
        if folder is not None:
            self.start(folder)

    def start(self, folder: Path, passed: Sequence[str] = ()) -> None:
        """Watch a folder, passing over files that were done with before."""
        self._jobs.abandon(SLOT)
        self._folder = folder.absolute()
        self._steady = SteadyFiles()
        self.pass_over(passed)
        self._seen, self._taken = _Seen(), 0
        self.look_every(LOOK_MS)
        self.changed.emit()
        self.look()

    def stop(self) -> None:
        """Watch no longer; what was taken in stays."""
        if self._folder is None:
            return
        self._jobs.abandon(SLOT)
        self._timer.stop()
        self._folder = None
        self.changed.emit()

    def close(self) -> None:
        """Look no more; the folder is still known, so that it can be kept for the next time."""
        self._timer.stop()

    def words(self) -> str:
        """What there is to tell about the folder, in a sentence; empty where none is watched."""
        if self._folder is None:
            return ""
        name = self._folder.name or str(self._folder)
        if self._seen.trouble:
            return f"Watching {name}: {self._seen.trouble} Trying again every two seconds."
        parts = [f"{words.count(self._taken, 'clip')} added"]
        copying = [*self._seen.growing, *self._seen.closed]
        if copying:
            more = f" and {len(copying) - 1} more" if len(copying) > 1 else ""
            parts.append(f"{Path(copying[0]).name}{more} still copying")
        if self._seen.for_song:
            parts.append(
                f"{words.count(self._seen.for_song, 'sound file')} waiting for you to choose the song"
            )
        return f"Watching {name}: {', '.join(parts)}"

    def look(self) -> None:
        """Look at the folder now, unless it is being looked at."""
        folder = self._folder
        if folder is None or self._jobs.busy(SLOT):
            return
        shoot, tasks, steady = self._session.view, self._tasks, self._steady
        known = [Path(c.media.path) for c in shoot.clips if c.verdict is not Verdict.UNREADABLE]
        known += [path for path in (self._work.song_path,) if path is not None]
        no_song = self._work.song_path is None

        def work(ticket: Ticket) -> _Seen:
            return _look(ticket, tasks, steady, folder, known, no_song)

        self._jobs.start(SLOT, work, self._take, self._fail)

    def _take(self, seen: _Seen) -> None:
        before = self.words()
        self._seen = seen
        self._taken += len(seen.ready)
        if seen.ready and self._folder is not None:
            self._work.take_watched(seen.ready, self._folder)
        if self.words() != before:
            self.changed.emit()

    def _fail(self, error: Exception) -> None:
        self._take(_Seen(trouble=sentence(error)))

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if origin == "open":
            self.stop()


def _look(
    ticket: Ticket, tasks: Tasks, steady: SteadyFiles, folder: Path, known: Sequence[Path], no_song: bool
) -> _Seen:
    """One look at the folder; runs away from the window's thread, never twice at a time."""
    files: dict[str, Facts] = {}
    for_song = 0
    for path in tasks.find_clips([folder], leave_out=known):
        if no_song and path.suffix.lower() in SOUND_SUFFIXES:
            for_song += 1
            continue
        try:
            facts = path.stat()
        except OSError:
            continue  # gone between two glances
        files[str(path)] = Facts(facts.st_size, facts.st_mtime_ns)
    ready, closed = [], []
    for name in steady.look(files):
        if ticket.stop():
            break
        if steady.looks_at(name) < PATIENCE and tasks.trouble(Path(name)):
            closed.append(name)
            continue
        steady.done(name)
        ready.append(reference(Path(name)))
    return _Seen(ready, steady.growing, closed, for_song)
