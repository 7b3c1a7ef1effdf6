"""A plan as rows of text, one need each, and back: what a table of needs and a table of angles say."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from app.model.angles import same_name, tidy_name
from app.model.document.angle import Angle
from app.model.document.plan import Need, Passage
from app.model.document.song import Section, Song
from app.model.song_map.bar_spans import bar_spans, bars_of_sections, song_sections

NEED_COLUMNS = ("section", "first_bar", "last_bar", "subject", "least_bars", "least_angles", "note")
ANGLE_COLUMNS = ("angle", "subjects", "safety", "rank", "place", "camera")
LIKE = "like "
"""Before a section's letter: all sections of its family."""
YES, NO = ("yes", "true", "1", "x"), ("no", "false", "0", "")

Row = Mapping[str, str]
Told = TypeVar("Told")


class PlanError(Exception):
    """A table cannot be read; ``str(error)`` says which lines and why."""


@dataclass(frozen=True, slots=True)
class AngleRow:
    """What a table says of an angle; None where it has no such column, so what is known stays."""

    name: str
    subjects: tuple[str, ...]
    safety: bool
    rank: int
    place: str | None = None
    camera: str | None = None


def rows_of_needs(needs: Sequence[Need], song: Song) -> list[dict[str, str]]:
    """Needs as rows; ``needs_of_rows`` makes the same needs of them.

    A section that is no longer in the song's map leaves its cell with its id, which reading refuses.
    """
    rows = []
    for need in needs:
        first, last = need.passage.first_bar, need.passage.last_bar
        rows.append(
            {
                "section": section_cell(need.passage, song),
                "first_bar": str(first) if first else "",
                "last_bar": str(last) if last else "",
                "subject": need.subject,
                "least_bars": str(need.least_bars) if need.least_bars else "",
                "least_angles": str(need.least_angles),
                "note": need.note,
            }
        )
    return rows


def needs_of_rows(rows: Sequence[tuple[int, Row]], song: Song) -> tuple[Need, ...]:
    """Needs of rows and the numbers of their lines; their ids are still to be given.

    A section is told by its letter or its name; by a name that several sections have all of them are meant.
    ``like B`` means all sections that sound like B. Without bars the whole section is meant, without both
    the whole song. Raises PlanError with every line that cannot be understood.
    """
    return tuple(need for row in _each(rows, lambda row: _needs(row, song)) for need in row)


def rows_of_angles(angles: Sequence[Angle]) -> list[dict[str, str]]:
    """Angles as rows; ``angles_of_rows`` reads the same of them."""
    return [
        {
            "angle": one.name,
            "subjects": "; ".join(one.subjects),
            "safety": "yes" if one.safety else "no",
            "rank": str(one.rank) if one.rank else "",
            "place": one.place,
            "camera": one.camera,
        }
        for one in angles
    ]


def angles_of_rows(rows: Sequence[tuple[int, Row]]) -> tuple[AngleRow, ...]:
    """Angles of rows; subjects stand apart by semicolons, and only the name is needed. Raises PlanError."""
    return tuple(_each(rows, _angle))


def _each(rows: Sequence[tuple[int, Row]], read: Callable[[Row], Told]) -> list[Told]:
    found, troubles = [], []
    for number, row in rows:
        try:
            found.append(read(row))
        except ValueError as error:
            troubles.append(f"line {number}: {error}")
    if troubles:
        raise PlanError("; ".join(troubles))
    return found


def _needs(row: Row, song: Song) -> tuple[Need, ...]:
    subject = tidy_name(row.get("subject", ""))
    if not subject:
        raise ValueError("it names no subject")
    first, last = _number(row, "first_bar"), _number(row, "last_bar")
    least_bars, least_angles = _number(row, "least_bars"), _number(row, "least_angles") or 1
    need = Need(
        id="",
        song_id=song.id,
        passage=Passage(),
        subject=subject,
        least_bars=least_bars,
        least_angles=least_angles,
        note=row.get("note", "").strip(),
    )
    passages = _passages(tidy_name(row.get("section", "")), first, last, song)
    return tuple(replace(need, passage=passage) for passage in passages)


def _passages(told: str, first: int, last: int, song: Song) -> list[Passage]:
    if last and not first:
        raise ValueError("it has a last bar but no first one")
    last = last or first
    if last < first:
        raise ValueError(f"bar {last} comes before bar {first}")
    bars = bar_spans(song)
    if last > len(bars):
        raise ValueError(f"the song has {len(bars)} bars, and bar {last} is asked for")
    if not told:
        return [Passage(first_bar=first, last_bar=last)]
    family, sections = _sections(told, song)
    if not first:
        if family:
            return [Passage(family=family)]
        return [Passage(section_id=section.id) for section in sections]
    every = song_sections(song)
    for section, own in zip(every, bars_of_sections(every, bars), strict=True):
        numbers = [bars[n].number for n in own]
        if section in sections and numbers and numbers[0] <= first and last <= numbers[-1]:
            return [Passage(first_bar=first, last_bar=last)]
    raise ValueError(f"bars {first} to {last} are not in section {told}")


def _sections(told: str, song: Song) -> tuple[str, list[Section]]:
    """The family that is meant (empty for none), and the sections."""
    every = song_sections(song)
    if told.casefold().startswith(LIKE):
        letter = told[len(LIKE) :]
        found = [one for one in every if same_name(one.letter, letter)]
        if not found or not found[0].family:
            raise ValueError(f"there is no section {letter} that others sound like")
        family = found[0].family
        return family, [one for one in every if one.family == family]
    found = [one for one in every if same_name(one.letter, told)]
    found = found or [one for one in every if one.name and same_name(one.name, told)]
    if not found:
        known = ", ".join(one.letter for one in every)
        raise ValueError(f"the song has no section {told} (there are {known})")
    families = {one.family for one in found}
    whole_family = len(found) > 1 and len(families) == 1 and families != {""}
    if whole_family and len(found) == sum(one.family in families for one in every):
        return found[0].family, found
    return "", found


def section_cell(passage: Passage, song: Song) -> str:
    """How a table tells the section of a passage: its letter, ``like B`` for a family, or nothing."""
    every = song_sections(song)
    if passage.section_id:
        return next((one.letter for one in every if one.id == passage.section_id), passage.section_id)
    if passage.family:
        letter = next((one.letter for one in every if one.family == passage.family), passage.family)
        return f"{LIKE}{letter}"
    return ""


def _angle(row: Row) -> AngleRow:
    name = tidy_name(row.get("angle", ""))
    if not name:
        raise ValueError("it names no angle")
    said = row.get("safety", "").strip().casefold()
    if said not in YES + NO:
        raise ValueError(f"safety is yes or no, not {said}")
    subjects = tuple(tidy_name(one) for one in row.get("subjects", "").split(";") if one.strip())
    place, camera = (tidy_name(row[column]) if column in row else None for column in ("place", "camera"))
    return AngleRow(name, subjects, said in YES, _number(row, "rank"), place, camera)


def _number(row: Row, column: str) -> int:
    text = row.get(column, "").strip()
    if not text:
        return 0
    if not (text.isascii() and text.isdigit()) or len(text) > 6:
        raise ValueError(f"{column} is a whole number, not {text}")
    return int(text)
