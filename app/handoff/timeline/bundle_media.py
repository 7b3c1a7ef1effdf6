"""The files within a bundle: which they are, how they are copied into it, and that they arrived.

What lies where is told by the OpenTimelineIO documentation ("File Bundles"): ``version.txt``,
``content.otio`` and the files in ``media/``. Files are copied, never linked: a link would lead whoever
changes the bundle to the clips themselves. In the one file nothing is compressed and all dates are alike, so
that the same shoot gives the same bytes.
"""

import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import IO
from urllib.parse import quote

from app.handoff.layout import Layout, clip_names
from app.handoff.names import FreeNames, copy_name
from app.handoff.neighbour import pieces, to_disk
from app.handoff.outcome import HandoffError, Stop
from app.handoff.sources import source_trouble
from app.model.document.media_ref import MediaRef
from app.model.document.song import Song
from app.model.storage.own_bundle import CONTENT

VERSION = b"1.0.0"
VERSION_FILE, MEDIA = "version.txt", "media"
Told = Callable[[int], None]
"""Is told how many bytes more are done."""
_DATE = (1980, 1, 1, 0, 0, 0)
"""The earliest a zip file can tell."""
_LARGE = 2**31 - 1
"""Beyond this a zip file needs the wider headers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """The files of a bundle."""

    names: dict[str, str]
    """Path of each file to its name in the bundle."""
    sizes: dict[str, int]
    """Path of each file to its size in bytes."""
    left: tuple[tuple[MediaRef, str], ...]
    """Files that are not held, and why."""

    @property
    def size_bytes(self) -> int:
        """All files together."""
        return sum(self.sizes.values())

    def where(self, media: MediaRef) -> str | None:
        """The address of a file within the bundle; None for one that it does not hold."""
        name = self.names.get(media.path)
        return None if name is None else f"{MEDIA}/{quote(name)}"


def held(song: Song, layout: Layout) -> Held:
    """The song's file and those of all takes on the timeline; none but the recordings that were heard."""
    used = {media.path: media for media in (song.media, *(one.clip.media for one in layout.segments))}
    clips = {one.clip.id: one.clip for one in layout.segments}
    called = {clips[clip_id].media.path: name for clip_id, name in clip_names(clips.values()).items()}
    free = FreeNames()
    names: dict[str, str] = {}
    sizes: dict[str, int] = {}
    left: list[tuple[MediaRef, str]] = []
    for path, media in used.items():
        trouble = source_trouble(media)
        if trouble is not None:
            left.append((media, trouble))
            continue
        sizes[path] = media.size_bytes
        names[path] = copy_name(free, called.get(path, Path(path).name))
    return Held(names=names, sizes=sizes, left=tuple(left))


def pack(path: Path, content: bytes, files: Held, stop: Stop, told: Told) -> None:
    """Write the bundle as one file, and read every byte of it again."""
    with path.open("xb") as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as bundle:
            bundle.writestr(_entry(VERSION_FILE), VERSION)
            bundle.writestr(_entry(CONTENT), content)
            for source, name in files.names.items():
                entry = _entry(f"{MEDIA}/{name}")
                with bundle.open(entry, "w", force_zip64=files.sizes[source] > _LARGE) as target:
                    _copy(source, target, files, stop, told)
        to_disk(file)
    with zipfile.ZipFile(path) as bundle:
        for name in bundle.namelist():
            with bundle.open(name) as member:
                for _ in pieces(member, stop, told):  # wrong bytes are told by the reader at their end
                    pass


def lay_out(path: Path, content: bytes, files: Held, stop: Stop, told: Told) -> None:
    """Write the bundle as a folder, and read every byte of it again."""
    (path / MEDIA).mkdir(parents=True)
    (path / VERSION_FILE).write_bytes(VERSION)
    (path / CONTENT).write_bytes(content)
    for source, name in files.names.items():
        with (path / MEDIA / name).open("xb") as target:
            summed = _copy(source, target, files, stop, told)
            to_disk(target)
        again = 0
        with (path / MEDIA / name).open("rb") as member:
            for piece in pieces(member, stop, told):
                again = zlib.crc32(piece, again)
        if again != summed:
            raise HandoffError(f"{name} reads back differently from the clip. Try another disk.")


def _copy(source: str, target: IO[bytes], files: Held, stop: Stop, told: Told) -> int:
    """Copy a file; gives the checksum of its bytes (CRC-32)."""
    summed = number = 0
    with Path(source).open("rb") as file:
        for piece in pieces(file, stop, told):
            target.write(piece)
            summed, number = zlib.crc32(piece, summed), number + len(piece)
    if number != files.sizes[source]:
        raise HandoffError(f"{Path(source).name} changed while it was copied. Wait until it is complete.")
    return summed


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, _DATE)
    entry.create_system = 3  # told alike on every system
    entry.external_attr = 0o644 << 16
    return entry
