"""What recordings are of several songs, as earlier runs, hearing, comparing and looking left it."""

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from app.engine.answer_cache import Kept, Remembered
from app.model.answers import Answer
from app.model.document.playback_file import PlaybackFile
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.reasons import Reason
from app.model.storage.cache import Cache

OnSongs = Mapping[str, Remembered]
"""What a recording is of each song, by the songs' ids."""
Changed = dict[tuple[str, Path], Answer]
"""Answers by song and path."""


def kept_of(songs: Sequence[Song], playbacks: Sequence[PlaybackFile], store: Cache) -> dict[str, Kept]:
    """What is known from earlier runs, by song and playback file."""
    terms = ""
    if len(songs) + len(playbacks) > 1:
        facts = [[song.id, song.title, song.media.path, song.media.digest] for song in songs]
        pieces = [[one.id, one.media.path, one.media.digest, repr(one.pieces)] for one in playbacks]
        terms = hashlib.sha256(json.dumps([facts, pieces]).encode()).hexdigest()
    out: dict[str, Kept] = {}
    first: Kept | None = None
    media = {song.id: song.media for song in songs} | {one.id: one.media for one in playbacks}
    for key, one in media.items():
        out[key] = Kept(Path(one.path), store, terms, first)
        first = first or out[key]
    return out


def answers_of(all_: Iterable[OnSongs]) -> list[tuple[str, Answer]]:
    """All answers, each with the song that it is about: recording by recording."""
    return [(song, answer) for known in all_ for song, one in known.items() for answer in one.answers]


def files_of(known: OnSongs) -> Sequence[Path]:
    return next(iter(known.values())).files


def of_one_song(seen: Mapping[str, Mapping[Path, Answer]], names: Mapping[str, str]) -> Changed:
    """What pictures tell, song by song: a clip that they place on one song is of no other, and one that they
    place on two is of neither for sure."""
    out: Changed = {}
    for song, found in seen.items():
        for path, answer in found.items():
            surely = [other for other in seen if path in seen[other] and is_placed(seen[other][path])]
            if surely == [song] or not surely:
                out[song, path] = answer
            elif song in surely:
                other = next(one for one in surely if one != song)
                reason = Reason("other song as well", (("song", names[other]),))
                takes = tuple(replace(take, verdict=Verdict.DOUBTFUL, reason=reason) for take in answer.takes)
                out[song, path] = replace(answer, verdict=Verdict.DOUBTFUL, reason=reason, takes=takes)
    return out


def is_placed(answer: Answer) -> bool:
    return answer.verdict is Verdict.PLACED


def comparable(recordings: Iterable[Remembered]) -> list[Remembered]:
    """Those that have takes, in an order that does not hang on who came first."""
    return sorted((one for one in recordings if one.comparable), key=lambda one: one.files[0])


def by_path(recordings: Iterable[Remembered]) -> list[Remembered]:
    return sorted(recordings, key=lambda one: one.files[0])


def silent_among(recordings: Iterable[Remembered]) -> list[Answer]:
    """The answers on clips with pictures whose sound tells nothing."""
    from app.engine.by_sight import is_silent

    return [answer for known in by_path(recordings) for answer in known.answers if is_silent(answer)]


def as_found(answer: Answer) -> tuple[object, ...]:
    """What was found out about a clip, apart from the facts of its file."""
    return answer.verdict, answer.reason, answer.takes
