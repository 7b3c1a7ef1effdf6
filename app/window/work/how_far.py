"""How far the placing of a batch of clips is, and how long the rest of it may take."""

import time
from collections.abc import Callable, Mapping

from app.window.work.running import Doing

LEAST_S = 8.0
LEAST_SHARE = 0.03
"""Before so much time has gone by, and so much of the work is done since, the time left is not told: it would
jump about. Chosen by hand."""
LIGHTEST = 0.25
"""A file counts for its size, as far as that is known, but for no less than this share of the mean: a sound
recorder's file is small, and as long as any. Chosen by hand."""


class Remaining:
    """The time that work may still take, from what was done so far; ``clock`` gives seconds."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._from: tuple[float, float] | None = None

    def left_s(self, done: float) -> float | None:
        """Seconds left when a share of the work (0 to 1) is done; None where it is too soon to tell.

        What was done when it is first asked came without work, and does not count.
        """
        now = self._clock()
        if self._from is None:
            self._from = now, done
        took, gained = now - self._from[0], done - self._from[1]
        if took < LEAST_S or gained < LEAST_SHARE:
            return None
        return took * (1 - done) / gained


def left(seconds: float | None) -> str:
    """A time left in words, with a comma before; empty where it is not known.

    >>> [left(s) for s in (None, 20.0, 100.0, 3700.0, 8000.0)]
    ['', ', less than a minute left', ', about 2 min left', ', about 1 h left', ', about 2 h 10 min left']
    """
    if seconds is None:
        return ""
    if seconds < 50:
        return ", less than a minute left"
    minutes = max(1, round(seconds / 60))
    if minutes < 60:
        return f", about {minutes} min left"
    hours, minutes = divmod(round(minutes / 10) * 10, 60)
    return f", about {hours} h {minutes} min left" if minutes else f", about {hours} h left"


class HowFar:
    """A batch of clips being placed.

    Parameters
    ----------
    sizes : mapping
        Of the path of each clip its size in bytes; 0 where it is not known.
    clock : callable
        Gives seconds.
    """

    def __init__(self, sizes: Mapping[str, int], clock: Callable[[], float] = time.monotonic) -> None:
        mean = sum(sizes.values()) / len(sizes) if sizes else 0.0
        self._weights = {path: max(size, LIGHTEST * mean, 1.0) for path, size in sizes.items()}
        self._remaining = Remaining(clock)
        self._comparing = Remaining(clock)
        self._questions: tuple[int, int] | None = None
        self._begun = False
        self._answered: set[str] = set()
        self.fractions: dict[str, float] = {}
        """For the path of each clip that is not answered how far it is (0 to 1)."""

    def __contains__(self, path: object) -> bool:
        return path in self._weights

    def __bool__(self) -> bool:
        return bool(self._weights)

    def told(self, fractions: Mapping[str, float]) -> None:
        """Take how far each clip is; the newest may come before answers that were given earlier."""
        self.fractions = {path: f for path, f in fractions.items() if path not in self._answered}

    def answered(self, path: str) -> bool:
        """Count the answer on a clip; False where it is none of the batch, or was counted before."""
        if path not in self._weights or path in self._answered:
            return False
        self._answered.add(path)
        self.fractions.pop(path, None)
        return True

    def compared(self, done: int, whole: int) -> None:
        """Take how many questions the comparison of clips has answered, once all are placed."""
        self._questions = done, whole

    @property
    def doing(self) -> Doing:
        """How far the batch is: placed, then compared. The last answers may come after the first question."""
        return self._placing() if self._questions is None else self._asking(*self._questions)

    def _asking(self, done: int, whole: int) -> Doing:
        share = done / max(1, whole)
        time_left = left(self._comparing.left_s(share)) if share < 1 else ""
        return Doing(f"Comparing clips: {done} of {whole} done{time_left}", share)

    def _placing(self) -> Doing:
        done = sum(self._weights[path] for path in self._answered)
        done += sum(self._weights.get(path, 0.0) * f for path, f in self.fractions.items())
        share = min(1.0, done / max(1.0, sum(self._weights.values())))
        # Known answers come at once; the clock runs from the first clip that is heard.
        self._begun = self._begun or any(self.fractions.values())
        time_left = left(self._remaining.left_s(share)) if self._begun and share < 1 else ""
        number, whole = len(self._answered), len(self._weights)
        return Doing(f"Placing clips: {number} of {whole} done{time_left}", share)
