"""Takes compared with the reference take: pictures of both at the same moments of the song, in workers."""

import hashlib
import json
import logging
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

import audio
from app.engine.answer_cache import as_seen, code_digest
from app.engine.workers import Progress, Stop, Workers
from app.model.document.looks import Match
from app.model.document.marks import MarkKind, MarkState
from app.model.document.record_json import record_in, record_out
from app.model.on_song import Clip, SongView, Take, reference_take
from app.model.seen import has_pictures
from app.model.song_map.bar_spans import bar_spans
from app.model.storage.cache import Cache, user_cache
from app.model.storage.json_node import Node, WrongShape
from audio.errors import AudioError, Stopped
from audio.files.colour_tags import colour_tags
from audio.files.frame_images import pictures_at
from audio.pictures.match import FEWEST_MOMENTS, Matched, Pictures, match
from audio.pictures.transfer import BT709, named, of_code

MOMENTS = 12
"""Moments of a take that are compared: more change the second decimal of a stop."""
LINES = 96
"""Lines of a picture that is compared; chosen by hand."""
NICENESS = 15
MOST_WORKERS = 8
"""Both as in `app.engine.looking`."""
LIBRARIES = ("av", "numpy", "scipy")
SOURCES = ("files/*.py", "pictures/[bcmpst]*.py")
"""What a match hangs on, below ``audio``: balance, CDL, colours, match, places and transfer functions."""
BROKEN = "Reading this file's pictures crashed the reader: the file is damaged. Copy it again from the card."


@dataclass(frozen=True, slots=True)
class Shown:
    """What a take shows at some moments, as it can be handed to another process."""

    rgb: tuple[NDArray[np.uint8], ...]
    transfer: str
    """The word of the transfer function; empty where it is not known."""
    full_range: bool

    def pictures(self) -> Pictures:
        """To be compared; without a known function BT.709 is assumed."""
        known = bool(self.transfer)
        return Pictures(self.rgb, named(self.transfer) if known else BT709, known, self.full_range)

    def only(self, numbers: Sequence[int]) -> "Shown":
        """Some of the pictures."""
        return replace(self, rgb=tuple(self.rgb[number] for number in numbers))


@dataclass(frozen=True, slots=True)
class _Read:
    path: Path
    times: tuple[float, ...]
    """Clip times."""
    told: str
    """The transfer function as a person says; empty where nobody does."""


@dataclass(frozen=True, slots=True)
class _Compare:
    take: _Read
    reference: Shown
    common: bool
    power: bool
    saturation: bool
    """What is to be found beside slope and offset."""


@dataclass(frozen=True, slots=True)
class _Found:
    matched: Matched
    transfer: str


@dataclass(frozen=True, slots=True)
class _Tools:
    stop: Stop
    progress: Progress


@dataclass(frozen=True, slots=True)
class _Pair:
    """A take, and at which moments it and the reference are looked at (clip times)."""

    clip: Clip
    take: Take
    times: tuple[float, ...]
    reference_times: tuple[float, ...]
    common: bool


def match_takes(
    shoot: SongView,
    *,
    stop: Stop,
    progress: Progress,
    troubled: Callable[[Path, str], None],
    workers: int | None,
    use_cache: bool,
) -> tuple[Match, ...]:
    """Compare all takes with the reference; see `app.engine.tasks.match_takes`."""
    reference = reference_take(shoot)
    if reference is None or shoot.reference is None:
        return ()
    owner = shoot.clip(shoot.reference.clip_id)
    store = Cache(user_cache() / "matches")
    found: dict[int, Match] = {}
    pairs = [
        _pair(shoot, owner, reference, clip, take)
        for clip in shoot.clips
        if has_pictures(clip)
        for take in clip.takes
        if take.id != reference.id
    ]
    keys = [_key(one, owner, reference) for one in pairs]
    for number, key in enumerate(keys):
        known = store.get(key) if use_cache and key is not None else None
        if known is not None:
            try:
                found[number] = record_in(Node(known, "the match"), Match)
            except WrongShape:
                continue
    left = [number for number in range(len(pairs)) if number not in found]
    pool = Workers(
        lambda: _Tools,
        workers=min(max(2, os.cpu_count() or 1), MOST_WORKERS) if workers is None else workers,
        niceness=NICENESS,
        stop=stop,
        progress=progress,
    )
    with pool:
        if left:
            _compare(pairs, left, owner, reference, pool, troubled, found)
    for number in left:
        key = keys[number]
        if number in found and key is not None and key == _key(pairs[number], owner, reference):
            store.put(key, record_out(found[number]))
    store.tidy()
    out = []
    for number, one in enumerate(pairs):
        if number in found:
            # Ids and stretches are the shoot's, whichever shoot it was found for.
            out.append(_of(one, owner, reference, found[number]))
        progress(Path(one.clip.media.path), 1.0)
    return tuple(out)


