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
from audio.play.frame_source import Film, Shown

AHEAD_S = 0.25
"""So far ahead of the moment on screen pictures are decoded."""
MOST_PICTURES = 10
"""Of one clip; a moment of 50 pictures a second is 0.2 s."""
_INTO_S = 1e-6
"""A moment so far after a picture's start lies in it, however numbers are rounded."""
THREADS = 2
THREAD_NAME = "watching"


@dataclass(frozen=True, slots=True)
class Wish:
    """A take that is watched; of one clip there may be several."""

    key: str
    """Tells it from others."""
    path: Path
    """Of the clip itself or of its stand-in."""
    clip_s: float
    """The moment on screen now."""
    height: int
    """Lines wanted."""
    running: bool
    """Whether later moments will be wanted soon."""


@dataclass(slots=True)
class _Seat:
    """What is known of one take."""

    wish: Wish
    film: Film | None = None
    busy: bool = False
    left: bool = False
    """Nobody watches it any more."""
    trouble: str = ""
    shown: list[Shown] = field(default_factory=list)
    lines: int = 0

    def close(self) -> None:
        """Let go of the file."""
        if self.film is not None:
            self.film.close()

    def wanted_s(self) -> float | None:
        """The next moment to decode; None where all is there."""
        now = self.wish.clip_s
        if self.trouble:
            return None
        if self.lines != self.wish.height:
            return now
        if self.at(now) is None:
            return now
        if not self.wish.running or len(self.shown) >= MOST_PICTURES:
            return None
        last = max(one.end_s for one in self.shown)
        return last + _INTO_S if last < now + AHEAD_S else None

    def at(self, clip_s: float) -> Shown | None:
        """The picture that a moment shows."""
        found = [one for one in self.shown if one.start_s <= clip_s < one.end_s + _INTO_S]
        return max(found, key=lambda one: one.start_s, default=None)

    def take(self, shown: Shown, at_s: float, lines: int) -> None:
        """Take in what was decoded for a moment; whatever the file says, it is shown at that moment."""
        if self.lines != lines:
            self.lines, self.shown = lines, []
        if all(one.start_s != shown.start_s for one in self.shown):
            start_s, end_s = min(shown.start_s, at_s), max(shown.end_s, at_s + _INTO_S)
            self.shown.append(replace(shown, start_s=start_s, end_s=end_s))


class Watcher:
    """Decodes what is wished for. All methods return at once."""

    def __init__(self, *, opened: Callable[[Path], Film] = Film) -> None:
        self._opened = opened
        self._lock = threading.Condition()
        self._seats: dict[str, _Seat] = {}
        self._threads: list[threading.Thread] = []
        self._closed = False

    def want(self, wishes: Sequence[Wish]) -> None:
        """What is watched now, instead of what was before."""
        with self._lock:
            if self._closed:
                return
            for wish in wishes:
                seat = self._seats.get(wish.key)
                if seat is None or seat.wish.path != wish.path:
                    if seat is not None:
                        self._leave(wish.key)
                    self._seats[wish.key] = _Seat(wish)
                else:
                    seat.wish = wish
            wanted = {wish.key for wish in wishes}
            for key in [one for one in self._seats if one not in wanted]:
                self._leave(key)
            for seat in self._seats.values():
                now = seat.wish.clip_s
                seat.shown = [one for one in seat.shown if one.end_s > now and one.start_s < now + 1.0]
            if wishes and not self._threads:
                self._threads = [
                    threading.Thread(target=self._work, name=THREAD_NAME, daemon=True) for _ in range(THREADS)
                ]
                for thread in self._threads:
                    thread.start()
            self._lock.notify_all()

    def picture(self, key: str, clip_s: float) -> Shown | None:
        """The picture that a moment shows, if it is there."""
        with self._lock:
            return self._seats[key].at(clip_s) if key in self._seats else None

    def trouble(self, key: str) -> str:
        """Why nothing of a take can be seen, or nothing."""
        with self._lock:
            return self._seats[key].trouble if key in self._seats else ""

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
                seat = self._next()
                while seat is None and not self._closed:
                    self._lock.wait()
                    seat = self._next()
                if self._closed or seat is None:
                    for key in list(self._seats):
                        self._leave(key)
                    return
                seat.busy = True
                at_s, lines, path = seat.wanted_s(), seat.wish.height, seat.wish.path
            try:
                if seat.film is None:
                    seat.film = self._opened(path)
                shown = None if at_s is None else seat.film.at(at_s, lines)
                trouble = ""
            except (AudioError, OSError) as error:
                shown, trouble = None, str(error)
            with self._lock:
                seat.busy = False
                seat.trouble = trouble
                if shown is not None and at_s is not None:
                    seat.take(shown, at_s, lines)
                if seat.left:
                    seat.close()
                self._lock.notify_all()

    def _next(self) -> _Seat | None:
        """The take with the least in hand."""
        waiting = []
        for key, seat in self._seats.items():
            at_s = None if seat.busy else seat.wanted_s()
            if at_s is not None:
                waiting.append((at_s - seat.wish.clip_s, key))
        return self._seats[min(waiting)[1]] if waiting else None

    def _leave(self, key: str) -> None:
        """Let a take go; its file is closed by whoever is decoding from it just now."""
        seat = self._seats.pop(key)
        seat.left = True
        if not seat.busy:
            seat.close()
