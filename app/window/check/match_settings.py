"""Sets how the examined take is matched: its transfer function, and which figures are found."""

from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.model.document.media_ref import MediaRef
from app.model.edits.take_settings import set_match_figures, set_transfer
from app.model.on_song import Clip, Take
from app.window.check.examined_take import ExaminedTake
from app.window.jobs import Jobs, Tasks, Ticket
from app.window.session import Session

SLOT = "colour tag"
ORIGIN = "match settings"


class MatchSettings(QObject):
    """Each choice is a step that can be undone; what compares takes follows by itself."""

    arrived = Signal()
    """What a file says of its transfer function was read."""

    def __init__(
        self,
        session: Session,
        examined: ExaminedTake,
        tasks: Tasks,
        jobs: Jobs,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._examined, self._tasks, self._jobs = session, examined, tasks, jobs
        self._tagged: dict[tuple[str, str], str] = {}
        """What files say, by path and digest; empty where they do not, or cannot be read."""
        self._asked: tuple[str, str] | None = None

    @property
    def functions(self) -> tuple[tuple[str, str], ...]:
        """All transfer functions, each by its word and name."""
        return self._tasks.transfer_functions()

    @property
    def waiting(self) -> bool:
        """Whether a file is being asked."""
        return self._asked is not None

    @property
    def can_be_set(self) -> bool:
        """Whether there is a take with pictures."""
        return self._found is not None

    def tagged(self, media: MediaRef) -> str | None:
        """What a file says; None as long as that is not known, and it is asked."""
        key = media.path, media.digest
        if key not in self._tagged and key != self._asked:
            self._ask(key)
        return self._tagged.get(key)

    def set_transfer(self, word: str) -> None:
        """The examined take was shot with this transfer function; empty: as its file says."""
        if self._found is not None:
            edit = set_transfer(self._session.shoot, [self._found[1].id], word)
            self._session.apply("Set Transfer Function", edit, ORIGIN)

    def set_figures(self, saturation: bool, power: bool) -> None:
        """Find saturation and power, or not, when the examined take is matched."""
        if self._found is not None:
            edit = set_match_figures(
                self._session.shoot, [self._found[1].id], power=power, saturation=saturation
            )
            self._session.apply("Set Match", edit, ORIGIN)

    def same_for_angle(self) -> None:
        """Have all takes of the angle matched as the examined one is."""
        if self._found is None:
            return
        clip, take = self._found
        ids = [
            other.id
            for one in self._session.view.clips
            if one.angle_id == clip.angle_id and one.frame_rate is not None
            for other in one.takes
        ]
        own = take.settings
        shoot, change = set_transfer(self._session.shoot, ids, own.transfer)
        shoot, more = set_match_figures(shoot, ids, power=own.power, saturation=own.saturation)
        self._session.apply("Same for Whole Angle", (shoot, change | more), ORIGIN)

    @property
    def _found(self) -> tuple[Clip, Take] | None:
        entry = self._examined.entry
        if entry is None or entry.take is None or entry.clip.frame_rate is None:
            return None
        clip = self._session.view.clip(entry.clip.id)
        take = next((one for one in clip.takes if one.id == entry.take.id), None)
        return None if take is None else (clip, take)

    def _ask(self, key: tuple[str, str]) -> None:
        self._asked, tasks = key, self._tasks

        def work(ticket: Ticket) -> str:
            return tasks.tagged_transfer(Path(key[0]))

        def keep(word: str) -> None:
            self._tagged[key], self._asked = word, None
            self.arrived.emit()

        # Why a file cannot be read is said where its pictures are shown.
        self._jobs.start(SLOT, work, keep, lambda error: keep(""))
