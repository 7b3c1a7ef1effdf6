"""One recording, heard: what a worker does for one clip, or for the files that continue one another."""

import logging
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from app.engine.by_code import by_code, codes_seen, lines_seen, takes_by_code, witnesses_of
from app.engine.file_part import with_takes
from app.engine.probing import Looked, told
from app.engine.references import Shelf
from app.model.answers import Answer
from app.model.clip_verdict import of_takes
from app.model.document.verdict import Verdict
from app.model.reasons import Reason, in_words
from audio.errors import AudioError, NoSound, Stopped, Unreadable
from audio.files.media import CLIP_MEMORY, Sound, read_sound
from audio.files.recordings import joined
from audio.files.sound_reader import MemoryBudget
from audio.pictures.code_check import checked
from audio.pictures.code_lines import CodeLine
from audio.placement.align import Hearing
from audio.placement.answer import Placement
from audio.rate import ENGINE_RATE
from audio.references.by_timecode import stretches_in, with_timecode
from audio.references.held import Held, held_against
from audio.references.reference import Reference
from audio.references.settled import settled


@dataclass(frozen=True, slots=True)
class PlacedAlone:
    """What came of placing one recording on one reference."""

    answers: list[Answer]
    """One a file, in the same order."""
    placement: Placement | None = None
    """The engine's answer on the recording; None where it could not be heard as one."""
    beside: tuple[str, ...] = ()
    """Keys of references beside which this one was looked at less closely; see `audio.references.held`."""


@dataclass(frozen=True, slots=True)
class HeardRecording:
    """What came of hearing one recording."""

    files: Sequence[Path]
    songs: Mapping[str, PlacedAlone]
    """For each song, by its key: the answer beside all the others."""
    alone: Mapping[str, PlacedAlone]
    """For each reference, by its key: what holding the recording against it gave, in its own time."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What recordings are held against, in one process."""

    references: tuple[Reference, ...]
    shelf: Shelf
    digests: Mapping[str, str] = field(default_factory=dict)
    """Of the songs' files, by key: slate codes know songs by them. Where there is none, pictures are not
    asked."""

    @property
    def songs(self) -> list[str]:
        """Keys of the songs."""
        return [one.key for one in self.references if one.is_song]

    @property
    def has_timecode(self) -> bool:
        """Whether a playback file carries timecode that clips may have recorded."""
        return any(one.timecode is not None for one in self.references)

    def settled(
        self,
        hearing: Callable[[], Hearing],
        held: Mapping[str, Placement],
        codes: Callable[[], Mapping[str, Sequence[CodeLine]]],
        stop: Callable[[], bool],
    ) -> dict[str, Placement]:
        """The answer for each song; with one reference it is what was found on that.

        ``codes`` gives those of slates that the pictures show, by song.
        """
        if len(self.references) == 1:
            return dict(held)
        return settled(
            hearing, held, self.references, self.shelf.composite, stop, lambda: witnesses_of(codes())
        )


def hear(
    files: Sequence[Looked],
    ground: Ground,
    *,
    known: Mapping[str, PlacedAlone] | None = None,
    stop: Callable[[], bool],
    progress: Callable[[Path, float], None],
) -> HeardRecording:
    """Place one recording; gives, for each song, one answer a file, in the same order.

    Trouble with a file is its verdict. Where sound tells nothing, pictures are asked; they know songs by
    their digests. What is ``known`` of references from before is not heard again. Raises Stopped only.
    """
    known = {} if known is None else known
    paths = [file.path for file in files]
    if all(one.key in known for one in ground.references):
        return HeardRecording(paths, _settled_again(files, ground, known, stop), known)
    answers = [told(file) for file in files]
    by_song = {song: list(answers) for song in ground.songs}
    sounds: dict[int, Sound] = {}
    wanted = ground.has_timecode
    for number, sound in enumerate(
        _read(files, stop, lambda path, fraction: progress(path, 0.4 * fraction), timecode=wanted)
    ):
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
        for song, seen in _seen(answers[number], files[number], ground, sound, stop, progress).items():
            by_song[song][number] = seen
    heard = sorted(sounds)
    if not heard:
        nothing = {song: PlacedAlone(all_) for song, all_ in by_song.items()}
        return HeardRecording(paths, nothing, nothing | _unheard_playbacks(ground, answers))
    whole = len(heard) == len(files)
    alone = {one.key: list(by_song.get(one.key, answers)) for one in ground.references}
    held: dict[str, Held] = {}
    placements: dict[str, Placement] = {}
    for run in [heard] if whole else [[number] for number in heard]:

        def tell(fraction: float, run: Sequence[int] = run) -> None:
            for number in run:
                progress(files[number].path, 0.4 + 0.6 * fraction)

        starts = _starts([answers[number].facts.duration_s for number in run])
        sound = joined([sounds.pop(number) for number in run], starts)
        facts = [answers[number] for number in run]
        try:
            codes = _codes([files[number] for number in run], ground, stop)
            held, placements = _on_all(sound, ground, codes, known if whole else {}, stop, tell)
        except Stopped:
            raise
        except Exception as error:
            for number in run:
                troubled = _in_trouble(answers[number], error)
                for told_of in (*by_song.values(), *alone.values()):
                    told_of[number] = troubled
            held, placements = {}, {}
            continue
        for key, one in held.items():
            dealt = _dealt(facts, one.placement, codes.get(key, ()), ground, key)
            for number, clip in zip(run, dealt, strict=True):
                alone[key][number] = clip
        for song, placement in placements.items():
            same = placement == held[song].placement
            dealt = [alone[song][number] for number in run] if same else dealt_out(facts, placement)
            for number, clip in zip(run, dealt, strict=True):
                by_song[song][number] = clip
    if whole and len(files) > 1:
        first = answers[0].media.path
        for all_ in (*by_song.values(), *alone.values()):
            all_[:] = [replace(clip, recording=first) for clip in all_]
    return HeardRecording(
        paths,
        {song: PlacedAlone(all_, placements.get(song) if whole else None) for song, all_ in by_song.items()},
        {
            key: PlacedAlone(all_, held[key].placement, held[key].beside)
            if whole and key in held
            else PlacedAlone(all_)
            for key, all_ in alone.items()
        },
    )


