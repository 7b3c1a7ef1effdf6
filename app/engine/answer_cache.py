"""Answers kept from one run to the next, so that what did not change is not heard again.

They lie in the user's cache folder, never beside the clips, and are no part of the shoot.

What counts as unchanged: a file of the same size, the same time of change (as fine as the system keeps it)
and the same content at the 16 spots of `app.model.document.identity`. Its name and place do not count, so a
card copied with its times is known again; one copied without them is heard again. A file changed between
those spots by a tool that sets size and time back would be taken for the old one; ``--fresh`` hears it.

Kept are the map of a song, which files are one recording, for the files of each recording the clips that
hearing them on this song gave, and what comparing all recordings of a shoot changed in them. Not kept is
trouble, for it may pass: the disk is connected, the copy finished.
Every key holds the code of the engine and the versions of the libraries it computes with, so that a new
version never gives the answers of an old one.
"""

import hashlib
import json
import platform
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import audio
from app.model.document.identity import media_ref
from app.model.document.json_form import clip_from_json, clip_to_json, song_from_json, song_to_json
from app.model.document.json_node import Json, WrongShape
from app.model.document.shoot import Clip, Song, Verdict
from app.model.storage.cache import Cache

LIBRARIES = ("av", "librosa", "numba", "numpy", "scipy", "soundfile", "soxr")
ROOMS = ("engine", "model/document")
"""What makes answers of the engine's figures, beside ``audio`` itself: all files below these."""
CALM_S = 60.0
"""A warning about a file that changed less than this ago may be about a copy that is not finished."""


@dataclass(frozen=True, slots=True)
class Remembered:
    """A recording that was heard, now or in an earlier run."""

    files: Sequence[Path]
    clips: Sequence[Clip]
    """One a file, as it is by itself."""
    placement: Json | None
    """The engine's answer on the whole (see `app.engine.placement_json`); None where there is none."""

    @property
    def comparable(self) -> bool:
        """Whether there is a take that can be compared with those of other recordings."""
        return self.placement is not None and bool(self.placement.get("takes"))


