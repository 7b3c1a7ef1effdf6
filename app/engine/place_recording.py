"""One recording, heard: what a worker does for one clip, or for the files that continue one another."""

import logging
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from app.engine.by_code import by_code, codes_seen, lines_seen, takes_by_code
from app.engine.probing import Looked, told
from app.model.answers import Answer
from app.model.clip_verdict import of_takes
from app.model.document.findings import LagPoint, Rival, TakePlacement
from app.model.document.verdict import Verdict
from app.model.reasons import NO_REASON, Reason, in_words
from audio.errors import AudioError, NoSound, Stopped, Unreadable
from audio.files.media import CLIP_MEMORY, Sound, read_sound
from audio.files.recordings import joined
from audio.files.sound_reader import MemoryBudget
from audio.pictures.code_check import checked
from audio.pictures.code_lines import CodeLine
from audio.placement.align import place
from audio.placement.answer import Placement, TakeFit
from audio.placement.reason_codes import Reason as PlacementReason
from audio.placement.search import SongIndex
from audio.rate import ENGINE_RATE

SCRAP_S = 0.5
"""A piece of a take shorter than this, left over where a recording goes on in the next file, is dropped."""


@dataclass(frozen=True, slots=True)
class PlacedAlone:
    """What came of placing one recording by itself."""

    answers: list[Answer]
    """One a file, in the same order."""
    placement: Placement | None = None
    """The engine's answer on the recording; None where it could not be heard as one."""


def hear(
    files: Sequence[Looked],
    index: SongIndex,
    *,
    song_digest: str = "",
    stop: Callable[[], bool],
    progress: Callable[[Path, float], None],
) -> PlacedAlone:
    """Place one recording; gives one answer a file, in the same order.

    Trouble with a file is its verdict. Where sound tells nothing, pictures are asked; they know the song by
    its digest. Raises Stopped only.
    """
    song = _Song(song_digest, index.duration_s)
    answers = [told(file) for file in files]
    sounds: dict[int, Sound] = {}
    for number, sound in enumerate(_read(files, stop, lambda path, fraction: progress(path, 0.4 * fraction))):
        if isinstance(sound, Sound):
            sounds[number] = sound
            warnings = tuple(dict.fromkeys((*answers[number].warnings, *sound.warnings)))
            answers[number] = replace(answers[number], warnings=warnings)
            if answers[number].facts.duration_s <= 0:  # its header said what cannot be
                end_s = sound.start_s + sound.samples.shape[1] / sound.rate
                answers[number] = replace(
                    answers[number], facts=replace(answers[number].facts, duration_s=end_s)
                )
        elif files[number].info is not None:
            answers[number] = _in_trouble(answers[number], sound)
            if isinstance(sound, NoSound):
                answers[number] = _seen(answers[number], files[number], song, stop, progress)
    heard = sorted(sounds)
    if not heard:
        return PlacedAlone(answers)
    whole = len(heard) == len(files)
    placement = None
    for run in [heard] if whole else [[number] for number in heard]:

        def tell(fraction: float, run: Sequence[int] = run) -> None:
            for number in run:
                progress(files[number].path, 0.4 + 0.6 * fraction)

        starts = _starts([answers[number].facts.duration_s for number in run])
        sound = joined([sounds.pop(number) for number in run], starts)
        try:
            placement = place(sound, index, stop=stop, progress=tell)
        except Stopped:
            raise
        except Exception as error:
            for number in run:
                answers[number] = _in_trouble(answers[number], error)
            continue
        seen: Sequence[CodeLine] = ()
        if len(run) == 1 and song.digest:
            file = files[run[0]]
            reads = codes_seen(file, thorough=False, stop=stop, progress=lambda fraction: None)
            seen = lines_seen(file, reads, song.digest)
            placement = checked(placement, seen)
        dealt = dealt_out([answers[number] for number in run], placement)
        if seen and not placement.takes:
            dealt = [_unheard(dealt[0], seen, song)]
        for number, clip in zip(run, dealt, strict=True):
            answers[number] = clip
    if whole and len(files) > 1:
        answers = [replace(clip, recording=answers[0].media.path) for clip in answers]
    return PlacedAlone(answers, placement if whole else None)


@dataclass(frozen=True, slots=True)
class _Song:
    digest: str
    """Of its file; empty where pictures are not asked."""
    length_s: float


def _seen(
    answer: Answer,
    file: Looked,
    song: _Song,
    stop: Callable[[], bool],
    progress: Callable[[Path, float], None],
) -> Answer:
    """The answer on a file without sound, by its pictures."""
    if not song.digest:
        return answer
    reads = codes_seen(
        file, thorough=True, stop=stop, progress=lambda fraction: progress(file.path, fraction)
    )
    return by_code(answer, file, reads, song.digest, song.length_s)


