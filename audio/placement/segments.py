"""Lines fitted exactly: neighbours that are one line joined, one that steps parted where sound was lost."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from audio.placement.alignments import Alignment, robust_line
from audio.placement.impulse_response import predicted_signal
from audio.placement.line_fit import LineFit, fit_line
from audio.placement.search import BLOCK_S, SongIndex
from audio.whitening import Whitened

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
MOST_STEPS = 3
"""Steps looked for within steps: a clip that loses sound more often comes in longer pieces."""
ITS_OWN = 1.1
"""Each side of a real step agrees better than this with its own line than with the other's: reverberation
makes one line explain much of both."""
SAME_STEP_S = 0.0005
"""Parted at a real step, the parts lie as far from each other as the step is long."""
FIRM = 9.0
"""Standard deviations above chance at which a fit is trusted to tell a step from a reflection."""


@dataclass(frozen=True, slots=True)
class FittedSegment:
    """A fitted line and the stretch of the clip it was fitted to (s of its samples)."""

    fit: LineFit
    start_s: float
    end_s: float


def fitted_segments(clip: Whitened, index: SongIndex, lines: Sequence[Alignment]) -> list[FittedSegment]:
    """Fit the lines of a flattened clip, float32 of shape (n,): neighbours as one where they are one, apart
    where sound was lost between them."""
    out: list[FittedSegment] = []
    for line in lines:
        run = _fit(clip, index, line)
        while run is not None and out and (joint := _joined(clip, index, out[-1], run)) is not None:
            out.pop()
            run = joint
        if run is not None:
            out.append(run)
    return [piece for run in out for piece in _straight_pieces(clip, index, run, 0)]


def _joined(
    clip: Whitened, index: SongIndex, one: FittedSegment, other: FittedSegment
) -> FittedSegment | None:
    """Two neighbours as one run, if one line explains both; reflections break lines that are whole."""
    step = step_s(one, other)
    if other.start_s - one.end_s > LONGEST_REST_S or step > SAME_LINE_S:
        return None
    strong, weak = (one, other) if one.fit.strength >= other.fit.strength else (other, one)
    if step > SAME_PLACE_S:
        own = agreement(clip, index, weak.fit, weak)
        if agreement(clip, index, strong.fit, weak) < max(EXPLAINS * own, FIRM):
            return None
    fit = fit_line(clip, index, strong.fit.line, one.start_s, other.end_s)
    if fit is None or fit.strength < strong.fit.strength * EXPLAINS:
        return None
    return FittedSegment(fit, one.start_s, other.end_s)


def step_s(one: FittedSegment, other: FittedSegment) -> float:
    """How far apart (s) two runs are where they meet."""
    at = (one.end_s + other.start_s) / 2
    return abs(one.fit.line.song_time(at) - other.fit.line.song_time(at))


def agreement(clip: Whitened, index: SongIndex, fit: LineFit, run: FittedSegment) -> float:
    """Standard deviations by which a run's stretch of the clip agrees with what a fit says should be
    heard."""
    first, count = round(run.start_s * index.rate), round((run.end_s - run.start_s) * index.rate)
    sound = clip[first : first + count]
    predicted = predicted_signal(index, fit.line, fit.response, fit.lead, first, len(sound))
    size = float(np.sqrt((predicted @ predicted) * (sound @ sound) / max(1, len(sound))))
    return float(sound @ predicted) / size if size > 0 else 0.0


def _straight_pieces(clip: Whitened, index: SongIndex, run: FittedSegment, depth: int) -> list[FittedSegment]:
    """Part a line where it steps; a step that the parts do not confirm is none."""
    discontinuity = run.fit.discontinuity
    if discontinuity is None or depth == MOST_STEPS:
        return [run]
    parts = []
    for start, end in ((run.start_s, discontinuity.clip_s), (discontinuity.clip_s, run.end_s)):
        fit = fit_line(clip, index, run.fit.line, start, end)
        if fit is None:
            return [run]
        parts.append(FittedSegment(fit, start, end))
    firm = min(part.fit.strength for part in parts) >= FIRM
    step = step_s(*parts)
    confirmed = step >= SAME_PLACE_S and abs(step - abs(discontinuity.step_s)) < SAME_STEP_S
    if not firm or not confirmed or not _each_on_its_own(clip, index, *parts):
        return [run]
    return [piece for part in parts for piece in _straight_pieces(clip, index, part, depth + 1)]


def _each_on_its_own(clip: Whitened, index: SongIndex, one: FittedSegment, other: FittedSegment) -> bool:
    """Whether each of two runs agrees clearly better with its own line than with the other's."""
    return all(
        agreement(clip, index, run.fit, run) > ITS_OWN * agreement(clip, index, elsewhere.fit, run)
        for run, elsewhere in ((one, other), (other, one))
    )


def _fit(clip: Whitened, index: SongIndex, line: Alignment) -> FittedSegment | None:
    start, end = float(line.starts_s[0]), min(float(line.starts_s[-1]) + BLOCK_S, len(clip) / index.rate)
    fit = fit_line(clip, index, robust_line(line), start, end)
    return FittedSegment(fit, start, end) if fit is not None and fit.strength >= FAINTEST else None
