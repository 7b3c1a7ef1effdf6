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
import re
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import TYPE_CHECKING

import audio
from app.model.answers import Answer
from app.model.document.identity import media_ref
from app.model.document.record_json import record_in, record_out
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.storage.cache import Cache
from app.model.storage.json_node import Json, Node, WrongShape

if TYPE_CHECKING:
    from audio.pictures.silent_series import SilentSeries

LIBRARIES = ("av", "librosa", "numba", "numpy", "scipy", "soundfile", "soxr", "zxing-cpp")
SOURCES = (
    "engine/**/*.py",
    "model/document/*.py",
    "model/answers.py",
    "model/clip_verdict.py",
    "model/reasons.py",
)
"""What makes answers of the engine's figures, beside all of ``audio`` but what looks at pictures."""
PLACING = "code_|slate_code|flashes|motion|silent_series"
LOOKING = re.compile(rf"audio/pictures/(?!{PLACING})|engine/(looking|kept_traces|matching)\.py$")
"""Paths of code that only looks at pictures: what was heard stays when it changes. Slate codes, light and
motion place clips."""
CALM_S = 60.0
"""A warning about a file that changed less than this ago may be about a copy that is not finished."""


@dataclass(frozen=True, slots=True)
class Remembered:
    """A recording that was heard, now or in an earlier run."""

    files: Sequence[Path]
    answers: Sequence[Answer]
    """One a file, as it is by itself."""
    placement: Json | None
    """The engine's answer on the whole (see `app.engine.placement_json`); None where there is none."""
    beside: tuple[str, ...] = ()
    """Digests of other songs and playback files that explained it, so that it was looked at less closely."""

    @property
    def comparable(self) -> bool:
        """Whether there is a take that can be compared with those of other recordings."""
        return self.placement is not None and bool(self.placement.get("takes"))


class Kept:
    """What is known of files from earlier runs, for one song or playback file.

    Files are looked at once, when first asked about: an answer belongs to the content from *before* it was
    heard, and is kept only if the file is still the same after.
    """

    def __init__(self, song: Path, store: Cache, terms: str = "", beside: "Kept | None" = None) -> None:
        """``terms`` tell all else that answers hang on: other songs, and playback files with their pieces.
        What the files looked like is shared with ``beside``."""
        self._song = song
        self._cache = store
        self._terms = terms
        self._seen: dict[Path, str | None] = {} if beside is None else beside._seen

    @property
    def digest(self) -> str:
        """Of the song's file, as it is known; empty where it cannot be looked at."""
        if self._song not in self._seen:
            self._seen[self._song] = as_seen(self._song)
        return self._seen[self._song] or ""

    def song(self) -> Song | None:
        """The song with its map."""
        key = self._key("song", [self._song])
        value = None if key is None else self._cache.get(key)
        if value is None:
            return None
        try:
            song = record_in(Node(value, "the song"), Song)
            return replace(song, media=replace(song.media, path=str(self._song)))
        except WrongShape:
            return None

    def keep_song(self, song: Song) -> None:
        """Keep the song's map."""
        key = self._key("song", [self._song])
        if key is not None and self._same([self._song]):
            self._cache.put(key, record_out(song))

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
        return _remembered(value, recording)

    def keep_heard(self, answer: "Remembered") -> None:
        """Keep what hearing the files of a recording gave, unless it is trouble that may pass."""
        key = self._key("clips", [self._song, *answer.files])
        if key is not None and _worth_keeping([answer]) and self._same([self._song, *answer.files]):
            self._cache.put(key, _node(answer))

    def told(self, recording: Sequence[Path], songs: Sequence[str]) -> "dict[str, Remembered] | None":
        """What a recording is of each song, by the songs' keys, beside all other references."""
        key = self._key(f"told {self._terms}", recording)
        value = None if key is None else self._cache.get(key)
        nodes = {} if value is None else {song: value.get(song) for song in songs}
        out = {
            song: known
            for song, node in nodes.items()
            if isinstance(node, dict) and (known := _remembered(node, recording)) is not None
        }
        return out if out and len(out) == len(songs) else None

    def keep_told(self, answers: "Mapping[str, Remembered]") -> None:
        """Keep what a recording is of each song, unless it is trouble that may pass."""
        files = next(iter(answers.values())).files
        key = self._key(f"told {self._terms}", files)
        if key is not None and _worth_keeping(answers.values()) and self._same(files):
            self._cache.put(key, {song: _node(one) for song, one in answers.items()})

    def compared(self, members: Sequence["Remembered"]) -> dict[Path, Answer] | None:
        """The answers, by their files' paths, that comparing these recordings changed; None where that is not
        known."""
        return self._changed(self._among("compared", members), members)

    def keep_compared(self, members: Sequence["Remembered"], changed: Mapping[Path, Answer]) -> None:
        """Keep what comparing recordings changed."""
        self._keep_changed(self._among("compared", members), members, changed)

    def series(self, path: Path) -> "SilentSeries | None":
        """Light and motion of a clip."""
        key = self._key("series", [path])
        value = None if key is None else self._cache.get(key)
        if value is None:
            return None
        from app.engine.series_json import series_from_json

        try:
            return series_from_json(value)
        except WrongShape:
            return None

    def keep_series(self, path: Path, series: "SilentSeries") -> None:
        """Keep light and motion of a clip."""
        from app.engine.series_json import series_to_json

        key = self._key("series", [path])
        if key is not None and self._same([path]):
            self._cache.put(key, series_to_json(series))

    def seen(self, members: Sequence["Remembered"]) -> dict[Path, Answer] | None:
        """The answers, by their files' paths, that looking at clips without sound changed; None where that is
        not known."""
        return self._changed(self._among("seen", members), members)

    def keep_seen(self, members: Sequence["Remembered"], changed: Mapping[Path, Answer]) -> None:
        """Keep what looking at clips without sound changed."""
        self._keep_changed(self._among("seen", members), members, changed)

    def _changed(self, key: str | None, members: Sequence["Remembered"]) -> dict[Path, Answer] | None:
        value = None if key is None else self._cache.get(key)
        nodes = None if value is None else value.get("changed")
        if not isinstance(nodes, dict):
            return None
        out = {}
        try:
            for one in (one for member in members for one in member.answers):
                if one.media.path in nodes:
                    path = Path(one.media.path)
                    new = _answer(nodes[one.media.path], path)
                    out[path] = replace(one, verdict=new.verdict, reason=new.reason, takes=new.takes)
        except WrongShape:
            return None
        return out

    def _keep_changed(
        self, key: str | None, members: Sequence["Remembered"], changed: Mapping[Path, Answer]
    ) -> None:
        if key is not None and self._same([self._song, *(path for one in members for path in one.files)]):
            nodes = {str(path): record_out(one) for path, one in changed.items()}
            self._cache.put(key, {"changed": nodes})

    def _among(self, kind: str, members: Sequence["Remembered"]) -> str | None:
        # Names count: they tell which clips come from one camera.
        sizes = " ".join(str(len(member.files)) for member in members)
        files = [path for member in members for path in member.files]
        return self._key(f"{kind} {sizes} {self._terms}".rstrip(), [self._song, *files], named=True)

    def tidy(self) -> None:
        """Keep the folder to its size."""
        self._cache.tidy()

    def _key(self, kind: str, paths: Sequence[Path], *, named: bool = False) -> str | None:
        """The key of an answer about files; None where one of them cannot be looked at."""
        parts = [engine(), kind]
        for path in paths:
            if path not in self._seen:
                self._seen[path] = as_seen(path)
            seen = self._seen[path]
            if seen is None:
                return None
            parts += [str(path), seen] if named else [seen]
        return hashlib.sha256(json.dumps(parts).encode()).hexdigest()

    def _same(self, paths: Sequence[Path]) -> bool:
        """Whether files are still what they were when first looked at."""
        return all(as_seen(path) == self._seen[path] for path in paths)


