"""Work on files done side by side in processes: all cores work, and no file can stop the rest."""

import multiprocessing
import os
import queue
import time
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from functools import cache
from multiprocessing.process import BaseProcess
from pathlib import Path
from threading import Thread
from typing import Any, Generic, Self, TypeVar

from app.engine.worker_process import behave
from audio.errors import Stopped

POLL_S = 0.1
"""How often the wish to stop and the progress are looked at."""
DEAF_S = 5.0
"""A worker that does not end so long after it was asked to is ended."""
STUCK_S = 180.0
"""A worker that gives no sign of life for so long is ended. It gives one whenever it asks whether to stop:
every few seconds of its work."""

Stop = Callable[[], bool]
Progress = Callable[[Path, float], None]
Tools = TypeVar("Tools")
Job = TypeVar("Job")
Result = TypeVar("Result")


class Workers(Generic[Tools]):
    """Worker processes, for as long as it is entered.

    Each has its own pool of one. So a worker that dies takes no other's work along, and it is known which job
    it died of. (A pool of several may wait for ever at its end when one dies while another is being started.)
    What a worker died of is done once more: it may have been the system that ended it. A worker without a
    sign of life is ended, and what it worked on is not done again. Processes are begun, and ``tools`` asked
    for, when there is work.

    Parameters
    ----------
    tools : callable
        Gives a function that can be pickled: of ``stop`` and ``progress`` it makes what whoever works holds,
        here or in a worker process. What it raises goes through.
    workers : int
        Processes. With 0 the work is done right here, where a broken file can end all.
    niceness : int
        By so much the processes give way to others.
    stop, progress : callable
        Called on this thread.
    """

    def __init__(
        self,
        tools: Callable[[], Callable[[Stop, Progress], Tools]],
        *,
        workers: int,
        niceness: int = 0,
        stop: Stop,
        progress: Progress,
    ) -> None:
        self._tools, self._stop, self._progress = cache(tools), stop, progress
        self._workers, self._niceness = workers, niceness
        self._context = multiprocessing.get_context("spawn")
        self._news: Any = None
        self._halt: Any = None
        self._pools: dict[ProcessPoolExecutor, Any] = {}
        """Each worker with the moment of its last sign of life (`time.monotonic`, s)."""
        self._idle: list[ProcessPoolExecutor] = []
        self._here: Tools | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._pools:
            self._halt.set()
            # An executor forgets its process when it is shut down.
            processes = [process for pool in self._pools for process in _processes(pool)]
            # Each in a thread: what does not wait could not be waited for later, and a process that was ended
            # would be left for a moment.
            ends = [Thread(target=pool.shutdown, kwargs={"cancel_futures": True}) for pool in self._pools]
            for end in ends:
                end.start()
            until = time.monotonic() + DEAF_S
            for process in processes:
                process.join(max(0.0, until - time.monotonic()))
                if process.is_alive():
                    process.kill()
            for end in ends:
                end.join()
            _pass_on(self._news, lambda path, fraction: None)
            self._news.close()
            self._news.join_thread()

    def each(
        self,
        work: Callable[[Job, Tools], Result],
        jobs: Sequence[Job],
        answered: Callable[[int, Result], None],
        broken: Callable[[Job], Result],
        stuck: Callable[[Job], Result] | None = None,
    ) -> None:
        """Do jobs; ``answered`` gets each one's number with its answer as it comes, on this thread.

        ``broken`` gives the answer where a worker died twice of a job, ``stuck`` (where it is not the same)
        where one had to be ended. Raises Stopped.
        """
        # Even one file is read in a worker: if it kills it, it takes nothing along, and what it takes does
        # not come on top of what this process holds.
        if self._workers == 0:
            for number, job in enumerate(jobs):
                if self._stop():
                    raise Stopped("Stopped.")
                answered(number, work(job, self._own_tools()))
            return
        left = deque(range(len(jobs)))
        again: set[int] = set()
        ended: set[int] = set()
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
                    if number in ended:
                        answered(number, (stuck or broken)(jobs[number]))
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
                    for process in _processes(pool):
                        process.kill()

    def _own_tools(self) -> Tools:
        if self._here is None:
            self._here = self._tools()(self._stop, self._progress)
        return self._here

    def _new_pool(self) -> ProcessPoolExecutor:
        make = self._tools()
        if not self._pools:
            self._news, self._halt = self._context.Queue(), self._context.Event()
        alive = self._context.Value("d", time.monotonic(), lock=False)
        begun = make, self._niceness, self._news, self._halt, alive
        pool = ProcessPoolExecutor(1, self._context, _begin, begun)
        self._pools[pool] = alive
        return pool


def _processes(pool: ProcessPoolExecutor) -> list[BaseProcess]:
    """The worker of a pool, where it has begun; its executor has no way of its own to tell or to end it."""
    return list((getattr(pool, "_processes", None) or {}).values())


def _pass_on(news: Any, progress: Progress) -> None:
    try:
        while True:
            path, fraction = news.get_nowait()
            progress(path, fraction)
    except queue.Empty:
        return


class _Worker:
    """What a worker process keeps between jobs."""

    tools: Any
    stop: Stop


def _begin(make: Callable[[Stop, Progress], Any], niceness: int, news: Any, halt: Any, alive: Any) -> None:
    behave()

    def stop() -> bool:
        alive.value = time.monotonic()
        return bool(halt.is_set())

    def progress(path: Path, fraction: float) -> None:
        news.put((path, fraction))

    if niceness and hasattr(os, "nice"):
        os.nice(niceness)
    _Worker.stop = stop
    _Worker.tools = make(stop, progress)
    # Progress not yet read must not keep a stopped worker alive.
    news.cancel_join_thread()


def _work(work: Callable[[Job, Any], Result], job: Job) -> Result:
    _Worker.stop()  # a sign of life: the time before was spent waiting
    return work(job, _Worker.tools)
