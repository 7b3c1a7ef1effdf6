"""A copy of what is not saved yet, so that a crash loses a second or two of work at most.

The copy lies beside the shoot's file (or in the user's own folder, as long as there is no file, or where the
file lies among clips) and goes away when the shoot is saved, or when its changes were given up. When it is
still there, something went wrong the last time.
"""

import hashlib
from collections.abc import Callable
from datetime import datetime
from pathlib import Path, PurePath

from PySide6.QtCore import QLockFile, QObject, QRunnable, Qt, QThreadPool, QTimer, Signal

from app.model.document import store
from app.model.document.change import Change
from app.model.document.shoot import Shoot
from app.model.guarding import guard_of
from app.model.on_song import SongView, is_decided, on_song
from app.model.storage.guard import MayNotWrite
from app.window.frame.agreement import opened_agreed
from app.window.jobs import POOL_NAME, sentence
from app.window.parts import words
from app.window.parts.dialogs import Dialogs
from app.window.session import EVERYTHING, SUFFIX, Session

DELAY_MS = 1500
WINDOWS = 20
"""Windows without a file that are kept apart."""
ORIGIN = "safe copy"
ANSWERS = ("Restore", "Discard…")
SURE = ("Keep Them", "Discard for Good")
NOT_NOW = "&Not Now"
COPIES = 9
"""Copies beside one file: one that nobody decided about is never written over."""
APART = "among clips"
"""Folder, in the user's own, of the copies of shoots that lie among clips."""


