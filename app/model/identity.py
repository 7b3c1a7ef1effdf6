"""Knowing a file again by its content, wherever it was moved and whatever it is called now."""

import hashlib
import os
from collections.abc import Callable, Collection, Iterable
from pathlib import Path

from app.model.shoot import MediaRef

SPOTS = 16
SPOT_BYTES = 64 * 1024


def media_ref(path: Path) -> MediaRef:
    """The file as it is now: absolute path, size and fingerprint. Raises OSError."""
    size = path.stat().st_size
    return MediaRef(os.path.abspath(path), size, fingerprint(path))  # noqa: PTH100  (links are not followed)


def fingerprint(path: Path) -> str:
    """SHA-256, as hex, over the file's size and samples of its content. Raises OSError.

    Hashed are, in this order: the size as 8 bytes, most significant first; then 16 spots of 64 KiB. Spot n
    begins at byte ``n * (size - 65536) // 15``: the first at the file's start, the last ending with the
    file. Of a file no longer than 1 MiB the whole content is hashed once instead. A 3 GB file costs 1 MiB
    of reading. Two files of one size that differ only between the spots count as one; the headers and
    tails of media files make that unlikely.
    """
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


def find_again(
    refs: Iterable[MediaRef], folders: Iterable[Path], *, stop: Callable[[], bool] = lambda: False
) -> dict[str, MediaRef]:
    """Look for moved files in folders and all below them; gives, for the old path, the file found.

    Size and content decide, never the name alone; of several copies one of the old name is taken first,
    then the first in the order of paths. Empty files are never found again. Folders that cannot be read
    are passed over. When ``stop()`` says so, what was found so far is given.
    """
    wanted: dict[int, list[MediaRef]] = {}
    for ref in refs:
        if ref.size_bytes > 0:
            wanted.setdefault(ref.size_bytes, []).append(ref)
    candidates: dict[tuple[int, str], list[Path]] = {}
    for path in _files_of_size(folders, wanted.keys(), stop):
        try:
            key = (path.stat().st_size, fingerprint(path))
        except OSError:
            continue
        candidates.setdefault(key, []).append(path)
    found = {}
    for ref in (ref for refs_of_size in wanted.values() for ref in refs_of_size):
        paths = candidates.get((ref.size_bytes, ref.digest))
        if paths:
            name = Path(ref.path).name
            best = next((path for path in paths if path.name == name), paths[0])
            found[ref.path] = MediaRef(os.path.abspath(best), ref.size_bytes, ref.digest)  # noqa: PTH100
    return found


def _files_of_size(folders: Iterable[Path], sizes: Collection[int], stop: Callable[[], bool]) -> list[Path]:
    paths: list[Path] = []
    for top in folders:
        for folder, below, names in os.walk(top):
            if stop():
                return paths
            below.sort()
            for name in sorted(names):
                path = Path(folder, name)
                try:
                    if path.stat().st_size in sizes:
                        paths.append(path)
                except OSError:
                    continue
    return paths
