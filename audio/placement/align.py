"""Where in the song a clip runs: the entry point of placing, from samples to takes with verdicts."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from audio.files.media import Sound
from audio.line import Line
from audio.placement.answer import Placement, PlaceRival, TakeFit
from audio.placement.line_fit import FLOOR_S, LineFit
from audio.placement.running_on import ClipAtSpeed, runs_through
from audio.placement.search import SongIndex
from audio.placement.slight_stretch import (
    BESIDE_S,
    Stretched,
    part_of_run,
    replaced,
    runs_of_bits,
    stretched_fit,
    stretched_in,
)
from audio.placement.steadiness import wanders
from audio.placement.sway import Sway, find_sway
from audio.placement.takes import FittedTake, Takes, find_takes, find_takes_at
from audio.placement.verdicts import (
    STRETCHED_STRENGTH_NEEDED,
    clip_answer,
    doubt_damaged,
    doubt_spread,
    take_verdict,
)
from audio.progress import never, no_progress, part_of
from audio.rate import check_rate
from audio.signals import Samples, checked
from audio.soft_ends import Extent, Recorded, settled_ends
from audio.speed.any_speed import candidate_speeds
from audio.speed.resampling import to_song_speed
from audio.speed.speed_search import SongBands
from audio.speed.stretched import place_stretched
from audio.whitening import LazyWhitened, Whitened, whiten

CHAPTER_S = 900.0
"""Recordings of hours are searched for other speeds in chapters this long, so that memory stays bounded.
Chosen by hand."""
USUAL_SHARE = 0.6
"""Where the bar of progress stands when a clip was searched at the song's speed: most clips are done then,
the others need about as long again. Chosen by hand."""
SONGS_KEPT = 6
"""Songs whose band energies are kept. Chosen by hand: each takes some megabytes."""
MOST_SPEEDS = 3
"""Candidate speeds fitted. Chosen by hand: each costs a whole search."""


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
        At ENGINE_RATE, on the clip's clock.
    index : SongIndex

    Raises
    ------
    BadSignal
        Another sample rate, no samples, or samples that are no numbers.
    Stopped
    """
    hearing = Hearing(sound)
    best = hearing.at_own_speed(index, stop, part_of(progress, 0.0, USUAL_SHARE))
    best = hearing.joined_bits(best, index, stop)
    if best.undecided:
        # A take in a repeated passage is undecided, and so is what runs at another speed and fits by chance.
        rest = part_of(progress, USUAL_SHARE, 1 - USUAL_SHARE)
        best = hearing.at_other_speeds(best, index, stop, rest)
    progress(1.0)
    return hearing.answer(best)


