"""Jobs: long work away from the window's thread, one slot for each kind of work.

A newer job in a slot replaces the older one, whose answers are dropped from then on. Work is a plain function
that takes a `Ticket`: it asks ``ticket.stop()`` now and then, and tells how far it is. All callbacks run on
the thread that made the `Jobs` object, which is the window's.
"""

import logging
import sys
import threading
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from PySide6.QtCore import QObject, QRunnable, Qt, QThreadPool, Signal

from app.engine.checking import Placed
from app.engine.finding_pieces import FoundPieces
from app.model.answers import Answer
from app.model.document.looks import Match
from app.model.document.masters import MasterPiece
from app.model.document.playback_file import PlaybackFile
from app.model.document.song import Song, SongMap
from app.model.kit.made_file import MadeFile
from app.model.kit.planned import Planned
from app.model.on_song import SongView
from app.model.seen import Seen
from app.model.storage.guard import Guard
from app.model.wrong_song import Shared

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from app.engine.side_by_side import SideBySide
    from audio.placement.local_fit import LocalFit
    from audio.placement.proof import Proof

THREADS = 8
"""Finding files, reading the song, placing, pictures, listening and proxies may run side by side."""

SWITCH_S = 0.0005
"""Reading a file gives the interpreter back with every packet, thousands of times, and waits for so long each
time to get it again from a thread that computes. With Python's own 0.005 s that adds up to many seconds for a
song."""

POOL_NAME = "anglebook jobs"
"""Name of the threads, as the system shows it (15 letters at most)."""


class Tasks(Protocol):
    """The engine's work as the window sees it: the functions of `app.engine.tasks`."""

    def find_clips(
        self,
        paths: Sequence[Path],
        *,
        leave_out: Collection[Path] = (),
        passed_over: Callable[[str], None] = ...,
    ) -> list[Path]: ...

    def trouble(self, path: Path) -> str: ...

    def song_from_file(
        self,
        path: Path,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        in_subprocess: bool = False,
    ) -> Song: ...

    def map_again(
        self,
        song: Song,
        from_s: float,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        in_subprocess: bool = False,
    ) -> SongMap: ...

    def shared_sound(
        self,
        paths: Sequence[Path],
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        in_subprocess: bool = False,
    ) -> Shared | None: ...

    def place_clips(
        self,
        songs: Sequence[Song],
        paths: Sequence[Path],
        *,
        playbacks: Sequence[PlaybackFile] = (),
        beside: Sequence[Answer],
        stop: Callable[[], bool],
        progress: Callable[[Path, float], None],
        comparing: Callable[[int, int], None],
        answered: Callable[[Answer], None],
        workers: int | None = None,
        use_cache: bool = True,
    ) -> None: ...

    def look_at_clips(
        self,
        shoot: SongView,
        *,
        stop: Callable[[], bool],
        progress: Callable[[Path, float], None],
        answered: Callable[[Seen], None],
        workers: int | None = None,
        use_cache: bool = True,
    ) -> None: ...

    def pictures(self, path: Path, times: Sequence[float], height: int) -> "list[NDArray[np.uint8]]": ...

    def song_peaks(self, path: Path, count: int) -> "NDArray[np.float32]": ...

    def proofs(
        self,
        placed: Placed,
        moments: Sequence[float],
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
    ) -> "list[Proof]": ...

    def settle(
        self, placed: Placed, *, stop: Callable[[], bool], progress: Callable[[float], None]
    ) -> "LocalFit | None": ...

    def match_takes(
        self,
        shoot: SongView,
        *,
        stop: Callable[[], bool],
        progress: Callable[[Path, float], None],
        troubled: Callable[[Path, str], None],
        workers: int | None = None,
        use_cache: bool = True,
    ) -> tuple[Match, ...]: ...

    def transfer_functions(self) -> tuple[tuple[str, str], ...]: ...

    def tagged_transfer(self, path: Path) -> str: ...

    def side_by_side(
        self,
        reference: tuple[Path, float],
        take: tuple[Path, float] | None,
        match: Match | None,
        height: int,
    ) -> "SideBySide": ...

    def playback_pieces(
        self,
        songs: Sequence[Song],
        path: Path,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        in_subprocess: bool = False,
    ) -> FoundPieces: ...

    def known_pieces(self, songs: Sequence[Song], path: Path) -> FoundPieces | None: ...

    def master_pieces(
        self,
        old: Path,
        new: Path,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        in_subprocess: bool = False,
    ) -> tuple[MasterPiece, ...]: ...

    def make_files(
        self,
        song: Song,
        wanted: Sequence[tuple[Planned, Path]],
        guard: Guard,
        *,
        loudness_lufs: float | None = None,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
    ) -> Iterator[MadeFile]: ...

    def song_loudness(self, path: Path, from_s: float, to_s: float, count: int) -> "NDArray[np.float32]": ...


class Ticket:
    """What work holds of its job: the wish to stop, and ways to tell how it goes. Usable from any thread."""

    def __init__(self, slot: str, post: Callable[["_Event"], None]) -> None:
        self.slot = slot
        self._post = post
        self._stop = threading.Event()
        self._lock = threading.Lock()
        self._latest: tuple[float, str] | None = None

    def stop(self) -> bool:
        """Tell whether the work should end now."""
        return self._stop.is_set()

    def progress(self, fraction: float, words: str = "") -> None:
        """Tell how far the work is (0 to 1); reports the window has not yet seen are replaced, not queued."""
        with self._lock:
            waiting = self._latest is not None
            self._latest = (fraction, words)
        if not waiting:
            self._post(_Event(self, "progress"))

    def report(self, answer: object) -> None:
        """Hand over one answer of several; none is lost."""
        self._post(_Event(self, "report", answer))

    def ask_to_stop(self) -> None:
        """Ask the work to end."""
        self._stop.set()

    def take_progress(self) -> tuple[float, str]:
        """Take the latest progress away, so that the next one is posted again."""
        with self._lock:
            latest, self._latest = self._latest, None
        return latest or (0.0, "")


