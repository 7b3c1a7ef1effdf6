"""Work done in a process of its own, for a window that must not be held up.

The libraries that map a song hold the interpreter for a tenth of a second and more while they are loaded and
at times while they compute; in the window's process that would be felt, whatever thread they are on.
"""

import multiprocessing
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from typing import Any, Protocol, TypeVar

from audio.errors import AudioError, Stopped, Unreadable

POLL_S = 0.05
"""How often the wish to stop is looked at."""
BROKE = "Reading the song crashed the reader: the file is damaged. Try another copy."

Answer = TypeVar("Answer", covariant=True)


class Work(Protocol[Answer]):
    """What can be done elsewhere: it can be pickled, asks ``stop()`` and tells ``progress()`` (0 to 1)."""

    def __call__(self, *, stop: Callable[[], bool], progress: Callable[[float], None]) -> Answer: ...


def run_in_subprocess(
    work: Work[Answer], *, stop: Callable[[], bool], progress: Callable[[float], None]
) -> Answer:
    """Have work done in another process, and tell how it goes.

    Raises what the work raises as AudioError or OSError; Unreadable where the process died of it.
    """
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe(duplex=False)
    wish = context.Event()
    process = context.Process(target=_do, args=(work, theirs, wish), daemon=True)
    process.start()
    theirs.close()
    try:
        while True:
            if stop():
                wish.set()
            if not ours.poll(POLL_S):
                continue
            kind, value = ours.recv()
            if kind == "progress":
                progress(value)
            elif kind == "error":
                raise value
            else:
                answer: Answer = value
                return answer
    except EOFError:
        if stop():
            raise Stopped("The song was not read to its end.") from None
        raise Unreadable(BROKE) from None
    finally:
        wish.set()
        process.join()
        process.close()
        ours.close()


def _do(work: Work[Any], theirs: Connection, wish: Event) -> None:
    """What the other process does."""

    def progress(fraction: float) -> None:
        theirs.send(("progress", fraction))

    try:
        message = "answer", work(stop=wish.is_set, progress=progress)
    except (AudioError, OSError) as error:
        message = "error", error
    theirs.send(message)
    theirs.close()