class Hearing:
    """A clip's sound, whitened once, to be held against one song or several.

    Parameters
    ----------
    sound : Sound
        At ENGINE_RATE, on the clip's clock. Raises BadSignal as :func:`place` does.
    """

    def __init__(self, sound: Sound) -> None:
        check_rate(sound.rate, "The sound")
        self.sound = sound
        self.white: list[Whitened] = [_whitened(row, sound.rate) for row in sound.samples]
        """Each channel."""

    @property
    def end_s(self) -> float:
        """Clip time at which the sound ends (s)."""
        return float(self.sound.start_s + self.sound.samples.shape[1] / self.sound.rate)

    def part(self, start_s: float, end_s: float) -> "Hearing":
        """The stretch from one clip time (s) to another, on the same clock."""
        first, last = (
            min(max(round((at - self.sound.start_s) * self.sound.rate), 0), self.sound.samples.shape[1])
            for at in (start_s, end_s)
        )
        out = object.__new__(Hearing)
        samples = self.sound.samples[:, first:last]
        out.sound = replace(self.sound, samples=samples, start_s=self.sound.start_s + first / self.sound.rate)
        out.white = [
            LazyWhitened(row, self.sound.rate) if isinstance(white, LazyWhitened) else white[first:last]
            for white, row in zip(self.white, samples, strict=True)
        ]
        return out

    def at_own_speed(
        self, index: SongIndex, stop: Callable[[], bool], progress: Callable[[float], None] = no_progress
    ) -> "ChannelTakes":
        """The takes that run at a song's own speed, but for clock drift. Raises Stopped."""
        share = 1 / len(self.white)
        best = ChannelTakes(0.0, [], [], 0)
        for channel, white in enumerate(self.white):
            takes = find_takes(white, index, stop, part_of(progress, channel * share, share))
            best = max(best, self._takes_of(takes, channel, index))
        return best

    def at_speed(self, speed: float, index: SongIndex, stop: Callable[[], bool]) -> "ChannelTakes":
        """The takes that run at one speed, pitch along; undecided without takes where there are none. Raises
        Stopped."""
        best = ChannelTakes(0.0, [], [], 0)
        for channel, white in enumerate(self.white):
            takes = find_takes_at(white[0 : len(white)], index, [speed], stop, no_progress)
            if takes is not None:
                best = max(best, self._takes_of(takes, channel, index))
        return best

    def joined_bits(self, best: "ChannelTakes", index: SongIndex, stop: Callable[[], bool]) -> "ChannelTakes":
        """The takes at a song's own speed, where they are bits of a slightly stretched one that one instead.
        Raises Stopped."""
        row, start_s, rate = self.sound.samples[best.channel], self.sound.start_s, index.rate
        ends_s = [start_s, *(take.clip_start_s for take in best.takes), self.end_s]
        for bits in reversed(runs_of_bits(best.takes, best.wandering)):
            before_s = best.takes[bits.first - 1].clip_end_s if bits.first else start_s
            low_s, high_s = (
                max(bits.start_s - BESIDE_S, before_s),
                min(bits.end_s + BESIDE_S, ends_s[bits.last + 2]),
            )
            samples, first_s = part_of_run(
                row, rate, low_s - start_s, min(high_s, low_s + CHAPTER_S) - start_s
            )
            found = stretched_in(samples, first_s + start_s, _song_bands(index), stop)
            if found.resampled:
                return replace(best, undecided=True)
            if numbers := replaced(best.takes, bits, found.takes):
                best = best.with_instead(numbers, found)
        return best

    def at_other_speeds(
        self,
        best: "ChannelTakes",
        index: SongIndex,
        stop: Callable[[], bool],
        progress: Callable[[float], None] = no_progress,
    ) -> "ChannelTakes":
        """The takes at whatever other speed, where they say more than ``best``, those at the song's own.
        Raises Stopped."""
        share = 1 / len(self.white)
        for channel, white in enumerate(self.white):
            report = part_of(progress, channel * share, share)
            other = _at_other_speeds(self.sound, channel, white, index, stop, report)
            if not other.undecided and (best.undecided or best < other):
                best = other
        return best

    def answer(self, best: "ChannelTakes") -> Placement:
        """The answer that takes amount to."""
        # Verdicts are on what the lines were fitted to; what is not heard changes none.
        judged = zip(doubt_spread(best.takes), best.reaches, strict=True)
        whole = doubt_damaged([take.reaching(*reach) for take, reach in judged], self.sound.damaged_s)
        return clip_answer(whole, best.channel)

    def _takes_of(self, takes: Takes, channel: int, index: SongIndex) -> "ChannelTakes":
        white, row = self.white[channel], self.sound.samples[channel]
        return ChannelTakes.of(takes, channel, self.sound.start_s, white, row, index)


def _whitened(row: Recorded, rate: int) -> Whitened:
    if row.dtype == np.float32:
        return whiten(checked(row, "The sound"), rate)
    return LazyWhitened(row, rate)


