"""Steps of zoom, from the whole song on one screen to a few bars across it."""

from dataclasses import dataclass, replace
from math import ceil, log

from app.window.score.score_layout import Content, lay_out, lines
from app.window.score.score_metrics import Metrics

STEP = 1.25
"""One step makes bars so many times as wide."""
FEW_BARS = 4
"""Bars across the screen at the closest."""
HIGHEST = 9.0
"""No take is higher than so many lines of text."""
LEAST = 2.0
"""Takes and bars are no smaller than so many pixels."""


@dataclass(frozen=True, slots=True)
class Zoom:
    """The steps there are for one score on one screen; 0 is the usual size."""

    lowest: int
    """The whole song on one screen; 0 where it is there at the usual size."""
    highest: int
    whole: Metrics
    usual: Metrics
    close: Metrics

    def metrics(self, step: int) -> Metrics:
        """The measures at a step, which is held to the ends."""
        step = min(max(step, self.lowest), self.highest)
        if step == 0:
            return self.usual
        end, last = (self.whole, self.lowest) if step < 0 else (self.close, self.highest)
        share = step / last
        return replace(
            self.usual,
            bar=_between(self.usual.narrowest_bar, end.narrowest_bar, share),
            take=_between(self.usual.picture, end.picture, share),
            flows=step < 0,
        )


def zoom_of(shown: Content, usual: Metrics, height: float) -> Zoom:
    """The steps for a score on a screen so high, from its usual measures."""
    em, width = usual.em, usual.width
    whole = usual
    lowest = 0
    if shown.sections and lay_out(shown, width, usual).height - usual.after > height:
        whole = _whole(shown, width, height, usual)
        smaller = max(usual.narrowest_bar / whole.narrowest_bar, usual.picture / whole.picture)
        lowest = -max(1, ceil(log(smaller) / log(STEP)))
    room = width - 2 * usual.margin - usual.label
    widest = max(usual.usual_bar, room / FEW_BARS)
    highest = ceil(log(widest / usual.usual_bar) / log(STEP))
    overhead = usual.heading + usual.depths + usual.rows_high + 2 * usual.margin
    staves = max(1, len(shown.parts))
    fair = min((height - overhead) / staves - usual.gap, HIGHEST * em, widest / 1.8)
    close = replace(usual, bar=widest, take=max(usual.picture, round(fair)))
    return Zoom(lowest, highest, whole, usual, close)


def _whole(shown: Content, width: float, height: float, usual: Metrics) -> Metrics:
    """The largest measures at which the whole song is on one screen.

    For every number of lines, bars are as wide as lets the song fit, and takes as high as the lines have room
    for; of all these the one counts in which neither is much smaller than usual.
    """
    best, found = 0.0, replace(usual, bar=LEAST, take=LEAST, flows=True)
    units = sum(1 + 0.5 * (part.rows - 1) for part in shown.parts) or 1.0
    for count in range(1, sum(len(section.bars) for section in shown.sections) + 1):
        plain = replace(usual, bar=usual.usual_bar, take=LEAST, flows=True)
        each = (height - plain.margin) / count - plain.heading - plain.depths - plain.rows_high - plain.after
        # A gap is a quarter of a take or a pixel; one more of them stands before the safeties.
        take = min(each / (units + 0.25 * (len(shown.parts) + 1)), usual.picture)
        if take < LEAST:
            take = min((each - len(shown.parts) - 1) / units, usual.picture)
        if take < LEAST and count > 1:
            break
        bar = _widest(shown, width, count, replace(usual, take=max(take, LEAST), flows=True))
        size = min(take / usual.picture, bar / usual.usual_bar)
        if size > best:
            best = size
            found = replace(usual, bar=bar, take=max(take, LEAST), flows=True)
        if bar >= usual.usual_bar:
            break
    return found


def _widest(shown: Content, width: float, count: int, metrics: Metrics) -> float:
    """The widest bars with which the song takes no more than so many lines."""
    room = width - 2 * metrics.margin - metrics.label
    low, high = LEAST, metrics.usual_bar
    for _ in range(12):
        middle = (low + high) / 2
        fits = len(lines(shown, room, replace(metrics, bar=middle))) <= count
        low, high = (middle, high) if fits else (low, middle)
    return low


def _between(one: float, other: float, share: float) -> float:
    return float(one * (other / one) ** share)
