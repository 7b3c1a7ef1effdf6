"""The takes of a clip: lines found, fitted exactly, parted where the clock jumps, at the speed that
explains most."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from audio.drift import LineFit, fit_line, refit
from audio.ends import meeting_point, take_ends
from audio.lines import Blocks, Line, find_lines, rough_line
from audio.media import unheard
from audio.response import heard
from audio.rivals import RivalFit, find_rivals
from audio.search import BLOCK_S, SongIndex
from audio.signals import Flat, Flattened, Samples
from audio.speeds import at_song_speed

WORTH_A_FIT = 4.0
"""Evidence (log likelihood ratio) of a line below which it is not looked at: chance makes 12 at times."""
FAINTEST = 6.0
"""Standard deviations above chance below which a line is none."""
SAME_LINE_S = 0.35
"""Neighbouring lines closer than this may be one that reflections broke in two."""
LONGEST_REST_S = 32.0
"""Neighbouring lines further apart in the clip than this are two takes."""
EXPLAINS = 0.8
"""A line explains a stretch that agrees with it this much as well as with the stretch's own line."""
SAME_PLACE_S = 0.001
"""Two fits that meet this closely are one line; a step as large as this is sound lost or added."""
LOST_S = 0.06
"""More than a camera loses in one go."""
MEET_S = 4.0
"""How far to both sides of a step its exact moment is looked for."""
MOST_STEPS = 3
"""Steps looked for within steps: a clip that loses sound more often comes in longer pieces."""
SAME_STEP_S = 0.0005
"""Parted at a real step, the parts lie as far from each other as the step is long."""
FIRM = 9.0
"""Standard deviations above chance at which a fit is trusted to tell a step from a reflection."""
SHORTEST_S = 1.5
"""A take shorter than this is not told from a scrap."""
SCRAP_S = 4.0
"""Shorter than this, the end of a take can be mistaken for a repeat …"""
BESIDE_S = 1.0
"""… where it lies this close to the take."""
SMEARING = 60e-6
"""A clock this far off smears blocks: where the song is faint, a second look at the right speed finds
more …"""
LOUD = 60.0
"""… and where it stands so many standard deviations above chance, it is not needed, unless the clock …"""
TEARING = 150e-6
"""… is so far off that blocks agree with their neighbours no longer."""


@dataclass(frozen=True, slots=True)
class _Run:
    """A fitted line and the stretch of the clip it was fitted to."""

    fit: LineFit
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class Found:
    """A take in the clip at song speed (see :class:`Takes`)."""

    fit: LineFit
    start_s: float
    end_s: float
    rivals: list[RivalFit]

    @property
    def undecided(self) -> bool:
        """Whether it fits elsewhere as well."""
        return any(rival.open for rival in self.rivals)


@dataclass(frozen=True, slots=True, eq=False)
class Takes:
    """All takes of a clip, in a clip resampled to the song's speed: divide its times by ``speed``."""

    speed: float
    found: list[Found]

    @property
    def explained(self) -> float:
        """How much of the clip is explained how well."""
        return sum(one.fit.strength * (one.end_s - one.start_s) for one in self.found) / self.speed

    @property
    def undecided(self) -> bool:
        """Whether there is no take that does not fit elsewhere as well."""
        return all(one.undecided for one in self.found)


def find_takes(
    flat: Flat, index: SongIndex, stop: Callable[[], bool], progress: Callable[[float], None]
) -> Takes:
    """Find the takes of a flattened clip, float32 of shape (n,), that run at the song's own speed, give or
    take what clocks differ by. Raises Stopped."""
    takes = _with_a_closer_look(_at_speed(flat, index, 1.0, stop, progress), flat, index, stop)
    progress(1.0)
    return takes