@dataclass(frozen=True, slots=True)
class ChannelTakes:
    """The takes of one channel; of two, the one in which the song is stronger compares as greater."""

    strength: float
    """Standard deviations above chance, of all takes together."""
    takes: list[TakeFit]
    """As far as their lines were fitted."""
    reaches: list[tuple[float, float, float]]
    """For each take where it really begins and ends (clip s), and the uncertainty (s) that goes with it."""
    channel: int
    undecided: bool = True
    """Whether every take fits elsewhere in the song as well."""
    wandering: tuple[bool, ...] = ()
    """For each take of a search at one speed whether its segments agree on no line."""

    @classmethod
    def of(
        cls,
        found: Takes,
        channel: int,
        start_s: float,
        white: Whitened,
        row: Recorded,
        index: SongIndex,
    ) -> "ChannelTakes":
        """The takes of a channel: ``row`` as it was recorded, ``white`` whitened."""
        at_speed = white if isinstance(white, LazyWhitened) else to_song_speed(white, index.rate, found.speed)
        clip = ClipAtSpeed(at_speed, row, found.speed)

        def runs(number: int, inside_s: float, heard_s: float, limit_s: float) -> bool:
            return runs_through(clip, index, found.found[number].fit, inside_s, heard_s, limit_s)

        extents = [_extent(one, index) for one in found.found]
        silent_s = (index.head_s, index.tail_s)
        ends = settled_ends(extents, len(at_speed) / index.rate, runs, silent_s)
        sways = [find_sway(at_speed, index, one.fit, one.start_s, one.end_s) for one in found.found]
        takes = [_take(found, number, start_s, sway) for number, sway in enumerate(sways)]
        reaches = [
            (
                float(a / found.speed) + start_s,
                float(b / found.speed) + start_s,
                _uncertainty_s(one.fit, a, b, sway),
            )
            for one, (a, b), sway in zip(found.found, ends, sways, strict=True)
        ]
        wandering = tuple(wanders(one.fit.segments) for one in found.found)
        return replace(cls.made(takes, reaches, channel, found.undecided), wandering=wandering)

    @classmethod
    def made(
        cls, takes: list[TakeFit], reaches: list[tuple[float, float, float]], channel: int, undecided: bool
    ) -> "ChannelTakes":
        power = sum(take.strength**2 * take.clip_length_s for take in takes)
        return cls(float(np.sqrt(power)), takes, reaches, channel, undecided)

    def with_instead(self, numbers: Sequence[int], found: Stretched) -> "ChannelTakes":
        """The takes with what was found by onsets in the place of those of some numbers."""
        kept = [number for number in range(len(self.takes)) if number not in numbers]
        takes = [self.takes[number] for number in kept] + list(found.takes)
        reaches = [self.reaches[number] for number in kept]
        reaches += [
            (*ends, take.uncertainty_s) for take, ends in zip(found.takes, found.whole_s, strict=True)
        ]
        wandering = [self.wandering[number] for number in kept] + [False] * len(found.takes)
        order = sorted(range(len(takes)), key=lambda number: takes[number].clip_start_s)
        decided = any(not any(rival.open for rival in take.rivals) for take in found.takes)
        made = ChannelTakes.made(
            [takes[number] for number in order],
            [reaches[number] for number in order],
            self.channel,
            self.undecided and not decided,
        )
        return replace(made, wandering=tuple(wandering[number] for number in order))

    def __lt__(self, other: "ChannelTakes") -> bool:
        return self.strength < other.strength


@lru_cache(maxsize=SONGS_KEPT)
def _song_bands(index: SongIndex) -> SongBands:
    """The song's log-band energies: made when a clip does not run at the song's speed, and kept."""
    return SongBands.of(index.samples, index.rate)


