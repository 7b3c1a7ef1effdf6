"""How songs run through playback files, and masters through each other: files in, the document's values out.

Answers are kept by the content of the files (see `app.engine.answer_cache`).
"""

import hashlib
import json
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from app.engine.answer_cache import as_seen, engine
from app.engine.in_subprocess import run_in_subprocess
from app.model.document.identity import media_ref
from app.model.document.masters import MasterPiece
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.document.record_json import record_in, record_out
from app.model.document.song import Song
from app.model.reasons import Reason
from app.model.song_names import song_names
from app.model.storage.cache import Cache, user_cache
from app.model.storage.json_node import Json, Node, WrongShape
from audio.progress import never, no_progress, part_of
from audio.rate import ENGINE_RATE

if TYPE_CHECKING:
    from audio.placement.search import SongIndex

Stop = Callable[[], bool]
Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class DoubtfulPiece:
    """A stretch through which a song may run: it is for a person to say."""

    piece: PlaybackPiece
    reason: Reason


@dataclass(frozen=True, slots=True)
class FoundPieces:
    """What was found in a file that was played on set."""

    playback: PlaybackFile
    """With the pieces that are sure; without an id."""
    doubtful: tuple[DoubtfulPiece, ...] = ()


READ = 0.2
"""Share of the work that reading files is, about."""


class KeptPieces:
    """What is known of files from an earlier run; an answer is kept only if they are still the same after."""

    def __init__(self, kind: str, paths: Sequence[Path], store: Cache | None = None) -> None:
        self._cache = store or Cache(user_cache() / "answers")
        self._paths = tuple(paths)
        self._seen = [as_seen(path) for path in self._paths]
        whole = json.dumps([engine(), kind, *self._seen])
        self._key = None if None in self._seen else hashlib.sha256(whole.encode()).hexdigest()

    def get(self) -> Json | None:
        """The answer, where it is known."""
        return None if self._key is None else self._cache.get(self._key)

    def keep(self, value: Json) -> None:
        """Keep an answer."""
        if self._key is not None and self._seen == [as_seen(path) for path in self._paths]:
            self._cache.put(self._key, value)
            self._cache.tidy()


def playback_from_file(
    songs: Sequence[Song],
    path: Path,
    *,
    stop: Stop = never,
    progress: Progress = no_progress,
    use_cache: bool = True,
    in_subprocess: bool = False,
) -> PlaybackFile:
    """Find how songs run through a file that was played on set; it has no id yet.

    It may hold them at any speed, with the pitch along or kept, in another mix, behind a count-in, one after
    the other. Only pieces that can be told for sure are in it; its note says what is undecided, and why. A
    file and songs that did not change are not read again as long as ``use_cache`` allows it.
    ``in_subprocess`` reads them in a process of its own, so that no window is held up.

    Raises
    ------
    AudioError
        The file or a song cannot be read; Stopped.
    """
    found = playback_pieces(
        songs, path, stop=stop, progress=progress, use_cache=use_cache, in_subprocess=in_subprocess
    )
    return found.playback


def playback_pieces(
    songs: Sequence[Song],
    path: Path,
    *,
    stop: Stop = never,
    progress: Progress = no_progress,
    use_cache: bool = True,
    in_subprocess: bool = False,
) -> FoundPieces:
    """`playback_from_file` with the pieces that are in doubt as well."""
    path = _absolute(path)
    kept = _kept(songs, path)
    found = _known_playback(kept, songs, path) if use_cache else None
    if found is None:
        work = partial(find_playback, songs, path)
        if in_subprocess:
            found = run_in_subprocess(work, stop=stop, progress=progress)
        else:
            found = work(stop=stop, progress=progress)
        _keep_playback(kept, songs, found)
    progress(1.0)
    return found


def known_pieces(songs: Sequence[Song], path: Path) -> FoundPieces | None:
    """`playback_pieces` where an earlier run knows it; the files' sound is not read."""
    path = _absolute(path)
    return _known_playback(_kept(songs, path), songs, path)


def master_pieces(
    old: Path,
    new: Path,
    *,
    stop: Stop = never,
    progress: Progress = no_progress,
    use_cache: bool = True,
    in_subprocess: bool = False,
) -> tuple[MasterPiece, ...]:
    """Find what of an old master lives on in a new one, and where; in the order of old time.

    What is there several times comes several times, all but the first as ``again``. What cannot be told for
    sure is left out. Cache, ``in_subprocess`` and errors are as in `playback_from_file`.
    """
    old, new = _absolute(old), _absolute(new)
    kept = KeptPieces("masters", [old, new])
    found = _known_master_pieces(kept) if use_cache else None
    if found is None:
        work = partial(find_master_pieces, old, new)
        if in_subprocess:
            found = run_in_subprocess(work, stop=stop, progress=progress)
        else:
            found = work(stop=stop, progress=progress)
        kept.keep({"pieces": [record_out(one) for one in found]})
    progress(1.0)
    return found


