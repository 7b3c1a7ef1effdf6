"""Keeping the shoot in one file: readable JSON with a version, swapped in whole.

The file holds exact numbers (shortest text that reads back as the same float), frame rates as fractions,
and media paths relative to itself wherever the two share a folder, so that a shoot moved together with its
media opens.
"""

import copy
import json
import os
from collections.abc import Mapping
from pathlib import Path, PurePath
from typing import NoReturn

from app.model.document.json_form import from_json, to_json
from app.model.document.json_node import Json, WrongShape
from app.model.document.shoot import Shoot
from app.model.document.upgrades import UPGRADES, VERSION, Upgrade
from app.model.storage.files import write_whole

VERSION_KEY = "anglebook_version"
SUFFIX = ".anglebook"


class StoreError(Exception):
    """A shoot cannot be read or written; ``str(error)`` is a sentence that says what and what to do."""


def save(shoot: Shoot, path: Path) -> None:
    """Write the shoot to its file, whole or not at all. Raises StoreError.

    What is written is read back first: a shoot that could not be opened again is not written.
    """
    text = to_text(shoot, path.absolute().parent)
    try:
        again = from_text(text, path.absolute().parent)
    except StoreError as error:
        raise StoreError(f"The shoot was not saved, because it could not be opened again: {error}") from error
    if to_text(again, path.absolute().parent) != text:
        raise StoreError("The shoot was not saved, because it would come back changed. Please report this.")
    try:
        # A file name that is no text (odd bytes on a card) is kept as JSON escapes.
        write_whole(path, text.encode("utf-8", errors="backslashreplace"))
    except OSError as error:
        raise StoreError(
            f"{path.name} could not be written: {_why(error)}. Choose another folder, or make room there."
        ) from error


def load(path: Path) -> Shoot:
    """Read a shoot, whole or not at all. Raises StoreError.

    Media that are not there are no error: see ``missing``.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise StoreError(f"{path.name} could not be read: {_why(error)}.") from error
    except UnicodeDecodeError:
        raise StoreError(f"{path.name} is not a shoot: it is not text. Open a {SUFFIX} file.") from None
    try:
        return from_text(text, path.absolute().parent)
    except StoreError as error:
        raise StoreError(f"{path.name} was not opened: {error}") from error.__cause__


def to_text(shoot: Shoot, folder: Path) -> str:
    """The text of a shoot file that lies in ``folder``. Raises StoreError for numbers that are not finite."""
    data = {VERSION_KEY: VERSION, **to_json(shoot, lambda media: _written(media, folder))}
    try:
        return json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
    except ValueError:
        raise StoreError("The shoot holds a number that is not finite.") from None


def from_text(text: str, folder: Path) -> Shoot:
    """Read the text of a shoot file that lies in ``folder``. Raises StoreError."""
    try:
        data = json.loads(text, object_pairs_hook=_no_key_twice, parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        raise StoreError(
            f"it is damaged or not a shoot ({error}). Open a copy or the backup of it."
        ) from None
    if not isinstance(data, dict) or VERSION_KEY not in data:
        raise StoreError(f"it is not a shoot: {VERSION_KEY!r} is missing. Open a {SUFFIX} file.")
    try:
        data = upgraded(data, VERSION, UPGRADES)
        del data[VERSION_KEY]
        return from_json(data, lambda kept: _found(kept, folder))
    except WrongShape as error:
        raise StoreError(f"it is damaged: {error}. Open a copy or the backup of it.") from None


def upgraded(data: Json, newest: int, steps: Mapping[int, Upgrade]) -> Json:
    """Bring a document of any version up to the newest, one step after the other; the input stays as it is.

    ``steps[n]`` makes version n + 1 of version n; the version itself is counted here. Raises StoreError for a
    version that is newer, no number, or that no step leads from.
    """
    version = data[VERSION_KEY]
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise StoreError(f"it is damaged: {version!r} is not a version. Open a copy or the backup of it.")
    if version > newest:
        raise StoreError(
            f"it was written by a newer Anglebook (file version {version}, this one reads up to {newest}). "
            "Update Anglebook to open it."
        )
    data = copy.deepcopy(data)
    for n in range(version, newest):
        if n not in steps:
            raise StoreError(f"nothing leads from file version {n} to {n + 1}; this Anglebook is incomplete.")
        data = {**steps[n](data), VERSION_KEY: n + 1}
    return data


def missing(shoot: Shoot) -> tuple[str, ...]:
    """Ids of the songs, then of the clips, whose files are not where the shoot has them, in its order."""
    media = {one.id: one.media for one in shoot.songs} | {one.id: one.media for one in shoot.clips}
    return tuple(one for one, file in media.items() if not Path(file.path).is_file())


def _written(media: str, folder: Path) -> str:
    """The media path as the file keeps it: relative where both share a folder below the root."""
    pure = PurePath(media)
    if not pure.is_absolute():
        return _written(str(Path(media).absolute()), folder)
    try:
        shared = PurePath(os.path.commonpath([media, folder]))
        relative = PurePath(os.path.relpath(media, folder)).as_posix()
    except ValueError:  # two drives
        return pure.as_posix()
    if shared == PurePath(shared.anchor) or _found(relative, folder) != media:
        return media if os.sep == "/" else pure.as_posix()
    return relative


def _found(kept: str, folder: Path) -> str:
    if PurePath(kept).is_absolute():
        return str(PurePath(kept)) if os.sep != "/" else kept
    return os.path.normpath(folder / kept)


def _no_key_twice(pairs: list[tuple[str, object]]) -> Json:
    data = dict(pairs)
    if len(data) != len(pairs):
        raise ValueError("a name is there twice")
    return data


def _no_constant(text: str) -> NoReturn:
    raise ValueError(f"{text} is not a number")


def _why(error: OSError) -> str:
    return error.strerror or str(error)
