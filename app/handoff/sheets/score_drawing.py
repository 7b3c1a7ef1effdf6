"""The score on paper: a row per angle, a column per bar, on one page whatever the song's length."""

from collections.abc import Sequence

from app.handoff.sheets.sheet import Box, Drawing, Label
from app.model.coverage.coverage import SectionCoverage
from app.model.coverage.staves import stave_order
from app.model.coverage.time_spans import Span
from app.model.coverage.usable import usable_takes
from app.model.document.verdict import Verdict
from app.model.on_song import SongView

NAMES = 170.0
"""Width of the names at the left; all lengths are parts of a width of 1000."""
ROW, HEAD, FOOT, GAP = 26.0, 46.0, 14.0, 5.0
GREY = 0.55
MOST_HEIGHT = 1200.0
"""So high at most, so that it stays on one page of either paper."""
FEWEST_BARS, MOST_SYSTEMS = 24, 4
"""A row of the page holds so many bars or more."""


def score_drawing(shoot: SongView, sections: Sequence[SectionCoverage]) -> Drawing:
    """The staves over the whole song, in up to four systems below each other.

    Usable stretches are grey, spoilt ones hatched, those of takes in doubt outlined. Ends are exact.
    """
    angles = stave_order(shoot.angles)
    bars = [bar.bar for part in sections for bar in part.bars]
    boxes: list[Box] = []
    labels: list[Label] = []
    if not bars or not angles:
        return Drawing(20.0, (), (Label(0.0, 14.0, "There is nothing to show yet.", 14.0),), "nothing yet")
    row = min(ROW, (MOST_HEIGHT - HEAD - FOOT) / len(angles))
    tall = HEAD + row * len(angles) + FOOT
    systems = max(1, min(MOST_SYSTEMS, int(MOST_HEIGHT // tall), -(-len(bars) // FEWEST_BARS)))
    takes = usable_takes(shoot)
    ends = [round(n * len(bars) / systems) for n in range(systems + 1)]
    for number in range(systems):
        top = number * tall
        here = bars[ends[number] : ends[number + 1]]
        window = (here[0].start_s, here[-1].end_s)
        scale = (1000.0 - NAMES) / (window[1] - window[0])
        _heads(sections, window, scale, top, labels, boxes)
        for index, angle in enumerate(angles):
            y = top + HEAD + index * row
            size = min(15.0, row * 0.62)
            name = f"{angle.name} (safety)" if angle.safety else angle.name
            labels.append(Label(0.0, y + row * 0.68, name, size, most=NAMES - 8))
            boxes.append(Box(NAMES, y + GAP / 2, 1000.0 - NAMES, row - GAP, 1.0))
            for one in takes:
                if one.angle_id != angle.id:
                    continue
                whole = (one.take.song_start_s, one.take.song_end_s)
                doubtful = one.take.verdict is Verdict.DOUBTFUL
                if doubtful:
                    _box(boxes, whole, window, scale, y + GAP, row - 2 * GAP, 1.0, hatched=False)
                    continue
                _box(boxes, whole, window, scale, y + GAP / 2, row - GAP, 1.0, hatched=True)
                for span in one.usable:
                    _box(boxes, span, window, scale, y + GAP / 2, row - GAP, GREY, hatched=False)
    spoken = f"Coverage of {len(bars)} bars by {len(angles)} angles; the table below says the same in words."
    return Drawing(systems * tall, tuple(boxes), tuple(labels), spoken)


def _heads(
    sections: Sequence[SectionCoverage],
    window: Span,
    scale: float,
    top: float,
    labels: list[Label],
    boxes: list[Box],
) -> None:
    """Letters, names and least depths above the bars of each section."""
    for part in sections:
        start, end = max(window[0], part.section.start_s), min(window[1], part.section.end_s)
        depths = [bar.usable_depth for bar in part.bars if window[0] <= bar.bar.start_s < window[1]]
        if end <= start or not depths:
            continue
        x, width = NAMES + (start - window[0]) * scale, (end - start) * scale
        boxes.append(Box(x, top + HEAD - 8.0, 0.8, 8.0, 0.0))
        labels.append(
            Label(x + 2, top + 16.0, part.section.letter, 16.0, bold=True, most=max(14.0, width - 4))
        )
        if width > 60:
            used = 10.0 * len(part.section.letter) + 8
            labels.append(Label(x + used, top + 16.0, part.section.name, 13.0, most=width - used - 4))
        labels.append(Label(x + 2, top + 34.0, str(min(depths)), 14.0, most=max(14.0, width - 4)))


def _box(
    boxes: list[Box],
    span: Span,
    window: Span,
    scale: float,
    y: float,
    height: float,
    grey: float,
    *,
    hatched: bool,
) -> None:
    start, end = max(window[0], span[0]), min(window[1], span[1])
    if end > start:
        x = NAMES + (start - window[0]) * scale
        boxes.append(Box(x, y, (end - start) * scale, height, grey, hatched))
