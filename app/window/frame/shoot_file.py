"""New, open, save, and the question before changes are lost."""

from collections.abc import Callable
from pathlib import Path

from app.model.document.store import ChangedMeanwhile
from app.window.frame.agreement import opened_agreed
from app.window.jobs import sentence
from app.window.parts.dialogs import Dialogs
from app.window.session import SUFFIX, Session

OPEN = "open the other shoot"
VERSIONS = (
    "Save mine under another name and keep both…",
    "Replace the file with mine: the other changes are lost",
    "Open the file as it is now: my changes are lost",
)
"""What may become of a shoot whose file was changed by somebody else."""


class ShootFile:
    """The file of the open shoot, as the File menu deals with it."""

    def __init__(self, session: Session, dialogs: Dialogs, may_end: Callable[[str], bool]) -> None:
        """``may_end`` asks whether a hand-off that is being written may end, told what comes then."""
        self._session, self._dialogs, self._may_end = session, dialogs, may_end

    def new(self) -> None:
        """Begin an empty shoot."""
        if self.may_leave("start a new shoot"):
            self._session.new()

    def open(self) -> None:
        """Ask for a shoot and open it."""
        if not self._may_lose():
            return
        path = self._dialogs.choose_shoot()
        if path is not None and self._may_end(OPEN):
            self.open_path(path)

    def open_asking(self, path: Path) -> None:
        """Open a given file, such as one dropped on the window."""
        if self.may_leave(OPEN):
            self.open_path(path)

    def open_recent(self, path: Path, forget: Callable[[Path], None]) -> None:
        """Open a shoot of the list; one that is gone is told, and forgotten."""
        if self.may_leave(OPEN) and not self.open_path(path) and not path.exists():
            forget(path)

    def open_path(self, path: Path) -> bool:
        """Open a file; a sentence tells why it cannot be, and the shoot open before stays.

        Tells whether it is open.
        """

        def load(trust: bool) -> bool:
            self._session.open(path, trust=trust)
            return True

        try:
            return opened_agreed(self._dialogs, path, load) or False
        except Exception as error:
            self._dialogs.tell("This shoot cannot be opened", sentence(error))
            return False

    def save(self) -> bool:
        """Save; asks for a file the first time. Tells whether it was saved."""
        if self._session.path is None:
            return self.save_as()
        return self._write(self._session.path)

    def save_as(self) -> bool:
        """Ask for a file and save there."""
        path = self._dialogs.choose_save_path(self._session.title)
        if path is None:
            return False
        if path.suffix != SUFFIX:
            path = path.with_name(path.name + SUFFIX)
        return self._write(path)

    def may_leave(self, then: str) -> bool:
        """Ask before changes or a hand-off half written are lost; True when the shoot may be left.

        ``then``: what comes then, such as ``quit``.
        """
        return self._may_lose() and self._may_end(then)

    def _may_lose(self) -> bool:
        """Ask before changes are lost; True when they are saved or may go."""
        if not self._session.modified:
            return True
        answer = self._dialogs.keep_changes(self._session.title)
        if answer == "save":
            return self.save()
        return answer == "discard"

    def _write(self, path: Path, *, over: bool = False) -> bool:
        try:
            self._session.save(path, over=over)
        except ChangedMeanwhile:
            return self._settle(path)
        except Exception as error:
            self._dialogs.tell("The shoot was not saved", sentence(error))
            return False
        return True

    def _settle(self, path: Path) -> bool:
        """Ask what happens to two versions of one shoot; True when none is left that is not saved."""
        question = (
            f"Another window or a command has saved {path.name} since you opened it here.\n\n"
            "What should happen to your changes?"
        )
        chosen = self._dialogs.choose_one("The file has changed", question, VERSIONS)
        if chosen == 0:
            return self.save_as()
        if chosen == 1:
            return self._write(path, over=True)
        return chosen == 2 and self._may_end("open the file") and self.open_path(path)
