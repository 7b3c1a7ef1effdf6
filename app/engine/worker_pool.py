"""Recordings placed side by side in worker processes: all cores work, and no file can stop the rest."""

import logging
import multiprocessing
import os
import queue
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Self, TypeVar

import numpy as np
from numpy.typing import NDArray

from app.engine.cross_checks import Inquiry, inquire, unanswered
from app.engine.place_recording import PlacedAlone, hear
from app.engine.probing import Looked
from app.model.answers import Answer
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict
from app.model.reasons import Reason
from audio.errors import Stopped
from audio.pictures.silent_series import SilentSeries, series_of
from audio.placement.answer import Placement
from audio.placement.search import SongIndex

POLL_S = 0.1
"""How often the wish to stop and the progress are looked at."""

Group = Sequence[Looked]
Progress = Callable[[Path, float], None]
Job = TypeVar("Job")
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Tools:
    """What whoever works on a recording holds, here or in a worker process."""

    index: SongIndex
    stop: Callable[[], bool]
    progress: Progress
    song_digest: str = ""
    """Of the song's file; empty where pictures are not asked."""


class WorkerPool:
    """Listens to recordings side by side, for as long as it is entered.

    Each worker process has its own pool of one. So a worker that dies takes no other's work along, and it is
    known which recording it died of. (A pool of several may wait for ever at its end when one dies while
    another is being started.) What a worker died of is done once more: it may have been the system that ended
    it. Processes are begun, and the song asked for, when there is work.

    Parameters
    ----------
    song : callable
        Gives the song: float32, shape (n,), at ``rate`` samples a second. What it raises goes through.
    workers : int or None
        Processes; None for one a core. With one, the work is done right here.
    stop, progress : callable
        Called on this thread.
    song_digest : str
        Of the song's file, by which slate codes know it; without it pictures are not asked.
    """

    def __init__(
        self,
        song: Callable[[], NDArray[np.float32]],
        rate: int,
        *,
        workers: int | None,
        stop: Callable[[], bool],
        progress: Progress,
        song_digest: str = "",
    ) -> None:
        self._song, self._rate, self._stop, self._progress = cache(song), rate, stop, progress
        self._digest = song_digest
        self._workers = workers or os.cpu_count() or 1
        self._context = multiprocessing.get_context("spawn")
        self._news: Any = None
        self._halt: Any = None
        self._pools: list[ProcessPoolExecutor] = []
        self._idle: list[ProcessPoolExecutor] = []
        self._here: Tools | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._pools:
            self._halt.set()
            for pool in self._pools:
                pool.shutdown(wait=True, cancel_futures=True)
            _pass_on(self._news, lambda path, fraction: None)
            self._news.close()
            self._news.join_thread()

    def hear(self, groups: Sequence[Group], answered: Callable[[PlacedAlone], None]) -> None:
        """Place recordings; ``answered`` is called with each one's answer as it comes. Raises Stopped."""
        self._each(_hear, groups, lambda _, heard: answered(heard), _broken)

    def ask(self, inquiries: Sequence[Inquiry], counted: Callable[[int], None]) -> list[Placement]:
        """Have questions answered, in their order; ``counted`` is told how many are. Raises Stopped."""
        found: dict[int, Placement] = {}

        def answered(number: int, placement: Placement) -> None:
            found[number] = placement
            counted(len(found))

        self._each(_ask, inquiries, answered, unanswered)
        return [found[number] for number in range(len(inquiries))]

    def look(self, files: Sequence[Path], seen: Callable[[Path, SilentSeries], None]) -> None:
        """Look at files; ``seen`` gets each one's light and motion as it comes.

        Files whose pictures cannot be read are left out. Raises Stopped.
        """

        def answered(number: int, series: SilentSeries | None) -> None:
            if series is not None:
                seen(files[number], series)

        self._each(_look, files, answered, lambda _: None)

    def _each(
        self,
        work: Callable[[Job, Tools], Result],
        jobs: Sequence[Job],
        answered: Callable[[int, Result], None],
        broken: Callable[[Job], Result],
    ) -> None:
        """Do jobs; ``answered`` gets each one's number with its answer as it comes, on this thread.

        ``broken`` gives the answer where a worker died twice of a job.
        """
        # Even one recording is heard in a worker: a file that kills it takes nothing along, and hours of
        # sound do not come on top of what mapping the song took.
        if self._workers <= 1:
            for number, job in enumerate(jobs):
                answered(number, work(job, self._tools()))
            return
        left = deque(range(len(jobs)))
        again: set[int] = set()
        busy: dict[Future[Result], tuple[ProcessPoolExecutor, int]] = {}

        def begin() -> None:
            while left:
                pool = self._idle.pop() if self._idle else self._new_pool()
                try:
                    busy[pool.submit(_work, work, jobs[left[0]])] = pool, left[0]
                except BrokenProcessPool:  # it died between two jobs
                    continue
                left.popleft()
                return

        for _ in range(min(len(jobs), self._workers)):
            begin()
        while busy:
            done, _ = wait(busy, POLL_S, FIRST_COMPLETED)
            _pass_on(self._news, self._progress)
            for future in done:
                pool, number = busy.pop(future)
                try:
                    answer = future.result()
                except BrokenProcessPool:
                    if number in again:
                        answered(number, broken(jobs[number]))
                    else:
                        again.add(number)
                        left.append(number)
                else:
                    self._idle.append(pool)
                    answered(number, answer)
                begin()
            if self._stop():
                raise Stopped("Stopped.")

    def _tools(self) -> Tools:
        if self._here is None:
            index = SongIndex.build(self._song(), self._rate)
            self._here = Tools(index, self._stop, self._progress, self._digest)
        return self._here

    def _new_pool(self) -> ProcessPoolExecutor:
        song = self._song()
        if not self._pools:
            self._news, self._halt = self._context.Queue(), self._context.Event()
        given = (song, self._rate, self._digest, self._news, self._halt)
        pool = ProcessPoolExecutor(1, self._context, _begin, given)
        self._pools.append(pool)
        return pool


