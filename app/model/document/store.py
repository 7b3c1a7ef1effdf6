"""Keeping the shoot in one file: readable JSON with a version, swapped in whole.

The file holds exact numbers (shortest text that reads back as the same float), frame rates as fractions,
and media paths relative to itself wherever the two share a folder, so that a shoot moved together with its
media opens.
"""

import copy
import hashlib
import json
import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path, PurePath
from typing import NoReturn

from app.model.document.bounds import MOST_BYTES
from app.model.document.json_form import from_json, to_json
from app.model.document.outside import folders_outside
from app.model.document.shoot import Shoot
from app.model.document.upgrades import UPGRADES, VERSION, Upgrade
from app.model.guarding import guard_of
from app.model.storage import known_shoots
from app.model.storage.file_lock import Locked, locked
from app.model.storage.files import write_whole
from app.model.storage.guard import MayNotWrite
from app.model.storage.json_node import Json, WrongShape, shown
from app.model.storage.plain_file import TooLarge, read_plain

VERSION_KEY = "anglebook_version"
SUFFIX = ".anglebook"


class StoreError(Exception):
    """A shoot cannot be read or written; ``str(error)`` is a sentence that says what and what to do."""


class ChangedMeanwhile(StoreError):
    """The file is not what it was when it was read: somebody else saved it since."""


class Unfamiliar(StoreError):
    """The file was not saved here, and names media outside its folder: nobody agreed yet to reading those."""

    def __init__(self, path: Path, folders: tuple[str, ...]) -> None:
        self.folders = folders
        super().__init__(
            f"{path.name} was not saved by this Anglebook, and it names files outside its own folder, in: "
            f"{', '.join(folders)}. Nothing was read there."
        )


def save(shoot: Shoot, path: Path, *, expected: str | None = None) -> str:
    """Write the shoot to its file, whole or not at all; gives the file's digest. Raises StoreError.

    ``expected`` is the digest of the file as it was read: where there is another by now, nothing is written,
    so that nobody's work is lost without a word, and ChangedMeanwhile is raised.

    What is written is read back first: a shoot that could not be opened again is not written. A shoot file
    that lies in a folder of clips already is the maker's own document and is saved over there; a new one is
    not put there, nor in the place of a clip or a link.
    """
    with _held(path):
        if expected is not None and digest(path) not in (expected, None):
            raise ChangedMeanwhile(f"{path.name} was changed since it was opened. Nothing was saved.")
        return _save(shoot, path)


def update(path: Path, change: Callable[[Shoot], Shoot], *, trust: bool = False) -> Shoot:
    """Put a change onto the shoot as its file has it now, an empty one where there is none, and save it.

    Nobody else writes in between. What ``change`` raises goes through; nothing is written then.
    ``trust`` as in `load`. Raises StoreError.
    """
    with _held(path):
        shoot = change(load(path, trust=trust) if path.exists() else Shoot())
        _save(shoot, path)
    return shoot


def digest(path: Path) -> str | None:
    """What tells a file's content from any other; None where it cannot be read."""
    try:
        return _digest(read_plain(path, MOST_BYTES))
    except OSError:
        return None


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


@contextmanager
def _held(path: Path) -> Iterator[None]:
    try:
        with locked(path):
            yield
    except Locked as error:
        raise StoreError(str(error)) from error


