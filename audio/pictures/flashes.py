"""Light that two cameras saw: a flash at one moment, or lamps that follow the music.

The changes of a picture's mean brightness are held against those of placed clips, in song time: what lit both
at once, and what lights at the same note in every take, both lie at the same song time. Brightness itself
tells nothing, for exposure, framing and people change it; changes from picture to picture do, each weighed by
how far it stands out of the clip's own noise and compressed, so that one flash does not decide alone.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.signal
from numpy.typing import NDArray

from audio.line import Line
from audio.pictures.motion import PROPOSALS, Guess
from audio.pictures.silent_series import SilentSeries

RATE = 50
"""Values a second."""
APART_S = 0.25
"""Two places lie at least this far apart (s)."""
EVENT = 8.0
"""A change of light is an event when it is this many times the clip's noise (standard deviation)."""
LEAST_EVENTS = 4
"""Fewer that fit are chance: three of a clip's four were met where nothing was shared."""
LEAST_SHARE = 0.4
"""Of the events of the silent clip that placed clips could show, so many must be found for a proposal."""
STANDS_OUT = 14.0
"""Standard deviations of all places that the best must reach. Flashes are few and strong, so chance reaches
13 where two of them meet."""
SURE_EVENTS = 5
SURE_SHARE = 0.8
"""Of the events of the silent clip within what the others show, so many must be found in them."""
SURE_SECOND = 0.5
"""A sure place fits twice as well as the next."""
CLEAR_SECOND = 0.8
"""A place that fits less clearly better than the next is one of many, as with a lamp on every beat."""
LEAST_S = 10.0
"""A shorter clip holds too little light (s)."""
_OVERLAP_S = 8.0

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Lit:
    """A placed clip's light: a stretch that runs on one line."""

    seen: SilentSeries
    line: Line
    clip_end_s: float
    """The stretch begins at the line's anchor."""


@dataclass(frozen=True, slots=True)
class LightGuesses:
    """Where a clip's light fits that of placed clips, best first."""

    places: tuple[Guess, ...] = ()
    events: int = 0
    """How many events of the clip are found in the others at the best place."""
    sure: bool = False
    """A pattern of events that fits in one place only."""

    @property
    def clear(self) -> bool:
        """Whether the best place fits clearly better than the next."""
        return bool(self.places) and (len(self.places) == 1 or self.places[1].strength <= CLEAR_SECOND)


def light_guesses(clip: SilentSeries, placed: Sequence[Lit], song_s: float) -> LightGuesses:
    """Where a clip's changes of light fit those of placed clips, at the song's speed; none where none do.

    ``song_s`` is the length of the song.
    """
    if not has_events(clip):
        return LightGuesses()
    own = _changes(clip, _grid(clip))
    grid = np.arange(0.0, song_s, 1 / RATE)
    shown = [_in_song(one, grid) for one in placed]
    shown = [one for one in shown if np.count_nonzero(_peaks(one)) >= LEAST_EVENTS]
    if not shown:
        return LightGuesses()
    # Many clips together show what follows the music; a single one, a flash that two cameras saw.
    together = [np.sum(shown, axis=0) / np.sqrt(len(shown))] if len(shown) > 1 else []
    best = max((_places(own, other) for other in (*together, *shown)), key=lambda one: one[0])
    height, places = best[0], best[1]
    if height < STANDS_OUT or not places:
        return LightGuesses()
    events, share = _found(own, shown, places[0].song_s)
    if events < LEAST_EVENTS or share < LEAST_SHARE:
        return LightGuesses()
    alone = len(places) == 1 or places[1].strength <= SURE_SECOND
    return LightGuesses(places, events, events >= SURE_EVENTS and share >= SURE_SHARE and alone)


def has_events(clip: SilentSeries) -> bool:
    """Whether a clip's light changes often enough to be held against that of others."""
    grid = _grid(clip)
    return len(grid) >= LEAST_S * RATE and int(_peaks(_changes(clip, grid)).sum()) >= LEAST_EVENTS


def _grid(clip: SilentSeries) -> Floats:
    # From clip time 0 on, as places are told.
    return np.arange(0.0, clip.clip_s[-1], 1 / RATE)


def _changes(seen: SilentSeries, times_s: Floats) -> Floats:
    """Changes of light at clip times, in standard deviations of the clip's noise, compressed."""
    light = np.interp(times_s, seen.clip_s, seen.light, np.nan, np.nan)
    # Two grid steps: a picture at 25 a second.
    change = np.zeros(len(light))
    change[1:-1] = light[2:] - light[:-2]
    inside = np.isfinite(change)
    if not inside.any():
        return np.zeros(len(times_s))
    middle = float(np.median(change[inside]))
    noise = 1.4826 * float(np.median(np.abs(change[inside] - middle))) + 0.02
    out = np.where(inside, (change - middle) / noise, 0.0)
    return np.asarray(np.sign(out) * np.log1p(np.maximum(np.abs(out) - 2.0, 0.0)), np.float64)


def _in_song(one: Lit, grid: Floats) -> Floats:
    """Changes of a placed clip's light at song times."""
    clip_s = np.asarray(one.line.clip_time(grid))
    within = (clip_s >= one.line.clip_s) & (clip_s <= one.clip_end_s)
    out = np.zeros(len(grid))
    if within.any():
        out[within] = _changes(one.seen, clip_s[within])
    return out


def _places(own: Floats, other: Floats) -> tuple[float, tuple[Guess, ...]]:
    """How far the best place stands out (standard deviations), and the best places."""
    fit = scipy.signal.correlate(other, own, "full")
    lags = np.arange(len(fit)) - (len(own) - 1)
    overlap = np.minimum(lags + len(own), len(other)) - np.maximum(lags, 0)
    fit = np.where(overlap >= min(_OVERLAP_S * RATE, 0.5 * len(own)), fit, 0.0)
    # Each is one of many lags, most of them chance.
    noise = float(np.sqrt(np.mean(fit**2))) + 1e-9
    places: list[Guess] = []
    for at in np.argsort(fit)[::-1]:
        if len(places) == PROPOSALS or fit[at] <= 0:
            break
        song_s = float(lags[at]) / RATE
        if all(abs(song_s - one.song_s) >= APART_S for one in places):
            places.append(Guess(song_s, float(fit[at] / fit.max())))
    return float(fit.max()) / noise, tuple(places)


def _found(own: Floats, shown: Sequence[Floats], song_s: float) -> tuple[int, float]:
    """How many of a clip's events the others show too, and which share that is of those they could show."""
    at = np.flatnonzero(_peaks(own)) + round(song_s * RATE)
    seen = np.zeros(len(shown[0]), np.bool_)
    live = np.zeros(len(shown[0]), np.bool_)
    for one in shown:
        seen |= np.convolve(_peaks(one), np.ones(5), "same") > 0
        lit = np.flatnonzero(one)
        live[lit[0] : lit[-1] + 1] = True
    at = at[(at >= 0) & (at < len(seen))]
    at = at[live[at]]
    count = int(seen[at].sum())
    return count, count / len(at) if len(at) else 0.0


def _peaks(changes: Floats) -> NDArray[np.bool_]:
    """Where events are: one each, at its strongest change."""
    size = np.abs(changes)
    high = size >= np.log1p(EVENT - 2.0)
    around = np.maximum.reduce([np.roll(size, step) for step in range(-5, 6)])
    return np.asarray(high & (size >= around), np.bool_)
