"""Recordings placed side by side in worker processes: all cores work, and no file can stop the rest."""

import multiprocessing
import os
import queue
import time
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from functools import cache
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any, Self, TypeVar

import numpy as np
from numpy.typing import NDArray

from app.engine.cross_checks import Inquiry, inquire, unanswered
from app.engine.place_recording import PlacedAlone, hear
from app.engine.probing import Looked, look
from app.engine.worker_process import behave
from app.model.answers import Answer
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict
from app.model.reasons import Reason, sentence
from audio.errors import Stopped
from audio.placement.answer import Placement
from audio.placement.search import SongIndex

POLL_S = 0.1
"""How often the wish to stop and the progress are looked at."""
DEAF_S = 5.0
"""A worker that does not end so long after it was asked to is ended."""
STUCK_S = 180.0
"""A worker that gives no sign of life for so long is ended. It gives one whenever it asks whether to stop:
every few seconds of its work."""

Group = Sequence[Looked]
Progress = Callable[[Path, float], None]
Job = TypeVar("Job")
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Tools:
    """What whoever works on a recording holds, here or in a worker process."""

    index: SongIndex | None
    stop: Callable[[], bool]
    progress: Progress


class WorkerPool:
    """Listens to recordings side by side, for as long as it is entered.

    Each worker process has its own pool of one. So a worker that dies takes no other's work along, and it is
    known which recording it died of. (A pool of several may wait for ever at its end when one dies while
    another is being started.) What a worker died of is done once more: it may have been the system that ended
    it. A worker without a sign of life is ended, and what it worked on is not done again. Processes are begun
    when there is work, and the song is asked for when the first recording is to be heard.

    Parameters
    ----------
    song : callable
        Gives the song: float32, shape (n,), at ``rate`` samples a second. What it raises goes through.
    workers : int or None
        Processes; None for one a core. With 0 the work is done right here, where a broken file can end all.
    stop, progress : callable
        Called on this thread.
    """

    def __init__(
        self,
        song: Callable[[], NDArray[np.float32]],
        rate: int,
        *,
        workers: int | None,
        stop: Callable[[], bool],
        progress: Progress,
    ) -> None:
        self._song, self._rate, self._stop, self._progress = cache(song), rate, stop, progress
        self._workers = (os.cpu_count() or 1) if workers is None else workers
        self._context = multiprocessing.get_context("spawn")
        self._news: Any = None
        self._halt: Any = None
        self._pools: dict[ProcessPoolExecutor, Any] = {}
        """Each worker with the moment of its last sign of life (`time.monotonic`, s)."""
        self._idle: list[ProcessPoolExecutor] = []
        self._know_song: set[ProcessPoolExecutor] = set()
        self._here = Tools(None, stop, progress)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """End the processes; those that do not hear are ended after a while."""
        if self._pools:
            self._halt.set()
            # An executor forgets its process when it is shut down.
            processes = [process for pool in self._pools for process in _processes(pool)]
            for pool in self._pools:
                pool.shutdown(wait=False, cancel_futures=True)
            until = time.monotonic() + DEAF_S
            for process in processes:
                process.join(max(0.0, until - time.monotonic()))
                if process.is_alive():
                    process.kill()
            for pool in self._pools:
                pool.shutdown(wait=True)
            _pass_on(self._news, lambda path, fraction: None)
            self._news.close()
            self._news.join_thread()

    def look(self, paths: Sequence[Path], answered: Callable[[Looked], None]) -> None:
        """Look at files; ``answered`` gets what each one is. Raises Stopped."""
        self._each(_look, paths, lambda _, looked: answered(looked), _broken_look, _broken_look)

    def hear(self, groups: Sequence[Group], answered: Callable[[PlacedAlone], None]) -> None:
        """Place recordings; ``answered`` is called with each one's answer as it comes. Raises Stopped."""
        self._each(_hear, groups, lambda _, heard: answered(heard), _broken, _stuck, with_song=True)

    def ask(self, inquiries: Sequence[Inquiry], counted: Callable[[int], None]) -> list[Placement]:
        """Have questions answered, in their order; ``counted`` is told how many are. Raises Stopped."""
        found: dict[int, Placement] = {}

        def answered(number: int, placement: Placement) -> None:
            found[number] = placement
            counted(len(found))

        self._each(_ask, inquiries, answered, unanswered, unanswered, with_song=True)
        return [found[number] for number in range(len(inquiries))]

    def _each(
        self,
        work: Callable[[Job, Tools], Result],
        jobs: Sequence[Job],
        answered: Callable[[int, Result], None],
        broken: Callable[[Job], Result],
        stuck: Callable[[Job], Result],
        *,
        with_song: bool = False,
    ) -> None:
        """Do jobs; ``answered`` gets each one's number with its answer as it comes, on this thread.

        ``broken`` gives the answer where a worker died twice of a job, ``stuck`` where one had to be ended.
        """
        # Even one recording is heard in a worker: a file that kills it takes nothing along, and hours of
        # sound do not come on top of what mapping the song took.
        if self._workers == 0:
            if with_song and jobs:
                self._here = replace(self._here, index=SongIndex.build(self._song(), self._rate))
            for number, job in enumerate(jobs):
                if self._stop():
                    raise Stopped("Stopped.")
                answered(number, work(job, self._here))
            return
        left = deque(range(len(jobs)))
        again: set[int] = set()
        ended: set[int] = set()
        busy: dict[Future[Result], tuple[ProcessPoolExecutor, int]] = {}

        def begin() -> None:
            while left:
                pool = self._idle.pop() if self._idle else self._new_pool()
                try:
                    if with_song and pool not in self._know_song:
                        pool.submit(_know_song, self._song(), self._rate)
                        self._know_song.add(pool)
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
                    if number in ended:
                        answered(number, stuck(jobs[number]))
                    elif number in again:
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
            for pool, number in busy.values():
                if number not in ended and time.monotonic() - self._pools[pool].value > STUCK_S:
                    ended.add(number)
                    _kill(pool)

    def _new_pool(self) -> ProcessPoolExecutor:
        if not self._pools:
            self._news, self._halt = self._context.Queue(), self._context.Event()
        alive = self._context.Value("d", time.monotonic(), lock=False)
        pool = ProcessPoolExecutor(1, self._context, _begin, (self._news, self._halt, alive))
        self._pools[pool] = alive
        return pool


