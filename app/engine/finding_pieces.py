"""How songs run through playback files, and masters through each other: files in, the document's values out.

Answers are kept by the content of the files (see `app.engine.answer_cache`).
"""

import hashlib
import json
import os
from collections.abc import Callable, Sequence
from dataclasses import replace
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
from app.model.song_names import song_names
from app.model.storage.cache import Cache, user_cache
from app.model.storage.json_node import Json, Node, WrongShape
from audio.progress import never, no_progress, part_of
from audio.rate import ENGINE_RATE

if TYPE_CHECKING:
    from audio.placement.reason_codes import Reason
    from audio.placement.search import SongIndex
    from audio.signals import Samples

Stop = Callable[[], bool]
Progress = Callable[[float], None]

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
    path = _absolute(path)
    kept = KeptPieces("playback", [path, *(Path(song.media.path) for song in songs)])
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


def find_playback(songs: Sequence[Song], path: Path, *, stop: Stop, progress: Progress) -> PlaybackFile:
    """`playback_from_file` without a cache, in this process."""
    from audio.pieces.pieces import pieces_of_songs

    recording, start_s = _sound(path, stop, part_of(progress, 0.0, READ))
    share = READ / max(1, len(songs))
    indices = [
        _index(Path(song.media.path), stop, part_of(progress, READ + share * number, share))
        for number, song in enumerate(songs)
    ]
    report = part_of(progress, 2 * READ, 1 - 2 * READ)
    found = pieces_of_songs(recording, indices, stop=stop, progress=report)
    names = song_names(songs)
    pieces, pitch_kept, undecided = [], False, []
    for song, of_song in zip(songs, found, strict=True):
        for one in of_song:
            if one.doubt is not None:
                undecided.append(_undecided(one.doubt, names[song.id]))
            else:
                song_start_s = float(one.line.song_time(one.start_s))
                begins_s, ends_s = one.start_s + start_s, one.end_s + start_s
                pieces.append(
                    PlaybackPiece(
                        song.id, begins_s, ends_s, song_start_s, float(one.line.speed), one.uncertainty_s
                    )
                )
                pitch_kept |= one.pitch_kept
    pieces.sort(key=lambda piece: piece.start_s)
    progress(1.0)
    return PlaybackFile(
        "",
        media_ref(path),
        len(recording) / ENGINE_RATE + start_s,
        tuple(pieces),
        pitch_kept,
        note="; ".join(dict.fromkeys(undecided)),
    )


def _undecided(doubt: "Reason", song: str) -> str:
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


def _known_playback(kept: KeptPieces, songs: Sequence[Song], path: Path) -> PlaybackFile | None:
    """The playback file of an earlier run, with the songs' ids and paths as they are now."""
    value = kept.get()
    if value is None:
        return None
    try:
        found = record_in(Node(value, "the playback file"), PlaybackFile)
        pieces = tuple(replace(one, song_id=songs[int(one.song_id)].id) for one in found.pieces)
    except (WrongShape, IndexError, ValueError):
        return None
    return replace(found, media=replace(found.media, path=str(path)), pieces=pieces)


def _keep_playback(kept: KeptPieces, songs: Sequence[Song], found: PlaybackFile) -> None:
    """Keep a playback file; songs are told by their number, for ids are the shoot's."""
    numbers = {song.id: str(number) for number, song in enumerate(songs)}
    pieces = tuple(replace(one, song_id=numbers[one.song_id]) for one in found.pieces)
    kept.keep(record_out(replace(found, pieces=pieces)))


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


def _sound(path: Path, stop: Stop, progress: Progress) -> "tuple[Samples, float]":
    """The sound of a playback file, shape (n,), and when it begins on the file's clock (s).

    Timecode and silent channels are left out; music on the others is mixed.
    """
    import numpy as np

    from audio.files.media import read_sound

    sound = read_sound(path, ENGINE_RATE, stop=stop, progress=progress)
    if sound.samples.dtype == np.float32:
        return np.asarray(sound.samples.mean(axis=0), np.float32), sound.start_s
    scale = np.float32(1 / 32768)
    return np.asarray(sound.samples.mean(axis=0, dtype=np.float32) * scale, np.float32), sound.start_s


def _index(path: Path, stop: Stop, progress: Progress) -> "SongIndex":
    from audio.files.media import read_song
    from audio.placement.search import SongIndex

    return SongIndex.build(read_song(path, ENGINE_RATE, stop=stop, progress=progress), ENGINE_RATE)


def _absolute(path: Path) -> Path:
    return Path(os.path.abspath(path))  # noqa: PTH100  (links are not followed)
