"""Knowing a file again by its content, wherever it was moved and whatever it is called now."""

import errno
import hashlib
import os
import stat
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path, PurePath

from app.model.document.media_ref import MediaRef

SPOTS = 16
SPOT_BYTES = 64 * 1024


def media_ref(path: Path) -> MediaRef:
    """The file as it is now: absolute path, size and fingerprint. Raises OSError; what is no file is one."""
    size = path.stat().st_size
    return MediaRef(os.path.abspath(path), size, fingerprint(path))  # noqa: PTH100  (links are not followed)


def fingerprint(path: Path) -> str:
    """SHA-256, as hex, over the file's size and samples of its content. Raises OSError.

    Hashed are, in this order: the size as 8 bytes, most significant first; then 16 spots of 64 KiB. Spot n
    begins at byte ``n * (size - 65536) // 15``: the first at the file's start, the last ending with the
    file. Of a file no longer than 1 MiB the whole content is hashed once instead. A 3 GB file costs 1 MiB
    of reading. Two files of one size that differ only between the spots count as one; the headers and
    tails of media files make that unlikely. A pipe or a device, whose reading might never end, is an OSError.
    """
    if not stat.S_ISREG(path.stat().st_mode):
        raise OSError(errno.EINVAL, "not a plain file", str(path))
    with path.open("rb") as file:
        size = os.fstat(file.fileno()).st_size
        digest = hashlib.sha256(size.to_bytes(8, "big"))
        if size <= SPOTS * SPOT_BYTES:
            digest.update(file.read())
        else:
            for n in range(SPOTS):
                file.seek(n * (size - SPOT_BYTES) // (SPOTS - 1))
                digest.update(file.read(SPOT_BYTES))
    return digest.hexdigest()


@dataclass(frozen=True, slots=True)
class Search:
    """What came of looking for moved files; keys are the paths where they were."""

    found: dict[str, MediaRef]
    """The files found again."""
    namesakes: dict[str, str]
    """For files not found: one of the same name whose content is another."""


def find_again(
    refs: Iterable[MediaRef], folders: Iterable[Path], *, stop: Callable[[], bool] = lambda: False
) -> Search:
    """Look for moved files in folders and all below them.

    Size and content decide, never the name alone; of several copies one of the old name is taken first,
    then the first in the order of paths. Empty files are never found again. Folders that cannot be read
    are passed over. When ``stop()`` says so, what was found so far is given.
    """
    wanted = [ref for ref in refs if ref.size_bytes > 0]
    sizes = {ref.size_bytes for ref in wanted}
    names = {PurePath(ref.path).name for ref in wanted}
    candidates: dict[tuple[int, str], list[Path]] = {}
    named: dict[str, Path] = {}
    for path, size in _files(folders, stop):
        if path.name in names:
            named.setdefault(path.name, path)
        if size not in sizes or stop():
            continue
        try:
            key = (path.stat().st_size, fingerprint(path))
        except OSError:
            continue
        candidates.setdefault(key, []).append(path)
    found: dict[str, MediaRef] = {}
    namesakes: dict[str, str] = {}
    for ref in wanted:
        name = PurePath(ref.path).name
        paths = candidates.get((ref.size_bytes, ref.digest))
        if paths:
            best = next((path for path in paths if path.name == name), paths[0])
            found[ref.path] = MediaRef(os.path.abspath(best), ref.size_bytes, ref.digest)  # noqa: PTH100
        elif name in named:
            namesakes[ref.path] = str(named[name])
    return Search(found, namesakes)


def _files(folders: Iterable[Path], stop: Callable[[], bool]) -> Iterator[tuple[Path, int]]:
    """Every file in folders and all below them, with its size, in the order of paths."""
    for top in folders:
        for folder, below, names in os.walk(top):
            if stop():
                return
            below.sort()
            for name in sorted(names):
                path = Path(folder, name)
                try:
                    size = path.stat().st_size
                except OSError:
                    continue
                yield path, size