def _save(shoot: Shoot, path: Path) -> str:
    text = to_text(shoot, path.absolute().parent)
    try:
        again = from_text(text, path.absolute().parent)
    except StoreError as error:
        raise StoreError(f"The shoot was not saved, because it could not be opened again: {error}") from error
    if to_text(again, path.absolute().parent) != text:
        raise StoreError("The shoot was not saved, because it would come back changed. Please report this.")
    # A file name that is no text (odd bytes on a card) is kept as JSON escapes.
    data = text.encode("utf-8", errors="backslashreplace")
    if len(data) > MOST_BYTES:
        raise StoreError(
            f"{path.name} was not saved: it would be larger than {MOST_BYTES / 1e6:g} MB, and could not be "
            "opened again. Remove clips, and keep the others in a second shoot."
        )
    try:
        write_whole(path, data, guard_of(shoot), own=path.suffix == SUFFIX)
    except MayNotWrite as error:
        raise StoreError(f"{path.name} was not saved: {error.strerror}. Choose another folder.") from error
    except OSError as error:
        raise StoreError(
            f"{path.name} could not be written: {_why(error)}. Choose another folder, or free some space."
        ) from error
    mark = _digest(data)
    known_shoots.remember(mark)
    return mark


def load(path: Path, *, trust: bool = False) -> Shoot:
    """Read a shoot, whole or not at all. Raises StoreError.

    Unfamiliar where it came from elsewhere and leads outside its folder, unless ``trust`` says that the
    person agreed to that; it is remembered then.

    Media that are not there are no error: see ``missing``.
    """
    return load_with_digest(path, trust=trust)[0]


def load_with_digest(path: Path, *, trust: bool = False) -> tuple[Shoot, str]:
    """The same, with the digest of the file, for `save` to know it by."""
    try:
        data = read_plain(path, MOST_BYTES)
        text = data.decode("utf-8-sig")
    except TooLarge as error:
        raise StoreError(f"{path.name} is not a shoot: {error.strerror}. Open a {SUFFIX} file.") from error
    except OSError as error:
        raise StoreError(f"{path.name} could not be read: {_why(error)}.") from error
    except UnicodeDecodeError:
        raise StoreError(f"{path.name} is not a shoot: it is not text. Open a {SUFFIX} file.") from None
    try:
        shoot = from_text(text, path.absolute().parent)
    except StoreError as error:
        raise StoreError(f"{path.name} was not opened: {error}") from error.__cause__
    mark = _digest(data)
    if not known_shoots.is_known(mark):
        folders = folders_outside(shoot, path.absolute().parent)
        if folders and not trust:
            raise Unfamiliar(path, folders)
        known_shoots.remember(mark)
    return shoot, mark


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
    except (WrongShape, RecursionError) as error:
        why = error if isinstance(error, WrongShape) else "it has groups within groups without end"
        raise StoreError(f"it is damaged: {why}. Open a copy or the backup of it.") from None


def upgraded(data: Json, newest: int, steps: Mapping[int, Upgrade]) -> Json:
    """Bring a document of any version up to the newest, one step after the other; the input stays as it is.

    ``steps[n]`` makes version n + 1 of version n; the version itself is counted here. Raises StoreError for a
    version that is newer, no number, or that no step leads from.
    """
    version = data[VERSION_KEY]
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise StoreError(
            f"it is damaged: {shown(version)} is not a version. Open a copy or the backup of it."
        )
    if version > newest:
        raise StoreError(
            f"it was written by a newer Anglebook (file version {shown(version)}, this one reads up to "
            f"{newest}). Update Anglebook to open it."
        )
    data = copy.deepcopy(data)
    for n in range(version, newest):
        if n not in steps:
            raise StoreError(f"nothing leads from file version {n} to {n + 1}; this Anglebook is incomplete.")
        data = {**steps[n](data), VERSION_KEY: n + 1}
    return data


def missing(shoot: Shoot) -> tuple[str, ...]:
    """Ids of songs, then of playback files and clips, whose files are not where the shoot has them."""
    media = {one.id: one.media for one in shoot.songs} | {one.id: one.media for one in shoot.playbacks}
    media |= {one.id: one.media for one in shoot.clips}
    return tuple(one for one, file in media.items() if not os.path.isfile(file.path))  # noqa: PTH113 (never raises)


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
        raise ValueError("a name appears twice")
    return data


def _no_constant(text: str) -> NoReturn:
    raise ValueError(f"{text} is not a number")


def _why(error: OSError) -> str:
    return error.strerror or str(error)
