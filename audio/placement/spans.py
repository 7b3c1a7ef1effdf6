"""Lines fitted to alignments: neighbours on one line are joined, and a line that steps is split."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from audio.placement.blocks import Alignment, robust_line
from audio.placement.impulse_response import predicted_signal
from audio.placement.line_fit import LineFit, fit_line
from audio.placement.search import BLOCK_S, SongIndex
from audio.whitening import Whitened

FAINTEST = 6.0
"""Least strength of a line (standard deviations above chance); chance alone stays under 3 (tests/quality)."""
SAME_LINE_S = 0.35
"""Neighbouring lines closer than this may be one that reflections broke in two (as COARSE_REACH_S and more).
Chosen by hand."""
LONGEST_GAP_S = 32.0
"""Neighbours further apart in the clip than this are two takes. Chosen by hand."""
EXPLAINED_SHARE = 0.8
"""A line explains a span that matches it at least by this share of how well it matches its own line. Chosen
by hand."""
SAME_POSITION_S = 0.001
"""Two fits that meet this closely are one line; a larger step is sound lost or added."""
MOST_STEPS = 3
"""Depth to which spans are split again: a clip that loses sound more often is left in longer pieces."""
ITS_OWN = 1.1
"""Each side of a real step matches its own line better by this factor than the other's: in reverberation one
line explains much of both. Chosen by hand."""
SAME_STEP_S = 0.0005
"""Split at a real step, the two fits lie as far apart as the step is long, to this much."""
FIRM = 9.0
"""Standard deviations above chance at which a fit can tell a step from a reflection. Chosen by hand."""


@dataclass(frozen=True, slots=True)
class FittedSpan:
    """A fitted line and the part of the clip it was fitted to, in times of its samples (s)."""

    fit: LineFit
    start_s: float
    end_s: float


def fitted_spans(
    clip: Whitened, index: SongIndex, alignments: Sequence[Alignment], progress: Callable[[float], None]
) -> list[FittedSpan]:
    """Fit the alignments of a whitened clip, shape (n,): joined where they are one line, split where samples
    were lost."""
    out: list[FittedSpan] = []
    for number, alignment in enumerate(alignments):
        progress(0.7 * number / len(alignments))
        span = _fit(clip, index, alignment)
        while span is not None and out and (joint := _joined(clip, index, out[-1], span)) is not None:
            out.pop()
            span = joint
        if span is not None:
            out.append(span)
    progress(0.7)
    return [piece for span in out for piece in _split_at_steps(clip, index, span, 0)]


def _joined(clip: Whitened, index: SongIndex, one: FittedSpan, other: FittedSpan) -> FittedSpan | None:
    """Two neighbours as one span, if one line explains both: reflections break alignments that are whole."""
    step = step_s(one, other)
    if other.start_s - one.end_s > LONGEST_GAP_S or step > SAME_LINE_S:
        return None
    strong, weak = (one, other) if one.fit.strength >= other.fit.strength else (other, one)
    if step > SAME_POSITION_S:
        own = prediction_match(clip, index, weak.fit, weak)
        if prediction_match(clip, index, strong.fit, weak) < max(EXPLAINED_SHARE * own, FIRM):
            return None
    fit = fit_line(clip, index, strong.fit.line, one.start_s, other.end_s)
    if fit is None or fit.strength < strong.fit.strength * EXPLAINED_SHARE:
        return None
    return FittedSpan(fit, one.start_s, other.end_s)


def step_s(one: FittedSpan, other: FittedSpan) -> float:
    """How far apart in the song (s) two lines are where their spans meet."""
    at = (one.end_s + other.start_s) / 2
    return abs(other.fit.line.lag_s(at, one.fit.line.song_time(at)))


def prediction_match(clip: Whitened, index: SongIndex, fit: LineFit, span: FittedSpan) -> float:
    """Standard deviations by which a span of the clip correlates with the signal that a fit predicts."""
    first, count = round(span.start_s * index.rate), round((span.end_s - span.start_s) * index.rate)
    sound = clip[first : first + count]
    predicted = predicted_signal(index, fit.line, fit.impulse_response, fit.direct_at, first, len(sound))
    size = float(np.sqrt((predicted @ predicted) * (sound @ sound) / max(1, len(sound))))
    return float(sound @ predicted) / size if size > 0 else 0.0


def _split_at_steps(clip: Whitened, index: SongIndex, span: FittedSpan, depth: int) -> list[FittedSpan]:
    """Split a line where it steps, if the fits of both sides confirm the step."""
    step = span.fit.discontinuity
    if step is None or depth == MOST_STEPS:
        return [span]
    parts = []
    for start, end in ((span.start_s, step.clip_s), (step.clip_s, span.end_s)):
        fit = fit_line(clip, index, span.fit.line, start, end)
        if fit is None:
            return [span]
        parts.append(FittedSpan(fit, start, end))
    firm = min(part.fit.strength for part in parts) >= FIRM
    apart_s = step_s(*parts)
    confirmed = apart_s >= SAME_POSITION_S and abs(apart_s - abs(step.step_s)) < SAME_STEP_S
    if not firm or not confirmed or not _each_on_its_own(clip, index, *parts):
        return [span]
    return [piece for part in parts for piece in _split_at_steps(clip, index, part, depth + 1)]


def _each_on_its_own(clip: Whitened, index: SongIndex, one: FittedSpan, other: FittedSpan) -> bool:
    """Whether each of two spans matches its own line clearly better than the other's."""
    return all(
        prediction_match(clip, index, span.fit, span)
        > ITS_OWN * prediction_match(clip, index, elsewhere.fit, span)
        for span, elsewhere in ((one, other), (other, one))
    )


def _fit(clip: Whitened, index: SongIndex, alignment: Alignment) -> FittedSpan | None:
    start, last = float(alignment.starts_s[0]), float(alignment.starts_s[-1])
    end = min(last + BLOCK_S, len(clip) / index.rate)
    fit = fit_line(clip, index, robust_line(alignment), start, end)
    return FittedSpan(fit, start, end) if fit is not None and fit.strength >= FAINTEST else None
