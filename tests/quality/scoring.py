"""One clip through the engine, and what its answer is worth."""

import hashlib
import time
from dataclasses import asdict, dataclass, field
from functools import lru_cache

import numpy as np

from audio.align import TakeFit, place
from audio.search import SongIndex
from tests.quality.bounds import NEAR_TWIN
from tests.quality.levels import LEVEL_KIND, level_scene
from tests.quality.refusals import REFUSALS
from tests.quality.rooms import ROOMS
from tests.quality.scene import Example, Take
from tests.quality.songs import ENGINE_RATE, Song, SongKey
from tests.quality.takes import KINDS

INSET_S = 0.1
RIGHT_S = 0.020
"""Half a frame at 25 pictures a second: a take further off than this is in the wrong place."""


@dataclass(frozen=True, slots=True)
class Spec:
    """Names one simulated clip."""

    key: SongKey
    kind: str
    strength: str
    seed: int

    @property
    def name(self) -> str:
        """What ``--replay`` takes."""
        return f"{self.key.name}:{self.kind}:{self.strength}:{self.seed}"


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
    """Doubts about passages that have a near twin in the song."""
    refused: int = 0
    middle_ms: list[float] = field(default_factory=list)
    worst_ms: list[float] = field(default_factory=list)
    speed_ppm: list[float] = field(default_factory=list)
    ends_s: list[float] = field(default_factory=list)
    within: list[bool] = field(default_factory=list)
    over_bound: list[float] = field(default_factory=list)
    clip_s: float = 0.0
    engine_s: float = 0.0
    notes: list[str] = field(default_factory=list)

    def as_dict(self) -> dict[str, object]:
        """All of it, for JSON."""
        return asdict(self)


def chance(spec: Spec) -> np.random.Generator:
    """The generator of a clip: from its name alone, so that it can be made again."""
    digest = hashlib.sha256(spec.name.encode()).digest()
    return np.random.default_rng(np.frombuffer(digest, dtype=np.uint32))


def example(spec: Spec, song: Song) -> Example | None:
    """Make the clip; None where the song cannot have such a clip (no twins, nobody to play it again)."""
    rng = chance(spec)
    if spec.kind == LEVEL_KIND:
        return level_scene(song, spec.key, spec.strength, rng).example()
    if spec.kind in REFUSALS:
        scene = REFUSALS[spec.kind](song, spec.key, rng)
        return scene.example() if scene else None
    kind = KINDS[spec.kind]
    if kind.must_doubt and not song.twins:
        return None
    return kind.build(song, spec.key, spec.strength, rng).example()


def kept_apart(spec: Spec) -> bool:
    """Whether nobody may tune on this clip."""
    return spec.key.kept_apart or (spec.strength in ROOMS and ROOMS[spec.strength].kept_apart)


def score(spec: Spec) -> Score | None:
    """Make the clip, have it placed, and judge the answer. None where there is no such clip."""
    song = spec.key.load()
    clip = example(spec, song)
    if clip is None:
        return None
    result = Score(spec.name, spec.key.name, spec.kind, spec.strength, kept_apart(spec))
    result.clip_s = clip.sound.samples.shape[1] / clip.sound.rate
    index = _index(spec.key)
    begun = time.perf_counter()
    answer = place(clip.sound, index)
    result.engine_s = time.perf_counter() - begun
    judge(result, clip, [Fit.of(fit) for fit in answer.takes], answer.verdict)
    if result.wrong or result.missed:
        result.notes.append(f"engine: {answer.verdict}; {answer.reason}")
    return result


@lru_cache(maxsize=2)
def _index(key: SongKey) -> SongIndex:
    return SongIndex.build(key.load().master, rate=ENGINE_RATE)


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
    result.takes = len(clip.takes)
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
    elif covered >= 0.5 * (take.clip_end_s - take.clip_start_s):
        result.right += 1
        _measure(result, take, good, bound_s)
    elif unsure:
        result.doubtful += 1
        result.fair_doubts += undecidable or take.likeness >= NEAR_TWIN
        if any(_fits(_errors(fit, take)) for fit in unsure):
            result.first += 1
        elif any(_fits(_errors(fit, take, rival)) for fit in unsure for rival in fit.rivals):
            result.listed += 1
    else:
        result.missed += 1
        if good:
            result.notes.append(f"only {covered:.1f} s found of {take}")


def _measure(result: Score, take: Take, good: list[Fit], bound_s: float) -> None:
    longest = max(good, key=lambda fit: fit.clip_end_s - fit.clip_start_s)
    errors = _errors(longest, take)
    result.middle_ms.append(1e3 * errors[1])
    result.worst_ms.append(1e3 * max(map(abs, errors)))
    result.speed_ppm.append(1e6 * (longest.speed / take.speed - 1))
    result.within.append(max(map(abs, errors)) <= longest.uncertainty_s)
    result.ends_s.append(min(fit.clip_start_s for fit in good) - take.clip_start_s)
    result.ends_s.append(max(fit.clip_end_s for fit in good) - take.clip_end_s)
    if bound_s:
        result.over_bound.append(abs(errors[1]) / bound_s)
