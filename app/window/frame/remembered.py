"""Puts back what the window was like the last time, as a whole and for each shoot."""

from pathlib import Path

from PySide6.QtWidgets import QMainWindow

from app.window.clips.clips_table import ClipsTable
from app.window.clips.watched_folder import WatchedFolder
from app.window.frame.preferences import Preferences
from app.window.frame.window_state import COLUMNS, GEOMETRY, WindowState
from app.window.handoff.handoff_place import HandoffPlace
from app.window.session import Session

PLACE, WATCHED, PASSED, HANDOFF, CHOSEN = "place", "watched", "passed over", "hand-off", "handed over"


class Remembered:
    """Of a shoot: the place one was at, the folder watched, where and how it was handed over."""

    def __init__(
        self,
        session: Session,
        state: WindowState,
        preferences: Preferences,
        window: QMainWindow,
        table: ClipsTable,
        watch: WatchedFolder,
    ) -> None:
        self._session, self._state, self._preferences = session, state, preferences
        self._window, self._table, self._watch = window, table, watch
        self._handoff: HandoffPlace | None = None
        self._handed = ("", "")
        """Choices and folder of the shoot, as long as nobody went to Hand-off."""
        self._place = 0
        # Widths are kept for each size of text, which stays until the next start.
        self._columns = f"{COLUMNS} at {preferences.text_size}"
        geometry, columns = state.bytes(GEOMETRY), state.bytes(self._columns)
        if geometry is not None:
            window.restoreGeometry(geometry)
        if columns is not None:
            table.columns.restore(columns)
        watch.changed.connect(self.keep)

    def place(self) -> int:
        """The place one was at in this shoot, by its number counted from 0."""
        path = self._session.path
        kept = self._state.text(path, PLACE) if path is not None else ""
        return int(kept) if kept.isdecimal() and int(kept) < 5 else 0

    def went(self, index: int) -> None:
        """Note the place one is at."""
        self._place = index
        self.keep()

    def keep(self) -> None:
        """Keep what belongs to the shoot, as far as it has a file."""
        path = self._session.path
        if path is None:
            return
        watched = self._watch.folder
        self._state.keep_text(path, PLACE, str(self._place))
        self._state.keep_text(path, WATCHED, str(watched) if watched is not None else "")
        passed = self._watch.passed if watched is not None else []
        if not (passed and self._session.modified):
            # As long as a clip is not saved, its file is not done with: else a crash would lose it for good.
            self._state.keep_text(path, PASSED, "\n".join(passed))
        place = self._handoff
        choices, folder = self._handed if place is None else (place.choices_text, place.folder.text())
        self._state.keep_text(path, CHOSEN, choices)
        if self._preferences.keeps_handoff_folder:
            self._state.keep_text(path, HANDOFF, folder)

    def keep_all(self) -> None:
        """Keep everything, before the window goes."""
        self._state.keep_bytes(GEOMETRY, self._window.saveGeometry())
        self._state.keep_bytes(self._columns, self._table.columns.state())
        self.keep()

    def take_handoff(self, place: HandoffPlace) -> None:
        """Show in Hand-off what was chosen for the shoot."""
        self._handoff = place
        choices, folder = self._handed
        place.restore_choices(choices)
        place.folder.setText(folder)

    def follow(self, origin: str) -> None:
        """The session changed: put back what belongs to a shoot that was opened, keep it with one saved."""
        if origin == "open":
            self._restore(self._session.path)
        elif origin == "save":
            self.keep()

    def _restore(self, path: Path | None) -> None:
        keeps = self._preferences.keeps_handoff_folder
        self._handed = (
            self._state.text(path, CHOSEN) if path is not None else "",
            self._state.text(path, HANDOFF) if path is not None and keeps else "",
        )
        if self._handoff is not None:
            self.take_handoff(self._handoff)
        if path is None:
            return
        self._place = self.place()
        watched = self._state.text(path, WATCHED)
        if watched:
            self._watch.start(Path(watched), self._state.text(path, PASSED).splitlines())