def find_playback(songs: Sequence[Song], path: Path, *, stop: Stop, progress: Progress) -> FoundPieces:
    """`playback_pieces` without a cache, in this process."""
    from audio.files.media import read_played
    from audio.pieces.pieces import pieces_of_songs

    recording = read_played(path, ENGINE_RATE, stop=stop, progress=part_of(progress, 0.0, READ))
    share = READ / max(1, len(songs))
    indices = [
        _index(Path(song.media.path), stop, part_of(progress, READ + share * number, share))
        for number, song in enumerate(songs)
    ]
    report = part_of(progress, 2 * READ, 1 - 2 * READ)
    found = pieces_of_songs(recording, indices, stop=stop, progress=report)
    names = song_names(songs)
    pieces, doubtful, undecided, pitch_kept = [], [], [], False
    for song, of_song in zip(songs, found, strict=True):
        for one in of_song:
            song_start_s = float(one.line.song_time(one.start_s))
            speed = float(one.line.speed)
            piece = PlaybackPiece(song.id, one.start_s, one.end_s, song_start_s, speed, one.uncertainty_s)
            if one.doubt is None:
                pieces.append(piece)
                pitch_kept |= one.pitch_kept
            else:
                reason = Reason(one.doubt.code.value, one.doubt.figures)
                doubtful.append(DoubtfulPiece(piece, reason))
                undecided.append(_undecided(reason, names[song.id]))
    pieces.sort(key=lambda piece: piece.start_s)
    doubtful.sort(key=lambda one: one.piece.start_s)
    progress(1.0)
    length_s = len(recording) / ENGINE_RATE
    note = "; ".join(dict.fromkeys(undecided))
    playback = PlaybackFile("", media_ref(path), length_s, tuple(pieces), pitch_kept, note=note)
    return FoundPieces(playback, tuple(doubtful))


def _undecided(doubt: Reason, song: str) -> str:
    """Why a piece of a song is not told."""
    if doubt.code != "fits elsewhere":
        return f"undecided: {song} is in it, but where exactly is unclear"
    places = int(dict(doubt.figures).get("places", 0))
    if not places:
        return f"undecided: {song} and another song fit equally well"
    return f"undecided: fits {places + 1} places in {song} equally well"


def find_master_pieces(old: Path, new: Path, *, stop: Stop, progress: Progress) -> tuple[MasterPiece, ...]:
    """`master_pieces` without a cache, in this process."""
    from audio.files.media import read_song
    from audio.pieces.lives_on import lives_on

    index = _index(old, stop, part_of(progress, 0.0, READ))
    samples = read_song(new, ENGINE_RATE, stop=stop, progress=part_of(progress, READ, READ))
    found = lives_on(index, samples, stop=stop, progress=part_of(progress, 2 * READ, 1 - 2 * READ))
    return tuple(
        MasterPiece(one.old_start_s, one.old_end_s, one.new_start_s, one.speed, one.uncertainty_s, one.again)
        for one in found
    )


def _kept(songs: Sequence[Song], path: Path) -> KeptPieces:
    return KeptPieces("playback pieces", [path, *(Path(song.media.path) for song in songs)])


def _known_playback(kept: KeptPieces, songs: Sequence[Song], path: Path) -> FoundPieces | None:
    """What an earlier run found, with the songs' ids and paths as they are now."""
    value = kept.get()
    if value is None:
        return None
    try:
        found = record_in(Node(value, "the playback file"), FoundPieces)
        ids = {str(number): song.id for number, song in enumerate(songs)}
        return _renamed(found, ids, str(path))
    except (WrongShape, KeyError):
        return None


def _keep_playback(kept: KeptPieces, songs: Sequence[Song], found: FoundPieces) -> None:
    """Keep what was found; songs are told by their number, for ids are the shoot's."""
    numbers = {song.id: str(number) for number, song in enumerate(songs)}
    kept.keep(record_out(_renamed(found, numbers, found.playback.media.path)))


def _renamed(found: FoundPieces, names: Mapping[str, str], path: str) -> FoundPieces:
    """The same with other names for the songs, and another path. Raises KeyError."""
    playback = found.playback
    pieces = tuple(replace(one, song_id=names[one.song_id]) for one in playback.pieces)
    doubtful = tuple(
        replace(one, piece=replace(one.piece, song_id=names[one.piece.song_id])) for one in found.doubtful
    )
    media = replace(playback.media, path=path)
    return FoundPieces(replace(playback, media=media, pieces=pieces), doubtful)


def _known_master_pieces(kept: KeptPieces) -> tuple[MasterPiece, ...] | None:
    """What an earlier run found."""
    value = kept.get()
    nodes = None if value is None else value.get("pieces")
    if not isinstance(nodes, list):
        return None
    try:
        return tuple(record_in(Node(node, "the piece"), MasterPiece) for node in nodes)
    except WrongShape:
        return None


def _index(path: Path, stop: Stop, progress: Progress) -> "SongIndex":
    from audio.files.media import read_song
    from audio.placement.search import SongIndex

    return SongIndex.build(read_song(path, ENGINE_RATE, stop=stop, progress=progress), ENGINE_RATE)


def _absolute(path: Path) -> Path:
    return Path(os.path.abspath(path))  # noqa: PTH100  (links are not followed)
