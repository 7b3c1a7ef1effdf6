"""One recording, heard: what a worker does for one clip, or for the files that continue one another."""

import logging
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from app.engine.probing import Looked, told
from app.model import reasons
from app.model.document.shoot import Clip, LagPoint, Rival, Take, Verdict
from audio.errors import AudioError, NoSound, Stopped, Unreadable
from audio.files.joined import joined
from audio.files.media import CLIP_ROOM, Sound, read_sound
from audio.files.sound_reader import Room
from audio.placement.align import place
from audio.placement.answer import Placement, TakeFit
from audio.placement.reasons import Reason
from audio.placement.search import SongIndex
from audio.rate import ENGINE_RATE

SCRAP_S = 0.5
"""A piece of a take shorter than this, left over where a recording goes on in the next file, is dropped."""


@dataclass(frozen=True, slots=True)
class HeardAlone:
    """What came of hearing one recording by itself."""

    clips: list[Clip]
    """One a file, in the same order."""
    placement: Placement | None = None
    """The engine's answer on the recording; None where it could not be heard as one."""


def hear(
    files: Sequence[Looked],
    index: SongIndex,
    *,
    stop: Callable[[], bool],
    progress: Callable[[Path, float], None],
) -> HeardAlone:
    """Place one recording; gives one clip a file, in the same order, ids and angles left empty.

    Trouble with a file is that clip's verdict. Raises Stopped only.
    """
    clips = [told(file) for file in files]
    sounds: dict[int, Sound] = {}
    for number, sound in enumerate(_read(files, stop, lambda path, fraction: progress(path, 0.4 * fraction))):
        if isinstance(sound, Sound):
            sounds[number] = sound
            warnings = tuple(dict.fromkeys((*clips[number].warnings, *sound.warnings)))
            clips[number] = replace(clips[number], warnings=warnings)
        elif files[number].info is not None:
            clips[number] = _in_trouble(clips[number], sound)
    heard = sorted(sounds)
    if not heard:
        return HeardAlone(clips)
    whole = len(heard) == len(files)
    placement = None
    for run in [heard] if whole else [[number] for number in heard]:

        def tell(fraction: float, run: Sequence[int] = run) -> None:
            for number in run:
                progress(files[number].path, 0.4 + 0.6 * fraction)

        starts = _starts([clips[number].duration_s for number in run])
        sound = joined([sounds.pop(number) for number in run], starts)
        try:
            placement = place(sound, index, stop=stop, progress=tell)
        except Stopped:
            raise
        except Exception as error:
            for number in run:
                clips[number] = _in_trouble(clips[number], error)
            continue
        dealt = dealt_out([clips[number] for number in run], placement)
        for number, clip in zip(run, dealt, strict=True):
            clips[number] = clip
    if whole and len(files) > 1:
        clips = [replace(clip, recording=clips[0].media.path) for clip in clips]
    return HeardAlone(clips, placement if whole else None)


def sound_again(files: Sequence[Looked], *, stop: Callable[[], bool]) -> Sound:
    """The sound of a recording as it was placed. Raises AudioError, Stopped among them."""
    sounds = []
    for file, sound in zip(files, _read(files, stop, lambda path, fraction: None), strict=True):
        if isinstance(sound, AudioError):
            raise sound
        if not isinstance(sound, Sound):
            raise Unreadable(f"{file.path.name} can no longer be read.") from sound
        sounds.append(sound)
    starts = _starts([file.info.duration_s for file in files if file.info is not None])
    return joined(sounds, starts)


def dealt_out(clips: Sequence[Clip], placement: Placement) -> list[Clip]:
    """The clips of a recording, each with the part of the recording's answer that lies in its file."""
    starts = _starts([clip.duration_s for clip in clips])
    return [_answered(clip, placement, start) for clip, start in zip(clips, starts, strict=True)]


