"""How the band moves: every gesture is read off the notes it makes, on the clock of the tune."""

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np

from making.notes import BEATS_PER_BAR
from making.playing import Sounded
from making.record import Performance
from making.tunes import CYMBAL


@dataclass(frozen=True, slots=True)
class Pose:
    """One moment of the four players; shares run from 0 to 1 unless told."""

    bellows: float = 0.25
    """How far the accordion is open."""
    keys: float = 0.5
    """Height of the hand on the keys."""
    bow: float = 0.5
    """0 at the heel, 1 at the tip."""
    bow_on: float = 0.0
    """0 lowered, 1 on the string."""
    finger: float = 0.4
    """Left hand of the fiddle: 0 at the scroll, 1 high up the neck."""
    fingers: int = 0
    """Which of four fingers presses; 0 for the open string."""
    pluck: float = 0.0
    """Just plucked 1, fading to 0."""
    shift: float = 0.4
    """Left hand of the bass: 0 low notes, 1 high."""
    sweep: float = 0.0
    """Turns of the sweeping brush round the drum, any number."""
    strike: float = 0.3
    """Height of the striking brush over the skin; 0 on every beat."""
    crash: float = 0.0
    """Cymbal: just struck 1, fading to 0."""
    sway: float = 0.0
    """-1 to 1, once to and fro in two bars."""
    nod: float = 0.0
    """1 on the first beat of a bar, less between."""
    breath: float = 0.0
    """-1 to 1, also while nobody plays."""
    playing: float = 0.0
    """0 waiting, 1 playing."""


def _ease(share: float) -> float:
    return 0.5 - 0.5 * float(np.cos(np.pi * min(max(share, 0.0), 1.0)))


class Motion:
    """Poses of one performance."""

    def __init__(self, played: Performance) -> None:
        self._beats = played.beats
        self._parts = {"lead": played.lead, "fiddle": played.fiddle, "bass": played.bass}
        self._parts["crash"] = [n for n in played.brushes if round(n.pitch) == CYMBAL]
        self._starts = {name: [n.start_s for n in part] for name, part in self._parts.items()}
        self._first_beats = {float(b) for b in played.beats.bars_s}

    def lamp(self, from_s: float, until_s: float, frame_s: float) -> float:
        """Light of the beat lamp in a frame shown from ``from_s`` until ``until_s`` (tune clock).

        Full on the first beat of a bar and 0.7 on others, in the frame during which the beat falls; a weak
        afterglow in the frames that end within 50 ms of it.
        """
        beats = self._beats.beats_s[:-1]
        last = int(np.searchsorted(beats, until_s, "left")) - 1
        if last < 0:
            return 0.0
        beat = float(beats[last])
        full = 1.0 if beat in self._first_beats else 0.7
        if from_s <= beat:
            return full
        gone = from_s - beat
        return 0.3 * full * (1 - gone / 0.05) if gone < 0.05 and frame_s < 0.05 else 0.0

    def _last(self, part: str, time: float) -> Sounded | None:
        index = bisect_right(self._starts[part], time) - 1
        return self._parts[part][index] if index >= 0 else None

    def _next(self, part: str, time: float) -> Sounded | None:
        index = bisect_right(self._starts[part], time)
        return self._parts[part][index] if index < len(self._parts[part]) else None

    def _glide(self, part: str, time: float, low: float, high: float) -> float:
        """Where a hand is between the last note and the next: it moves within 0.12 s before the next."""
        last, following = self._last(part, time), self._next(part, time)
        here = last or following
        if here is None:
            return 0.5
        there = following or here
        share = _ease(1 - (there.start_s - time) / 0.12) if following else 0.0
        pitch = here.pitch + (there.pitch - here.pitch) * share
        return min(max((pitch - low) / (high - low), 0.0), 1.0)

    def _bow(self, time: float) -> tuple[float, float, int]:
        """Bow along its length, on the string or not, and the finger pressed."""
        index = bisect_right(self._starts["fiddle"], time) - 1
        part = self._parts["fiddle"]
        following = self._next("fiddle", time)
        lift = _ease(1 - (following.start_s - time) / 0.5) if following else 0.0
        if index < 0:
            return 0.15, lift, 0
        note = part[index]
        length = max(note.end_s - note.start_s, 0.1)
        reach = min(0.25 + 0.35 * length, 0.8)
        share = _ease((time - note.start_s) / length) * reach
        down = index % 2 == 0
        along = (0.5 - reach / 2 + share) if down else (0.5 + reach / 2 - share)
        rested = 1 - _ease((time - note.end_s - 0.25) / 0.5)
        return along, max(rested, lift), round(note.pitch) % 5

    def pose(self, time: float, clock: float, playing: float) -> Pose:
        """The band at ``time`` of the tune; ``clock`` keeps it breathing when the tune stands still."""
        place = self._beats.place(time)
        beat = place % 1.0
        bar = place / BEATS_PER_BAR
        along, bow_on, finger = self._bow(time)
        plucked, crashed = self._last("bass", time), self._last("crash", time)
        opening = _ease(bar % 1.0) if int(bar) % 2 == 0 else 1 - _ease(bar % 1.0)
        return Pose(
            bellows=0.2 + (0.05 + 0.7 * opening) * playing,
            keys=self._glide("lead", time, 64, 86),
            bow=along,
            bow_on=bow_on * playing,
            finger=self._glide("fiddle", time, 64, 90),
            fingers=finger,
            pluck=playing * float(np.exp(-(time - plucked.start_s) / 0.16)) if plucked else 0.0,
            shift=self._glide("bass", time, 33, 48),
            sweep=bar,
            strike=(float(np.sin(np.pi * beat)) ** 0.8) * playing + 0.25 * (1 - playing),
            crash=playing * float(np.exp(-(time - crashed.start_s) / 0.7)) if crashed else 0.0,
            sway=playing * float(np.sin(np.pi * bar)),
            nod=playing * float(np.exp(-((place % BEATS_PER_BAR) / 0.8))),
            breath=float(np.sin(2 * np.pi * clock / 3.7)),
            playing=playing,
        )
