"""Recordings placed side by side in worker processes: all cores work, and no file can stop the rest."""

import multiprocessing
import os
import queue
from collections import deque
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from app.hearing import hear
from app.looking import Looked
from app.model.shoot import Clip, MediaRef, Verdict
from audio.errors import Stopped
from audio.search import SongIndex

POLL_S = 0.1
"""How often the wish to stop and the progress are looked at."""
BROKE = "Reading this file stopped the reader itself: the file is damaged. Copy it again from the card."

Group = Sequence[Looked]
Progress = Callable[[Path, float], None]


def hear_all(
    song: NDArray[np.float32],
    rate: int,
    groups: Sequence[Group],
    *,
    workers: int | None,
    stop: Callable[[], bool],
    progress: Progress,
    answered: Callable[[list[Clip]], None],
) -> None:
    """Place recordings on a song; ``answered`` is called with each one's clips as they come, on this thread.

    Parameters
    ----------
    song : float32, shape (n,)
        At ``rate`` samples a second.
    workers : int or None
        Processes; None for one a core. With one, or one recording only, the work is done right here.

    Raises
    ------
    Stopped
    """
    count = min(len(groups), workers or os.cpu_count() or 1)
    if count <= 1:
        index = SongIndex.build(song, rate)
        for group in groups:
            answered(hear(group, index, stop=stop, progress=progress))
        return
    _in_processes(song, rate, groups, count, stop, progress, answered)


def _in_processes(
    song: NDArray[np.float32],
    rate: int,
    groups: Sequence[Group],
    count: int,
    stop: Callable[[], bool],
    progress: Progress,
    answered: Callable[[list[Clip]], None],
) -> None:
    """Hear recordings in worker processes, each with its own pool of one.

    So a worker that dies takes no other's work along, and it is known which recording it died of. (A pool of
    several may wait for ever at its end when one dies while another is being started.) What a worker died of
    is heard once more: it may have been the system that ended it.
    """
    context = multiprocessing.get_context("spawn")
    news: Any = context.Queue()
    halt = context.Event()
    left = deque(groups)
    again: list[Group] = []
    busy: dict[Future[list[Clip]], tuple[ProcessPoolExecutor, Group]] = {}
    pools: list[ProcessPoolExecutor] = []

    def begin(pool: ProcessPoolExecutor | None) -> None:
        if not left:
            return
        if pool is None:
            pool = ProcessPoolExecutor(1, context, _begin, (song, rate, news, halt))
            pools.append(pool)
        group = left.popleft()
        try:
            busy[pool.submit(_work, group)] = pool, group
        except BrokenProcessPool:  # it died between two recordings
            left.appendleft(group)
            begin(None)

    try:
        for _ in range(count):
            begin(None)
        while busy:
            done, _ = wait(busy, POLL_S, FIRST_COMPLETED)
            _pass_on(news, progress)
            for future in done:
                pool, group = busy.pop(future)
                try:
                    answered(future.result())
                    begin(pool)
                except BrokenProcessPool:
                    if group in again:
                        answered([_broken(file) for file in group])
                    else:
                        again.append(group)
                        left.append(group)
                    begin(None)
            if stop():
                raise Stopped("Stopped.")
    finally:
        halt.set()
        for pool in pools:
            pool.shutdown(wait=True, cancel_futures=True)
        _pass_on(news, lambda path, fraction: None)
        news.close()
        news.join_thread()


def _pass_on(news: Any, progress: Progress) -> None:
    try:
        while True:
            path, fraction = news.get_nowait()
            progress(path, fraction)
    except queue.Empty:
        return


def _broken(file: Looked) -> Clip:
    facts = Clip("", file.media or MediaRef(str(file.path), 0, ""), "")
    return replace(facts, verdict=Verdict.UNREADABLE, reason=BROKE)


class _Worker:
    """What a worker process keeps between recordings."""

    index: SongIndex
    news: Any
    halt: Any


def _begin(song: NDArray[np.float32], rate: int, news: Any, halt: Any) -> None:
    _Worker.index = SongIndex.build(song, rate)
    _Worker.news, _Worker.halt = news, halt
    # Progress not yet read must not keep a stopped worker alive.
    news.cancel_join_thread()


def _work(group: Group) -> list[Clip]:
    return hear(
        group,
        _Worker.index,
        stop=_Worker.halt.is_set,
        progress=lambda path, fraction: _Worker.news.put((path, fraction)),
    )
