"""The map as labels: written for other programs, and read from a file made elsewhere."""

from pathlib import PurePath

from PySide6.QtCore import QObject

from app.model.edits import map_edits
from app.model.edits.shoot_edits import set_map
from app.model.guarding import guard_of
from app.model.song_map.labels import LabelError, labelled, read_text, to_labels
from app.model.storage.files import write_whole
from app.window.parts import words
from app.window.parts.dialogs import LABELS, Dialogs
from app.window.session import Session
from app.window.song.map_steps import MapSteps


class SongLabels(QObject):
    """Asks for the file, and tells what came of it."""

    def __init__(
        self, session: Session, steps: MapSteps, dialogs: Dialogs, parent: QObject | None = None
    ) -> None:
        super().__init__(parent)
        self._session, self._steps, self._dialogs = session, steps, dialogs

    def write(self) -> None:
        """Write beats, bars and sections as they are now."""
        song = self._session.view.song
        if song is None:
            self._steps.message.emit(map_edits.NO_SONG)
            return
        path = self._dialogs.choose_labels_path(f"{PurePath(song.media.path).stem} labels")
        if path is None:
            return
        if path.suffix.casefold() != LABELS:
            # Anything else may be the song, which is never written over.
            self._steps.message.emit(f"Nothing was exported: the name of a label file ends with {LABELS}.")
            return
        try:
            data = to_labels(song.map).encode(errors="replace")
            write_whole(path, data, guard_of(self._session.shoot))
        except OSError as error:
            self._steps.message.emit(
                f"{path.name} could not be written: {error.strerror or error}. Choose another folder."
            )
            return
        self._steps.message.emit(f"Exported every beat, bar and section to {path.name}.")

    def read(self) -> None:
        """Take what a file tells of beats, bars and sections; the rest stays."""
        song = self._session.view.song
        if song is None:
            self._steps.message.emit(map_edits.NO_SONG)
            return
        path = self._dialogs.choose_labels()
        if path is None:
            return
        try:
            found = labelled(path.name, read_text(path), song)
        except LabelError as error:
            self._steps.message.emit(str(error))
            return
        if self._steps.do(
            "Import Labels",
            lambda shoot: set_map(shoot, found),
            unchanged=f"Nothing changed: {path.name} holds the map as it is.",
        ):
            bars = words.count(len(found.bars_s), "bar")
            sections = words.count(len(found.sections), "section")
            self._steps.message.emit(f"Imported {path.name}: the song now has {bars} and {sections}.")
