"""Tables as text, comma-separated (RFC 4180) or tab-separated (as IANA registers the type), in UTF-8.

Tab-separated values have no quoting: tabs and line ends within a field become blanks.

A spreadsheet works a cell out as a formula that begins with ``=``, ``+``, ``-`` or ``@``, whatever the
file's type; some pass over blanks, tabs and line ends before it. Names and notes may come from anybody, so
such a cell has an apostrophe before it, which spreadsheets take for "this is text". Plain numbers stay
numbers. `read` takes the apostrophe away again; a text that begins so by itself gets another one, so that
none is lost.
"""

import csv
import io
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from app.handoff.choices import Form
from app.handoff.outcome import HandoffError, plain
from app.model.storage.files import write_whole
from app.model.storage.guard import Guard

_BREAKS = re.compile(r"[\t\r\n\v\f\x1c-\x1e\x85\u2028\u2029]")
_FORMULA = re.compile(r"[\t\r\n]|\s*[=+\-@\uff0b\uff0d\uff1d\uff20]")
"""The signs, and the same in full width, which spreadsheets in some languages take alike."""
_NUMBER = re.compile(r"[+-]?[0-9]+(?:\.[0-9]*)?(?:[eE][+-]?[0-9]+)?")
_TEXT_MARK = "'"
_LONGEST_HEAD = 2000
_FEWEST_CELLS = 5


@dataclass(frozen=True, slots=True)
class Table:
    """Columns in their order, and rows by the columns' names; what a row does not have is empty."""

    columns: tuple[str, ...]
    rows: tuple[Mapping[str, str], ...]


def to_text(table: Table, form: Form) -> bytes:
    """The table as a file holds it."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    cells = (map(_as_text, _cells(table, row, form)) for row in table.rows)
    lines = [list(table.columns), *map(list, cells)]
    if form is Form.CSV:
        writer.writerows(lines)
        return out.getvalue().encode("utf-8")
    return "".join("\t".join(line) + "\n" for line in lines).encode("utf-8")


def read(data: bytes, form: Form) -> list[dict[str, str]]:
    """The rows of a file by the names in its first line. Raises ValueError or csv.Error."""
    text = io.StringIO(data.decode("utf-8"), newline="")
    if form is Form.CSV:
        head, *lines = list(csv.reader(text, strict=True))
    else:
        head, *lines = [line.split("\t") for line in text.read().split("\n")[:-1]]
    return [dict(zip(head, map(as_said, line), strict=True)) for line in lines if line]


def write(
    path: Path,
    table: Table,
    form: Form,
    guard: Guard,
    check: Callable[[list[dict[str, str]]], None] = lambda rows: None,
) -> None:
    """Write the table, read it back and compare every cell; ``check`` gets the rows read.

    Raises HandoffError.
    """

    def read_back(written: Path) -> None:
        rows = read(written.read_bytes(), form)
        expected = [dict(zip(table.columns, _cells(table, row, form), strict=True)) for row in table.rows]
        if rows != expected:
            raise HandoffError(f"{path.name} does not read back as it was written, so it was not kept.")
        check(rows)

    try:
        write_whole(path, to_text(table, form), guard, read_back)
    except (OSError, csv.Error, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise HandoffError(f"{path.name} could not be written: {why}. Choose another folder.") from error


def cell(text: str, form: Form) -> str:
    """A text as a cell of a table says it, and as `read` gives it."""
    return plain(text) if form is Form.CSV else _BREAKS.sub(" ", plain(text))


def _cells(table: Table, row: Mapping[str, str], form: Form) -> list[str]:
    return [cell(row.get(column, ""), form) for column in table.columns]


def is_table_of(path: Path, columns: Sequence[str]) -> bool:
    """Whether a file, by its name and its first line, is a table of these columns."""
    form = next((form for form in Form if path.suffix == f".{form}"), None)
    return form is not None and begins_as(path, columns, form)


def _as_text(text: str) -> str:
    """A cell as the file holds it: never a formula."""
    return f"{_TEXT_MARK}{text}" if _is_formula(text) else text


def as_said(text: str) -> str:
    """What a cell of a file says: without the apostrophe that keeps it from being a formula."""
    return text[1:] if text.startswith(_TEXT_MARK) and _is_formula(text) else text


def _is_formula(text: str) -> bool:
    bare = text.lstrip(_TEXT_MARK)
    return _FORMULA.match(bare) is not None and _NUMBER.fullmatch(bare) is None


def begins_as(path: Path, columns: Sequence[str], form: Form) -> bool:
    """Whether a file begins with the line of these columns; of the first of them alone, as ours once did."""
    try:
        with path.open("rb") as file:
            line = file.readline(_LONGEST_HEAD).decode("ascii", errors="replace")
    except OSError:
        return False
    cells = line.rstrip("\r\n").split("," if form is Form.CSV else "\t")
    return len(cells) >= _FEWEST_CELLS and cells == list(columns[: len(cells)])
