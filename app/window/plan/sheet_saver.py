"""Writes a sheet to print where the person chooses."""

from app.handoff.sheets.contents import Kind, sheet_of
from app.handoff.sheets.sheet import Paper
from app.handoff.sheets.writing import SUFFIXES, sheet_bytes
from app.model.guarding import guard_of
from app.model.storage.files import write_whole
from app.window.parts.dialogs import Dialogs
from app.window.session import Session

NAMES = {Kind.PLAN: "Plan", Kind.COVERAGE: "Coverage", Kind.SYNC: "Sync", Kind.PICK_UPS: "Pick-ups"}
PAPERS = {Paper.A4: "A4", Paper.LETTER: "Letter"}


def save_sheet(session: Session, dialogs: Dialogs) -> str:
    """Ask which sheet, on which paper, and where to; gives a sentence on what came of it, empty where the
    person left it."""
    kinds, papers = list(Kind), list(Paper)
    number = dialogs.choose_one("Save a sheet", "Which sheet?", [NAMES[kind] for kind in kinds])
    if number is None:
        return ""
    kind = kinds[number]
    path = dialogs.choose_sheet_path(f"{session.title} {NAMES[kind].lower()}")
    if path is None:
        return ""
    if path.suffix not in SUFFIXES:
        return "A sheet is a .pdf or an .html file. Choose such a name."
    paper = dialogs.choose_one("Save a sheet", "Which paper?", [PAPERS[one] for one in papers])
    if paper is None:
        return ""
    shoot = session.view
    try:
        data = sheet_bytes(sheet_of(shoot, kind), path.suffix, papers[paper])
        write_whole(path, data, guard_of(shoot))
    except OSError as error:
        return f"{path.name} was not written: {error.strerror or error}. Choose another place."
    return f"Wrote {path}"
