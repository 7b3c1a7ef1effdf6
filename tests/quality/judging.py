"""What an answer is worth: the rules by which a placement is judged against the truth.

A placed take is right only if it is within half a frame all along, and half of it was found. What no method
can tell must be doubted; what is nearly a twin may be. A take placed where there is none is wrong.
"""

from dataclasses import asdict, dataclass, field

import numpy as np

from audio.placement.answer import TakeFit
from tests.quality.bounds import NEAR_TWIN
from tests.quality.kinds import KINDS
from tests.quality.scene import Example, Take

INSET_S = 0.1
RIGHT_S = 0.020
"""Half a frame at 25 pictures a second: a take further off than this is in the wrong place."""

MOMENTS = 40
"""Moments of a swaying take that are asked for."""
FAR_OFF_S = 2.0
"""An end further off than this is told by name."""


@dataclass
class Score:
    """What became of one clip. Times in the unit of the name."""

    name: str
    song: str
    kind: str
    strength: str
    kept_apart: bool
    takes: int = 0
    right: int = 0
    doubtful: int = 0
    first: int = 0
    listed: int = 0
    wrong: int = 0
    missed: int = 0
    fair_doubts: int = 0
    """Doubts about passages that have a near twin in the song, or where there is too little of the song."""
    refused: int = 0
    take_s: list[float] = field(default_factory=list)
    """Length of each take that was placed right; the next lists go with it."""
    middle_ms: list[float] = field(default_factory=list)
    worst_ms: list[float] = field(default_factory=list)
    speed_ppm: list[float] = field(default_factory=list)
    ends_s: list[float] = field(default_factory=list)
    within: list[bool] = field(default_factory=list)
    over_bound: list[float] = field(default_factory=list)
    apart_ms: list[float] = field(default_factory=list)
    """How far the places of one moment on two cameras are from each other."""
    agree: list[bool] = field(default_factory=list)
    """Whether that lies within the sum of their uncertainties."""
    others: dict[str, list[bool]] = field(default_factory=dict)
    """What simpler methods make of each take, by method: found or not."""
    clip_s: float = 0.0
    engine_s: float = 0.0
    notes: list[str] = field(default_factory=list)

    @property
    def blamed(self) -> int:
        """How much in it is not as it should be: wrong, missed, doubtful without need."""
        return self.wrong + self.missed + self.doubtful - self.fair_doubts

    @classmethod
    def read(cls, values: dict[str, object]) -> "Score":
        """Back from ``as_dict``."""
        return cls(**values)  # type: ignore[arg-type]

    def as_dict(self) -> dict[str, object]:
        """All of it, for JSON."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class Fit:
    """A take as the engine answers it."""

    clip_start_s: float
    clip_end_s: float
    song_start_s: float
    speed: float
    uncertainty_s: float
    placed: bool
    rivals: tuple[float, ...] = ()

    @classmethod
    def of(cls, fit: TakeFit) -> "Fit":
        """Read an engine's take."""
        rivals = tuple(float(rival.song_start_s) for rival in fit.rivals)
        return cls(
            clip_start_s=float(fit.clip_start_s),
            clip_end_s=float(fit.clip_end_s),
            song_start_s=float(fit.song_start_s),
            speed=float(fit.speed),
            uncertainty_s=float(fit.uncertainty_s),
            placed=fit.verdict == "placed",
            rivals=rivals,
        )

    def song_at(self, clip_s: float, song_start_s: float | None = None) -> float:
        """Time in the song at a time in the clip, by this answer or by one of its rivals."""
        start = self.song_start_s if song_start_s is None else song_start_s
        return start + (clip_s - self.clip_start_s) * self.speed


def judge(result: Score, clip: Example, fits: list[Fit], verdict: str) -> None:
    """Compare an answer with the truth and write it into ``result``.

    A fit belongs to every take that it covers by half or that covers half of it. Errors are taken at the
    start, the middle and the end of what both have in common.
    """
    result.takes += len(clip.takes)
    if not clip.takes:
        _judge_refusal(result, fits, verdict)
        return
    strays = [fit for fit in fits if not any(_belongs(fit, take) for take in clip.takes)]
    for fit in strays:
        result.notes.append(f"stray {fit}")
        result.wrong += fit.placed
    must_doubt = result.kind in KINDS and KINDS[result.kind].must_doubt
    for take in clip.takes:
        _judge_take(result, take, [fit for fit in fits if _belongs(fit, take)], must_doubt, clip.bound_s)


def _judge_refusal(result: Score, fits: list[Fit], verdict: str) -> None:
    if verdict == "placed" or any(fit.placed for fit in fits):
        result.wrong += 1
        result.notes.append(f"placed though not there: {fits}")
    elif verdict == "doubtful" or fits:
        result.doubtful += 1
    else:
        result.refused += 1


def _common(fit: Fit, take: Take) -> tuple[float, float]:
    return max(fit.clip_start_s, take.clip_start_s), min(fit.clip_end_s, take.clip_end_s)