def _look(path: Path, tools: Tools) -> Looked:
    return look(path)


def _hear(files: Group, tools: Tools) -> PlacedAlone:
    assert tools.index is not None
    return hear(files, tools.index, stop=tools.stop, progress=tools.progress)


def _ask(inquiry: Inquiry, tools: Tools) -> Placement:
    assert tools.index is not None
    return inquire(inquiry, tools.index, stop=tools.stop)


def _processes(pool: ProcessPoolExecutor) -> list[BaseProcess]:
    """The worker of a pool, where it has begun; its executor has no way of its own to tell or to end it."""
    return list((getattr(pool, "_processes", None) or {}).values())


def _kill(pool: ProcessPoolExecutor) -> None:
    for process in _processes(pool):
        process.kill()


def _pass_on(news: Any, progress: Progress) -> None:
    try:
        while True:
            path, fraction = news.get_nowait()
            progress(path, fraction)
    except queue.Empty:
        return


def _broken_look(path: Path) -> Looked:
    return Looked(path, MediaRef(str(path), 0, ""), None, sentence(Reason("reader broke")))


def _broken(files: Group) -> PlacedAlone:
    return _unreadable(files, Reason("reader broke"))


def _stuck(files: Group) -> PlacedAlone:
    return _unreadable(files, Reason("reader stuck"))


def _unreadable(files: Group, reason: Reason) -> PlacedAlone:
    media = [file.media or MediaRef(str(file.path), 0, "") for file in files]
    return PlacedAlone([Answer(one, verdict=Verdict.UNREADABLE, reason=reason) for one in media])


class _Worker:
    """What a worker process keeps between jobs."""

    tools: Tools


def _begin(news: Any, halt: Any, alive: Any) -> None:
    behave()

    def progress(path: Path, fraction: float) -> None:
        news.put((path, fraction))

    def stop() -> bool:
        alive.value = time.monotonic()
        return bool(halt.is_set())

    _Worker.tools = Tools(None, stop, progress)
    # Progress not yet read must not keep a stopped worker alive.
    news.cancel_join_thread()


def _know_song(song: NDArray[np.float32], rate: int) -> None:
    _Worker.tools = replace(_Worker.tools, index=SongIndex.build(song, rate))


def _work(work: Callable[[Job, Tools], Result], job: Job) -> Result:
    _Worker.tools.stop()  # a sign of life: the time before was spent waiting
    return work(job, _Worker.tools)
