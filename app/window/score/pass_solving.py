"""Cuts the first pass off the window's thread, again whenever the shoot is another, and keeps its tables."""

import threading
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

from PySide6.QtCore import QObject, QTimer, Signal

from app.handoff.layout import timeline_rate
from app.model.document.cut import Cut, Version
from app.model.document.media_ref import MediaRef
from app.model.first_pass.result import FirstPass
from app.model.first_pass.rules import DEFAULT, Rules, rules_of
from app.model.first_pass.solver import FIRST_PASS, Solver, Stopped
from app.model.on_song import SongView
from app.window.jobs import Jobs, Ticket, sentence

SLOT = "first pass"
SOON_MS, LATER_MS = 20, 250
"""After a changed lock or rule it is cut at once; clips and marks often change many in a row."""
TURN_S = 0.02
"""Work that waits for its turn looks so often whether it is still wanted."""
NOTHING = "There is no first pass: nothing can be used yet."
CUTTING = "Cutting the first pass…"


class KeptSolver:
    """The solver of the shoot and rules that were cut last; its tables make another cut quick."""

    def __init__(self) -> None:
        self._turn = threading.Lock()
        self._key: tuple[SongView, Rules, Fraction] | None = None
        self._solver: Solver | None = None

    def solve(self, view: SongView, version: Version | None, stop: Callable[[], bool]) -> FirstPass | None:
        """Cut by a version (None: the rules as they come); None once it is not wanted any more, also halfway.

        Raises RulesError where the version's settings are no rules. Usable from any thread.
        """
        rules = DEFAULT if version is None else rules_of(version.settings)
        seed, name = (0, FIRST_PASS) if version is None else (version.seed, version.name)
        key = replace(view, name="", cut=Cut()), rules, timeline_rate(view)
        while not self._turn.acquire(timeout=TURN_S):
            if stop():
                return None
        try:
            if stop():
                return None
            if self._solver is None or self._key != key:
                self._solver = self._key = None
                self._solver, self._key = Solver(*key, stop), key
            return self._solver.solve(seed, view.cut.locks, name, stop=stop)
        except Stopped:
            return None
        finally:
            self._turn.release()


def _song(view: SongView) -> MediaRef | None:
    return None if view.song is None else view.song.media


class PassSolving(QObject):
    """Has the first pass cut while it is wanted. What was cut before stays until the next one is there."""

    changed = Signal()
    """There is another first pass, or none, or another reason for none."""

    def __init__(self, jobs: Jobs, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._jobs, self._kept = jobs, KeptSolver()
        self._view = SongView()
        self._asked: tuple[SongView, Version | None] | None = None
        """What is being cut, or was cut last."""
        self.wanted = False
        self.version_id = ""
        """The version that is cut; the first one where there is none of that id."""
        self.cut: FirstPass | None = None
        self.of = SongView()
        """The shoot that was cut."""
        self.words = ""
        """Why there is none, in a sentence."""
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(self._start)

    @property
    def version(self) -> Version | None:
        """The version that is cut; None where the shoot has none and the rules are as they come."""
        versions = self._view.cut.versions
        return next((one for one in versions if one.id == self.version_id), next(iter(versions), None))

    @property
    def busy(self) -> bool:
        """Whether one is being cut, or will be in a moment."""
        return self._soon.isActive() or self._jobs.busy(SLOT)

    def want(self, on: bool) -> None:
        """Cut the first pass from now on, or no more."""
        self.wanted = on
        if on:
            self._restart(SOON_MS)
        else:
            self._soon.stop()
            self._jobs.abandon(SLOT)
            self._asked = None

    def choose(self, version_id: str) -> None:
        """Cut another version."""
        self.version_id = version_id
        self._restart(SOON_MS)

    def show_shoot(self, view: SongView) -> None:
        """Follow the shoot, as it is now."""
        before, self._view = self._view, view
        if _song(view) != _song(self.of):
            self.cut, self.of = None, view  # that of another song is not even an old one of this
        same = replace(view, name="", cut=Cut()) == replace(before, name="", cut=Cut())
        self._restart(SOON_MS if same else LATER_MS)

    def _restart(self, after_ms: int) -> None:
        if not self.wanted or (self._view, self.version) == self._asked:
            return
        self._jobs.abandon(SLOT)
        self._asked = None
        if self.cut is None and self.words != CUTTING:
            self.words = CUTTING
            self.changed.emit()
        self._soon.start(after_ms)

    def _start(self) -> None:
        view, version = self._view, self.version
        self._asked = view, version
        kept = self._kept

        def work(ticket: Ticket) -> FirstPass | None:
            return kept.solve(view, version, ticket.stop)

        def done(cut: FirstPass | None) -> None:
            there = cut is not None and bool(cut.shots)
            self._take(view, cut if there else None, "" if there else NOTHING)

        self._jobs.start(SLOT, work, done, lambda error: self._take(view, None, sentence(error)))

    def _take(self, view: SongView, cut: FirstPass | None, words: str) -> None:
        self.cut, self.of, self.words = cut, view, words
        self.changed.emit()