def _settled_again(
    files: Sequence[Looked], ground: Ground, known: Mapping[str, PlacedAlone], stop: Callable[[], bool]
) -> dict[str, PlacedAlone]:
    """The answers for each song where nothing has to be held against a reference any more.

    Where a file cannot be read again, what was found by itself stays, in doubt for nobody: it is as it was.
    """
    held = {key: one.placement for key, one in known.items() if one.placement is not None}
    if len(held) < len(known):
        return {song: known[song] for song in ground.songs}
    placements = ground.settled(
        lambda: Hearing(sound_again(files, stop=stop)), held, lambda: _codes(files, ground, stop), stop
    )
    out = {}
    for song, placement in placements.items():
        if placement == held[song]:
            out[song] = known[song]
        else:
            out[song] = PlacedAlone(dealt_out(known[song].answers, placement), placement)
    return out


def _on_all(
    sound: Sound,
    ground: Ground,
    codes: Mapping[str, Sequence[CodeLine]],
    known: Mapping[str, PlacedAlone],
    stop: Callable[[], bool],
    tell: Callable[[float], None],
) -> tuple[dict[str, Held], dict[str, Placement]]:
    """What holding a sound against each reference gives, and what it then is of each song."""
    before = {key: Held(one.placement, one.beside) for key, one in known.items() if one.placement is not None}
    hearing = Hearing(sound)
    keys = [one.key for one in ground.references]
    held = held_against(hearing, keys, ground.shelf.index, before, stop, tell)
    timecode = stretches_in(sound, ground.references)
    for key in held.keys() - before.keys():
        placement = checked(held[key].placement, codes.get(key, ()))
        held[key] = replace(held[key], placement=with_timecode(placement, timecode.get(key, ())))
    own = {key: one.placement for key, one in held.items()}
    placements = ground.settled(lambda: hearing, own, lambda: codes, stop)
    return held, placements


def _codes(
    files: Sequence[Looked], ground: Ground, stop: Callable[[], bool]
) -> dict[str, Sequence[CodeLine]]:
    """The lines of slate codes in a file with sound, by song."""
    if len(files) != 1 or not ground.digests:
        return {}
    reads = codes_seen(files[0], thorough=False, stop=stop, progress=lambda fraction: None)
    return {song: lines_seen(files[0], reads, digest) for song, digest in ground.digests.items()}


def _dealt(
    facts: Sequence[Answer], placement: Placement, codes: Sequence[CodeLine], ground: Ground, key: str
) -> list[Answer]:
    """The answers on the files of a recording by one reference alone."""
    dealt = dealt_out(facts, placement)
    if codes and not placement.takes:
        return [_unheard(dealt[0], codes, ground.shelf.length_s(key))]
    return dealt


def _unheard_playbacks(ground: Ground, answers: Sequence[Answer]) -> dict[str, PlacedAlone]:
    return {one.key: PlacedAlone(list(answers)) for one in ground.references if not one.is_song}


def _seen(
    answer: Answer,
    file: Looked,
    ground: Ground,
    sound: Sound | Exception,
    stop: Callable[[], bool],
    progress: Callable[[Path, float], None],
) -> dict[str, Answer]:
    """The answer on a file for each song: where it has no sound, by its pictures."""
    if not isinstance(sound, NoSound) or file.info is None or not ground.digests:
        return dict.fromkeys(ground.songs, answer)
    reads = codes_seen(
        file, thorough=True, stop=stop, progress=lambda fraction: progress(file.path, fraction)
    )
    return {
        song: by_code(answer, file, reads, digest, ground.shelf.length_s(song))
        for song, digest in ground.digests.items()
    }


def _unheard(answer: Answer, lines: Sequence[CodeLine], song_s: float) -> Answer:
    """The answer on a file with sound in which only the slate tells of the song: never sure."""
    takes = tuple(
        replace(take, verdict=Verdict.DOUBTFUL, reason=Reason("code not heard"))
        for take in takes_by_code(lines, answer.facts.duration_s, song_s)
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
    return [with_takes(answer, placement, start) for answer, start in zip(answers, starts, strict=True)]


def _read(
    files: Sequence[Looked],
    stop: Callable[[], bool],
    progress: Callable[[Path, float], None],
    *,
    timecode: bool = False,
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
                file.path,
                ENGINE_RATE,
                memory=replace(room, preferred=labels),
                timecode=timecode,
                stop=stop,
                progress=tell,
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
