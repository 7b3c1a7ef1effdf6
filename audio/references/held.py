"""A recording held against all references: each as closely as what the others told makes necessary."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from audio.errors import Stopped
from audio.placement.align import USUAL_SHARE, ChannelTakes, Hearing
from audio.placement.answer import Placement, PlaceVerdict, TakeFit
from audio.placement.search import BLOCK_S, HOP_S, SongIndex, block_evidence
from audio.placement.takes import LOUD
from audio.placement.verdicts import clip_answer
from audio.progress import no_progress, part_of
from audio.signals import Samples

GLANCE_BLOCKS = 4
"""Blocks that are correlated with a song to see whether there is anything of it, at least …"""
GLANCE_EVERY_S = 30.0
"""… and one for so many seconds. Both chosen by hand."""
SOMETHING = 18.0
"""Evidence of one block (log-likelihood ratio) from which on there may be something of a song: chance makes
17 among all lags of a song …"""
AS_CLEAR = 0.4
"""… where it is more than this share of what the song has that explains the block. Chosen by hand: evidence
is compressed, so even what fits a fifth as well has more."""
CLEAR_BLOCK = 8.0
"""A take explains its stretch where a block of it stands out by so many standard deviations: a song that fits
as well would show in single blocks too. Chosen by hand."""
LEAST_LEFT_S = 3.0
"""A shorter stretch beside explained ones is not searched by itself. Chosen by hand: nothing can be placed
by less."""
LONG_REST_S = 20.0
"""A stretch at least this long beside firm takes is searched at other speeds …"""
AS_LOUD = 0.3
"""… where its level is at least this share of theirs: talk between takes is softer than the playback. Both
chosen by hand; the search costs about a second for each song."""

IndexOf = Callable[[str], SongIndex]
"""Gives the index of a reference by its key."""
Stretch = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Held:
    """What holding a recording against one reference gave."""

    placement: Placement
    beside: tuple[str, ...] = ()
    """Keys of references that explain the recording, so that this one was looked at less closely; empty where
    the answer is what it would be with this reference alone."""


def held_against(
    hearing: Hearing,
    keys: Sequence[str],
    index_of: IndexOf,
    known: Mapping[str, Held],
    stop: Callable[[], bool],
    progress: Callable[[float], None] = no_progress,
) -> dict[str, Held]:
    """Hold a recording against references, each by itself.

    One that explains the recording wholly spares the others all but a glance, and speeds other than a song's
    own are tried only where no reference has anything. With one reference the answer is that of
    `audio.placement.align.place`.

    Parameters
    ----------
    keys : sequence of str
        Of the references.
    known : mapping
        What was found out before, by key; not heard again.

    Raises
    ------
    Stopped
    """
    out = dict(known)
    left = [key for key in keys if key not in out]
    if len(left) > 1:
        left = likeliest_first(hearing, left, index_of, stop)
    own: dict[str, ChannelTakes] = {}
    share = USUAL_SHARE / max(1, len(left))
    for number, key in enumerate(left):
        report = part_of(progress, number * share, share)
        beside = {
            other: [take for take in held.placement.takes if explains(take)] for other, held in out.items()
        }
        beside = {other: takes for other, takes in beside.items() if takes}
        explained = [(take.clip_start_s, take.clip_end_s) for takes in beside.values() for take in takes]
        if explained and not _anything(hearing, index_of(key), beside, index_of, stop):
            placement = _beside(hearing, index_of(key), explained, stop)
            out[key] = Held(placement, tuple(beside))
            continue
        own[key] = hearing.at_own_speed(index_of(key), stop, report)
        own[key] = hearing.joined_bits(own[key], index_of(key), stop)
        out[key] = Held(hearing.answer(own[key]))
    undecided = [key for key, takes in own.items() if takes.undecided]
    firm = [key for key, held in out.items() if any(map(is_firm, held.placement.takes))]
    for number, key in enumerate(undecided):
        others = tuple(other for other in firm if other != key)
        if others:
            out[key] = Held(out[key].placement, others)
            continue
        rest = (1 - USUAL_SHARE) / len(undecided)
        report = part_of(progress, USUAL_SHARE + number * rest, rest)
        best = hearing.at_other_speeds(own[key], index_of(key), stop, report)
        out[key] = Held(hearing.answer(best))
    firmly = [take for held in out.values() for take in held.placement.takes if is_firm(take)]
    rests = _rests(hearing, firmly)
    for key in left if rests else ():
        if out[key].beside and not any(map(is_firm, out[key].placement.takes)):
            placement = _faster_or_slower(hearing, out[key].placement, index_of(key), rests, stop)
            out[key] = replace(out[key], placement=placement)
    progress(1.0)
    return out


def explains(take: TakeFit) -> bool:
    """Whether a take explains its stretch of a clip so clearly that another song would show at a glance."""
    blocks = max(1.0, take.clip_length_s / BLOCK_S)
    return is_firm(take) and take.strength / float(np.sqrt(blocks)) >= CLEAR_BLOCK


def is_firm(take: TakeFit) -> bool:
    """Whether a take is no chance: placed, or so strong that only its place may be in doubt."""
    return take.verdict is PlaceVerdict.PLACED or take.strength > LOUD


def likeliest_first(
    hearing: Hearing, keys: Sequence[str], index_of: IndexOf, stop: Callable[[], bool]
) -> list[str]:
    """The references in the order of what a glance at the recording shows of them."""
    whole = [(hearing.sound.start_s, hearing.end_s)]
    blocks = list(_blocks(hearing, whole, stop))
    seen = {key: sum(float(block_evidence(block, index_of(key)).max()) for block in blocks) for key in keys}
    return sorted(keys, key=lambda key: -seen[key])


def _anything(
    hearing: Hearing,
    index: SongIndex,
    beside: Mapping[str, Sequence[TakeFit]],
    index_of: IndexOf,
    stop: Callable[[], bool],
) -> bool:
    """Whether a glance at takes on other references shows anything of a song that could be what is heard."""
    for key, takes in beside.items():
        for block in _blocks(hearing, [(take.clip_start_s, take.clip_end_s) for take in takes], stop):
            seen = float(block_evidence(block, index).max())
            # Songs of one band share some sounds; one that fits as well shows as clearly in every block.
            if seen > SOMETHING and seen > AS_CLEAR * float(block_evidence(block, index_of(key)).max()):
                return True
    return False


def _blocks(hearing: Hearing, stretches: Sequence[Stretch], stop: Callable[[], bool]) -> Iterator[Samples]:
    """Some blocks of stretches (clip s), whitened, channel by channel. Raises Stopped."""
    rate, start_s = hearing.sound.rate, hearing.sound.start_s
    size = int(BLOCK_S * rate)
    for low_s, high_s in stretches:
        first, last = (round((at - start_s) * rate) for at in (low_s, high_s))
        count = max(GLANCE_BLOCKS, round((high_s - low_s) / GLANCE_EVERY_S))
        count = min(count, 1 + max(0, last - first - size) // int(HOP_S * rate))
        for at in np.linspace(first, max(first, last - size), count + 2)[1:-1].astype(int):
            for white in hearing.white:
                if stop():
                    raise Stopped("Stopped.")
                block = white[max(0, at) : max(0, min(last, at + size))].astype(np.float32, copy=False)
                if len(block):
                    yield block


def _beside(
    hearing: Hearing, index: SongIndex, explained: Iterable[Stretch], stop: Callable[[], bool]
) -> Placement:
    """The takes in what other references leave unexplained."""
    found: list[tuple[Placement, float]] = []
    for start_s, end_s in left_over(explained, hearing.sound.start_s, hearing.end_s):
        part = hearing.part(start_s, end_s)
        takes = part.at_own_speed(index, stop)
        found.append((part.answer(takes), takes.strength))
    fits = [take for placement, _ in found for take in placement.takes]
    channel = max(found, key=lambda one: one[1])[0].channel if fits else 0
    return clip_answer(fits, channel)


def _rests(hearing: Hearing, firmly: Sequence[TakeFit]) -> list[Stretch]:
    """Long stretches that no firm take explains, and that are about as loud."""
    ends = [(take.clip_start_s, take.clip_end_s) for take in firmly]
    long = [
        (start_s, end_s)
        for start_s, end_s in left_over(ends, hearing.sound.start_s, hearing.end_s)
        if ends and end_s - start_s >= LONG_REST_S
    ]
    if not long:
        return []
    loud = min(_level(hearing, start_s, end_s) for start_s, end_s in ends)
    return [one for one in long if _level(hearing, *one) >= AS_LOUD * loud]


def _faster_or_slower(
    hearing: Hearing,
    placement: Placement,
    index: SongIndex,
    rests: Sequence[Stretch],
    stop: Callable[[], bool],
) -> Placement:
    """A placement with what runs at other speeds in stretches that no firm take explains: a camera may roll
    from one song at its own speed into another that is played faster. Raises Stopped."""
    found: list[TakeFit] = []
    for start_s, end_s in rests:
        part = hearing.part(start_s, end_s)
        takes = part.at_other_speeds(ChannelTakes(0.0, [], [], 0), index, stop)
        found += [take for take in part.answer(takes).takes if is_firm(take)]
    if not found:
        return placement
    kept = [take for take in placement.takes if not any(_over_s(take, one) > 0 for one in found)]
    return clip_answer(sorted([*kept, *found], key=lambda take: take.clip_start_s), placement.channel)


def _level(hearing: Hearing, start_s: float, end_s: float) -> float:
    """RMS level of the loudest channel between two clip times (no unit), over the median second."""
    rate, begin_s = hearing.sound.rate, hearing.sound.start_s
    first, last = (max(0, round((at_s - begin_s) * rate)) for at_s in (start_s, end_s))
    levels = []
    for row in hearing.sound.samples:
        seconds = [np.asarray(row[at : at + rate], np.float32) for at in range(first, last, rate)]
        levels.append(np.median([np.sqrt(np.mean(np.square(one))) for one in seconds if len(one)] or [0.0]))
    return float(max(levels))


def _over_s(one: TakeFit, other: TakeFit) -> float:
    return min(one.clip_end_s, other.clip_end_s) - max(one.clip_start_s, other.clip_start_s)


def left_over(stretches: Iterable[Stretch], start_s: float, end_s: float) -> list[Stretch]:
    """What stretches leave of a whole, in pieces of `LEAST_LEFT_S` and more.

    >>> left_over([(10.0, 20.0), (15.0, 40.0)], 0.0, 41.0)
    [(0.0, 10.0)]
    """
    out, at = [], start_s
    for low, high in [*sorted(stretches), (end_s, end_s)]:
        if low - at >= LEAST_LEFT_S:
            out.append((at, low))
        at = max(at, high)
    return out
