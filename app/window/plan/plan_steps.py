"""What a person does to the plan: each is a step that can be undone."""

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QObject, Signal

from app.model.angles import tidy_name
from app.model.coverage.missing import MissingPass
from app.model.coverage.offered_needs import offered_needs
from app.model.coverage.subjects import ANY_ANGLE, shows_anything
from app.model.document.change import Change
from app.model.document.plan import Need, Passage, SetUp
from app.model.document.shoot import Shoot
from app.model.document.song import LyricLine
from app.model.edits import planning
from app.model.edits.lyric_edits import set_lyrics
from app.window.plan.set_up_list import ANGLE, NOTE
from app.window.session import Session

ORIGIN = "plan"
NEW_SET_UP = "New set-up"
ONE_MORE = "One more angle"
"""What a set-up is called where any angle would do."""


class PlanSteps(QObject):
    """Edits of needs and set-ups of the session's song."""

    said = Signal(str)
    """What came of it, where that is not seen."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session

    def ask_for(self, passage: Passage, subject: str) -> None:
        """Ask for a subject in a passage."""
        need = Need("", self._song_id(), passage, tidy_name(subject))
        self._do(f"Add Need for {subject}", lambda shoot: planning.add_need(shoot, need))

    def ask_again(self, passage: Passage, subject: str, gone: tuple[Need, ...]) -> None:
        """Ask for a subject in a passage in the place of other needs for it."""

        def edit(shoot: Shoot) -> tuple[Shoot, Change]:
            first = gone[0] if gone else Need("", "", passage, tidy_name(subject))
            new = replace(first, id="", song_id=self._song_id(), passage=passage)
            shoot, change = planning.remove_needs(shoot, [need.id for need in gone])
            shoot, more = planning.add_need(shoot, new)
            return shoot, change | more

        self._do(f"Add Need for {subject}", edit)

    def take_back(self, needs: tuple[Need, ...]) -> None:
        """Take needs away."""
        self._do("Remove Need", lambda shoot: planning.remove_needs(shoot, [one.id for one in needs]))
        song = self._session.view.song
        families = {need.passage.family for need in needs if need.passage.family}
        letters = [one.letter for one in song.map.sections if one.family in families] if song else []
        if len(letters) > 1:
            self.said.emit(f"Removed from all sections that sound alike: {', '.join(letters)}.")

    def change(self, needs: tuple[Need, ...], label: str, **values: object) -> None:
        """Change something of needs."""

        def edit(shoot: Shoot) -> tuple[Shoot, Change]:
            change = Change(0)
            for need in needs:
                shoot, more = planning.change_need(shoot, replace(need, **values))  # type: ignore[arg-type]
                change |= more
            return shoot, change

        self._do(label, edit)

    def offer(self) -> None:
        """Add the needs that the song suggests."""
        song = self._session.view.song
        assert song is not None

        def edit(shoot: Shoot) -> tuple[Shoot, Change]:
            change = Change(0)
            for need in offered_needs(song):
                shoot, more = planning.add_need(shoot, need)
                change |= more
            return shoot, change

        if not self._do("Add Needs Everywhere", edit):
            self.said.emit("The plan already has these needs.")

    def add_set_up(self, angle: str, passage: Passage, subjects: tuple[str, ...], note: str = "") -> None:
        """Plan a set-up."""
        new = SetUp("", self._song_id(), angle.strip() or NEW_SET_UP, subjects, passage, note=note)
        self._do("Add Set-up", lambda shoot: planning.add_set_up(shoot, new))

    def plan_passes(self, passes: tuple[MissingPass, ...]) -> None:
        """Make a set-up of each pass that is missing and not planned yet."""
        song_id = self._song_id()

        def edit(shoot: Shoot) -> tuple[Shoot, Change]:
            change = Change(0)
            # One that is planned already stands for one pass only.
            known = [replace(old, id="", note="") for old in shoot.plan.set_ups]
            for one in passes:
                new = _set_up_of(one, song_id)
                if replace(new, note="") in known:
                    known.remove(replace(new, note=""))
                else:
                    shoot, more = planning.add_set_up(shoot, new)
                    change |= more
            return shoot, change

        if not self._do("Plan What Is Missing", edit):
            self.said.emit("Everything that is missing is already planned.")

    def remove_set_up(self, set_up_id: str) -> None:
        """Take a set-up away."""
        self._do("Remove Set-up", lambda shoot: planning.remove_set_ups(shoot, [set_up_id]))

    def move_set_up(self, set_up_id: str, before_id: str | None) -> None:
        """Put a set-up in front of another one."""
        self._do("Move Set-up", lambda shoot: planning.move_set_up(shoot, set_up_id, before_id))

    def type_set_up(self, set_up: SetUp, column: int, text: str) -> None:
        """Take over what was typed into a set-up."""
        if column == ANGLE:
            new = replace(set_up, angle=tidy_name(text) or set_up.angle)
        elif column == NOTE:
            new = replace(set_up, note=text.strip())
        else:
            new = replace(set_up, subjects=subjects_typed(text))
        self._do("Change Set-up", lambda shoot: planning.change_set_up(shoot, new))

    def set_lyrics(self, lines: tuple[LyricLine, ...]) -> None:
        """Give the song its words."""
        self._do("Change Lyrics", lambda shoot: set_lyrics(shoot, lines))

    def set_costs(self, handle_frames: int, lead_in_s: float, reset_s: float) -> None:
        """Say what a cut and a pick-up need."""
        self._do(
            "Change Pre-roll and Handles",
            lambda shoot: planning.set_costs(
                shoot, handle_frames=handle_frames, lead_in_s=lead_in_s, reset_s=reset_s
            ),
        )

    def _song_id(self) -> str:
        song = self._session.view.song
        assert song is not None
        return song.id

    def _do(self, label: str, edit: Callable[[Shoot], tuple[Shoot, Change]]) -> bool:
        self.said.emit("")  # what was said of the step before is over
        try:
            return self._session.apply(label, edit(self._session.shoot), ORIGIN)
        except ValueError as error:
            self.said.emit(str(error))
            return False


def subjects_typed(text: str) -> tuple[str, ...]:
    """Subjects as people type them, with commas or semicolons between them.

    >>> subjects_typed("singer,  hands ;")
    ('singer', 'hands')
    """
    return tuple(tidy_name(one) for one in text.replace(";", ",").split(",") if one.strip())


def _set_up_of(one: MissingPass, song_id: str) -> SetUp:
    """The set-up that shoots a pass; where any angle would do, which one could is only a note."""
    passage = Passage() if one.whole_song else Passage(first_bar=one.first_bar, last_bar=one.last_bar)
    if shows_anything(one.subjects):
        note = f"e.g. {one.angle}" if one.angle else ""
        return SetUp("", song_id, ONE_MORE, (ANY_ANGLE,), passage, note=note)
    name = one.angle or " and ".join(one.subjects).capitalize()
    return SetUp("", song_id, name, one.subjects, passage)
