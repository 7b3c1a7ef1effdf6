"""Frames of several clips at once, decoded a little ahead by background threads.

The caller says, for each clip, which clip time is on screen now. The frames that come next are decoded; a
clip that cannot keep up skips frames and stays in sync. Memory is bounded: a few frames of each clip.
"""

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from audio.errors import AudioError
from audio.play.frame_source import FrameSource, ShownFrame

AHEAD_S = 0.25
"""Seconds ahead of the time on screen that are decoded. Chosen by hand: covers a slow key frame; more takes
memory."""
MOST_PICTURES = 10
"""Frames of one clip in memory at most; at 50 frames a second, 0.2 s."""
_INTO_S = 1e-6
"""Seconds after the start of a frame that lie inside it, whatever the rounding."""
THREADS = 2
"""Chosen by hand: one can wait for a slow file while the other decodes."""
THREAD_NAME = "watching"


@dataclass(frozen=True, slots=True)
class FrameRequest:
    """A take whose frames are wanted; there may be several of one clip."""

    key: str
    """Identifies the take."""
    path: Path
    """File of the clip or of its proxy."""
    clip_s: float
    """Clip time on screen now, in seconds."""
    height: int
    """Height of the frames in lines."""
    running: bool
    """Whether it is being played, so that later frames will be wanted soon."""


@dataclass(slots=True)
class _Watched:
    """State of one take."""

    request: FrameRequest
    film: FrameSource | None = None
    busy: bool = False
    left: bool = False
    """No longer wanted."""
    trouble: str = ""
    shown: list[ShownFrame] = field(default_factory=list)
    lines: int = 0

    def close(self) -> None:
        """Close the file."""
        if self.film is not None:
            self.film.close()

    def wanted_s(self) -> float | None:
        """The next clip time to decode, in seconds; None if there is nothing to do."""
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
        """The frame shown at a clip time in seconds, if it has been decoded."""
        found = [one for one in self.shown if one.start_s <= clip_s < one.end_s + _INTO_S]
        return max(found, key=lambda one: one.start_s, default=None)

    def take(self, shown: ShownFrame, at_s: float, lines: int) -> None:
        """Store the frame decoded for ``at_s``; whatever its stamps say, it counts as shown at that time."""
        if self.lines != lines:
            self.lines, self.shown = lines, []
        if all(one.start_s != shown.start_s for one in self.shown):
            start_s, end_s = min(shown.start_s, at_s), max(shown.end_s, at_s + _INTO_S)
            self.shown.append(replace(shown, start_s=start_s, end_s=end_s))


class FramePrefetcher:
    """Decodes the frames that are requested. No method waits, except ``close``."""

    def __init__(self, *, opened: Callable[[Path], FrameSource] = FrameSource) -> None:
        self._opened = opened
        self._lock = threading.Condition()
        self._watched: dict[str, _Watched] = {}
        self._threads: list[threading.Thread] = []
        self._closed = False

    def want(self, requests: Sequence[FrameRequest]) -> None:
        """Replace the takes that are wanted."""
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
        """The frame of a take shown at a clip time in seconds, if it has been decoded."""
        with self._lock:
            return self._watched[key].at(clip_s) if key in self._watched else None

    def trouble(self, key: str) -> str:
        """Why a take has no frames, as a sentence; empty if it has."""
        with self._lock:
            return self._watched[key].trouble if key in self._watched else ""

    def close(self, wait_s: float = 2.0) -> None:
        """End all threads, waiting up to ``wait_s`` seconds for each, and close all files."""
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
        """The take with the fewest seconds decoded ahead."""
        waiting = []
        for key, watched in self._watched.items():
            at_s = None if watched.busy else watched.wanted_s()
            if at_s is not None:
                waiting.append((at_s - watched.request.clip_s, key))
        return self._watched[min(waiting)[1]] if waiting else None

    def _leave(self, key: str) -> None:
        """Drop a take; if a thread is decoding from its file, that thread closes it."""
        watched = self._watched.pop(key)
        watched.left = True
        if not watched.busy:
            watched.close()
