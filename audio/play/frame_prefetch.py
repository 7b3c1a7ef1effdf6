"""Pictures of several clips at once, decoded a little ahead by threads of their own.

Whoever watches says, for each clip, which moment is on screen now. What is decoded is what comes next; a clip
that cannot keep up leaves pictures out and stays in step. Memory is bounded: a few pictures of each clip that
is watched.
"""

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from audio.errors import AudioError
from audio.play.frame_source import FrameSource, ShownFrame

AHEAD_S = 0.25
"""So far ahead of the moment on screen pictures are decoded."""
MOST_PICTURES = 10
"""Of one clip; a moment of 50 pictures a second is 0.2 s."""
_INTO_S = 1e-6
"""A moment so far after a picture's start lies in it, however numbers are rounded."""
THREADS = 2
THREAD_NAME = "watching"


@dataclass(frozen=True, slots=True)
class FrameRequest:
    """A take that is watched; of one clip there may be several."""

    key: str
    """Tells it from others."""
    path: Path
    """Of the clip itself or of its proxy."""
    clip_s: float
    """The moment on screen now."""
    height: int
    """Lines wanted."""
    running: bool
    """Whether later moments will be wanted soon."""


@dataclass(slots=True)
class _Watched:
    """What is known of one take."""

    request: FrameRequest
    film: FrameSource | None = None
    busy: bool = False
    left: bool = False
    """Nobody watches it any more."""
    trouble: str = ""
    shown: list[ShownFrame] = field(default_factory=list)
    lines: int = 0

    def close(self) -> None:
        """Let go of the file."""
        if self.film is not None:
            self.film.close()

    def wanted_s(self) -> float | None:
        """The next moment to decode; None where all is there."""
        now = self.request.clip_s
        if self.trouble:
            return None
        if self.lines != self.request.height:
            return now
        if self.at(now) is None:
            return now
        if not self.request.running or len(self.shown) >= MOST_PICTURES:
            return None
        last = max(one.end_s for one in self.shown)
        return last + _INTO_S if last < now + AHEAD_S else None

    def at(self, clip_s: float) -> ShownFrame | None:
        """The picture that a moment shows."""
        found = [one for one in self.shown if one.start_s <= clip_s < one.end_s + _INTO_S]
        return max(found, key=lambda one: one.start_s, default=None)

    def take(self, shown: ShownFrame, at_s: float, lines: int) -> None:
        """Take in what was decoded for a moment; whatever the file says, it is shown at that moment."""
        if self.lines != lines:
            self.lines, self.shown = lines, []
        if all(one.start_s != shown.start_s for one in self.shown):
            start_s, end_s = min(shown.start_s, at_s), max(shown.end_s, at_s + _INTO_S)
            self.shown.append(replace(shown, start_s=start_s, end_s=end_s))


class FramePrefetcher:
    """Decodes what is wished for. All methods return at once."""

    def __init__(self, *, opened: Callable[[Path], FrameSource] = FrameSource) -> None:
        self._opened = opened
        self._lock = threading.Condition()
        self._watched: dict[str, _Watched] = {}
        self._threads: list[threading.Thread] = []
        self._closed = False

    def want(self, requests: Sequence[FrameRequest]) -> None:
        """What is watched now, instead of what was before."""
        with self._lock:
            if self._closed:
                return
            for request in requests:
                watched = self._watched.get(request.key)
                if watched is None or watched.request.path != request.path:
                    if watched is not None:
                        self._leave(request.key)
                    self._watched[request.key] = _Watched(request)
                else:
                    watched.request = request
            wanted = {request.key for request in requests}
            for key in [one for one in self._watched if one not in wanted]:
                self._leave(key)
            for watched in self._watched.values():
                now = watched.request.clip_s
                watched.shown = [one for one in watched.shown if one.end_s > now and one.start_s < now + 1.0]
            if requests and not self._threads:
                self._threads = [
                    threading.Thread(target=self._work, name=THREAD_NAME, daemon=True) for _ in range(THREADS)
                ]
                for thread in self._threads:
                    thread.start()
            self._lock.notify_all()

    def picture(self, key: str, clip_s: float) -> ShownFrame | None:
        """The picture that a moment shows, if it is there."""
        with self._lock:
            return self._watched[key].at(clip_s) if key in self._watched else None

    def trouble(self, key: str) -> str:
        """Why nothing of a take can be seen, or nothing."""
        with self._lock:
            return self._watched[key].trouble if key in self._watched else ""

    def close(self, wait_s: float = 2.0) -> None:
        """End all threads, let go of all files."""
        with self._lock:
            self._closed = True
            self._lock.notify_all()
        for thread in self._threads:
            thread.join(wait_s)

    def _work(self) -> None:
        while True:
            with self._lock:
                watched = self._next()
                while watched is None and not self._closed:
                    self._lock.wait()
                    watched = self._next()
                if self._closed or watched is None:
                    for key in list(self._watched):
                        self._leave(key)
                    return
                watched.busy = True
                at_s, lines, path = watched.wanted_s(), watched.request.height, watched.request.path
            try:
                if watched.film is None:
                    watched.film = self._opened(path)
                shown = None if at_s is None else watched.film.at(at_s, lines)
                trouble = ""
            except (AudioError, OSError) as error:
                shown, trouble = None, str(error)
            with self._lock:
                watched.busy = False
                watched.trouble = trouble
                if shown is not None and at_s is not None:
                    watched.take(shown, at_s, lines)
                if watched.left:
                    watched.close()
                self._lock.notify_all()

    def _next(self) -> _Watched | None:
        """The take with the least in hand."""
        waiting = []
        for key, watched in self._watched.items():
            at_s = None if watched.busy else watched.wanted_s()
            if at_s is not None:
                waiting.append((at_s - watched.request.clip_s, key))
        return self._watched[min(waiting)[1]] if waiting else None

    def _leave(self, key: str) -> None:
        """Let a take go; its file is closed by whoever is decoding from it just now."""
        watched = self._watched.pop(key)
        watched.left = True
        if not watched.busy:
            watched.close()
