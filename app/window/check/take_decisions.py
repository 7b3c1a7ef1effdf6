"""What a person decides in Check, put into the shoot as steps that can be undone."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QElapsedTimer, QObject, Signal

from app.model.document.change import Change
from app.model.document.shoot import Shoot
from app.model.edits import deciding, marking, pins
from app.model.on_song import Clip, Refused, Take
from app.window.session import Session, now

if TYPE_CHECKING:
    from app.engine.checking import LocalFit

ORIGIN = "check"
HELD_MS = 700
"""Moves that follow each other faster are one step to undo."""

Edit = Callable[[Shoot, str], tuple[Shoot, Change]]


class Deciding(QObject):
    """Applies decisions; where one cannot be, a sentence says why."""

    message = Signal(str)
    """Why a decision cannot be, in a sentence."""

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._moved = QElapsedTimer()
        self._moves = 0

    def confirm(self, take: Take) -> bool:
        """The take lies right."""
        return self._do("Confirm Take", lambda s, at: deciding.confirm_take(s, take.id, at))

    def choose(self, take: Take, rival: int) -> bool:
        """The take lies at one of its rivals."""
        return self._do("Choose Place", lambda s, at: deciding.choose_rival(s, take.id, rival, at))

    def move(self, take: Take, song_start_s: float) -> bool:
        """The take's start lies there; moves in quick succession are one step."""
        held = self._moved.isValid() and self._moved.elapsed() < HELD_MS
        self._moved.start()
        self._moves += not held
        return self._do(
            "Move Take",
            lambda s, at: deciding.move_take(s, take.id, song_start_s, at),
            f"move {take.id} {self._moves}",
        )

    def settle(self, take: Take, fit: "LocalFit") -> bool:
        """The take lies at the fit that was found."""
        return self._do(
            "Snap Take",
            lambda s, at: deciding.settle_take(
                s, take.id, fit.song_start_s, fit.speed, fit.uncertainty_s, at
            ),
        )

    def pin(self, clip: Clip, take: Take | None, clip_s: float, song_s: float) -> bool:
        """This frame is that beat."""
        name = None if take is None else take.id
        return self._do("Pin Frame", lambda s, at: pins.pin(s, clip.id, name, clip_s, song_s, at))

    def mark(self, clip: Clip, from_s: float, to_s: float) -> bool:
        """From here to there is a take of its own."""
        return self._do("Mark Take", lambda s, at: marking.mark_stretch(s, clip.id, from_s, to_s, at))

    def start(self, clip: Clip, from_s: float, song_s: float, to_s: float) -> bool:
        """A clip without takes has one from here, which is that beat, to there."""
        span = from_s, to_s
        return self._do(
            "Start Take", lambda s, at: pins.pin(s, clip.id, None, from_s, song_s, at, within=span)
        )

    def refuse(self, clip: Clip, take: Take | None) -> bool:
        """The song does not run in the take; in none of the clip where that is all there is."""
        if take is None:
            return self._do("Not This Song", lambda s, at: deciding.set_verdict_no_song(s, clip.id, at))
        return self._do("Not This Song", lambda s, at: deciding.refuse_take(s, take.id, at))

    def take_back(self, clip: Clip, refused: Refused) -> bool:
        """It is this song after all."""
        return self._do("Unmark Not This Song", lambda s, _: deciding.take_back(s, clip.id, refused))

    def take_back_clip(self, clip: Clip) -> bool:
        """It is this song after all, in a clip that was refused without a take."""
        return self._do("Unmark Not This Song", lambda s, _: deciding.take_back_clip(s, clip.id))

    def _do(self, label: str, edit: Edit, merge_key: str | None = None) -> bool:
        if merge_key is None:
            self._moved.invalidate()
        try:
            result = edit(self._session.shoot, now())
        except ValueError as error:
            self.message.emit(str(error))
            return False
        return self._session.apply(label, result, ORIGIN, merge_key)
