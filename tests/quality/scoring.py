"""One clip through the engine, and what its answer is worth."""

import hashlib
import time
from collections import OrderedDict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.files.media import Sound
from audio.placement.align import place
from audio.placement.search import SongIndex
from tests.quality.baselines import simpler_methods
from tests.quality.judging import Fit, Score, judge, judge_pair
from tests.quality.kinds import KINDS
from tests.quality.levels import LEVEL_KIND, level_scene
from tests.quality.refusals import REFUSALS
from tests.quality.rooms import ROOMS
from tests.quality.scene import Example
from tests.quality.songs import ENGINE_RATE, Song, SongKey


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
    else:
        scene = KINDS[spec.kind].build(song, spec.key, spec.strength, rng)
    return scene.example() if scene else None


def kept_apart(spec: Spec) -> bool:
    """Whether nobody may tune on this clip."""
    return spec.key.kept_apart or any(
        room.kept_apart and room.name in spec.strength for room in ROOMS.values()
    )


def score(spec: Spec, baselines: bool = False) -> Score | None:
    """Make the clip, have it placed, and judge the answer. None where there is no such clip."""
    song = spec.key.load()
    clip = example(spec, song)
    if clip is None:
        return None
    result = Score(spec.name, spec.key.name, spec.kind, spec.strength, kept_apart(spec))
    index = _index(song.master if clip.master is None else clip.master)
    fits = _answer(result, clip, index)
    if clip.partner:
        judge_pair(result, clip, fits, clip.partner, _answer(result, clip.partner, index))
    if baselines:
        result.others = simpler_methods(clip, song.master if clip.master is None else clip.master)
    return result


def _answer(result: Score, clip: Example, index: SongIndex) -> list[Fit]:
    before = result.blamed
    result.clip_s += _seconds(clip.sound)
    begun = time.perf_counter()
    answer = place(clip.sound, index)
    result.engine_s += time.perf_counter() - begun
    fits = [Fit.of(fit) for fit in answer.takes]
    judge(result, clip, fits, answer.verdict)
    if result.blamed > before:
        why = answer.reason.code if answer.reason else "no reason"
        result.notes.append(f"engine: {answer.verdict}; {why}")
    return fits


def _seconds(sound: Sound) -> float:
    return sound.samples.shape[1] / sound.rate


_kept: OrderedDict[bytes, SongIndex] = OrderedDict()


def _index(master: NDArray[np.float32]) -> SongIndex:
    """The song made ready; the last two are kept."""
    digest = hashlib.sha256(master.tobytes()).digest()
    if digest not in _kept:
        _kept[digest] = SongIndex.build(master, rate=ENGINE_RATE)
        while len(_kept) > 2:
            _kept.popitem(last=False)
    _kept.move_to_end(digest)
    return _kept[digest]
