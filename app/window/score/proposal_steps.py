"""Faults that are proposed: gone through, accepted or dismissed, one by one or all of a kind at once."""

from collections.abc import Callable, Collection

from PySide6.QtCore import QObject

from app.model.document.change import Change
from app.model.document.marks import Mark, MarkState
from app.model.document.shoot import Shoot
from app.model.edits import mark_edits
from app.model.faults_seen import CALLED
from app.window.parts.words import count
from app.window.score.mark_steps import ORIGIN, MarkSteps
from app.window.session import Session

Edit = Callable[[Shoot, Collection[str]], tuple[Shoot, Change]]


class ProposalSteps(QObject):
    """What is done to proposals; each is one step that can be undone."""

    def __init__(self, session: Session, marks: MarkSteps, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session, self._marks = session, marks

    @property
    def chosen(self) -> Mark | None:
        """The proposal one is at."""
        mark = self._marks.chosen
        return mark if mark is not None and mark.state is MarkState.PROPOSED else None

    @property
    def alike(self) -> tuple[Mark, ...]:
        """All proposals of the kind of the one that one is at, also those outside of takes."""
        mark = self.chosen
        if mark is None:
            return ()
        every = self._session.shoot.marks
        return tuple(one for one in every if one.state is MarkState.PROPOSED and one.by == mark.by)

    @property
    def outside(self) -> int:
        """How many of those lie where the score shows nothing: outside of takes, or on hidden angles."""
        shown = {one.mark.id for one in self._marks.in_order() if one.take is not None}
        return sum(mark.id not in shown for mark in self.alike)

    @property
    def all_words(self) -> str:
        """What is done to when it is done to all of a kind, such as ``All 4 Soft``."""
        mark = self.chosen
        return "All of a Kind" if mark is None else f"All {len(self.alike)} {kind_of(mark).title()}"

    def go(self, step: int) -> None:
        """Go to the next proposal (with -1: the one before), around the end: first those of the song in its
        order, then those outside of it."""
        self._marks.go(step, proposed=True)

    def accept(self) -> None:
        """Make the proposal a fault like any other."""
        self._marks.accept()

    def dismiss(self) -> None:
        """Drop the proposal; it is not made again."""
        if self.chosen is not None:
            self._marks.remove()

    def accept_all(self) -> None:
        """Make faults of all of this kind."""
        self._all("Accept", mark_edits.accept_marks)

    def dismiss_all(self) -> None:
        """Drop all of this kind."""
        self._all("Dismiss", mark_edits.dismiss_marks)
        if self._marks.chosen is not None and self._marks.chosen.state is MarkState.DISMISSED:
            self._marks.choose("")

    def _all(self, verb: str, edit: Edit) -> None:
        ids = [mark.id for mark in self.alike]
        if ids:
            label = f"{verb} {count(len(ids), 'Fault')}"
            self._session.apply(label, edit(self._session.shoot, ids), ORIGIN)


def kind_of(mark: Mark) -> str:
    """What a proposal is called on screen.

    >>> from app.model.document.marks import FaultReason, MarkKind
    >>> kind_of(Mark("m", "c", MarkKind.FAULT, 0.0, 1.0, by="over"))
    'overexposed'
    >>> kind_of(Mark("m", "c", MarkKind.FAULT, 0.0, 1.0, FaultReason.LIGHT, by="another check"))
    'light'
    """
    return CALLED.get(mark.by, mark.reason.value)