@dataclass(frozen=True, slots=True)
class _Event:
    ticket: Ticket
    kind: str
    load: object = None


@dataclass(frozen=True, slots=True)
class _Callbacks:
    done: Callable[[Any], None]
    failed: Callable[[Exception], None]
    stopped: Callable[[], None] | None
    progress: Callable[[float, str], None] | None
    report: Callable[[Any], None] | None


class _Runner(QRunnable):
    """Runs one work function on a thread of the pool."""

    def __init__(
        self, ticket: Ticket, work: Callable[[Ticket], object], post: Callable[[_Event], None]
    ) -> None:
        super().__init__()
        self.setAutoDelete(False)
        self._ticket, self._work, self._post = ticket, work, post

    def run(self) -> None:
        ticket = self._ticket
        try:
            result = self._work(ticket)
        except Exception as error:
            if not ticket.stop() and not is_plain(error):
                logging.getLogger(__name__).error("job %s failed", ticket.slot, exc_info=error)
            event = _Event(ticket, "failed", error)
        else:
            event = _Event(ticket, "done", result)
        self._post(event)


class Jobs(QObject):
    """The jobs of one window."""

    busy_changed = Signal(str)
    """A slot's job began or ended."""
    _posted = Signal(object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        sys.setswitchinterval(SWITCH_S)
        self._pool = QThreadPool(self)
        self._pool.setObjectName(POOL_NAME)
        self._pool.setMaxThreadCount(THREADS)
        self._slots: dict[str, tuple[Ticket, _Callbacks]] = {}
        self._runners: dict[Ticket, _Runner] = {}
        self._closed = False
        self._posted.connect(self._deliver, Qt.ConnectionType.QueuedConnection)

    def start(
        self,
        slot: str,
        work: Callable[[Ticket], Any],
        done: Callable[[Any], None],
        failed: Callable[[Exception], None],
        *,
        stopped: Callable[[], None] | None = None,
        progress: Callable[[float, str], None] | None = None,
        report: Callable[[Any], None] | None = None,
    ) -> None:
        """Start work in a slot, in place of what runs there.

        ``done`` gets what the work returned, ``failed`` what it raised; after `stop` neither is called but
        ``stopped``. ``report`` gets each answer the work reported, ``progress`` the newest progress.
        """
        if self._closed:
            return
        self._abandon(slot)
        ticket = Ticket(slot, self._posted.emit)
        self._slots[slot] = (ticket, _Callbacks(done, failed, stopped, progress, report))
        runner = _Runner(ticket, work, self._posted.emit)
        self._runners[ticket] = runner
        self._pool.start(runner)
        self.busy_changed.emit(slot)

    def stop(self, slot: str) -> None:
        """Ask the slot's job to end; answers it still gives are delivered, then ``stopped`` is called."""
        if slot in self._slots:
            self._slots[slot][0].ask_to_stop()

    def abandon(self, slot: str) -> None:
        """Ask the slot's job to end and drop whatever it still answers."""
        if self._abandon(slot):
            self.busy_changed.emit(slot)

    def busy(self, slot: str) -> bool:
        """Tell whether a job runs in the slot."""
        return slot in self._slots

    def close(self) -> None:
        """Stop every job and wait for its end; nothing is delivered any more."""
        self._closed = True
        for ticket in self._runners:
            ticket.ask_to_stop()
        self._slots.clear()
        self._pool.waitForDone(-1)
        self._runners.clear()

    def _abandon(self, slot: str) -> bool:
        entry = self._slots.pop(slot, None)
        if entry is not None:
            entry[0].ask_to_stop()
        return entry is not None

    def _deliver(self, event: _Event) -> None:
        ended = event.kind in ("done", "failed")
        if ended:
            self._runners.pop(event.ticket, None)
        entry = self._slots.get(event.ticket.slot)
        if self._closed or entry is None or entry[0] is not event.ticket:
            return
        callbacks = entry[1]
        if ended:
            del self._slots[event.ticket.slot]
            self.busy_changed.emit(event.ticket.slot)
        if event.kind == "progress":
            fraction, words = event.ticket.take_progress()
            if callbacks.progress is not None:
                callbacks.progress(fraction, words)
        elif event.kind == "report":
            if callbacks.report is not None:
                callbacks.report(event.load)
        elif event.ticket.stop():
            # Work that was asked to stop ends with an error or a half result: both mean "stopped".
            if callbacks.stopped is not None:
                callbacks.stopped()
        elif event.kind == "failed":
            assert isinstance(event.load, Exception)
            callbacks.failed(event.load)
        else:
            callbacks.done(event.load)


def is_plain(error: Exception) -> bool:
    """Tell whether the error's text is a sentence for the person at the screen."""
    return isinstance(error, OSError) or type(error).__module__.partition(".")[0] in ("app", "audio")


def sentence(error: Exception) -> str:
    """Give an error as a sentence for the person at the screen.

    >>> sentence(FileNotFoundError(2, "No such file or directory", "a.wav"))
    'a.wav: No such file or directory.'
    >>> sentence(ZeroDivisionError("division by zero"))
    'Something unexpected went wrong (ZeroDivisionError: division by zero). Your shoot is as it was before.'
    """
    if isinstance(error, OSError) and error.strerror:
        name = f"{error.filename}: " if error.filename else ""
        return f"{name}{error.strerror}."
    if is_plain(error):
        return str(error)
    return (
        f"Something unexpected went wrong ({type(error).__name__}: {error}). Your shoot is as it was before."
    )