def _compare(
    pairs: Sequence[_Pair],
    left: Sequence[int],
    owner: Clip,
    reference: Take,
    pool: Workers[_Tools],
    troubled: Callable[[Path, str], None],
    found: dict[int, Match],
) -> None:
    times = sorted({at_s for number in left for at_s in pairs[number].reference_times})
    shown: list[Shown] = []

    def read(number: int, answer: Shown | str) -> None:
        if isinstance(answer, str):
            troubled(Path(owner.media.path), answer)
        else:
            shown.append(answer)

    path = Path(owner.media.path)
    pool.each(_shown, [_Read(path, tuple(times), reference.settings.transfer)], read, lambda job: BROKEN)
    if not shown:
        return
    place = {at_s: number for number, at_s in enumerate(times)}
    jobs = [
        _Compare(
            _Read(Path(one.clip.media.path), one.times, one.take.settings.transfer),
            shown[0].only([place[at_s] for at_s in one.reference_times]),
            one.common,
            one.take.settings.power,
            one.take.settings.saturation,
        )
        for one in (pairs[number] for number in left)
    ]

    def compared(number: int, answer: _Found | str) -> None:
        one = pairs[left[number]]
        if isinstance(answer, str):
            troubled(Path(one.clip.media.path), answer)
        else:
            found[left[number]] = _match(one, owner, reference, answer)

    pool.each(_compared, jobs, compared, lambda job: BROKEN)


def _pair(shoot: SongView, owner: Clip, reference: Take, clip: Clip, take: Take) -> _Pair:
    """At which moments of the song the two are compared: in the middle of bars that both have.

    Where they have too few, each is seen where it is: light may have changed between.
    """
    moments = [
        song_s
        for song_s in _moments(
            shoot, max(take.song_start_s, reference.song_start_s), min(take.song_end_s, reference.song_end_s)
        )
        if not _spoilt(clip, take.clip_time(song_s)) and not _spoilt(owner, reference.clip_time(song_s))
    ]
    common = len(moments) >= FEWEST_MOMENTS
    some = [_spread(moments)] * 2
    if not common:
        some = [
            _spread([at_s for at_s in own if not _spoilt(of, one.clip_time(at_s))] or own)
            for of, one in ((clip, take), (owner, reference))
            for own in [_moments(shoot, one.song_start_s, one.song_end_s)]
        ]
    return _Pair(
        clip,
        take,
        tuple(take.clip_time(song_s) for song_s in some[0]),
        tuple(reference.clip_time(song_s) for song_s in some[1]),
        common,
    )


def _moments(shoot: SongView, from_s: float, to_s: float) -> list[float]:
    """Song times within a stretch: the middles of its bars; evenly spread where it has no bars."""
    if to_s <= from_s:
        return []
    bars = bar_spans(shoot.song) if shoot.song is not None and shoot.song.map.bars_s else ()
    middles = [(one.start_s + one.end_s) / 2 for one in bars]
    found = [song_s for song_s in middles if from_s < song_s < to_s]
    if len(found) >= FEWEST_MOMENTS:
        return found
    return [float(one) for one in np.linspace(from_s, to_s, 2 * MOMENTS + 1)[1::2]]


