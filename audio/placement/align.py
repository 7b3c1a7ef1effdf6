"""Where in the song a clip runs: takes, rivals and the verdict.

What the verdicts mean. ``placed``: one line fits, far above chance (STRENGTH_NEEDED), and is decided against
every rival. ``doubtful``: something fits, but weakly or in several places; a
person chooses. ``no song``: nothing in the clip is this song.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from audio.errors import BadSignal
from audio.files.media import Sound
from audio.placement.rivals import CLEAR_DESPITE_EXCESS
from audio.placement.search import SongIndex
from audio.placement.takes import LOST_S, LOUD, FittedTake, Takes, find_takes, find_takes_at
from audio.progress import never, no_progress
from audio.signals import Samples, checked
from audio.speed.any_speed import candidate_speeds
from audio.speed.speed_search import SongBands
from audio.speed.stretched import STRENGTH_NEEDED as STRETCHED_STRENGTH_NEEDED
from audio.speed.stretched import StretchedTake, place_stretched, why_doubtful
from audio.whitening import LazyWhitened, Whitened, whiten

STRENGTH_NEEDED = 20.0
"""Standard deviations above chance for ``placed``. Chance alone stays under 3; bits of another song with the
very same machine drums have been seen to reach 19 (tests/quality)."""
LONGEST_PAUSE_S = 60.0
"""A recorder that pauses for longer begins a new file."""
CLEAR_S = 6.0
CHAPTER_S = 900.0
"""Length of the chapters in which recordings of hours are looked at for other speeds."""
MOST_SPEEDS = 3
"""Likely speeds looked at closely."""
NO_REST_S = 1.0
"""Nobody stops and restarts the playback in less."""
BESIDE_A_STEP_S = 0.001
"""Beside a step in the line, as lost sound makes one, a take's direct sound must be known this well: a
reflection taken for it looks like a step too."""
LOOSE_S = 0.01
"""A place known less well than this, a quarter of a frame at 25 a second, is ``doubtful``."""


class PlaceVerdict(StrEnum):
    """What became of a clip or take."""

    PLACED = "placed"
    DOUBTFUL = "doubtful"
    NO_SONG = "no song"


class PlaceRival(NamedTuple):
    """Another place in the song for the same take."""

    song_start_s: float
    strength: float
    """Share of the take's own fit; 1 is as good."""


@dataclass(frozen=True, slots=True)
class TakeFit:
    """One take: song time = song_start_s + (t - clip_start_s) * speed, t in the clip."""

    clip_start_s: float
    clip_end_s: float
    song_start_s: float
    speed: float
    uncertainty_s: float
    """Half-width that holds the true place about 95 times in 100, anywhere in the take."""
    speed_sd: float
    """Standard deviation of ``speed``."""
    verdict: PlaceVerdict
    reason: str
    strength: float
    """Standard deviations above chance."""
    rivals: tuple[PlaceRival, ...]
    lags: tuple[tuple[float, float, float], ...]
    """Measured moments (time in clip, s off the line, strength)."""


@dataclass(frozen=True, slots=True)
class Placement:
    """The answer for one clip."""

    verdict: PlaceVerdict
    reason: str
    takes: tuple[TakeFit, ...]
    channel: int
    """Row of the sound that carried the song best."""