class SafeCopy(QObject):
    """Keeps the copy of one window's shoot."""

    message = Signal(str)
    """A sentence: the copy cannot be written, or an older one not be read."""
    mended = Signal()
    """The copy can be written again."""
    _ended = Signal(object)
    """A copy was written on its thread."""

    def __init__(
        self, session: Session, dialogs: Dialogs, folder: Path, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._session, self._dialogs, self._folder = session, dialogs, folder
        self._lock: QLockFile | None = None
        self._held: dict[Path, QLockFile] = {}
        """Copies beside a shoot's file that are this window's."""
        self._written: Path | None = None
        self._complained = False
        # A large shoot takes a second to write and read back: that would hold the window up at every change.
        self._pool = QThreadPool(self)
        self._pool.setObjectName(POOL_NAME)
        self._pool.setMaxThreadCount(1)
        self._writing: _Writing | None = None
        """The copy that is being written on the thread, or whose end is not told yet."""
        self._ended.connect(self._on_ended, Qt.ConnectionType.QueuedConnection)
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(DELAY_MS)
        self._timer.timeout.connect(self._begin)
        session.changed.connect(self._on_session_changed)

    def write(self) -> None:
        """Write the copy now, where there is something to lose, and wait until it is written."""
        self._wait()
        self._begin()
        self._wait()

    def _begin(self) -> None:
        self._timer.stop()
        if self._writing is not None:
            self._timer.start()  # what changed meanwhile comes after it
            return
        if not self._session.modified:
            self._forget()
            return
        try:
            self._writing = _Writing(self._session.whole, self._place(), self._ended.emit)
        except Exception as error:
            self._complain(error)
            return
        self._pool.start(self._writing)

    def _wait(self) -> None:
        """Wait for a copy that is being written; its end counts then."""
        self._pool.waitForDone(-1)
        if self._writing is not None:
            self._on_ended(self._writing)

    def _on_ended(self, writing: "_Writing") -> None:
        if writing is not self._writing:
            return  # it was waited for
        self._writing = None
        copy, error = writing.copy, writing.error
        if error is not None:
            self._complain(error)
            return
        if self._complained:
            self._complained = False
            self.mended.emit()
        if self._written not in (None, copy):
            self._forget()
        self._written = copy

    def _complain(self, error: Exception) -> None:
        """Told once: the work goes on, and saving by hand will tell again."""
        if not self._complained:
            self.message.emit(f"Your unsaved changes could not be backed up: {sentence(error)}")
        self._complained = True

    def offer_unsaved(self) -> None:
        """Offer what a window without a file left behind; called once, when the window is there."""
        try:
            copies = sorted(self._folder.glob(f"*{SUFFIX}"))
            for copy in copies:
                lock = _lock(copy.with_suffix(".lock"))
                if lock.tryLock(0):  # the window it belonged to is gone
                    self._offer(copy)
                    if copy.exists() and copy != self._written:
                        lock.unlock()  # left for another time: what comes now goes elsewhere
                    else:
                        self._lock = lock
                    return
        except OSError:
            return

    def close(self) -> None:
        """Remove the copy: the shoot was saved, or its changes were given up."""
        self._timer.stop()
        self._wait()
        self._forget()
        if self._lock is not None:
            self._lock.unlock()

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if origin == "open":
            self._timer.stop()
            self._wait()
            self._forget()
            path = self._session.path
            for copy in (*_beside(path), *self._apart(path)) if path is not None else ():
                if copy.is_file() and self._hold(copy):  # else another window is writing it
                    self._offer(copy)
                    if self._written is not None:
                        break  # taken over; what else there is, is asked about the next time
                    self._let_go(copy)
        elif origin == "save":
            self._timer.stop()
            self._wait()
            self._forget()
        elif not self._timer.isActive():
            self._timer.start()

    def _offer(self, copy: Path) -> None:
        if not copy.is_file():
            return
        try:
            shoot = opened_agreed(self._dialogs, copy, lambda trust: store.load(copy, trust=trust))
            if shoot is None:
                return  # left for another time
            when = copy.stat().st_mtime
        except (store.StoreError, OSError) as error:
            self._put_aside(copy, error)
            return
        name = self._session.path.stem if self._session.path is not None else shoot.name or "a new shoot"
        begin = f"Anglebook closed before your changes to “{name}” were saved."
        held = self._compared(shoot, when)
        question = "\n\n".join([begin, *held, "Restore unsaved changes?"])
        chosen = self._dialogs.choose_one("Unsaved changes", question, ANSWERS, NOT_NOW)
        if chosen == 0:
            self._written = copy
            self._session.apply("Restore Unsaved Changes", (shoot, EVERYTHING), ORIGIN)
        elif chosen == 1:
            question = "\n\n".join([f"You cannot get the changes to “{name}” back after that.", held[0]])
            if self._dialogs.choose_one("Discard the changes?", question, SURE) == 1:
                copy.unlink(missing_ok=True)

    def _compared(self, shoot: Shoot, when: float) -> list[str]:
        """What the copy holds and what the file holds, with times and counts, and which of them is newer."""
        lines = [f"Unsaved changes, {_time(when)}: {_counts(shoot)}."]
        path = self._session.path
        if path is None:
            return [*lines, "This shoot has never been saved to a file."]
        try:
            saved = path.stat().st_mtime
        except OSError:
            return lines
        lines.append(f"Saved file {path.name}, {_time(saved)}: {_counts(self._session.shoot)}.")
        newer = "The unsaved changes are newer" if when >= saved else "The saved file is newer"
        return [*lines, f"{newer}, by {_span(abs(when - saved))}."]

    def _put_aside(self, copy: Path, error: Exception) -> None:
        """Keep a copy that cannot be read, under a name at which nobody asks for it again."""
        aside = copy.with_suffix(".unreadable")
        try:
            copy.replace(aside)
        except OSError:
            return
        self.message.emit(f"Your unsaved changes could not be read. They are kept as {aside}. {error}")

    def _place(self) -> Path:
        if self._session.path is not None:
            for copy in self._allowed(self._session.path):
                if copy == self._written or (not copy.exists() and self._hold(copy)):
                    return copy
            raise OSError(f"There are too many unsaved copies of this shoot in {self._session.path.parent}.")
        if self._lock is None:
            self._folder.mkdir(parents=True, exist_ok=True)
            for n in range(1, WINDOWS + 1):
                lock = _lock(self._folder / f"shoot {n}.lock")
                if not (self._folder / f"shoot {n}{SUFFIX}").exists() and lock.tryLock(0):
                    self._lock = lock
                    break
            else:
                raise OSError(f"There are too many unsaved shoots in {self._folder}.")
        return Path(self._lock.fileName()).with_suffix(SUFFIX)

    def _allowed(self, path: Path) -> list[Path]:
        """Where copies of a shoot's changes go: beside clips nothing is written but the shoot's file."""
        beside = _beside(path)
        try:
            guard_of(self._session.shoot).check(beside[0])
        except MayNotWrite:
            beside = self._apart(path)
            beside[0].parent.mkdir(parents=True, exist_ok=True)
        return beside

    def _apart(self, path: Path) -> list[Path]:
        """The same copies in the user's own folder."""
        return [self._folder / APART / f"{_short(copy)}{copy.name}" for copy in _beside(path)]

    def _forget(self) -> None:
        if self._written is not None:
            try:
                self._written.unlink(missing_ok=True)
            except OSError:
                return
            self._let_go(self._written)
            self._written = None

    def _hold(self, copy: Path) -> bool:
        """Keep other windows off a copy beside a shoot's file; False where one of them has it."""
        if copy not in self._held:
            try:
                self._folder.mkdir(parents=True, exist_ok=True)
            except OSError:
                return True  # better a copy that another window may ask about than none
            lock = _lock(self._folder / f"{_short(copy)}.lock")
            if not lock.tryLock(0):
                return lock.error() is not QLockFile.LockError.LockFailedError
            self._held[copy] = lock
        return True

    def _let_go(self, copy: Path) -> None:
        lock = self._held.pop(copy, None)
        if lock is not None:
            lock.unlock()


class _Writing(QRunnable):
    """One copy on its way to the disk."""

    def __init__(self, shoot: Shoot, copy: Path, ended: Callable[["_Writing"], None]) -> None:
        super().__init__()
        self.setAutoDelete(False)
        self._shoot, self._ended = shoot, ended
        self.copy = copy
        self.error: Exception | None = None

    def run(self) -> None:
        try:
            store.save(self._shoot, self.copy)
        except Exception as error:
            self.error = error
        self._ended(self)


def _lock(path: Path) -> QLockFile:
    """A lock that lasts as long as its window, however long that is."""
    lock = QLockFile(str(path))
    lock.setStaleLockTime(0)
    return lock


def _short(path: Path) -> str:
    """What stands for a path in a file's name."""
    return hashlib.sha256(str(path.absolute()).encode(errors="surrogateescape")).hexdigest()[:16]


def _beside(path: Path) -> list[Path]:
    names = ["unsaved", *(f"unsaved {number}" for number in range(2, COPIES + 1))]
    return [path.with_name(f".{path.stem}.{name}{SUFFIX}") for name in names]


def _time(moment: float) -> str:
    return datetime.fromtimestamp(moment).strftime("%d %b %Y, %H:%M:%S")


def _counts(shoot: Shoot) -> str:
    view = on_song(shoot)
    takes = [take for clip in view.clips for take in clip.takes]
    decided = sum(is_decided(take) for take in takes) + sum(c.decided is not None for c in view.clips)
    parts = [words.count(len(view.clips), "clip"), words.count(len(takes), "take")]
    return ", ".join([*parts, words.count(decided, "decision"), _song(view)])


def _song(shoot: SongView) -> str:
    return "no song" if shoot.song is None else f"song {PurePath(shoot.song.media.path).name}"


def _span(seconds: float) -> str:
    """A length of time as people say it.

    >>> _span(3.2), _span(130), _span(7300), _span(200000)
    ('3 seconds', '2 minutes', '2 hours', '2 days')
    """
    for size, name in ((86400, "day"), (3600, "hour"), (60, "minute")):
        if seconds >= size:
            return words.count(int(seconds // size), name)
    return words.count(int(seconds), "second")
