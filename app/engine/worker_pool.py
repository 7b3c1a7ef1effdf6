"""Recordings placed side by side in worker processes."""

import logging
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Self

import numpy as np
from numpy.typing import NDArray

from app.engine.cross_checks import Inquiry, inquire, unanswered
from app.engine.place_recording import PlacedAlone, hear
from app.engine.probing import Looked
from app.engine.workers import Progress, Stop, Workers
from app.model.answers import Answer
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict
from app.model.reasons import Reason
from audio.errors import Stopped
from audio.pictures.silent_series import SilentSeries, series_of
from audio.placement.answer import Placement
from audio.placement.search import SongIndex

Group = Sequence[Looked]


@dataclass(frozen=True, slots=True)
class Tools:
    """What whoever works on a recording holds, here or in a worker process."""

    index: SongIndex
    stop: Stop
    progress: Progress
    song_digest: str = ""
    """Of the song's file; empty where pictures are not asked."""


class WorkerPool:
    """Listens to recordings side by side, for as long as it is entered (see `app.engine.workers`).

    Each process has its own index of the song.

    Parameters
    ----------
    song : callable
        Gives the song: float32, shape (n,), at ``rate`` samples a second. What it raises goes through.
    workers : int or None
        Processes; None for one a core. With 0 the work is done right here.
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
        stop: Stop,
        progress: Progress,
        song_digest: str = "",
    ) -> None:
        self._workers: Workers[Tools] = Workers(
            lambda: partial(_tools, song(), rate, song_digest),
            workers=(os.cpu_count() or 1) if workers is None else workers,
            stop=stop,
            progress=progress,
        )

    def __enter__(self) -> Self:
        self._workers.__enter__()
        return self

    def __exit__(self, *told: object) -> None:
        self._workers.__exit__(*told)

    def hear(self, groups: Sequence[Group], answered: Callable[[PlacedAlone], None]) -> None:
        """Place recordings; ``answered`` is called with each one's answer as it comes. Raises Stopped."""
        self._workers.each(_hear, groups, lambda _, heard: answered(heard), _broken, _stuck)

    def ask(self, inquiries: Sequence[Inquiry], counted: Callable[[int], None]) -> list[Placement]:
        """Have questions answered, in their order; ``counted`` is told how many are. Raises Stopped."""
        found: dict[int, Placement] = {}

        def answered(number: int, placement: Placement) -> None:
            found[number] = placement
            counted(len(found))

        self._workers.each(_ask, inquiries, answered, unanswered)
        return [found[number] for number in range(len(inquiries))]

    def look(self, files: Sequence[Path], seen: Callable[[Path, SilentSeries], None]) -> None:
        """Look at files; ``seen`` gets each one's light and motion as it comes.

        Files whose pictures cannot be read are left out. Raises Stopped.
        """

        def answered(number: int, series: SilentSeries | None) -> None:
            if series is not None:
                seen(files[number], series)

        self._workers.each(_look, files, answered, lambda _: None)


def _tools(song: NDArray[np.float32], rate: int, digest: str, stop: Stop, progress: Progress) -> Tools:
    return Tools(SongIndex.build(song, rate), stop, progress, digest)


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


def _broken(files: Group) -> PlacedAlone:
    return _unreadable(files, Reason("reader broke"))


def _stuck(files: Group) -> PlacedAlone:
    return _unreadable(files, Reason("reader stuck"))


def _unreadable(files: Group, reason: Reason) -> PlacedAlone:
    media = [file.media or MediaRef(str(file.path), 0, "") for file in files]
    return PlacedAlone([Answer(one, verdict=Verdict.UNREADABLE, reason=reason) for one in media])