@cache
def engine() -> str:
    """SHA-256, as hex, over all that an answer hangs on beside the files: the engine's code and libraries."""
    here = Path(__file__).parents[1]
    sources = sorted(Path(audio.__file__).parent.rglob("*.py"))
    sources += [path for pattern in SOURCES for path in sorted(here.glob(pattern))]
    return code_digest(LIBRARIES, [path for path in sources if not LOOKING.search(path.as_posix())])


def code_digest(libraries: Iterable[str], sources: Iterable[Path]) -> str:
    """SHA-256, as hex, over what computes answers: versions of libraries, and code."""
    digest = hashlib.sha256(f"{platform.python_version()} {platform.machine()}".encode())
    for name in libraries:
        try:
            digest.update(f"\n{name} {version(name)}".encode())
        except PackageNotFoundError:
            continue
    for path in sources:
        digest.update(f"\n{path.name}\n".encode() + path.read_bytes())
    return digest.hexdigest()


def as_seen(path: Path) -> str | None:
    """What a file must still be to count as unchanged; None where it cannot be looked at."""
    try:
        media = media_ref(path)
        return f"{media.size_bytes} {path.stat().st_mtime_ns} {media.digest}"
    except OSError:
        return None


def _answer(node: object, path: Path) -> Answer:
    answer = record_in(Node(node, "the answer"), Answer)
    return replace(answer, media=replace(answer.media, path=str(path)))


def _node(known: Remembered) -> Json:
    nodes = [record_out(one) for one in known.answers]
    return {"answers": nodes, "placement": known.placement, "beside": list(known.beside)}


def _remembered(node: Json, recording: Sequence[Path]) -> Remembered | None:
    nodes, placement, beside = node.get("answers"), node.get("placement"), node.get("beside")
    if not isinstance(nodes, list) or len(nodes) != len(recording) or not isinstance(beside, list):
        return None
    try:
        answers = [_answer(node, path) for node, path in zip(nodes, recording, strict=True)]
    except WrongShape:
        return None
    first = answers[0].media.path
    answers = [one if one.recording is None else replace(one, recording=first) for one in answers]
    kept = placement if isinstance(placement, dict) else None
    return Remembered(recording, answers, kept, tuple(map(str, beside)))


def _worth_keeping(answers: "Iterable[Remembered]") -> bool:
    """Whether answers are no trouble that may pass."""
    for known in answers:
        if any(one.verdict is Verdict.UNREADABLE for one in known.answers):
            return False
        if any(one.warnings for one in known.answers) and any(map(_just_changed, known.files)):
            return False
    return True


def _just_changed(path: Path) -> bool:
    try:
        return 0 <= time.time() - path.stat().st_mtime < CALM_S
    except OSError:
        return True