class Kept:
    """What is known of files from earlier runs, for one song.

    Files are looked at once, when first asked about: an answer belongs to the content from *before* it was
    heard, and is kept only if the file is still the same after.
    """

    def __init__(self, song: Path, store: Cache) -> None:
        self._song = song
        self._cache = store
        self._seen: dict[Path, str | None] = {}

    def song(self) -> Song | None:
        """The song with its map."""
        key = self._key("song", [self._song])
        value = None if key is None else self._cache.get(key)
        if value is None:
            return None
        try:
            return song_from_json(value, lambda _: str(self._song))
        except WrongShape:
            return None

    def keep_song(self, song: Song) -> None:
        """Keep the song's map."""
        key = self._key("song", [self._song])
        if key is not None and self._same([self._song]):
            self._cache.put(key, song_to_json(song, lambda _: ""))

    def recordings(self, paths: Sequence[Path]) -> list[list[Path]] | None:
        """Which of these files are one recording, unreadable ones left out; None where that is not known."""
        key = self._key("recordings", paths, named=True)
        value = None if key is None else self._cache.get(key)
        if value is None:
            return None
        by_name = {str(path): path for path in paths}
        groups = value.get("recordings")
        return [[by_name[name] for name in group] for group in groups] if isinstance(groups, list) else None

    def keep_recordings(self, paths: Sequence[Path], recordings: Sequence[Sequence[Path]]) -> None:
        """Keep which of these files are one recording."""
        key = self._key("recordings", paths, named=True)
        if key is not None and self._same(paths):
            self._cache.put(key, {"recordings": [[str(path) for path in group] for group in recordings]})

    def heard(self, recording: Sequence[Path]) -> "Remembered | None":
        """What hearing the files of a recording gave."""
        key = self._key("clips", [self._song, *recording])
        value = None if key is None else self._cache.get(key)
        if value is None:
            return None
        nodes, placement = value.get("clips"), value.get("placement")
        if not isinstance(nodes, list) or len(nodes) != len(recording):
            return None
        try:
            clips = [_clip(node, path) for node, path in zip(nodes, recording, strict=True)]
        except WrongShape:
            return None
        first = clips[0].media.path
        clips = [clip if clip.recording is None else replace(clip, recording=first) for clip in clips]
        return Remembered(recording, clips, placement if isinstance(placement, dict) else None)

    def keep_heard(self, answer: "Remembered") -> None:
        """Keep what hearing the files of a recording gave, unless it is trouble that may pass."""
        key = self._key("clips", [self._song, *answer.files])
        if key is None or any(clip.verdict is Verdict.UNREADABLE for clip in answer.clips):
            return
        if any(clip.warnings for clip in answer.clips) and any(map(_just_changed, answer.files)):
            return
        if self._same([self._song, *answer.files]):
            nodes = [clip_to_json(clip, lambda _: "") for clip in answer.clips]
            self._cache.put(key, {"clips": nodes, "placement": answer.placement})

    def compared(self, members: Sequence["Remembered"]) -> dict[Path, Clip] | None:
        """The clips, by their paths, whose answers comparing these recordings changed; None where that is not
        known."""
        key = self._company_key(members)
        value = None if key is None else self._cache.get(key)
        nodes = None if value is None else value.get("changed")
        if not isinstance(nodes, dict):
            return None
        out = {}
        try:
            for clip in (clip for member in members for clip in member.clips):
                if clip.media.path in nodes:
                    path = Path(clip.media.path)
                    new = _clip(nodes[clip.media.path], path)
                    out[path] = replace(clip, verdict=new.verdict, reason=new.reason, takes=new.takes)
        except WrongShape:
            return None
        return out

    def keep_compared(self, members: Sequence["Remembered"], changed: Mapping[Path, Clip]) -> None:
        """Keep what comparing recordings changed."""
        key = self._company_key(members)
        if key is not None and self._same([self._song, *(path for one in members for path in one.files)]):
            nodes = {str(path): clip_to_json(clip, lambda _: "") for path, clip in changed.items()}
            self._cache.put(key, {"changed": nodes})

    def _company_key(self, members: Sequence["Remembered"]) -> str | None:
        # Names count: they tell which clips come from one camera.
        sizes = " ".join(str(len(member.files)) for member in members)
        files = [path for member in members for path in member.files]
        return self._key(f"company {sizes}", [self._song, *files], named=True)

    def tidy(self) -> None:
        """Keep the folder to its size."""
        self._cache.tidy()

    def _key(self, kind: str, paths: Sequence[Path], *, named: bool = False) -> str | None:
        """The key of an answer about files; None where one of them cannot be looked at."""
        parts = [engine(), kind]
        for path in paths:
            if path not in self._seen:
                self._seen[path] = _seen(path)
            seen = self._seen[path]
            if seen is None:
                return None
            parts += [str(path), seen] if named else [seen]
        return hashlib.sha256(json.dumps(parts).encode()).hexdigest()

    def _same(self, paths: Sequence[Path]) -> bool:
        """Whether files are still what they were when first looked at."""
        return all(_seen(path) == self._seen[path] for path in paths)


@cache
def engine() -> str:
    """SHA-256, as hex, over all that an answer hangs on beside the files: the engine's code and libraries."""
    digest = hashlib.sha256(f"{platform.python_version()} {platform.machine()}".encode())
    for name in LIBRARIES:
        try:
            digest.update(f"\n{name} {version(name)}".encode())
        except PackageNotFoundError:
            continue
    here = Path(__file__).parents[1]
    for room in (Path(audio.__file__).parent, *(here / room for room in ROOMS)):
        for path in sorted(room.rglob("*.py")):
            digest.update(f"\n{path.name}\n".encode() + path.read_bytes())
    return digest.hexdigest()


def _seen(path: Path) -> str | None:
    """What a file must still be to count as unchanged; None where it cannot be looked at."""
    try:
        media = media_ref(path)
        return f"{media.size_bytes} {path.stat().st_mtime_ns} {media.digest}"
    except OSError:
        return None


def _clip(node: object, path: Path) -> Clip:
    return clip_from_json(node, lambda _: str(path))


def _just_changed(path: Path) -> bool:
    try:
        return 0 <= time.time() - path.stat().st_mtime < CALM_S
    except OSError:
        return True