def _hear(files: Group, tools: Tools) -> PlacedAlone:
    return hear(files, tools.index, song_digest=tools.song_digest, stop=tools.stop, progress=tools.progress)


def _ask(inquiry: Inquiry, tools: Tools) -> Placement:
    return inquire(inquiry, tools.index, stop=tools.stop)


def _look(path: Path, tools: Tools) -> SilentSeries | None:
    try:
        return series_of(path, stop=tools.stop)
    except Stopped:
        raise
    except Exception as error:
        # Whatever it is: the clip stays as its sound left it.
        logging.getLogger(__name__).info("%s cannot be looked at: %s", path, error)
        return None


def _pass_on(news: Any, progress: Progress) -> None:
    try:
        while True:
            path, fraction = news.get_nowait()
            progress(path, fraction)
    except queue.Empty:
        return


def _broken(files: Group) -> PlacedAlone:
    media = [file.media or MediaRef(str(file.path), 0, "") for file in files]
    broke = Reason("reader broke")
    return PlacedAlone([Answer(one, verdict=Verdict.UNREADABLE, reason=broke) for one in media])


class _Worker:
    """What a worker process keeps between jobs."""

    tools: Tools


def _begin(song: NDArray[np.float32], rate: int, digest: str, news: Any, halt: Any) -> None:
    def progress(path: Path, fraction: float) -> None:
        news.put((path, fraction))

    _Worker.tools = Tools(SongIndex.build(song, rate), halt.is_set, progress, digest)
    # Progress not yet read must not keep a stopped worker alive.
    news.cancel_join_thread()


def _work(work: Callable[[Job, Tools], Result], job: Job) -> Result:
    return work(job, _Worker.tools)
