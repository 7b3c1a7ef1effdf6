"""The song read and mapped in a process of its own.

The libraries that map a song hold the interpreter for a tenth of a second and more while they are loaded and
at times while they compute; in the window's process that would be felt, whatever thread they are on.
"""

import multiprocessing
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from pathlib import Path

from app.model.shoot import Song
from audio.errors import AudioError, Stopped, Unreadable

POLL_S = 0.05
"""How often the wish to stop is looked at."""
BROKE = "Reading the song stopped the reader itself: the file is damaged. Try another copy."


def song_apart(
    path: Path, *, stop: Callable[[], bool], progress: Callable[[float], None], fresh: bool
) -> Song:
    """Read a song as `app.tasks.song_from_file` does, elsewhere. Raises AudioError."""
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe(duplex=False)
    wish = context.Event()
    process = context.Process(target=_read, args=(path, theirs, wish, fresh), daemon=True)
    process.start()
    theirs.close()
    try:
        while True:
            if stop():
                wish.set()
            if not ours.poll(POLL_S):
                continue
            answer = ours.recv()
            if isinstance(answer, float):
                progress(answer)
            elif isinstance(answer, Song):
                return answer
            else:
                raise answer
    except EOFError:
        if stop():
            raise Stopped("The song was not read to its end.") from None
        raise Unreadable(BROKE) from None
    finally:
        wish.set()
        process.join()
        process.close()
        ours.close()


def _read(path: Path, theirs: Connection, wish: Event, fresh: bool) -> None:
    """What the other process does."""
    from app.tasks import song_from_file

    try:
        answer: Song | Exception = song_from_file(path, stop=wish.is_set, progress=theirs.send, fresh=fresh)
    except (AudioError, OSError) as error:
        answer = error
    theirs.send(answer)
    theirs.close()
