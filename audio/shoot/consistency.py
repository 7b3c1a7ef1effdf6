"""Cross-clip consistency: what the clips of a shoot say about each other once each has been placed alone.

Three checks. The takes of one camera share a clock: this costs nothing. A doubtful take is decided by another
clip of the same moment. Two placed takes that were recorded at one time by their cameras' clocks, but lie
seconds apart in the song, are compared by their live sound. The last two read clips again, so they are made
only where there is reason to.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from audio.errors import AudioError, Stopped
from audio.files.media import MediaInfo, Sound
from audio.placement.answer import Placement, PlaceVerdict
from audio.placement.search import SongIndex
from audio.placement.verdicts import clip_answer
from audio.shoot.cameras import cameras
from audio.shoot.clocks import with_common_clock
from audio.shoot.contradictions import Comparison, compare_takes, contradicted
from audio.shoot.corroboration import ClipSound, corroborated, could_corroborate
from audio.shoot.run_throughs import Answered, TogetherHint, together

MOST_CORROBORATORS = 4
"""Clips compared with a doubtful one, at most. Chosen by hand: each has to be read again."""
SUSPECT_S = 5.0
"""Two takes whose placements differ by more than this from what the cameras' clocks say are compared (s): the
clocks are written in whole seconds, and passages mistaken for each other lie bars apart. Chosen by hand."""

SoundOf = Callable[[int], Sound]
"""Reads the sound of a clip, given its index, as it was placed; may be called for the same clip again. Raises
AudioError only, Stopped among them."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """A doubtful clip, and the clips that may decide it, likeliest first (indices)."""

    clip: int
    corroborators: tuple[int, ...]
    simultaneous: int = 0
    """So many of them, the first, were recorded at the same time by the cameras' clocks."""


@dataclass(frozen=True, slots=True)
class Suspicion:
    """Two placed takes that may contradict each other: index of the clip, index of the take."""

    one: tuple[int, int]
    """The less certain of the two."""
    other: tuple[int, int]

    @property
    def clip(self) -> int:
        """The clip that the answer is about."""
        return self.one[0]


Question = Doubt | Suspicion
Ask = Callable[[Sequence[Question], Sequence[Answered]], Sequence[Placement]]
"""Has questions answered by reading clips again, in any order and in parallel; returns the answers in the
order of the questions."""


def one_clock_each(infos: Sequence[MediaInfo], placements: Sequence[Placement]) -> tuple[Placement, ...]:
    """The answers with every take's speed combined with its camera's clock (see `clocks`)."""
    out = list(placements)
    for group in cameras(infos):
        takes = with_common_clock([take for clip in group for take in placements[clip].takes])
        at = 0
        for clip in group:
            count = len(placements[clip].takes)
            out[clip] = replace(placements[clip], takes=takes[at : at + count])
            at += count
    return tuple(out)


def doubts(clips: Sequence[Answered]) -> tuple[Doubt, ...]:
    """Find the doubtful clips that others may decide, and which others.

    Where the offset of two cameras' clocks is known, only clips recorded at the same time are compared.
    """
    seen = together(clips)
    camera = {clip: number for number, group in enumerate(cameras([c.info for c in clips])) for clip in group}
    clear = [{camera[hint.one[0]], camera[hint.other[0]]} for hint in seen]
    out = []
    # One run-through fits any two clocks; only the second shows that they agree.
    sure = [hint for hint in seen if hint.times > 1]
    for number, clip in enumerate(clips):
        doubtful = [take for take in clip.placement.takes if take.verdict is PlaceVerdict.DOUBTFUL]
        able = [
            other
            for other, corroborator in enumerate(clips)
            if other != number
            and any(could_corroborate(take, corroborator.placement) for take in doubtful)
            and (_shared_s(seen, number, other) > 0 or {camera[number], camera[other]} not in clear)
        ]
        # Simultaneous clips first, then other cameras (what looks like one camera may be two of a kind), then
        # the longest: it is likeliest to have recorded the moment.
        able.sort(
            key=lambda other: (
                -_shared_s(sure, number, other),
                -_shared_s(seen, number, other),
                camera[other] == camera[number],
                -clips[other].info.duration_s,
            )
        )
        if able:
            able = able[:MOST_CORROBORATORS]
            simultaneous = sum(_shared_s(sure, number, other) > 0 for other in able)
            out.append(Doubt(number, tuple(able), simultaneous))
    return tuple(out)