def _spread(moments: Sequence[float]) -> list[float]:
    """At most `MOMENTS` of them, evenly spread."""
    if len(moments) <= MOMENTS:
        return list(moments)
    return [moments[int(n)] for n in np.linspace(0, len(moments) - 1, MOMENTS).round()]


def _spoilt(clip: Clip, clip_s: float) -> bool:
    """Whether a fault lies there, set or proposed: black or soft pictures tell nothing of light."""
    return any(
        mark.kind is MarkKind.FAULT
        and mark.state is not MarkState.DISMISSED
        and mark.clip_start_s <= clip_s <= mark.clip_end_s
        for mark in clip.marks
    )


def _shown(job: _Read, tools: _Tools) -> Shown | str:
    """What a clip shows, or a sentence on why that cannot be told."""
    try:
        tags = colour_tags(job.path)
        # One by one, so that the wish to stop is heard; nearby moments are met in one run all the same.
        rgb: list[NDArray[np.uint8]] = []
        for number in range(0, len(job.times), _AT_ONCE):
            if tools.stop():
                raise Stopped("Stopped.")
            rgb += pictures_at(job.path, job.times[number : number + _AT_ONCE], LINES)
            tools.progress(job.path, min(0.9, len(rgb) / len(job.times)))
        function = of_code(tags.transfer)
        return Shown(tuple(rgb), job.told or ("" if function is None else function.name), tags.full_range)
    except Stopped:
        raise
    except AudioError as error:
        return str(error)
    except Exception as error:
        logging.getLogger(__name__).error("%s failed", job.path, exc_info=error)
        return f"Something went wrong with the pictures of this file ({type(error).__name__}: {error})."


_AT_ONCE = 4


def _compared(job: _Compare, tools: _Tools) -> _Found | str:
    shown = _shown(job.take, tools)
    if isinstance(shown, str):
        return shown
    matched = match(
        shown.pictures(),
        job.reference.pictures(),
        common=job.common,
        power=job.power,
        saturation=job.saturation,
    )
    return _Found(matched, shown.transfer)


def _match(one: _Pair, owner: Clip, reference: Take, answer: _Found) -> Match:
    found = answer.matched
    return Match(
        one.clip.id,
        one.take.clip_start_s,
        one.take.clip_end_s,
        owner.id,
        reference.clip_start_s,
        reference.clip_end_s,
        slope=found.cdl.slope,
        offset=found.cdl.offset,
        power=found.cdl.power,
        saturation=found.cdl.saturation,
        stops=round(found.before.stops, 4),
        warm=round(found.before.warm, 4),
        green=round(found.before.green, 4),
        stops_after=round(found.after.stops, 4),
        warm_after=round(found.after.warm, 4),
        green_after=round(found.after.green, 4),
        transfer=answer.transfer,
        doubts=found.doubts,
        uncertainty=round(min(found.before.uncertainty, MOST_UNCERTAIN), 4),
    )


MOST_UNCERTAIN = 9.0
"""Stops: where nothing is in common, as a figure that a file can hold."""


def _of(one: _Pair, owner: Clip, reference: Take, found: Match) -> Match:
    return replace(
        found,
        clip_id=one.clip.id,
        clip_start_s=one.take.clip_start_s,
        clip_end_s=one.take.clip_end_s,
        reference_clip_id=owner.id,
        reference_start_s=reference.clip_start_s,
        reference_end_s=reference.clip_end_s,
    )


def _key(one: _Pair, owner: Clip, reference: Take) -> str | None:
    """The key of a match; None where a file cannot be looked at."""
    seen = [as_seen(Path(clip.media.path)) for clip in (one.clip, owner)]
    if None in seen:
        return None
    own = one.take.settings
    told = [own.transfer, reference.settings.transfer, own.power, own.saturation, one.common]
    parts = [matching_code(), seen, one.times, one.reference_times, told]
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()


@cache
def matching_code() -> str:
    """SHA-256, as hex, over the code and the libraries that matches hang on."""
    here = Path(audio.__file__).parent
    sources = [path for pattern in SOURCES for path in sorted(here.glob(pattern))]
    return code_digest(LIBRARIES, [*sources, Path(__file__)])
