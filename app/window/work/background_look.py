"""Clips looked at in the background, once they have been placed; also those of a shoot that was opened."""

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from app.model.document.change import NOTHING, Change
from app.model.document.shoot import Shoot
from app.model.document.verdict import Verdict
from app.model.edits.look_edits import see_clip
from app.model.faults_seen import seen_faults
from app.model.on_song import Clip
from app.model.seen import Seen, has_pictures
from app.window.jobs import Jobs, Tasks, Ticket
from app.window.parts.words import count, path_name
from app.window.session import Session
from app.window.work.how_far import Remaining, left
from app.window.work.running import Doing, Running

SLOT = "look"
ORIGIN = "look"
FIRST = ("find", "song", "place")
"""Slots of work that comes before: nobody waits for pictures."""


class BackgroundLook(QObject):
    """Has the engine look at clips when all have been placed, and puts what it saw into the shoot.

    Parameters
    ----------
    wanted : callable
        Whether the person wants it without asking for it.
    """

    told = Signal(str)
    """What came of it, in a sentence; nothing where nothing is new."""

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
        self._let_be: set[tuple[str, str]] = set()
        """Path and digest of files in trouble, or in the middle of which a person stopped: nobody looks at
        them by itself before they are other files."""
        self._underway: set[tuple[str, str]] = set()
        """Path and digest of the files that are being looked at."""
        self._asked = False
        """Whether a person asked for it."""
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._consider)
        running.begun.connect(self._on_begun)
        running.ended.connect(self._on_ended)
        session.changed.connect(self._on_changed)

    @property
    def busy(self) -> bool:
        """Whether clips are being looked at."""
        return self._jobs.busy(SLOT)

    @property
    def why_not(self) -> str:
        """Why clips cannot be looked at now, in a sentence; empty where they can."""
        if not any(map(_can_be_seen, self._session.view.clips)):
            return "There is no clip with pictures yet."
        if any(map(self._jobs.busy, FIRST)):
            return "Wait until the clips are placed: placing comes first."
        return "The pictures are being looked at now." if self.busy else ""

    def look_again(self) -> None:
        """Look at all clips, because a person asks for it: also at those that were in trouble before."""
        if not self.why_not:
            self._let_be = set()
            self._start(asked=True)

    def start(self) -> None:
        """Look at the clips, if some were not looked at. Those that were are compared with them."""
        if any(map(self._is_new, self._session.view.clips)):
            self._start(asked=False)

    def _start(self, *, asked: bool) -> None:
        view, tasks = self._session.view, self._tasks
        clips = [clip for clip in view.clips if _can_be_seen(clip)]
        self._underway, self._asked = set(map(_key, clips)), asked
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
            share = min(1.0, sum(newest) / max(1, len(clips)))
            time_left = left(remaining.left_s(share)) if share < 1 else ""
            done = min(len(clips), sum(one == 1.0 for one in newest))
            words = f"Looking at pictures: {done} of {len(clips)} done{time_left}"
            self._running.show(SLOT, Doing(words, share))

        self._running.start(SLOT, "Looking at pictures", work, self._take, progress=moved)

    def _take(self, found: list[Seen]) -> None:
        asked, underway = self._asked, self._underway
        self._underway = set()
        seen = {(one.media.path, one.media.digest) for one in found if not one.trouble}
        self._let_be |= underway - seen

        def edit(shoot: Shoot) -> tuple[Shoot, Change]:
            change = NOTHING
            for one in found:
                shoot, more = see_clip(shoot, one)
                change |= more
            return shoot, change

        before = self._proposed()
        self._session.find_out(edit, ORIGIN)
        said = _said(found, before, self._proposed(), asked=asked)
        if said:
            self.told.emit(said)

    def _proposed(self) -> int:
        return len(seen_faults(self._session.shoot.marks))

    def _is_new(self, clip: Clip) -> bool:
        return clip.look is None and _can_be_seen(clip) and _key(clip) not in self._let_be

    def _consider(self) -> None:
        """Look at what was not looked at, where nothing that comes first is to be done."""
        if not self.busy:
            self._let_be |= self._underway  # stopped by the person, or it failed
            self._underway = set()
        if not self._wanted() or self.busy or any(map(self._jobs.busy, FIRST)):
            return
        # Clips that still wait were stopped by the person, or are placed next. Where none has the song, it is
        # first to be settled which song it is.
        clips = self._session.view.clips
        if not any(one.verdict is Verdict.WAITING for one in clips) and any(one.takes for one in clips):
            self.start()

    def _let_go(self) -> None:
        self._underway = set()
        self._running.abandon(SLOT)

    def _on_begun(self, slot: str) -> None:
        if slot == "place":
            self._let_go()  # what was looked at is kept; placing comes first

    def _on_ended(self, slot: str) -> None:
        if slot in (*FIRST, SLOT):
            self._soon.start()

    def _on_changed(self, change: Change, origin: str) -> None:
        if origin == "open":
            self._let_be = set()
            self._let_go()
        if change and origin != ORIGIN:
            self._soon.start()


def _key(clip: Clip) -> tuple[str, str]:
    return clip.media.path, clip.media.digest


def _can_be_seen(clip: Clip) -> bool:
    return has_pictures(clip) and clip.verdict is not Verdict.UNREADABLE


def _said(found: Sequence[Seen], before: int, now: int, *, asked: bool) -> str:
    """What came of looking, in sentences; empty where nobody asked and nothing is new.

    ``before`` and ``now`` count the faults proposed.
    """
    troubles = [one for one in found if one.trouble]
    seen, parts = len(found) - len(troubles), []
    if now > before:
        more = count(now - before, "fault") if not before else count(now - before, "more fault")
        parts.append(f"The pictures propose {more}. Go through them in Score with I.")
    elif asked and seen:
        parts.append(f"Looked at {count(seen, 'clip')}: no new fault is proposed.")
    # Where no file could be opened by itself, the disk is gone: the window says so already.
    if troubles and (asked or seen):
        name = path_name(troubles[0].media.path)
        which = name if len(troubles) == 1 else f"{count(len(troubles), 'clip')}, such as {name},"
        parts.append(f"{which} could not be looked at. {troubles[0].trouble}")
    return " ".join(parts)
