"""One recording, heard: what a worker does for one clip, or for the files that continue one another."""

import logging
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from app.looking import Looked, told
from app.model.shoot import Clip, LagPoint, Rival, Take, Verdict
from audio.align import Placement, TakeFit, place
from audio.errors import AudioError, NoSound, Stopped
from audio.joined import joined
from audio.media import CLIP_ROOM, Sound, read_sound
from audio.search import SongIndex
from audio.sound_reader import Room

RATE = 8000
"""Samples a second at which clips are placed."""
SCRAP_S = 0.5
"""A piece of a take shorter than this, left over where a recording goes on in the next file, is dropped."""


def hear(
    files: Sequence[Looked],
    index: SongIndex,
    *,
    stop: Callable[[], bool],
    progress: Callable[[Path, float], None],
) -> list[Clip]:
    """Place one recording; gives one clip a file, in the same order, ids and angles left empty.

    Trouble with a file is that clip's verdict. Raises Stopped only.
    """
    clips = [told(file) for file in files]
    sounds: dict[int, Sound] = {}
    labels: tuple[str, ...] = ()
    for number, (file, room) in enumerate(zip(files, _rooms(clips), strict=True)):
        if file.info is None:
            continue

        def tell_read(fraction: float, path: Path = file.path) -> None:
            progress(path, 0.4 * fraction)

        try:
            # What was kept of one file is kept of the next, so that one channel runs through all of them.
            room = replace(room, rather=labels)
            sounds[number] = read_sound(file.path, RATE, room=room, stop=stop, progress=tell_read)
            labels = labels or sounds[number].labels
        except Stopped:
            raise
        except Exception as error:
            clips[number] = _in_trouble(clips[number], error)
    heard = sorted(sounds)
    warnings = {number: sound.warnings for number, sound in sounds.items()}
    if not heard:
        return clips
    whole = len(heard) == len(files)
    runs = [heard] if whole else [[number] for number in heard]
    for run in runs:

        def tell(fraction: float, run: Sequence[int] = run) -> None:
            for number in run:
                progress(files[number].path, 0.4 + 0.6 * fraction)

        starts = _starts([clips[number].duration_s for number in run])
        sound = joined([sounds.pop(number) for number in run], starts)
        try:
            answer = place(sound, index, stop=stop, progress=tell)
        except Stopped:
            raise
        except Exception as error:
            for number in run:
                clips[number] = _in_trouble(clips[number], error)
            continue
        for number, start in zip(run, starts, strict=True):
            clips[number] = _answered(clips[number], answer, start, warnings[number])
    if whole and len(files) > 1:
        clips = [replace(clip, recording=clips[0].media.path) for clip in clips]
    return clips


def _in_trouble(clip: Clip, error: Exception) -> Clip:
    """The clip with its trouble told; whatever it is, the other clips go on."""
    if isinstance(error, NoSound):
        return replace(clip, verdict=Verdict.NO_SONG, reason=str(error))
    if isinstance(error, AudioError):
        return replace(clip, verdict=Verdict.UNREADABLE, reason=str(error))
    logging.getLogger(__name__).error("%s failed", clip.media.path, exc_info=error)
    reason = f"Something unexpected went wrong with this file ({type(error).__name__}: {error})."
    return replace(clip, verdict=Verdict.UNREADABLE, reason=reason)


def _rooms(clips: Sequence[Clip]) -> list[Room]:
    """For each file of a recording its part of the memory that the samples of one recording may take."""
    whole_s = sum(clip.duration_s for clip in clips)
    shares = [clip.duration_s / whole_s if whole_s else 1 / len(clips) for clip in clips]
    return [
        Room(round(CLIP_ROOM.whole_bytes * share), round(CLIP_ROOM.most_bytes * share)) for share in shares
    ]


def _starts(durations_s: Sequence[float]) -> list[float]:
    starts = [0.0]
    for duration in durations_s[:-1]:
        starts.append(starts[-1] + duration)
    return starts


def _answered(clip: Clip, answer: Placement, start_s: float, warnings: tuple[str, ...]) -> Clip:
    """The clip with the part of the recording's answer that lies in its file."""
    takes = tuple(take for fit in answer.takes if (take := _take(fit, start_s, clip.duration_s)) is not None)
    warnings = tuple(dict.fromkeys((*clip.warnings, *warnings)))
    if not takes:
        reason = answer.reason if not answer.takes else "Nothing in this file is the song."
        return replace(clip, verdict=Verdict.NO_SONG, reason=reason, warnings=warnings)
    doubtful = any(take.verdict is Verdict.DOUBTFUL for take in takes)
    verdict = Verdict.DOUBTFUL if doubtful else Verdict.PLACED
    return replace(
        clip, verdict=verdict, reason=answer.reason if doubtful else "", takes=takes, warnings=warnings
    )


def _take(fit: TakeFit, start_s: float, duration_s: float) -> Take | None:
    """The piece of a take that lies in the file that begins ``start_s`` into the recording."""
    begin = max(fit.clip_start_s - start_s, 0.0)
    end = min(fit.clip_end_s - start_s, duration_s)
    if end - begin < SCRAP_S:
        return None
    moved = (begin + start_s - fit.clip_start_s) * fit.speed
    return Take(
        id="",
        clip_start_s=begin,
        clip_end_s=end,
        song_start_s=fit.song_start_s + moved,
        speed=fit.speed,
        uncertainty_s=fit.uncertainty_s,
        verdict=Verdict(fit.verdict.value),
        reason=fit.reason,
        rivals=tuple(Rival(rival.song_start_s + moved, rival.strength) for rival in fit.rivals),
        lags=tuple(
            LagPoint(clip_s - start_s, lag_s, strength)
            for clip_s, lag_s, strength in fit.lags
            if begin <= clip_s - start_s <= end
        ),
    )