def _read(
    files: Sequence[Looked], stop: Callable[[], bool], progress: Callable[[Path, float], None]
) -> Iterator[Sound | Exception]:
    """The sound of each file of a recording, or why there is none. Raises Stopped."""
    labels: tuple[str, ...] = ()
    for file, room in zip(files, _rooms(files), strict=True):
        if file.info is None:
            yield Unreadable(file.trouble)
            continue

        def tell(fraction: float, path: Path = file.path) -> None:
            progress(path, fraction)

        try:
            # What was kept of one file is kept of the next, so that one channel runs through all of them.
            sound = read_sound(
                file.path, ENGINE_RATE, room=replace(room, rather=labels), stop=stop, progress=tell
            )
        except Stopped:
            raise
        except Exception as error:
            yield error
            continue
        labels = labels or sound.labels
        yield sound


def _in_trouble(clip: Clip, error: Exception) -> Clip:
    """The clip with its trouble told; whatever it is, the other clips go on."""
    if isinstance(error, NoSound):
        return replace(clip, verdict=Verdict.NO_SONG, reason=str(error))
    if isinstance(error, AudioError):
        return replace(clip, verdict=Verdict.UNREADABLE, reason=str(error))
    logging.getLogger(__name__).error("%s failed", clip.media.path, exc_info=error)
    reason = f"Something unexpected went wrong with this file ({type(error).__name__}: {error})."
    return replace(clip, verdict=Verdict.UNREADABLE, reason=reason)


def _rooms(files: Sequence[Looked]) -> list[Room]:
    """For each file of a recording its part of the memory that the samples of one recording may take."""
    lengths = [0.0 if file.info is None else file.info.duration_s for file in files]
    whole_s = sum(lengths)
    shares = [length / whole_s if whole_s else 1 / len(files) for length in lengths]
    return [
        Room(round(CLIP_ROOM.whole_bytes * share), round(CLIP_ROOM.most_bytes * share)) for share in shares
    ]


def _starts(durations_s: Sequence[float]) -> list[float]:
    starts = [0.0]
    for duration in durations_s[:-1]:
        starts.append(starts[-1] + duration)
    return starts


def sentence_of(reason: Reason | None) -> str:
    """An engine's reason as a person reads it; empty where there is none."""
    return "" if reason is None else reasons.sentence(reasons.Reason(reason.code.value, reason.figures))


def _answered(clip: Clip, answer: Placement, start_s: float) -> Clip:
    """The clip with the part of the recording's answer that lies in its file."""
    takes = tuple(take for fit in answer.takes if (take := _take(fit, start_s, clip.duration_s)) is not None)
    if not takes:
        reason = sentence_of(answer.reason) if not answer.takes else "Nothing in this file is the song."
        return replace(clip, verdict=Verdict.NO_SONG, reason=reason, takes=())
    doubtful = any(take.verdict is Verdict.DOUBTFUL for take in takes)
    verdict = Verdict.DOUBTFUL if doubtful else Verdict.PLACED
    return replace(clip, verdict=verdict, reason=sentence_of(answer.reason) if doubtful else "", takes=takes)


def _take(fit: TakeFit, start_s: float, duration_s: float) -> Take | None:
    """The piece of a take that lies in the file that begins ``start_s`` into the recording."""
    begin = max(fit.clip_start_s - start_s, 0.0)
    end = min(fit.clip_end_s - start_s, duration_s)
    if end - begin < SCRAP_S:
        return None
    line = fit.line.anchored(begin + start_s)
    moved = (begin + start_s - fit.clip_start_s) * fit.speed
    return Take(
        id="",
        clip_start_s=begin,
        clip_end_s=end,
        song_start_s=line.song_s,
        speed=line.speed,
        uncertainty_s=fit.uncertainty_s,
        verdict=Verdict(fit.verdict.value),
        reason=sentence_of(fit.reason),
        rivals=tuple(Rival(rival.song_start_s + moved, rival.strength) for rival in fit.rivals),
        lags=tuple(
            LagPoint(clip_s - start_s, lag_s, strength)
            for clip_s, lag_s, strength in fit.lags
            if begin <= clip_s - start_s <= end
        ),
    )
