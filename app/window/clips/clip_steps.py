"""What is done to the chosen clips, one or many."""

from collections.abc import Callable, Collection, Sequence
from pathlib import Path

from app.model.check_queue import entry_of
from app.model.document.change import Change
from app.model.document.decisions import Decision
from app.model.document.shoot import Shoot
from app.model.document.verdict import Verdict
from app.model.edits import angle_edits, deciding, shoot_edits
from app.model.reasons import sentence
from app.window.clips.clips_table import ClipsTable
from app.window.parts import words
from app.window.parts.dialogs import Dialogs
from app.window.parts.show_folder import show_folder
from app.window.session import Session, now
from app.window.work.work import Work

ORIGIN = "clips"
NEW_ANGLE = "New angle…"


class ClipSteps:
    """Each edit of several clips is one step that can be undone."""

    def __init__(
        self, session: Session, work: Work, dialogs: Dialogs, table: ClipsTable, look: Callable[[str], None]
    ) -> None:
        """``look`` goes to an entry of Check, by its key."""
        self._session, self._work, self._dialogs, self._table = session, work, dialogs, table
        self._look = look

    @property
    def some(self) -> bool:
        """Whether any clip is chosen."""
        return bool(self._table.selected_ids())

    def edit_angle(self) -> None:
        """Type the angle of the chosen clips."""
        self._table.edit_angle()

    def open_in_check(self) -> None:
        """Go to Check, to the first chosen clip."""
        for clip_id in self._table.selected_ids()[:1]:
            self.look_at(clip_id)

    def look_at(self, clip_id: str, number: int = -1) -> None:
        """Go to Check, to a take of a clip by its number (from 0); without one, to what wants a look."""
        clip = self._session.view.clip(clip_id)
        key = clip.takes[number].id if 0 <= number < len(clip.takes) else entry_of(clip)
        if key is None:
            why = (
                "It is still waiting to be placed."
                if clip.verdict is Verdict.WAITING
                else sentence(clip.reason)
            )
            self._work.message.emit(f"{words.file_name(clip)} has no take to open in Check. {why}")
        else:
            self._look(key)

    def show_in_folder(self) -> None:
        """Show the folder of the first selected clip."""
        for clip_id in self._table.selected_ids()[:1]:
            trouble = show_folder(Path(self._session.view.clip(clip_id).media.path).parent)
            if trouble:
                self._work.message.emit(trouble)

    def assign_angle(self) -> None:
        """Ask for an angle, one of the shoot's or a new one, and put the chosen clips on it."""
        ids = self._table.selected_ids()
        if not ids:
            return
        shoot = self._session.view
        question = f"Angle of {words.count(len(ids), 'clip')}:"
        names = [angle.name for angle in shoot.angles]
        chosen = self._dialogs.choose_one("Set angle", question, [*names, NEW_ANGLE])
        if chosen is None:
            return
        name = names[chosen] if chosen < len(names) else self._dialogs.ask_text("New angle", question, "")
        if name is not None:
            self.put_on_angle(ids, name)

    def typed_angle(self, clip_id: str, name: str) -> None:
        """An angle was typed in the row of a clip: it holds for all that are chosen with it."""
        chosen = self._table.selected_ids()
        self.put_on_angle(chosen if clip_id in chosen else [clip_id], name)

    def put_on_angle(self, ids: Sequence[str], name: str) -> None:
        """Put clips on an angle; where they are all that is on theirs, it gets the name."""
        shoot = self._session.view
        angle_id = shoot.clip(ids[0]).angle_id
        on_it = {clip.id for clip in shoot.clips if clip.angle_id == angle_id}
        try:
            if on_it == set(ids):
                result = angle_edits.rename_angle(self._session.shoot, angle_id, name)
            else:
                result = angle_edits.assign_angle(self._session.shoot, ids, name)
        except ValueError as error:
            self._dialogs.tell("Angle", str(error))
            return
        self._session.apply("Change Angle", result, ORIGIN)

    def write_note(self) -> None:
        """Ask for a note and write it to the chosen clips."""
        ids = self._table.selected_ids()
        if not ids:
            return
        notes = {self._session.view.clip(one).note for one in ids}
        question = f"Note for {words.count(len(ids), 'clip')}:"
        if len(notes) > 1:
            question = f"Their notes differ now. {question}"
        note = self._dialogs.ask_text("Note", question, notes.pop() if len(notes) == 1 else "")
        if note is not None:
            self.note(ids, note)

    def note(self, ids: Collection[str], note: str) -> None:
        """Write a note to clips."""
        self._session.apply("Change Note", shoot_edits.set_note(self._session.shoot, ids, note), ORIGIN)

    def place_again(self) -> None:
        """Place the chosen clips once more."""
        self._work.place_again(self._table.selected_ids())

    @property
    def refused(self) -> bool:
        """Whether a person said of every chosen clip that the song does not run in it."""
        ids = self._table.selected_ids()
        said = {clip.id for clip in self._session.view.clips if clip.decision is Decision.BY_HAND}
        return bool(ids) and said.issuperset(ids)

    def refuse(self) -> None:
        """Say that the song does not run in the chosen clips; where that was said of all, take it back."""

        def edit(shoot: Shoot, ids: Collection[str]) -> tuple[Shoot, Change]:
            return deciding.refuse_clips(shoot, ids, now())

        if self.refused:
            self._to_chosen("Unmark Not This Song", deciding.take_back_clips)
        else:
            self._to_chosen("Not This Song", edit)

    def remove(self) -> None:
        """Take the chosen clips out of the shoot."""
        number = len(self._table.selected_ids())
        self._to_chosen(f"Remove {words.count(number, 'Clip')}", shoot_edits.remove_clips)

    def _to_chosen(self, label: str, edit: Callable[[Shoot, Collection[str]], tuple[Shoot, Change]]) -> None:
        ids = self._table.selected_ids()
        if ids:
            self._session.apply(label, edit(self._session.shoot, ids), ORIGIN)
