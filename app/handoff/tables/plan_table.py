"""Tables of needs and of angles: written like the other tables, read from whatever a spreadsheet saved."""

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from app.handoff.choices import Form
from app.handoff.tables.table_text import Table, as_said, write
from app.model.document.angle import Angle
from app.model.document.plan import Need
from app.model.document.song import Song
from app.model.plan_rows import ANGLE_COLUMNS, NEED_COLUMNS, PlanError, rows_of_angles, rows_of_needs
from app.model.storage.guard import Guard
from app.model.storage.json_node import shown
from app.model.storage.plain_file import TooLarge, read_plain

MOST_BYTES = 5_000_000
"""A plan of a day has a few hundred lines."""
MOST_LETTERS = 10_000
"""Of a cell: a long note."""
SEPARATORS = (",", ";", "\t")


def write_needs(path: Path, needs: Sequence[Need], song: Song, guard: Guard) -> None:
    """Write needs, one a line. Raises HandoffError."""
    write(path, Table(NEED_COLUMNS, tuple(rows_of_needs(needs, song))), Form.CSV, guard)


def write_angles(path: Path, angles: Sequence[Angle], guard: Guard) -> None:
    """Write what is said of angles, one a line. Raises HandoffError."""
    write(path, Table(ANGLE_COLUMNS, tuple(rows_of_angles(angles))), Form.CSV, guard)


def read_rows(path: Path) -> tuple[tuple[str, ...], list[tuple[int, dict[str, str]]]]:
    """The columns of a table of needs or of angles, and its rows with the numbers of their lines.

    Which it is, its first line tells; columns may stand in any order, and optional ones may be missing. Cells
    are apart by commas, semicolons or tabs. Raises PlanError.
    """
    try:
        text = read_plain(path, MOST_BYTES).decode("utf-8-sig")
    except TooLarge as error:
        raise PlanError(f"{path.name} is far too large for a plan.") from error
    except UnicodeDecodeError as error:
        raise PlanError(f"{path.name} is not a table: it is not plain text (UTF-8).") from error
    except OSError as error:
        raise PlanError(f"{path} cannot be read: {error.strerror}.") from error
    head = text.split("\n", 1)[0]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=max(SEPARATORS, key=head.count), strict=True)
    try:
        names = [name.strip().casefold() for name in next(reader, [])]
        columns = _columns(path, names)
        rows = []
        for line in reader:
            if any(cell.strip() for cell in line):
                if len(line) > len(names):
                    raise PlanError(f"{path.name}, line {reader.line_num}: it has more cells than columns.")
                for cell in line:
                    if len(cell) > MOST_LETTERS or "\0" in cell:
                        raise PlanError(
                            f"{path.name}, line {reader.line_num}: {shown(cell)} is no text of a cell."
                        )
                rows.append((reader.line_num, dict(zip(names, map(as_said, line), strict=False))))
    except csv.Error as error:
        raise PlanError(f"{path.name}, line {reader.line_num}: {error}.") from error
    return columns, rows


def _columns(path: Path, names: Sequence[str]) -> tuple[str, ...]:
    for columns, needed in ((NEED_COLUMNS, "subject"), (ANGLE_COLUMNS, "angle")):
        if needed in names:
            unknown = [name for name in names if name and name not in columns]
            if unknown:
                raise PlanError(
                    f"{path.name} has a column {shown(unknown[0])} that is not known. Possible columns: "
                    f"{', '.join(columns)}."
                )
            return columns
    raise PlanError(
        f"{path.name} is not a plan: its first line has neither the column 'subject' (needs: "
        f"{','.join(NEED_COLUMNS)}) nor 'angle' (angles: {','.join(ANGLE_COLUMNS)})."
    )
