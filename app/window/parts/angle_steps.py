"""What can be done to angles, as steps that can be undone; questions are asked where something is missing."""

from collections.abc import Collection

from app.model.coverage.staves import stave_order
from app.model.document.angle import Angle
from app.model.document.change import Change
from app.model.document.shoot import Shoot
from app.model.edits import angle_edits
from app.window.parts import words
from app.window.parts.dialogs import Dialogs
from app.window.session import Session

ORIGIN = "angles"


class AngleSteps:
    """Edits of the angles of the open shoot."""

    def __init__(self, session: Session, dialogs: Dialogs) -> None:
        self._session, self._dialogs = session, dialogs

    def ask_name(self, angle_id: str, name: str | None = None) -> str:
        """Ask for another name, beginning with one already typed; gives the angle that is left."""
        begun = self._angle(angle_id).name if name is None else name
        answer = self._dialogs.ask_text("Rename angle", "Angle name:", begun)
        return angle_id if answer is None else self.rename(angle_id, answer)

    def rename(self, angle_id: str, name: str) -> str:
        """Give a name; where another angle has it, ask what is meant. Gives the angle that is left."""
        shoot = self._session.shoot
        twin = angle_edits.namesake(shoot, angle_id, name)
        if twin is not None:
            return self._merge_or_rename(self._angle(angle_id), twin, name)
        try:
            result = angle_edits.rename_angle(self._session.shoot, angle_id, name)
        except ValueError as error:
            self._dialogs.tell("Rename angle", str(error))
            return angle_id
        self._apply("Rename Angle", result)
        return angle_id

    def set_subject(self, angle_id: str, subject: str) -> None:
        """Say who or what it shows: one subject, or several between commas."""
        edit = angle_edits.set_subjects(self._session.shoot, angle_id, subject.split(","))
        self._apply("Set Subject", edit)

    def set_place(self, angle_id: str, place: str) -> None:
        """Say where its camera stands."""
        self._apply("Set Place", angle_edits.set_place(self._session.shoot, angle_id, place))

    def set_camera(self, angle_id: str, camera: str) -> None:
        """Say which camera and lens it is."""
        self._apply("Set Camera", angle_edits.set_camera(self._session.shoot, angle_id, camera))

    def set_rank(self, angle_id: str, rank: int) -> None:
        """Say how much the maker likes it: 1 is best, 0 takes it back."""
        self._apply("Set Rank", angle_edits.set_rank(self._session.shoot, angle_id, rank))

    def ask_group(self, angle_ids: Collection[str]) -> None:
        """Ask for the group in which angles stand together."""
        old = next((self._angle(one).group for one in angle_ids if self._angle(one).group), "")
        group = self._dialogs.ask_text("Group angles", "Group name (leave empty for none):", old)
        if group is not None:
            self.set_group(angle_ids, group)

    def set_group(self, angle_ids: Collection[str], group: str) -> None:
        """Let angles stand together under a name, or take them out with an empty one."""
        self._apply("Group Angles", angle_edits.set_group(self._session.shoot, angle_ids, group))

    def set_safety(self, angle_id: str, on: bool) -> None:
        """Keep an angle as safety, or no longer."""
        label = "Mark as Safety" if on else "Unmark Safety"
        self._apply(label, angle_edits.mark_safety(self._session.shoot, angle_id, on))

    def hide(self, angle_ids: Collection[str], on: bool) -> None:
        """Leave angles out of the score, or show them again."""
        label = "Hide Angle" if on else "Show Angle"
        self._apply(label, angle_edits.hide_angles(self._session.shoot, angle_ids, on))

    def show_all(self) -> None:
        """Show all angles again."""
        ids = [angle.id for angle in self._session.view.angles if angle.hidden]
        self._apply("Show Angles", angle_edits.hide_angles(self._session.shoot, ids, False))

    def step(self, angle_id: str, step: int, shown: Collection[str] | None) -> None:
        """Move a stave one place up (-1) or down (1) among those shown."""
        self._apply("Move Angle", angle_edits.step_angle(self._session.shoot, angle_id, step, shown))

    def place(self, angle_id: str, before_id: str | None) -> None:
        """Put a stave in front of another one (None: behind all)."""
        self._apply("Move Angle", angle_edits.place_angle(self._session.shoot, angle_id, before_id))

    def merge(self, angle_ids: Collection[str]) -> str | None:
        """Merge several angles into one of them, or one into another; asks which. Gives the one left."""
        shoot = self._session.view
        several = len(angle_ids) > 1
        targets = [a for a in stave_order(shoot.angles) if (a.id in angle_ids) == several]
        if not targets or not angle_ids:
            return None
        names = ", ".join(a.name for a in shoot.angles if a.id in angle_ids)
        number = self._dialogs.choose_one(
            "Merge angles",
            f"Combine the takes of {names} into one angle. Which name should it keep?"
            if several
            else f"Which angle should the takes of {names} go to?",
            [angle.name for angle in targets],
        )
        if number is None:
            return None
        into = targets[number].id
        self._apply("Merge Angles", angle_edits.merge_angles(self._session.shoot, angle_ids, into))
        return into

    def _merge_or_rename(self, angle: Angle, twin: Angle, name: str) -> str:
        answer = self._dialogs.choose_one(
            "Rename angle",
            f"There is already an angle {twin.name}, with {self._takes(twin)}. "
            f"Merge {angle.name}, with {self._takes(angle)}, into it?",
            # First what loses nothing: Enter takes it.
            ["Choose Another Name", f"Merge {angle.name} into {twin.name}"],
        )
        if answer == 1:
            merged = angle_edits.merge_angles(self._session.shoot, [angle.id], twin.id)
            self._apply("Merge Angles", merged)
            return twin.id
        return angle.id if answer is None else self.ask_name(angle.id, name)

    def _takes(self, angle: Angle) -> str:
        clips = self._session.view.clips
        return words.count(sum(len(clip.takes) for clip in clips if clip.angle_id == angle.id), "take")

    def _angle(self, angle_id: str) -> Angle:
        return self._session.view.angle(angle_id)

    def _apply(self, label: str, result: tuple[Shoot, Change]) -> None:
        self._session.apply(label, result, ORIGIN)