def _belongs(fit: Fit, take: Take) -> bool:
    start, end = _common(fit, take)
    shorter = min(fit.clip_end_s - fit.clip_start_s, take.clip_end_s - take.clip_start_s)
    return end - start > 0.5 * shorter


def _errors(fit: Fit, take: Take, rival: float | None = None) -> list[float]:
    start, end = _common(fit, take)
    # Ends are found to 0.05 s: where sound was lost, the last moment of a piece lies beyond the step.
    inset = min(INSET_S, (end - start) / 4)
    moments = (start + inset, (start + end) / 2, end - inset)
    return [float(fit.song_at(t, rival) - take.song_at(t)) for t in moments]


def _fits(errors: list[float]) -> bool:
    return max(map(abs, errors)) <= RIGHT_S


def _judge_take(result: Score, take: Take, fits: list[Fit], must_doubt: bool, bound_s: float) -> None:
    placed = [fit for fit in fits if fit.placed]
    bad = [fit for fit in placed if not _fits(_errors(fit, take))]
    good = [fit for fit in placed if fit not in bad]
    unsure = [fit for fit in fits if not fit.placed]
    covered = sum(end - start for start, end in (_common(fit, take) for fit in good))
    undecidable = must_doubt or bool(take.twins)
    if bad or (undecidable and good):
        result.wrong += 1
        for fit in bad or good:
            worst = max(map(abs, _errors(fit, take)))
            why = "no method can tell" if undecidable else f"off by {worst:.3f} s"
            result.notes.append(f"{why}: truth {take} answer {fit}")
    elif good and covered >= 0.5 * (take.clip_end_s - take.clip_start_s - sum(take.faint_s)):
        result.right += 1
        _measure(result, take, good, bound_s)
    elif unsure:
        result.doubtful += 1
        may_refuse = result.kind in KINDS and KINDS[result.kind].may_refuse
        result.fair_doubts += undecidable or may_refuse or take.likeness >= NEAR_TWIN
        if any(_fits(_errors(fit, take)) for fit in unsure):
            result.first += 1
        elif any(_fits(_errors(fit, take, rival)) for fit in unsure for rival in fit.rivals):
            result.listed += 1
    elif result.kind in KINDS and KINDS[result.kind].may_refuse and not good:
        result.doubtful += 1
        result.fair_doubts += 1
    else:
        result.missed += 1
        if good:
            result.notes.append(f"only {covered:.1f} s found of {take}")


def _measure(result: Score, take: Take, good: list[Fit], bound_s: float) -> None:
    longest = max(good, key=lambda fit: fit.clip_end_s - fit.clip_start_s)
    errors = _errors(longest, take)
    result.take_s.append(take.clip_end_s - take.clip_start_s)
    result.middle_ms.append(1e3 * errors[1])
    result.worst_ms.append(1e3 * max(map(abs, errors)))
    result.speed_ppm.append(1e6 * (longest.speed / take.speed - 1))
    if take.sway:
        result.within += _moments_within(longest, take)
    else:
        result.within.append(bool(max(map(abs, errors)) <= longest.uncertainty_s))
    first, last = (min(fit.clip_start_s for fit in good), max(fit.clip_end_s for fit in good))
    before, after = take.faint_s
    result.ends_s.append(_outside(first, take.clip_start_s, take.clip_start_s + before))
    result.ends_s.append(_outside(last, take.clip_end_s - after, take.clip_end_s))
    if max(map(abs, result.ends_s[-2:])) > FAR_OFF_S:
        result.notes.append(f"found from {first:.2f} to {last:.2f} s of {take}")
    if bound_s:
        result.over_bound.append(abs(errors[1]) / bound_s)


def _moments_within(fit: Fit, take: Take) -> list[bool]:
    """Of a take whose lag sways: whether the uncertainty holds the truth at moments all along."""
    start, end = _common(fit, take)
    moments = np.linspace(start + INSET_S, end - INSET_S, MOMENTS)
    return [bool(abs(fit.song_at(float(t)) - take.song_at(float(t))) <= fit.uncertainty_s) for t in moments]


def judge_pair(result: Score, clip: Example, fits: list[Fit], partner: Example, others: list[Fit]) -> None:
    """Hold two answers for one moment against each other, the truth of both (their geometry) taken off."""
    for one, two in zip(clip.takes, partner.takes, strict=True):
        first = [fit for fit in fits if fit.placed and _belongs(fit, one)]
        second = [fit for fit in others if fit.placed and _belongs(fit, two)]
        if not first or not second:
            continue
        song_s = (one.song_start_s + one.song_at(one.clip_end_s)) / 2
        off = [
            fit.song_at(take.clip_start_s + (song_s - take.song_start_s) / take.speed) - song_s
            for fit, take in ((first[0], one), (second[0], two))
        ]
        result.apart_ms.append(float(1e3 * abs(off[0] - off[1])))
        result.agree.append(bool(abs(off[0] - off[1]) <= first[0].uncertainty_s + second[0].uncertainty_s))


def _outside(told: float, lowest: float, highest: float) -> float:
    """How far a time lies beyond the range in which any is right."""
    return float(min(0.0, told - lowest) + max(0.0, told - highest))