def find_takes_at(
    flat: Samples,
    index: SongIndex,
    speeds: Sequence[float],
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> Takes | None:
    """Find the takes of a flattened clip at the one of some other speeds that explains most. Raises Stopped.

    Tones and talk find some speed at which bits of them fit here and there: a speed at which every take fits
    elsewhere as well is none.
    """
    best: Takes | None = None
    for number, speed in enumerate(speeds):
        takes = _with_a_closer_look(_at_speed(flat, index, speed, stop, unheard), flat, index, stop)
        if not takes.undecided and (best is None or takes.explained > best.explained):
            best = takes
        progress((number + 1) / (len(speeds) + 1))
    return best


def _with_a_closer_look(takes: Takes, flat: Flat, index: SongIndex, stop: Callable[[], bool]) -> Takes:
    best = max(takes.found, key=lambda one: one.fit.strength, default=None)
    off = 0.0 if best is None else abs(best.fit.line.speed - 1)
    if best is None or off < SMEARING or (off < TEARING and best.fit.strength > LOUD):
        return takes
    if isinstance(flat, Flattened):  # hours of it do not fit a second time
        return takes
    closer = _at_speed(flat, index, takes.speed * best.fit.line.speed, stop, unheard)
    return closer if closer.explained > takes.explained else takes


def _at_speed(
    flat: Flat, index: SongIndex, speed: float, stop: Callable[[], bool], progress: Callable[[float], None]
) -> Takes:
    clip = flat if isinstance(flat, Flattened) else at_song_speed(flat, index.rate, speed)
    lines, blocks = find_lines(clip, index, stop, progress)
    runs = _runs(clip, index, [line for line in lines if line.total > WORTH_A_FIT])
    found: list[Found] = []
    low = 0.0
    for number, run in enumerate(runs):
        high = len(clip) / index.rate
        meeting = None
        if number + 1 < len(runs):
            following = runs[number + 1]
            high = min(high, following.start_s + BLOCK_S)
            if following.start_s - run.end_s < MEET_S and _step(run, following) < LOST_S:
                around = (run.end_s + following.start_s) / 2
                meeting = meeting_point(
                    clip, index, run.fit, following.fit,
                    max(run.start_s, around - MEET_S), min(following.end_s, around + MEET_S),
                )  # fmt: skip
                high = meeting
        one = _best_place(clip, index, run, blocks, low, high)
        if one is not None:
            low = one.end_s
            found.append(one)
        if meeting is not None:
            low = meeting
    found = _reunited(clip, index, found, blocks)
    return Takes(speed, [one for one in found if not _is_scrap(one, found)])


def _reunited(clip: Flat, index: SongIndex, found: Sequence[Found], blocks: Blocks) -> list[Found]:
    """Takes in which neighbours on one line are one: each had been found on a repeat of its own."""
    out: list[Found] = []
    for one in found:
        both = _as_one(clip, index, out[-1], one, blocks) if out else None
        if both is None:
            out.append(one)
        else:
            out[-1] = both
    return out


def _as_one(clip: Flat, index: SongIndex, one: Found, other: Found, blocks: Blocks) -> Found | None:
    """Two neighbours as one take, if they touch and lie on one line."""
    runs = [_Run(take.fit, take.start_s, take.end_s) for take in (one, other)]
    if other.start_s - one.end_s > BESIDE_S or _step(*runs) > SAME_PLACE_S:
        return None
    fit = fit_line(clip, index, one.fit.line, one.start_s, other.end_s)
    if fit is None or fit.strength < FAINTEST:
        return None
    return _looked_at(clip, index, _Run(fit, one.start_s, other.end_s), fit, blocks, one.start_s, other.end_s)


def _is_scrap(one: Found, found: Sequence[Found]) -> bool:
    """Whether a take is only the end of a longer one beside it, which fits some repeat of the song too."""
    if one.end_s - one.start_s > SCRAP_S or not one.undecided:
        return False
    beside = [
        other
        for other in found
        if other is not one and max(one.start_s, other.start_s) - min(one.end_s, other.end_s) < BESIDE_S
    ]
    return any(other.end_s - other.start_s > 2 * SCRAP_S for other in beside)


def _best_place(
    clip: Flat, index: SongIndex, run: _Run, blocks: Blocks, low_s: float, high_s: float
) -> Found | None:
    """Find the ends and rivals of a take, at whichever of its places agrees best with the whole run."""
    first = _looked_at(clip, index, run, run.fit, blocks, low_s, high_s)
    if first is None or all(rival.lead >= 0 for rival in first.rivals):
        return first
    fits = [run.fit]
    for rival in first.rivals:
        if rival.lead < 0:
            fit = fit_line(clip, index, run.fit.line.moved(rival.shift_s), first.start_s, first.end_s)
            if fit is not None and fit.strength >= FAINTEST:
                fits.append(fit)
    best = max(fits, key=lambda fit: _agreement(clip, index, fit, run))
    return first if best is run.fit else _looked_at(clip, index, run, best, blocks, low_s, high_s)


def _looked_at(
    clip: Flat,
    index: SongIndex,
    run: _Run,
    fit: LineFit,
    blocks: Blocks,
    low_s: float,
    high_s: float,
) -> Found | None:
    start, end = take_ends(clip, index, fit, run.start_s, run.end_s, low_s, high_s)
    if end - start < SHORTEST_S:
        return None
    # What lies outside the take only spoilt the first fit.
    closer = refit(clip, index, fit, start, end)
    if closer is not None and closer.strength >= FAINTEST:
        fit = closer
    return Found(fit, start, end, find_rivals(clip, index, fit, blocks.looked_up(start, end), start, end))


def _runs(clip: Flat, index: SongIndex, lines: Sequence[Line]) -> list[_Run]:
    """Fit the lines: neighbours as one where they are one, apart where sound was lost between them."""
    out: list[_Run] = []
    for line in lines:
        run = _fit(clip, index, line)
        while run is not None and out and (joint := _joined(clip, index, out[-1], run)) is not None:
            out.pop()
            run = joint
        if run is not None:
            out.append(run)
    return [piece for run in out for piece in _straight_pieces(clip, index, run, 0)]


def _joined(clip: Flat, index: SongIndex, one: _Run, other: _Run) -> _Run | None:
    """Two neighbours as one run, if one line explains both; reflections break lines that are whole."""
    step = _step(one, other)
    if other.start_s - one.end_s > LONGEST_REST_S or step > SAME_LINE_S:
        return None
    strong, weak = (one, other) if one.fit.strength >= other.fit.strength else (other, one)
    if step > SAME_PLACE_S:
        own = _agreement(clip, index, weak.fit, weak)
        if _agreement(clip, index, strong.fit, weak) < max(EXPLAINS * own, FIRM):
            return None
    fit = fit_line(clip, index, strong.fit.line, one.start_s, other.end_s)
    if fit is None or fit.strength < strong.fit.strength * EXPLAINS:
        return None
    return _Run(fit, one.start_s, other.end_s)


def _step(one: _Run, other: _Run) -> float:
    """How far apart (s) two runs are where they meet."""
    at = (one.end_s + other.start_s) / 2
    return abs(one.fit.line.song_time(at) - other.fit.line.song_time(at))


def _agreement(clip: Flat, index: SongIndex, fit: LineFit, run: _Run) -> float:
    """Standard deviations by which a run's stretch of the clip agrees with what a fit says should be
    heard."""
    first, count = round(run.start_s * index.rate), round((run.end_s - run.start_s) * index.rate)
    sound = clip[first : first + count]
    should = heard(index, fit.line, fit.response, fit.lead, first, len(sound))
    size = float(np.sqrt((should @ should) * (sound @ sound) / max(1, len(sound))))
    return float(sound @ should) / size if size > 0 else 0.0


def _straight_pieces(clip: Flat, index: SongIndex, run: _Run, depth: int) -> list[_Run]:
    """Part a line where it steps; a step that the parts do not confirm is none."""
    bend = run.fit.bend
    if bend is None or depth == MOST_STEPS:
        return [run]
    parts = []
    for start, end in ((run.start_s, bend.clip_s), (bend.clip_s, run.end_s)):
        fit = fit_line(clip, index, run.fit.line, start, end)
        if fit is None:
            return [run]
        parts.append(_Run(fit, start, end))
    told = sum(part.fit.strength**2 for part in parts)
    firm = min(part.fit.strength for part in parts) >= FIRM
    step = _step(*parts)
    confirmed = step >= SAME_PLACE_S and abs(step - abs(bend.step_s)) < SAME_STEP_S
    if not firm or not confirmed or told < run.fit.strength**2:
        return [run]
    return [piece for part in parts for piece in _straight_pieces(clip, index, part, depth + 1)]


def _fit(clip: Flat, index: SongIndex, line: Line) -> _Run | None:
    start, end = float(line.starts_s[0]), min(float(line.starts_s[-1]) + BLOCK_S, len(clip) / index.rate)
    fit = fit_line(clip, index, rough_line(line), start, end)
    return _Run(fit, start, end) if fit is not None and fit.strength >= FAINTEST else None
