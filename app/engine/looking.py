"""Clips looked at: their pictures are read in worker processes, then compared with one another."""

import logging
import os
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path

import numpy as np

from app.engine.kept_traces import KeptTraces
from app.engine.workers import Progress, Stop, Workers
from app.model.document.identity import media_ref
from app.model.document.looks import Measure
from app.model.document.media_ref import MediaRef
from app.model.on_song import Clip, SongView
from app.model.seen import Proposed, Seen, has_pictures
from audio.errors import AudioError, Stopped
from audio.pictures.faults import measures_of, proposals
from audio.pictures.likeness import view_groups
from audio.pictures.portraits import MOST as PORTRAYED
from audio.pictures.sampling import Picture, pictures_of, stamps_of
from audio.pictures.trace import Trace, trace_of

NICENESS = 15
"""The processes give way to whatever else the computer does: nobody waits for them."""
MOST_WORKERS = 8
"""Each may hold frames of 8K; chosen by hand."""
MEET_S = 1.0
"""Two takes of a clip this close are one performance in which samples were lost …"""
LOST_S = 0.06
"""… where they are no further apart in the song (both as in `audio.placement.takes`)."""
TOLD = 0.01
"""Progress is told no finer than this."""
BROKEN = "Reading this file's pictures crashed the reader: the file is damaged. Copy it again from the card."


@dataclass(frozen=True, slots=True)
class _Job:
    path: Path
    duration_s: float


@dataclass(frozen=True, slots=True)
class _Tools:
    stop: Stop
    progress: Progress


def look_at(
    shoot: SongView,
    *,
    stop: Stop,
    progress: Progress,
    answered: Callable[[Seen], None],
    workers: int | None,
    use_cache: bool,
) -> None:
    """Look at a shoot's clips; see `app.engine.tasks.look_at_clips`."""
    kept = KeptTraces()
    media: dict[str, MediaRef] = {}
    jobs: list[_Job] = []
    traces: dict[str, Trace] = {}
    clips = [clip for clip in shoot.clips if has_pictures(clip)]
    for clip in clips:
        if stop():
            raise Stopped("Stopped.")
        path = Path(clip.media.path)
        found = _as_placed(clip)
        if isinstance(found, Seen):
            answered(found)
            continue
        media[clip.id] = found
        known = kept.get(path) if use_cache else None
        if known is None:
            jobs.append(_Job(path, clip.duration_s))
        else:
            traces[clip.media.path] = _slim(known)
        progress(path, 0.0 if known is None else 1.0)

    def read(number: int, trace: "Trace | str") -> None:
        path = jobs[number].path
        if isinstance(trace, str):
            one = next(one for one in media.values() if one.path == str(path))
            answered(Seen(one, trouble=trace))
            return
        kept.put(path, trace)
        traces[str(path)] = _slim(trace)
        progress(path, 1.0)

    try:
        with Workers(
            lambda: _Tools,
            workers=min(max(2, os.cpu_count() or 1), MOST_WORKERS) if workers is None else workers,
            niceness=NICENESS,
            stop=stop,
            progress=progress,
        ) as pool:
            pool.each(_traced, jobs, read, lambda job: BROKEN)
    finally:
        kept.tidy()
    seen = [clip for clip in clips if clip.media.path in traces]
    for one in _compared(seen, media, traces, stop):
        answered(one)


def lost_samples(clip: Clip) -> tuple[float, ...]:
    """Clip times (s) at which a clip's sound lost samples: there one take ends and the next begins, a little
    off its line."""
    found = []
    for before, after in pairwise(clip.takes):
        border_s = after.clip_start_s
        leap_s = after.song_time(border_s) - before.song_time(border_s)
        if border_s - before.clip_end_s < MEET_S and abs(leap_s) <= LOST_S:
            found.append(border_s)
    return tuple(found)


def _as_placed(clip: Clip) -> MediaRef | Seen:
    """The clip's file, if it is still the one that was placed; else why it is not looked at."""
    try:
        found = media_ref(Path(clip.media.path))
    except OSError as error:
        return Seen(clip.media, trouble=f"The file cannot be opened: {error.strerror}.")
    if clip.media.digest and not found.same_content(clip.media):
        changed = "The file has changed since the clip was placed: place it again first."
        return Seen(clip.media, trouble=changed)
    return found


def _traced(job: _Job, tools: _Tools) -> "Trace | str":
    """The trace of a file, or a sentence on why there is none; whatever it is, the others go on."""
    try:
        stamps = stamps_of(job.path, stop=tools.stop)
        pictures = pictures_of(job.path, stop=tools.stop)
        return trace_of(_told(job, pictures, tools), stamps, stop=tools.stop)
    except Stopped:
        raise
    except AudioError as error:
        return str(error)
    except Exception as error:
        logging.getLogger(__name__).error("%s failed", job.path, exc_info=error)
        return f"Something went wrong with the pictures of this file ({type(error).__name__}: {error})."


def _told(job: _Job, pictures: Iterator[Picture], tools: _Tools) -> Iterator[Picture]:
    told = 0.0
    for picture in pictures:
        yield picture
        fraction = min(1.0, picture.clip_s / job.duration_s) if job.duration_s > 0 else 0.0
        if fraction >= told + TOLD:
            told = fraction
            tools.progress(job.path, fraction)


def _compared(
    clips: Sequence[Clip], media: dict[str, MediaRef], traces: dict[str, Trace], stop: Stop
) -> Iterator[Seen]:
    """What traces tell beside one another, clip by clip."""
    of_angle: defaultdict[str, list[Trace]] = defaultdict(list)
    for clip in clips:
        of_angle[clip.angle_id].append(traces[clip.media.path])
    found = []
    for clip in clips:
        if stop():
            raise Stopped("Stopped.")
        trace = traces[clip.media.path]
        others = [one for one in of_angle[clip.angle_id] if one is not trace]
        proposed = tuple(
            Proposed(one.reason, one.clip_start_s, one.clip_end_s, one.measure)
            for one in proposals(trace, others, lost_samples(clip))
        )
        measures = tuple(Measure(name, value) for name, value in measures_of(trace).items())
        found.append(Seen(media[clip.id], measures, proposed=proposed))
    groups = view_groups([traces[clip.media.path] for clip in clips], stop=stop)
    for seen, grouped in zip(found, groups, strict=True):
        yield replace(seen, group=f"view-{grouped.group + 1}", sure=grouped.sure)


def _slim(trace: Trace) -> Trace:
    """A trace without small pictures that nobody asks for, so that those of all clips can be held."""
    chosen = np.unique(np.linspace(0, len(trace.thumbs) - 1, PORTRAYED).round().astype(int))
    return replace(trace, thumbs=trace.thumbs[chosen], thumbs_s=trace.thumbs_s[chosen])
