"""Undo and redo: the old values of the shoot are kept, with what was done between them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from app.model.document.change import NOTHING, Change
from app.model.document.shoot import Shoot


@dataclass(frozen=True, slots=True)
class Step:
    """What led from one value to the next."""

    label: str
    """For the menu: what is undone, such as ``Rename angle``."""
    change: Change
    merge_key: str | None


class History:
    """The shoot as it is, was, and was before an undo.

    >>> history = History(Shoot("Waltz"))
    >>> history.push("Rename shoot", Shoot("Slow waltz"), Change.NAME)
    >>> history.undo()
    <Change.NAME: 1>
    >>> history.shoot.name, history.redo_label
    ('Waltz', 'Rename shoot')
    """

    def __init__(self, shoot: Shoot) -> None:
        """Begin with a shoot that counts as saved."""
        self._values = [shoot]
        self._steps: list[Step] = []  # step n leads from value n to value n + 1
        self._at = 0
        self._saved = shoot

    @property
    def shoot(self) -> Shoot:
        """The shoot as it is now."""
        return self._values[self._at]

    @property
    def modified(self) -> bool:
        """The shoot differs from what was last saved."""
        return self.shoot != self._saved

    @property
    def undo_label(self) -> str | None:
        """What would be undone; None where there is nothing."""
        return self._steps[self._at - 1].label if self._at else None

    @property
    def redo_label(self) -> str | None:
        """What would be done again; None where there is nothing."""
        return self._steps[self._at].label if self._at < len(self._steps) else None

    def push(self, label: str, shoot: Shoot, change: Change, merge_key: str | None = None) -> None:
        """Take the result of an edit as a new step; an edit that changed nothing makes none.

        Edits in a row with the same ``merge_key`` (a drag, a name being typed) are one step. What had been
        undone is forgotten.
        """
        if not change:
            return
        last = self._steps[self._at - 1] if self._at else None
        del self._steps[self._at :], self._values[self._at + 1 :]
        if merge_key is not None and last is not None and last.merge_key == merge_key:
            self._steps[-1] = Step(label, last.change | change, merge_key)
            self._values[-1] = shoot
            return
        self._steps.append(Step(label, change, merge_key))
        self._values.append(shoot)
        self._at += 1

    def undo(self) -> Change:
        """Go back one step; tells what changed by that (``Change(0)`` at the beginning)."""
        if not self._at:
            return NOTHING
        self._at -= 1
        self.end_merge()
        return self._steps[self._at].change

    def redo(self) -> Change:
        """Go forward one step; tells what changed by that (``Change(0)`` at the end)."""
        if self._at == len(self._steps):
            return NOTHING
        self._at += 1
        self.end_merge()
        return self._steps[self._at - 1].change

    def end_merge(self) -> None:
        """Let the next edit be a step of its own, whatever its merge key (a drag ended)."""
        if self._at:
            last = self._steps[self._at - 1]
            self._steps[self._at - 1] = Step(last.label, last.change, None)

    def apply_everywhere(self, edit: Callable[[Shoot], tuple[Shoot, Change]]) -> Change:
        """Apply what was found out, rather than decided, to the present and to every kept value.

        So an answer that arrives after a person's edit is not lost when that edit is undone. ``edit`` has
        to give back the same shoot where it does not fit (see ``answer_clip``). Tells what changed in the
        present.
        """
        return self.rewrite(lambda values, at: [edit(value) for value in values])

    def rewrite(self, edit: Callable[[Sequence[Shoot], int], Sequence[tuple[Shoot, Change]]]) -> Change:
        """Give every kept value anew, where each has to agree with the others (the same ids, say).

        ``edit`` gets the kept values and which of them is the present, and gives one result for each. Tells
        what changed in the present.
        """
        results = edit(tuple(self._values), self._at)
        if len(results) != len(self._values):
            raise ValueError("one result for each kept value is needed")
        self._values = [shoot for shoot, _ in results]
        return results[self._at][1]

    def mark_saved(self, shoot: Shoot) -> None:
        """Remember the value that was written to disk."""
        self._saved = shoot
        self.end_merge()
