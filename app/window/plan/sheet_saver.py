"""Writes a sheet to print where the person chooses, away from the window's thread: it holds pictures."""

from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.handoff.each_song import parts_of
from app.handoff.sheets.contents import Kind, sheet_of
from app.handoff.sheets.jpeg_picture import PICTURE_HEIGHT, jpeg_picture
from app.handoff.sheets.sheet import Paper, Picture
from app.handoff.sheets.writing import SUFFIXES, sheet_bytes
from app.model.guarding import guard_of
from app.model.on_song import Clip, SongView
from app.model.storage.files import write_whole
from app.window.jobs import Tasks, Ticket, is_plain
from app.window.parts import words
from app.window.parts.dialogs import Dialogs
from app.window.session import Session
from app.window.work.running import Running

SLOT = "sheet"
NAMES = {Kind.PLAN: "Plan", Kind.COVERAGE: "Coverage", Kind.SYNC: "Sync", Kind.PICK_UPS: "Pick-ups"}
PAPERS = {Paper.A4: "A4", Paper.LETTER: "Letter"}


class SheetSaver(QObject):
    """Asks for sheet, file and paper, and writes it as a job that can be stopped."""

    said = Signal(str)
    """What came of it, in a sentence."""

    def __init__(
        self,
        session: Session,
        tasks: Tasks,
        running: Running,
        dialogs: Dialogs,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._tasks, self._running, self._dialogs = session, tasks, running, dialogs

    def save(self) -> None:
        """Ask, and begin to write what was chosen."""
        kinds, papers = list(Kind), list(Paper)
        number = self._dialogs.choose_one("Save a sheet", "Which sheet?", [NAMES[kind] for kind in kinds])
        if number is None:
            return
        kind = kinds[number]
        # Under the name that the window shows; with several songs, each has sheets of its own.
        here = self._session.view.song
        wanted = None if here is None else [here.id]
        shoot = parts_of(self._session.title, self._session.views, wanted)[0].shoot
        path = self._dialogs.choose_sheet_path(f"{shoot.name} {NAMES[kind].lower()}")
        if path is None:
            return
        if path.suffix not in SUFFIXES:
            self.said.emit("A sheet is a .pdf or an .html file. Choose such a name.")
            return
        chosen = self._dialogs.choose_one("Save a sheet", "Which paper?", [PAPERS[one] for one in papers])
        if chosen is None:
            return
        tasks, paper = self._tasks, papers[chosen]
        self.said.emit("")
        self._running.start(
            SLOT,
            f"Writing {path.name}",
            lambda ticket: _write(shoot, tasks, kind, path, paper, ticket),
            self.said.emit,
            failing=f"{path.name} was not written.",
        )


def _write(shoot: SongView, tasks: Tasks, kind: Kind, path: Path, paper: Paper, ticket: Ticket) -> str:
    """Write a sheet unless it is to stop; gives a sentence on what came of it."""
    without: list[str] = []
    asked = 0

    def picture(clip: Clip, clip_s: float) -> Picture | None:
        nonlocal asked
        if ticket.stop():
            return None
        asked += 1
        ticket.progress(asked / (len(shoot.angles) + 1))
        try:
            return jpeg_picture(tasks.pictures(Path(clip.media.path), [clip_s], PICTURE_HEIGHT)[0])
        except Exception as error:
            if not is_plain(error) and not isinstance(error, IndexError):
                raise
            without.append(words.file_name(clip))
            return None

    data = sheet_bytes(sheet_of(shoot, kind, picture), path.suffix, paper)
    if ticket.stop():
        return ""
    try:
        write_whole(path, data, guard_of(shoot))
    except OSError as error:
        return f"{path.name} was not written: {error.strerror or error}. Choose another place."
    lacking = f" There is no picture of {', '.join(without)}." if without else ""
    return f"Wrote {path}.{lacking}" if lacking else f"Wrote {path}"
