"""The room of each thing that can be handed over: what it would write, how it writes, what of it is ours.

Rooms that read clips are loaded when they are asked for, for they bring the signal libraries along.
"""

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

from app.handoff.choices import Choices, Form, What
from app.handoff.event_list import edl_file
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffError, HandoffReport, HandoffStopped, Planned, Progress, Stop
from app.handoff.tables import coverage_table, report_file, section_table, table_text, take_table
from app.handoff.timeline import otio_bundle, otio_file
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from audio.errors import AudioError, Stopped

if TYPE_CHECKING:
    from app.handoff.filmed.film import Film

_TABLES = (take_table.COLUMNS, section_table.COLUMNS, coverage_table.COLUMNS, edl_file.SOURCES)
_FOLDERS = (f" {What.STAMPED}", f" {What.CONFORMED}")
"""How the names of folders end that hold copies; what lies in them is looked at by their rooms."""


def plan(shoot: SongView, what: What, choices: Choices) -> Iterator[Planned]:
    """What would be written of one thing, into which files. Raises HandoffError."""
    name = safe_name(shoot.name)
    match what:
        case What.OTIO:
            yield otio_file.plan(shoot, f"{name}.otio", choices)
        case What.OTIOZ | What.OTIOD:
            yield otio_bundle.plan(shoot, f"{name}.{what}", choices)
        case What.EDL:
            yield from edl_file.plan(shoot, name, choices)
        case What.TAKES:
            yield take_table.plan(shoot, f"{name}.{choices.form}", choices.form)
        case What.SECTIONS:
            yield section_table.plan(shoot, f"{name} sections.{choices.form}", choices)
        case What.COVERAGE:
            yield coverage_table.plan(shoot, f"{name} coverage.{choices.form}", choices)
        case What.REPORT:
            yield report_file.plan(shoot, f"{name}.json")
        case What.STAMPED | What.CONFORMED:
            copies = _copies(what).plan(shoot, _placed, choices.start, rate=choices.rate)
            yield Planned(f"{name} {what}", copies.bytes_needed, copies.lines)
        case What.FILM:
            from app.handoff.filmed import film

            # How large it becomes is known when it is there.
            yield Planned(f"{name}{film.SUFFIX}", 0, film.plan(shoot, _film(shoot, choices)).lines)


def write(
    shoot: SongView, what: What, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    """Write one thing; what is there is told file by file. Raises HandoffError, HandoffStopped."""
    try:
        yield from _write(shoot, what, folder, choices, stop, progress)
    except (AudioError, OSError, ValueError) as error:
        # What a room did not foresee ends that room, not the others.
        why = (getattr(error, "strerror", None) or str(error)).rstrip(".")
        raise HandoffError(f"Not all could be written ({what}): {why}. Choose another folder.") from error


def _write(
    shoot: SongView, what: What, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    name = safe_name(shoot.name)
    match what:
        case What.OTIO:
            yield otio_file.write(shoot, folder / f"{name}.otio", choices)
        case What.OTIOZ | What.OTIOD:
            yield otio_bundle.write(shoot, folder / f"{name}.{what}", choices, stop=stop, progress=progress)
        case What.EDL:
            yield from edl_file.write(shoot, folder, name, choices)
        case What.TAKES:
            yield take_table.write(shoot, folder / f"{name}.{choices.form}", choices.form)
        case What.SECTIONS:
            yield section_table.write(shoot, folder / f"{name} sections.{choices.form}", choices)
        case What.COVERAGE:
            yield coverage_table.write(shoot, folder / f"{name} coverage.{choices.form}", choices)
        case What.REPORT:
            yield report_file.write(shoot, folder / f"{name}.json")
        case What.STAMPED | What.CONFORMED:
            inside = folder / f"{name} {what}"
            rate = choices.rate
            yield _copies(what).write(
                shoot, inside, _placed, choices.start, rate=rate, stop=stop, progress=progress
            )
        case What.FILM:
            from app.handoff.filmed import film

            path = folder / f"{name}{film.SUFFIX}"
            try:
                yield film.write(shoot, path, _film(shoot, choices), stop=stop, progress=progress)
            except Stopped as error:
                raise HandoffStopped("The film was stopped; nothing half-written is left.") from error


def is_ours(path: Path) -> bool:
    """Whether what lies at a path is of an earlier hand-off, so that it may be replaced."""
    if path.name.endswith(_FOLDERS):
        return path.is_dir() and not path.is_symlink()
    test = _TESTS.get(path.suffix)
    try:
        return test is not None and test(path)
    except (AudioError, OSError):
        return False


def _copies(what: What) -> ModuleType:
    from app.handoff.copied import conformed, stamped

    return stamped if what is What.STAMPED else conformed


def _placed(clip: Clip, take: Take) -> bool:
    """A copy cannot be switched off, so takes in doubt have none."""
    return take.verdict is Verdict.PLACED


def _film(shoot: SongView, choices: Choices) -> "Film":
    from app.handoff.filmed.film import Film, FilmSound, bars_s

    wish = choices.film
    from_s, to_s = (0.0, None) if wish.bars is None else bars_s(shoot, *wish.bars)
    rate = choices.rate if choices.rate is None or choices.rate <= 60 else None
    angles, sound = ((wish.angle_id,), FilmSound.EARS) if wish.angle_id else ((), FilmSound.SONG)
    return Film(angles, from_s, to_s, wish.width, wish.height, rate, sound)


def _is_our_json(path: Path, *keys: str) -> bool:
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        for key in keys:
            data = data[key]
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        return False
    return True


def _is_our_table(path: Path) -> bool:
    form = Form(path.suffix[1:])
    return any(table_text.begins_as(path, columns, form) for columns in _TABLES)


def _is_our_film(path: Path) -> bool:
    from app.handoff.filmed import film

    return path.is_file() and film.is_ours(path)


_TESTS: dict[str, Callable[[Path], bool]] = {
    ".otio": lambda path: _is_our_json(path, "metadata", otio_file.KEY),
    ".otioz": otio_bundle.is_ours,
    ".otiod": otio_bundle.is_ours,
    ".edl": edl_file.is_ours,
    ".csv": _is_our_table,
    ".tsv": _is_our_table,
    ".mp4": _is_our_film,
    ".json": lambda path: _is_our_json(path, "report_version"),
}