def suspicions(clips: Sequence[Answered]) -> tuple[Suspicion, ...]:
    """Find the placed takes that have to be compared; mostly none."""
    seen = [hint for hint in together(clips) if _is_placed(clips, hint.one) and _is_placed(clips, hint.other)]
    out: dict[tuple[int, int], Suspicion] = {}
    for hint in seen:
        # One run-through sets the clocks' offset and so always fits: a contradiction needs a second.
        if abs(hint.apart_s) > SUSPECT_S and hint.times > 1:
            less, more = sorted((hint.one, hint.other), key=lambda take: _certainty(clips, seen, take))
            out.setdefault(less, Suspicion(less, more))
    return tuple(out.values())


def cross_checked(clips: Sequence[Answered], ask: Ask) -> tuple[Placement, ...]:
    """The answers on all clips after the cross-clip checks; most come back as they were.

    Parameters
    ----------
    clips : sequence of Answered
    ask : Ask
        Called at most twice, first with doubts, then with suspicions, and only where there are any.
    """
    infos = [clip.info for clip in clips]
    placements = one_clock_each(infos, [clip.placement for clip in clips])
    now = [Answered(info, placement) for info, placement in zip(infos, placements, strict=True)]
    doubtful = doubts(now)
    if doubtful:
        for doubt, placement in zip(doubtful, ask(doubtful, now), strict=True):
            now[doubt.clip] = replace(now[doubt.clip], placement=placement)
    suspected = suspicions(now)
    if suspected:
        for suspicion, placement in zip(suspected, ask(suspected, now), strict=True):
            clip, number = suspicion.one
            if placement != now[clip].placement:
                # Another take of the clip may have been suspected as well.
                takes = list(now[clip].placement.takes)
                takes[number] = placement.takes[number]
                now[clip] = replace(now[clip], placement=clip_answer(takes, now[clip].placement.channel))
    return tuple(clip.placement for clip in now)


def answer(question: Question, clips: Sequence[Answered], sound_of: SoundOf, index: SongIndex) -> Placement:
    """The answer on the clip that a question is about; the answer it has already where its sound, or that of
    all others, cannot be read again. Raises Stopped."""
    if isinstance(question, Doubt):
        return answer_doubt(question, clips, sound_of, index)
    return answer_suspicion(question, clips, sound_of, index)


def answer_doubt(doubt: Doubt, clips: Sequence[Answered], sound_of: SoundOf, index: SongIndex) -> Placement:
    """The answer on a doubtful clip after comparing it with its corroborating clips. Raises Stopped."""
    clip = _clip_sound(doubt.clip, clips, sound_of)
    if clip is None:
        return clips[doubt.clip].placement
    corroborators = (
        replace(corroborator, simultaneous=rank < doubt.simultaneous)
        for rank, number in enumerate(doubt.corroborators)
        if (corroborator := _clip_sound(number, clips, sound_of)) is not None
    )
    return corroborated(clip, corroborators, index)


def answer_suspicion(
    suspicion: Suspicion, clips: Sequence[Answered], sound_of: SoundOf, index: SongIndex
) -> Placement:
    """The answer on the less certain clip after comparing the two. Raises Stopped."""
    (clip, number), (other, other_number) = suspicion.one, suspicion.other
    one, against = _clip_sound(clip, clips, sound_of), _clip_sound(other, clips, sound_of)
    if one is None or against is None:
        return clips[clip].placement
    finding = compare_takes(one, number, against, other_number, index)
    if finding.comparison is not Comparison.CONTRADICT:
        return one.placement
    return contradicted(one.placement, number, finding.off_s, against.name)


def _clip_sound(number: int, clips: Sequence[Answered], sound_of: SoundOf) -> ClipSound | None:
    """A clip with its sound; None where that can no longer be read."""
    try:
        sound = sound_of(number)
    except Stopped:
        raise
    except AudioError:
        return None
    placement = clips[number].placement
    # A file changed in the meantime may have fewer channels.
    if placement.channel >= len(sound.samples):
        return None
    return ClipSound(clips[number].info.path.name, sound, placement)


def _is_placed(clips: Sequence[Answered], take: tuple[int, int]) -> bool:
    return clips[take[0]].placement.takes[take[1]].verdict is PlaceVerdict.PLACED


def _shared_s(seen: Sequence[TogetherHint], one: int, other: int) -> float:
    return max((hint.shared_s for hint in seen if {hint.one[0], hint.other[0]} == {one, other}), default=0.0)


def _certainty(
    clips: Sequence[Answered], seen: Sequence[TogetherHint], take: tuple[int, int]
) -> tuple[int, int, float]:
    """What speaks for a take: other takes that agree by the clocks, few rivals, a strong song."""
    agreeing = sum(take in (hint.one, hint.other) and abs(hint.apart_s) <= SUSPECT_S for hint in seen)
    fit = clips[take[0]].placement.takes[take[1]]
    return agreeing, -len(fit.rivals), fit.strength
