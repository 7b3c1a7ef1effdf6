"""The song read and mapped in a process of its own.

The libraries that map a song hold the interpreter for a tenth of a second and more while they are loaded and
at times while they compute; in the window's process that would be felt, whatever thread they are on.
"""

import multiprocessing
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from pathlib import Path
from typing import Any

from app.model.document.song import Song, SongMap
from audio.errors import AudioError, Stopped, Unreadable

POLL_S = 0.05
"""How often the wish to stop is looked at."""
BROKE = "Reading the song stopped the reader itself: the file is damaged. Try another copy."
Stop = Callable[[], bool]
Progress = Callable[[float], None]


def song_apart(path: Path, *, stop: Stop, progress: Progress, fresh: bool) -> Song:
    """Read a song as `app.engine.tasks.song_from_file` does, elsewhere. Raises AudioError."""
    answer = _elsewhere(_song, (path, fresh), stop, progress)
    assert isinstance(answer, Song)
    return answer


def map_apart(song: Song, from_s: float, *, stop: Stop, progress: Progress) -> SongMap:
    """Look at a song again as `app.engine.tasks.map_again` does, elsewhere. Raises AudioError."""
    answer = _elsewhere(_map, (song, from_s), stop, progress)
    assert isinstance(answer, SongMap)
    return answer


def _song(path: Path, fresh: bool, *, stop: Stop, progress: Progress) -> Song:
    from app.engine.tasks import song_from_file

    return song_from_file(path, stop=stop, progress=progress, fresh=fresh)


def _map(song: Song, from_s: float, *, stop: Stop, progress: Progress) -> SongMap:
    from app.engine.tasks import map_again

    return map_again(song, from_s, stop=stop, progress=progress)


def _elsewhere(
    work: Callable[..., object], given: tuple[object, ...], stop: Stop, progress: Progress
) -> object:
    """Have work done in another process, and tell how it goes."""
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe(duplex=False)
    wish = context.Event()
    process = context.Process(target=_do, args=(work, given, theirs, wish), daemon=True)
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
            elif isinstance(answer, Exception):
                raise answer
            else:
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


def _do(work: Callable[..., Any], given: tuple[object, ...], theirs: Connection, wish: Event) -> None:
    """What the other process does."""
    try:
        answer = work(*given, stop=wish.is_set, progress=theirs.send)
    except (AudioError, OSError) as error:
        answer = error
    theirs.send(answer)
    theirs.close()
