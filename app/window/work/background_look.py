"""Clips looked at in the background, once they have been placed."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject

from app.model.document.change import NOTHING, Change
from app.model.document.shoot import Shoot
from app.model.document.verdict import Verdict
from app.model.edits.look_edits import see_clip
from app.model.on_song import Clip
from app.model.seen import Seen, has_pictures
from app.window.jobs import Jobs, Tasks, Ticket
from app.window.session import Session
from app.window.work.how_far import Remaining, left
from app.window.work.running import Doing, Running

SLOT = "look"
ORIGIN = "look"


class BackgroundLook(QObject):
    """Has the engine look at clips when all have been placed, and puts what it saw into the shoot.

    Parameters
    ----------
    wanted : callable
        Whether the person wants it.
    """

    def __init__(
        self,
        session: Session,
        jobs: Jobs,
        running: Running,
        tasks: Tasks,
        wanted: Callable[[], bool],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._jobs, self._running, self._tasks = session, jobs, running, tasks
        self._wanted = wanted
        self._tried: set[tuple[str, str]] = set()
        """Path and digest of files in trouble: nobody looks at them again before they are other files."""
        running.begun.connect(self._on_begun)
        running.ended.connect(self._on_ended)
        session.changed.connect(self._on_changed)

    def start(self) -> None:
        """Look at the clips, if some were not looked at. Those that were are compared with them."""
        view = self._session.view
        if not any(map(self._is_new, view.clips)):
            return
        tasks = self._tasks
        count = sum(map(has_pictures, view.clips))
        remaining = Remaining()
        # Written by the job and read here: only the newest figures count.
        fractions: dict[Path, float] = {}

        def work(ticket: Ticket) -> list[Seen]:
            found: list[Seen] = []

            def progress(path: Path, fraction: float) -> None:
                fractions[path] = fraction
                ticket.progress(0.0)

            tasks.look_at_clips(view, stop=ticket.stop, progress=progress, answered=found.append)
            return found

        def moved(*_: object) -> None:
            newest = list(fractions.copy().values())
            share = sum(newest) / max(1, count)
            time_left = left(remaining.left_s(share)) if share < 1 else ""
            done = sum(one == 1.0 for one in newest)
            self._running.show(SLOT, Doing(f"Looking at pictures: {done} of {count} done{time_left}", share))

        self._running.start(SLOT, "Looking at pictures", work, self._take, progress=moved)

    def _take(self, found: list[Seen]) -> None:
        self._tried |= {(one.media.path, one.media.digest) for one in found if one.trouble}

        def edit(shoot: Shoot) -> tuple[Shoot, Change]:
            change = NOTHING
            for one in found:
                shoot, more = see_clip(shoot, one)
                change |= more
            return shoot, change

        self._session.find_out(edit, ORIGIN)

    def _is_new(self, clip: Clip) -> bool:
        if clip.look is not None or clip.verdict is Verdict.UNREADABLE:
            return False
        return has_pictures(clip) and (clip.media.path, clip.media.digest) not in self._tried

    def _on_begun(self, slot: str) -> None:
        if slot == "place":
            self._running.abandon(SLOT)  # what was looked at is kept; placing comes first

    def _on_ended(self, slot: str) -> None:
        if slot != "place" or not self._wanted() or self._jobs.busy("place"):
            return
        # Clips that still wait were stopped by the person, or are placed next. Where none has the song, it is
        # first to be settled which song it is.
        clips = self._session.view.clips
        if not any(one.verdict is Verdict.WAITING for one in clips) and any(one.takes for one in clips):
            self.start()

    def _on_changed(self, change: Change, origin: str) -> None:
        if origin == "open":
            self._tried = set()
            self._running.abandon(SLOT)