def _unheard(answer: Answer, lines: Sequence[CodeLine], song: _Song) -> Answer:
    """The answer on a file with sound in which only the slate tells of the song: never sure."""
    takes = tuple(
        replace(take, verdict=Verdict.DOUBTFUL, reason=Reason("code not heard"))
        for take in takes_by_code(lines, answer.facts.duration_s, song.length_s)
    )
    if not takes:
        return answer
    verdict, reason = of_takes([(take.verdict, take.reason) for take in takes])
    return replace(answer, verdict=verdict, reason=reason, takes=takes)


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


def dealt_out(answers: Sequence[Answer], placement: Placement) -> list[Answer]:
    """The answers on the files of a recording, each with the part of the placement that lies in its file."""
    starts = _starts([answer.facts.duration_s for answer in answers])
    return [_with_takes(answer, placement, start) for answer, start in zip(answers, starts, strict=True)]


def _read(
    files: Sequence[Looked], stop: Callable[[], bool], progress: Callable[[Path, float], None]
) -> Iterator[Sound | Exception]:
    """The sound of each file of a recording, or why there is none. Raises Stopped."""
    labels: tuple[str, ...] = ()
    for file, room in zip(files, _budgets(files), strict=True):
        if file.info is None:
            yield Unreadable(file.trouble)
            continue

        def tell(fraction: float, path: Path = file.path) -> None:
            progress(path, fraction)

        try:
            # What was kept of one file is kept of the next, so that one channel runs through all of them.
            sound = read_sound(
                file.path, ENGINE_RATE, memory=replace(room, preferred=labels), stop=stop, progress=tell
            )
        except Stopped:
            raise
        except Exception as error:
            yield error
            continue
        labels = labels or sound.labels
        yield sound


def _in_trouble(answer: Answer, error: Exception) -> Answer:
    """The answer with its trouble told; whatever it is, the other clips go on."""
    if isinstance(error, NoSound):
        return replace(answer, verdict=Verdict.NO_SONG, reason=in_words(str(error)))
    if isinstance(error, AudioError):
        return replace(answer, verdict=Verdict.UNREADABLE, reason=in_words(str(error)))
    logging.getLogger(__name__).error("%s failed", answer.media.path, exc_info=error)
    reason = Reason("unexpected", (("error", f"{type(error).__name__}: {error}"),))
    return replace(answer, verdict=Verdict.UNREADABLE, reason=reason)


def _budgets(files: Sequence[Looked]) -> list[MemoryBudget]:
    """For each file of a recording its part of the memory that the samples of one recording may take."""
    lengths = [0.0 if file.info is None else file.info.duration_s for file in files]
    whole_s = sum(lengths)
    shares = [length / whole_s if whole_s else 1 / len(files) for length in lengths]
    return [
        MemoryBudget(round(CLIP_MEMORY.float32_bytes * share), round(CLIP_MEMORY.most_bytes * share))
        for share in shares
    ]


def _starts(durations_s: Sequence[float]) -> list[float]:
    starts = [0.0]
    for duration in durations_s[:-1]:
        starts.append(starts[-1] + duration)
    return starts


def reason_of(reason: PlacementReason | None) -> Reason:
    """An engine's reason as the document keeps it."""
    return NO_REASON if reason is None else Reason(reason.code.value, reason.figures)


def _with_takes(answer: Answer, placement: Placement, start_s: float) -> Answer:
    """The answer with the part of the recording's placement that lies in its file."""
    length_s = answer.facts.duration_s
    takes = tuple(take for fit in placement.takes if (take := _take(fit, start_s, length_s)) is not None)
    if not takes:
        reason = Reason("nothing here") if placement.takes else reason_of(placement.reason)
        return replace(answer, verdict=Verdict.NO_SONG, reason=reason, takes=())
    verdict, _ = of_takes([(take.verdict, take.reason) for take in takes])
    return replace(answer, verdict=verdict, takes=takes)


def _take(fit: TakeFit, start_s: float, duration_s: float) -> TakePlacement | None:
    """The piece of a take that lies in the file that begins ``start_s`` into the recording."""
    begin = max(fit.clip_start_s - start_s, 0.0)
    end = min(fit.clip_end_s - start_s, duration_s)
    if end - begin < SCRAP_S:
        return None
    line = fit.line.anchored(begin + start_s)
    moved = (begin + start_s - fit.clip_start_s) * fit.speed
    return TakePlacement(
        clip_start_s=begin,
        clip_end_s=end,
        song_start_s=line.song_s,
        speed=line.speed,
        uncertainty_s=fit.uncertainty_s,
        verdict=Verdict(fit.verdict.value),
        reason=reason_of(fit.reason),
        rivals=tuple(Rival(rival.song_start_s + moved, rival.strength, rival.open) for rival in fit.rivals),
        lags=tuple(
            LagPoint(clip_s - start_s, lag_s, strength)
            for clip_s, lag_s, strength in fit.lags
            if begin <= clip_s - start_s <= end
        ),
    )
