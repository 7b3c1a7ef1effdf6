"""A sheet as the bytes of a file."""

from app.handoff.sheets.html_sheet import to_html
from app.handoff.sheets.pdf_sheet import to_pdf
from app.handoff.sheets.sheet import Paper, Sheet

SUFFIXES = (".pdf", ".html")


def sheet_bytes(sheet: Sheet, suffix: str, paper: Paper) -> bytes:
    """The file's content by its name's end; the same sheet gives the same bytes."""
    return to_pdf(sheet, paper) if suffix == ".pdf" else to_html(sheet, paper)
