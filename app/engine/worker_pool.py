"""Recordings placed side by side in worker processes."""

import logging
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Self

import numpy as np
from numpy.typing import NDArray

from app.engine.cross_checks import Inquiry, inquire, unanswered
from app.engine.place_recording import Ground, HeardRecording, PlacedAlone, hear
from app.engine.probing import Looked
from app.engine.references import SamplesOf, Shelf
from app.engine.workers import Progress, Stop, Workers
from app.model.answers import Answer
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict
from app.model.reasons import Reason
from audio.errors import Stopped
from audio.pictures.silent_series import SilentSeries, series_of
from audio.placement.answer import Placement
from audio.references.reference import Reference

TROUBLES = ("reader broke", "reader stuck")


@dataclass(frozen=True, slots=True)
class Tools:
    """What whoever works on a recording holds, here or in a worker process."""

    ground: Ground
    stop: Stop
    progress: Progress


@dataclass(frozen=True, slots=True)
class ToHear:
    """A recording to be heard."""

    files: Sequence[Looked]
    known: Mapping[str, PlacedAlone] = field(default_factory=dict)
    """What is known of it from before, by reference."""


class WorkerPool:
    """Listens to recordings side by side, for as long as it is entered (see `app.engine.workers`).

    Each process has its own indexes of the references.

    Parameters
    ----------
    references : sequence of Reference
    samples : callable
        Gives the sound of each reference by its key: float32, shape (n,), at ``rate`` samples a second. What
        it raises goes through.
    workers : int or None
        Processes; None for one a core. With 0 the work is done right here.
    stop, progress : callable
        Called on this thread.
    digests : mapping
        Of the songs' files, by which slate codes know them; without them pictures are not asked.
    """

    def __init__(
        self,
        references: Sequence[Reference],
        samples: Callable[[], Mapping[str, NDArray[np.float32]]],
        rate: int,
        *,
        workers: int | None,
        stop: Stop,
        progress: Progress,
        digests: Mapping[str, str] | None = None,
    ) -> None:
        self._references = tuple(references)
        self._workers: Workers[Tools] = Workers(
            lambda: partial(_tools, tuple(references), samples(), rate, dict(digests or {})),
            workers=(os.cpu_count() or 1) if workers is None else workers,
            stop=stop,
            progress=progress,
        )

    def __enter__(self) -> Self:
        self._workers.__enter__()
        return self

    def __exit__(self, *told: object) -> None:
        self._workers.__exit__(*told)

    def hear(self, recordings: Sequence[ToHear], answered: Callable[[HeardRecording], None]) -> None:
        """Place recordings; ``answered`` is called with each one's answer as it comes. Raises Stopped."""
        broken, stuck = (partial(_unreadable, self._references, Reason(code)) for code in TROUBLES)
        self._workers.each(_hear, recordings, lambda _, heard: answered(heard), broken, stuck)

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


def _tools(
    references: tuple[Reference, ...],
    samples: SamplesOf,
    rate: int,
    digests: Mapping[str, str],
    stop: Stop,
    progress: Progress,
) -> Tools:
    return Tools(Ground(references, Shelf(samples, rate), digests), stop, progress)


def _hear(asked: ToHear, tools: Tools) -> HeardRecording:
    return hear(asked.files, tools.ground, known=asked.known, stop=tools.stop, progress=tools.progress)


def _ask(inquiry: Inquiry, tools: Tools) -> Placement:
    return inquire(inquiry, tools.ground.shelf.index(inquiry.song), stop=tools.stop)


def _look(path: Path, tools: Tools) -> SilentSeries | None:
    try:
        return series_of(path, stop=tools.stop)
    except Stopped:
        raise
    except Exception as error:
        # Whatever it is: the clip stays as its sound left it.
        logging.getLogger(__name__).info("%s cannot be looked at: %s", path, error)
        return None


def _unreadable(references: Sequence[Reference], reason: Reason, asked: ToHear) -> HeardRecording:
    media = [file.media or MediaRef(str(file.path), 0, "") for file in asked.files]
    told = PlacedAlone([Answer(one, verdict=Verdict.UNREADABLE, reason=reason) for one in media])
    return HeardRecording(
        [file.path for file in asked.files],
        {one.key: told for one in references if one.is_song},
        {one.key: told for one in references},
    )
