"""Earlier masters of the song: what became of each in the next one, to be seen later."""

from itertools import pairwise
from pathlib import Path, PurePath

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from app.model.document.change import Change
from app.model.renewing.what_changes import Row, heard_words, left_rows
from app.window.jobs import Jobs, Tasks, Ticket
from app.window.master.master_peaks import peaks_of
from app.window.master.master_window import MasterWindow
from app.window.master.two_waves import Peak
from app.window.parts.dialogs import Dialogs
from app.window.parts.theme import Theme
from app.window.session import Session

SLOT = "peaks of masters"


class EarlierMasters(QObject):
    """At most one window at a time."""

    def __init__(
        self,
        session: Session,
        theme: Theme,
        jobs: Jobs,
        tasks: Tasks,
        dialogs: Dialogs,
        over: QWidget | None = None,
    ) -> None:
        super().__init__(over)
        self._session, self._theme, self._jobs = session, theme, jobs
        self._tasks, self._dialogs, self._over = tasks, dialogs, over
        self.window: MasterWindow | None = None
        session.changed.connect(self._on_session_changed)

    def open(self) -> None:
        """Show what became of the last master; asks which, where there were several."""
        view = self._session.view
        if view.song is None or not view.masters:
            return
        followed = [
            *((one.media, one.duration_s) for one in view.masters),
            (view.song.media, view.song.duration_s),
        ]
        number = len(view.masters) - 1
        if number:
            names = [PurePath(media.path).name for media, _ in followed]
            pairs = [f"{old}  →  {new}" for old, new in pairwise(names)]
            chosen = self._dialogs.choose_one("Earlier masters", "Which change?", pairs[::-1])
            if chosen is None:
                return
            number -= chosen
        self._close()
        earlier = view.masters[number]
        (old, old_s), (new, new_s) = followed[number], followed[number + 1]
        names2 = PurePath(old.path).name, PurePath(new.path).name
        window = MasterWindow(self._theme, names2, (old_s, new_s), ((), ()), None, self._over)
        self.window = window
        window.destroyed.connect(self._on_gone)
        window.show_pieces(earlier.pieces)
        heard = heard_words(view) if number == len(view.masters) - 1 else ""
        rows = [Row("By sound", heard)] if heard else []
        rows += left_rows(earlier.left) or [
            Row("Nothing was lost", "Everything has a place on the new master.")
        ]
        window.show_changes(rows)
        window.show()
        tasks = self._tasks

        def work(ticket: Ticket) -> tuple[list[Peak], list[Peak]]:
            return peaks_of(tasks, Path(old.path)), peaks_of(tasks, Path(new.path))

        def done(peaks: tuple[list[Peak], list[Peak]]) -> None:
            if self.window is window:
                window.waves.show_masters(names2, (old_s, new_s), peaks)

        self._jobs.start(SLOT, work, done, lambda error: None)

    def _on_session_changed(self, change: Change, origin: str) -> None:
        if change & Change.SONG or origin in ("open", "song"):
            self._close()

    def _close(self) -> None:
        if self.window is not None:
            self.window.close()

    def _on_gone(self) -> None:
        self.window = None
        self._jobs.abandon(SLOT)