def place(
    sound: Sound,
    index: SongIndex,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> Placement:
    """Find every take of the song in a clip's sound.

    Parameters
    ----------
    sound : Sound
        At the index's rate, on the clip's clock.
    index : SongIndex

    Raises
    ------
    BadSignal
        Other rate than the index's, or samples that are no numbers.
    Stopped
    """
    if sound.rate != index.rate:
        raise BadSignal(f"The sound has {sound.rate} samples a second, the song {index.rate}.")
    channels = sound.samples.shape[0]
    share = 0.5 / channels
    best = _Answer(0.0, [], 0)
    whites: list[Whitened] = []
    for channel, row in enumerate(sound.samples):
        if row.dtype == np.float32:
            whites.append(whiten(checked(row, "The sound"), index.rate))
        else:
            whites.append(LazyWhitened(row, index.rate))
        told = _part(progress, channel * share, share)
        best = max(best, _Answer.of(find_takes(whites[-1], index, stop, told), channel, sound.start_s))
    if best.undecided:
        # Twins are undecided, and so is what only seems to be the song because it runs at another speed.
        for channel, white in enumerate(whites):
            told = _part(progress, 0.5 + channel * share, share)
            other = _at_other_speeds(sound, channel, white, index, stop, told)
            if not other.undecided and (best.undecided or best < other):
                best = other
    progress(1.0)
    return judged(best.takes, best.channel)


@dataclass(frozen=True, slots=True)
class _Answer:
    """The takes of one channel."""

    strength: float
    takes: list[TakeFit]
    channel: int
    undecided: bool = True
    """Whether there is no take that does not fit elsewhere in the song as well."""

    @classmethod
    def of(cls, found: Takes, channel: int, start_s: float) -> "_Answer":
        takes = [_take(found, number, start_s) for number in range(len(found.found))]
        return cls.made(takes, channel, found.undecided)

    @classmethod
    def made(cls, takes: list[TakeFit], channel: int, undecided: bool) -> "_Answer":
        power = sum(take.strength**2 * (take.clip_end_s - take.clip_start_s) for take in takes)
        return cls(float(np.sqrt(power)), takes, channel, undecided)

    def __lt__(self, other: "_Answer") -> bool:
        return self.strength < other.strength


def _part(progress: Callable[[float], None], begin: float, share: float) -> Callable[[float], None]:
    return lambda fraction: progress(begin + share * fraction)


@lru_cache(maxsize=2)
def _song_bands(index: SongIndex) -> SongBands:
    """The song's texture: made when a clip is heard that does not run at the song's speed, and kept."""
    return SongBands.of(index.samples, index.rate)


def _at_other_speeds(
    sound: Sound,
    channel: int,
    white: Whitened,
    index: SongIndex,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> _Answer:
    """The takes of a channel that runs at some other speed; a recording of hours is looked at by chapters."""
    row = sound.samples[channel]
    if not isinstance(white, LazyWhitened):
        return _other_speeds(row, white, channel, sound.start_s, index, stop, progress)
    takes: list[TakeFit] = []
    undecided = True
    step = int(CHAPTER_S * index.rate)
    starts = range(0, len(row), step)
    for number, start in enumerate(starts):
        told = _part(progress, number / len(starts), 1 / len(starts))
        part = row[start : start + step].astype(np.float32)
        start_s = sound.start_s + start / index.rate
        one = _other_speeds(part, white[start : start + step], channel, start_s, index, stop, told)
        takes += [] if one.undecided else one.takes
        undecided &= one.undecided
    return _Answer.made(takes, channel, undecided)


def _other_speeds(
    samples: Samples,
    white: Samples,
    channel: int,
    start_s: float,
    index: SongIndex,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> _Answer:
    """The takes of a sound that runs at some other speed, with its pitch gone along or kept."""
    candidates = candidate_speeds(samples, _song_bands(index), stop, _part(progress, 0.0, 0.5))
    along = [candidate.speed for candidate in candidates if not candidate.pitch_kept][:MOST_SPEEDS]
    found = find_takes_at(white, index, along, stop, _part(progress, 0.5, 0.3))
    if found is not None:
        return _Answer.of(found, channel, start_s)
    best = _Answer(0.0, [], channel)
    for candidate in [candidate for candidate in candidates if candidate.pitch_kept][:MOST_SPEEDS]:
        takes = place_stretched(samples, _song_bands(index), candidate, stop, _part(progress, 0.8, 0.2))
        # Any music has the song's texture in places, at one speed or another.
        takes = [take for take in takes if take.strength >= STRETCHED_STRENGTH_NEEDED]
        if all(take.undecided for take in takes):
            continue
        best = max(best, _Answer.made([_stretched(take, start_s) for take in takes], channel, False))
    return best


def _stretched(take: StretchedTake, start_s: float) -> TakeFit:
    """A take whose pitch was kept, on the clip's own clock."""
    reason = why_doubtful(take)
    song_start = take.line.song_time(take.start_s)
    return TakeFit(
        clip_start_s=take.start_s + start_s,
        clip_end_s=take.end_s + start_s,
        song_start_s=song_start,
        speed=take.line.speed,
        uncertainty_s=take.uncertainty_s,
        speed_sd=take.speed_sd,
        verdict=PlaceVerdict.DOUBTFUL if reason else PlaceVerdict.PLACED,
        reason=reason,
        strength=take.strength,
        rivals=tuple(PlaceRival(song_start + r.shift_s, min(1.0, r.strength)) for r in take.rivals),
        lags=tuple((clip_s + start_s, lag_s, strength) for clip_s, lag_s, strength in take.lags),
    )


def _take(takes: Takes, number: int, start_s: float) -> TakeFit:
    """One take, back on the clip's own clock."""
    one = takes.found[number]
    fit, line, speed = one.fit, one.fit.line, takes.speed
    verdict, reason = verdict_of(takes, number)
    song_start = float(line.song_time(one.start_s))
    return TakeFit(
        clip_start_s=float(one.start_s / speed + start_s),
        clip_end_s=float(one.end_s / speed + start_s),
        song_start_s=song_start,
        speed=float(line.speed * speed),
        uncertainty_s=fit.half_width_s(one.start_s, one.end_s) + fit.ambiguity_s,
        speed_sd=float(fit.speed_sd * speed),
        verdict=verdict,
        reason=reason,
        strength=fit.strength,
        rivals=tuple(PlaceRival(song_start + r.shift_s, min(1.0, r.strength)) for r in one.rivals),
        lags=tuple(
            (float(t / speed) + start_s, float(lag), float(s))
            for t, lag, s in zip(fit.lag_clip_s, fit.lag_s, fit.lag_strength, strict=True)
        ),
    )


def verdict_of(takes: Takes, number: int) -> tuple[PlaceVerdict, str]:
    """The verdict on the take of that number, and the reason for a doubt."""
    one = takes.found[number]
    fit = one.fit
    close = [rival for rival in one.rivals if rival.open]
    if close:
        places = "another place" if len(close) == 1 else f"{len(close)} other places"
        return (
            PlaceVerdict.DOUBTFUL,
            f"It fits {places} in the song about as well: the song repeats itself there.",
        )
    if fit.ambiguity_s > (BESIDE_A_STEP_S if _steps(takes, number) else LOOSE_S):
        return PlaceVerdict.DOUBTFUL, "An echo is as loud as the song itself: check it against the picture."
    if fit.half_width_s(one.start_s, one.end_s) > LOOSE_S:
        return PlaceVerdict.DOUBTFUL, "Its clock cannot be made out: check its end against the picture."
    if fit.strength < STRENGTH_NEEDED:
        return PlaceVerdict.DOUBTFUL, "The song is only faintly there: listen and decide."
    if _leaps(takes, number):
        return (
            PlaceVerdict.DOUBTFUL,
            "The song leaps here without a rest: it may be bits of another recording.",
        )
    return PlaceVerdict.PLACED, ""


def _beside(takes: Takes, number: int) -> Iterator[tuple[FittedTake, float]]:
    """The neighbours that a take meets without a rest, each with how much later in the song its line lies."""
    one = takes.found[number]
    for other in takes.found[max(0, number - 1) : number + 2]:
        rest = max(one.start_s, other.start_s) - min(one.end_s, other.end_s)
        if other is not one and rest < NO_REST_S:
            at = (max(one.start_s, other.start_s) + min(one.end_s, other.end_s)) / 2
            yield other, float(other.fit.line.song_time(at) - one.fit.line.song_time(at))


def _steps(takes: Takes, number: int) -> bool:
    """Whether the line steps where a take meets a neighbour, as far as lost sound can make it."""
    return any(abs(leap) <= LOST_S for _, leap in _beside(takes, number))


def _leaps(takes: Takes, number: int) -> bool:
    """Whether a take meets a neighbour that lies elsewhere in the song.

    Lost sound moves a line by far less. A recorder that paused skips a part of the song, but goes on where
    the song then is; that is believed where the song is loud and clear on both sides.
    """
    one = takes.found[number]
    for other, leap in _beside(takes, number):
        if abs(leap) <= LOST_S:
            continue
        onward = leap > 0 if other.start_s > one.start_s else leap < 0
        if not (onward and abs(leap) < LONGEST_PAUSE_S and _clear(one) and _clear(other)):
            return True
    return False


def _clear(take: FittedTake) -> bool:
    """Whether a take cannot be bits of another recording: long, loud, far ahead of every rival."""
    decided_against = all(not rival.open and rival.lead > CLEAR_DESPITE_EXCESS for rival in take.rivals)
    return decided_against and take.end_s - take.start_s > CLEAR_S and take.fit.strength > LOUD


def _shaky(take: TakeFit) -> bool:
    """Whether a take is in doubt, and not only because the song repeats itself: loud and clear, it is the
    song all the same."""
    return take.verdict is PlaceVerdict.DOUBTFUL and take.strength <= LOUD


def _in_doubtful_company(takes: list[TakeFit]) -> list[TakeFit]:
    """Takes of a clip that is mostly in doubt, in doubt as well.

    Another song made of the same sounds fits here and there, and so does one whose speed was changed and its
    pitch kept; once in a while a bit of it fits but once.
    """
    doubtful = sum(take.verdict is PlaceVerdict.DOUBTFUL for take in takes)
    shaky_s = sum(take.clip_end_s - take.clip_start_s for take in takes if _shaky(take))
    whole_s = sum(take.clip_end_s - take.clip_start_s for take in takes)
    mostly, wholly = 2 * doubtful > len(takes), 2 * shaky_s > whole_s
    return [
        replace(take, verdict=PlaceVerdict.DOUBTFUL, reason="Most of this clip is in doubt: listen to it.")
        if take.verdict is PlaceVerdict.PLACED and (wholly or (mostly and take.strength <= LOUD))
        else take
        for take in takes
    ]


def judged(takes: list[TakeFit], channel: int) -> Placement:
    """The answer for a clip with these takes, of which ``channel`` is the row they were heard on."""
    if not takes:
        return Placement(PlaceVerdict.NO_SONG, "Nothing in this clip is the song.", (), channel)
    takes = _in_doubtful_company(takes)
    doubtful = [take for take in takes if take.verdict is PlaceVerdict.DOUBTFUL]
    if doubtful:
        reason = doubtful[0].reason
        if len(takes) > 1:
            reason = f"{len(doubtful)} of {len(takes)} takes: {reason}"
        return Placement(PlaceVerdict.DOUBTFUL, reason, tuple(takes), channel)
    return Placement(PlaceVerdict.PLACED, "", tuple(takes), channel)