def _at_other_speeds(
    sound: Sound,
    channel: int,
    white: Whitened,
    index: SongIndex,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> ChannelTakes:
    """The takes of a channel that runs at some other speed; a recording of hours is searched by chapters."""
    row = sound.samples[channel]
    if not isinstance(white, LazyWhitened):
        return _other_speeds(row, white, channel, sound.start_s, index, stop, progress)
    takes: list[TakeFit] = []
    reaches: list[tuple[float, float, float]] = []
    undecided = True
    step = int(CHAPTER_S * index.rate)
    starts = range(0, len(row), step)
    for number, start in enumerate(starts):
        report = part_of(progress, number / len(starts), 1 / len(starts))
        samples = row[start : start + step].astype(np.float32)
        start_s = sound.start_s + start / index.rate
        one = _other_speeds(samples, white[start : start + step], channel, start_s, index, stop, report)
        if not one.undecided:
            takes += one.takes
            reaches += one.reaches
        undecided &= one.undecided
    return ChannelTakes.made(takes, reaches, channel, undecided)


def _other_speeds(
    samples: Samples,
    white: Samples,
    channel: int,
    start_s: float,
    index: SongIndex,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> ChannelTakes:
    """The takes of a sound that runs at some other speed, resampled or time-stretched."""
    candidates = candidate_speeds(samples, _song_bands(index), stop, part_of(progress, 0.0, 0.5))
    resampled = [candidate.speed for candidate in candidates if not candidate.pitch_kept][:MOST_SPEEDS]
    found = find_takes_at(white, index, resampled, stop, part_of(progress, 0.5, 0.3))
    if found is not None:
        return ChannelTakes.of(found, channel, start_s, white, samples, index)
    best = ChannelTakes(0.0, [], [], channel)
    for candidate in [candidate for candidate in candidates if candidate.pitch_kept][:MOST_SPEEDS]:
        # Any music has band energies like the song's in places, at one speed or another.
        takes = place_stretched(
            samples, _song_bands(index), candidate, STRETCHED_STRENGTH_NEEDED,
            stop, part_of(progress, 0.8, 0.2),
        )  # fmt: skip
        if all(take.undecided for take in takes):
            continue
        fits = [stretched_fit(take, start_s) for take in takes]
        reaches = [
            (take.whole_s[0] + start_s, take.whole_s[1] + start_s, take.uncertainty_s) for take in takes
        ]
        best = max(best, ChannelTakes.made(fits, reaches, channel, False))
    return best


def _extent(one: FittedTake, index: SongIndex) -> Extent:
    line = one.fit.line
    first, last = float(line.clip_time(0.0)), float(line.clip_time(index.duration_s))
    return Extent(one.start_s, one.end_s, *one.heard_s, first, last)


def _uncertainty_s(fit: LineFit, start_s: float, end_s: float, sway: Sway | None) -> float:
    if sway is None:
        return fit.half_width_s(start_s, end_s) + fit.ambiguity_s
    return sway.half_width_s + 2 * FLOOR_S


def _take(takes: Takes, number: int, start_s: float, sway: Sway | None) -> TakeFit:
    """One take, back on the clip's own clock: its line was fitted at the song's speed."""
    one = takes.found[number]
    fit, speed = one.fit, takes.speed
    verdict, reason = take_verdict(takes, number, sway)
    line, speed_sd = fit.line, fit.speed_sd
    lags = (fit.lag_clip_s, fit.lag_s, fit.lag_strength)
    if sway is not None:
        line = line.shifted(sway.offset_s)
        # A walk from one end of the take to the other looks like a clock that is off.
        speed_sd = max(speed_sd, 2 * sway.typical_s / (one.end_s - one.start_s))
        told = sway.thinned()
        lags = (told.clip_s, told.lag_s, told.strength)
    song_start_s = float(line.song_time(one.start_s))
    return TakeFit(
        line=Line(float(one.start_s / speed + start_s), song_start_s, float(line.speed * speed)),
        clip_end_s=float(one.end_s / speed + start_s),
        uncertainty_s=_uncertainty_s(fit, one.start_s, one.end_s, sway),
        speed_sd=float(speed_sd * speed),
        verdict=verdict,
        reason=reason,
        strength=fit.strength,
        rivals=tuple(PlaceRival(song_start_s + r.shift_s, min(1.0, r.strength), r.open) for r in one.rivals),
        lags=tuple(
            (float(t / speed) + start_s, float(lag), float(s)) for t, lag, s in zip(*lags, strict=True)
        ),
    )
