"""A timeline with copies of all the media it uses, as one file (``.otioz``) or a folder (``.otiod``).

The library's own writer stamps the time of day, refuses two files with the same name and cannot be stopped.
So the bundle is written here (`app.handoff.timeline.bundle_media`) and read back with the library.
"""

import json
import zipfile
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote

import opentimelineio as otio

from app.handoff.choices import DEFAULT, Choices
from app.handoff.layout import layout_on_song
from app.handoff.neighbour import need_room, neighbour, size_words
from app.handoff.notes import worst_sub_frame_offset_s
from app.handoff.outcome import (
    HandoffError,
    HandoffReport,
    Planned,
    Progress,
    Stop,
    count,
    never,
    no_progress,
    plain,
)
from app.handoff.timeline import bundle_media
from app.handoff.timeline.bundle_media import VERSION, VERSION_FILE, Held
from app.handoff.timeline.otio_check import check
from app.handoff.timeline.otio_file import lines, to_text
from app.handoff.timeline.otio_timeline import to_timeline
from app.model.guarding import guard_of
from app.model.on_song import SongView
from app.model.storage.own_bundle import CONTENT, KEY
from app.model.storage.plain_file import MOST_LOOKED_AT, read_plain


def write(
    shoot: SongView,
    path: Path,
    choices: Choices = DEFAULT,
    *,
    stop: Stop = never,
    progress: Progress = no_progress,
) -> HandoffReport:
    """Write the kind of bundle named by the path's suffix, read it back and compare. Raises HandoffError."""
    song, layout = layout_on_song(shoot, choices)
    files = bundle_media.held(song, layout)
    content = to_text(to_timeline(shoot, song, layout, files.where))
    done = 0

    def count_bytes(number: int) -> None:
        nonlocal done
        done += number  # every byte counts twice: once copied, once read back
        progress(min(1.0, done / max(1, 2 * files.size_bytes)))

    try:
        need_room(path, files.size_bytes + len(content))
        with neighbour(path, guard_of(shoot)) as beside:
            put = bundle_media.pack if path.suffix == ".otioz" else bundle_media.lay_out
            put(beside, content, files, stop, count_bytes)
            again = otio.adapters.read_from_file(str(beside), path.suffix[1:])
            check(again, shoot, layout, path.name, files.where)
    except (OSError, zipfile.BadZipFile, otio.exceptions.OTIOError) as error:
        why = getattr(error, "strerror", None) or error
        raise HandoffError(f"{path.name} could not be written: {why}. Choose another folder.") from error
    return HandoffReport(
        path=path,
        lines=(*_lines(files), *lines(shoot, layout)),
        takes=len(layout.residuals),
        worst_sub_frame_offset_s=worst_sub_frame_offset_s(layout),
    )


def plan(shoot: SongView, name: str, choices: Choices = DEFAULT) -> Planned:
    """What `write` would write under that name. Raises HandoffError."""
    song, layout = layout_on_song(shoot, choices)
    files = bundle_media.held(song, layout)
    content = to_text(to_timeline(shoot, song, layout, files.where))
    size = files.size_bytes + len(content) + len(VERSION)
    return Planned(name, size, (*_lines(files), *lines(shoot, layout)))


def is_ours(path: Path) -> bool:
    """Whether a file or folder is a bundle of ours and holds nothing that somebody added later."""
    try:
        if path.is_dir():
            text = read_plain(path / CONTENT, MOST_LOOKED_AT)
            inside = {one.relative_to(path).as_posix() for one in path.rglob("*") if not one.is_dir()}
        else:
            with zipfile.ZipFile(path) as bundle:
                # What is packed small may be endless when unpacked.
                if bundle.getinfo(CONTENT).file_size > MOST_LOOKED_AT:
                    return False
                text, inside = bundle.read(CONTENT), set(bundle.namelist())
        content = json.loads(text)
        known = {CONTENT, VERSION_FILE, *(unquote(url) for url in _urls(content))}
        return KEY in content["metadata"] and inside <= known
    except (OSError, ValueError, LookupError, TypeError, RuntimeError, zipfile.BadZipFile):
        return False


def _urls(node: object) -> Iterator[str]:
    if isinstance(node, dict):
        if isinstance(node.get("target_url"), str):
            yield node["target_url"]
        for value in node.values():
            yield from _urls(value)
    elif isinstance(node, list):
        for value in node:
            yield from _urls(value)


def _lines(files: Held) -> Iterator[str]:
    copies = f"{count(len(files.names), 'file')}, {size_words(files.size_bytes)}"
    yield f"Holds copies of {copies}; the clips stay where they are."
    for media, why in files.left:
        yield f"{plain(Path(media.path).name)}: not in the bundle, because {why}."
