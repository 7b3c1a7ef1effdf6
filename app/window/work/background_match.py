"""Takes compared with the reference take in the background, as soon as a person has chosen one."""

from pathlib import Path

from PySide6.QtCore import QObject, QTimer, Signal

from app.model.document.change import Change
from app.model.document.looks import Match
from app.model.edits.look_edits import match_takes
from app.model.on_song import SongView, Take, reference_take
from app.model.seen import has_pictures
from app.window.jobs import Jobs, Tasks, Ticket
from app.window.session import Session
from app.window.work.running import Doing, Running

SLOT = "match"
ORIGIN = "match"
FIRST = ("place", "look")
"""Slots of work that comes before: what is not placed cannot be compared."""


class BackgroundMatch(QObject):
    """Has the engine compare takes when there is a reference, and again when either has changed."""

    changed = Signal()
    """Comparing began or ended."""

    def __init__(
        self, session: Session, jobs: Jobs, running: Running, tasks: Tasks, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._session, self._jobs, self._running, self._tasks = session, jobs, running, tasks
        self._tried: object = None
        """What was compared last, or is just being compared."""
        self._troubles: dict[str, str] = {}
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._consider)
        session.changed.connect(self._on_changed)
        running.ended.connect(self._on_ended)

    @property
    def busy(self) -> bool:
        """Whether takes are being compared, or are about to be."""
        return self._jobs.busy(SLOT) or self._soon.isActive()

    def trouble_of(self, path: str) -> str:
        """Why a file could not be compared, in a sentence; empty where there is no trouble."""
        return self._troubles.get(path, "")

    def _on_changed(self, change: Change, origin: str) -> None:
        if origin == "open":
            self._tried, self._troubles = None, {}
            self._let_go()
        if change and origin != ORIGIN:
            self._soon.start()

    def _on_ended(self, slot: str) -> None:
        if slot in FIRST:
            self._soon.start()
        if slot == SLOT:
            self.changed.emit()

    def _consider(self) -> None:
        """Compare, where something is to be compared that was not."""
        view = self._session.view
        reference, wanted = reference_take(view), _wanted(view)
        if any(map(self._jobs.busy, FIRST)) or wanted == self._tried:
            return
        opened, self._tried = self._tried is None, wanted
        self._let_go()
        if reference is None or (opened and _all_matched(view, reference)):
            return
        self._start(view, reference)

    def _let_go(self) -> None:
        if self._jobs.busy(SLOT):
            self._running.abandon(SLOT)

    def _start(self, view: SongView, reference: Take) -> None:
        tasks, troubles = self._tasks, {}
        paths = [c.media.path for c in view.clips if has_pictures(c) for t in c.takes if t.id != reference.id]
        if not paths:
            return
        # Written by the job and read here: only the newest figures count.
        fractions: dict[Path, float] = {}

        def work(ticket: Ticket) -> tuple[Match, ...]:
            def progress(path: Path, fraction: float) -> None:
                fractions[path] = fraction
                ticket.progress(0.0)

            def troubled(path: Path, sentence: str) -> None:
                troubles[str(path)] = sentence

            return tasks.match_takes(view, stop=ticket.stop, progress=progress, troubled=troubled)

        def moved(*_: object) -> None:
            newest, whole = list(fractions.copy().values()), len(set(paths))
            done = min(whole, sum(one == 1.0 for one in newest))
            words = f"Comparing with the reference: {done} of {whole} done"
            self._running.show(SLOT, Doing(words, min(1.0, sum(newest) / whole)))

        def take(matches: tuple[Match, ...]) -> None:
            self._troubles = dict(troubles)
            self._session.find_out(lambda shoot: match_takes(shoot, matches), ORIGIN)
            self.changed.emit()

        self._running.start(SLOT, "Comparing with the reference", work, take, progress=moved)
        self.changed.emit()


def _wanted(view: SongView) -> object:
    """What a comparison hangs on, to be told from another."""
    takes = tuple(
        (clip.id, clip.media.digest, take.clip_start_s, take.clip_end_s, round(take.song_start_s, 1),
         take.settings.transfer, take.settings.power, take.settings.saturation)
        for clip in view.clips
        for take in clip.takes
    )  # fmt: skip
    return view.reference, takes


def _all_matched(view: SongView, reference: Take) -> bool:
    takes = [take for clip in view.clips if has_pictures(clip) for take in clip.takes]
    return all(take.match is not None for take in takes if take.id != reference.id)
