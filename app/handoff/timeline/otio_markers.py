"""Markers of a timeline: sections, thin places and open needs over all of it, bars on the song's own track,
faults and keepers on the clips.

Two hundred bars over everything would hide what matters, so they lie where the song lies.
"""

from collections.abc import Iterator
from fractions import Fraction

import opentimelineio as otio

from app.handoff.layout import Segment, start_frame
from app.handoff.outcome import plain
from app.model.coverage.coverage import coverage
from app.model.coverage.needs import need_results
from app.model.coverage.passages import bars_words
from app.model.coverage.ranges import runs
from app.model.document.marks import MarkKind, MarkState
from app.model.document.plan import Need
from app.model.document.song import Song
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans, song_sections
from app.model.timebase import nearest_frame


def shoot_markers(shoot: SongView, song: Song, rate: Fraction) -> "Iterator[otio.schema.Marker]":
    """Sections in blue, then thin places in orange, then the bars that open needs lack in purple."""
    blue, orange = otio.schema.MarkerColor.BLUE, otio.schema.MarkerColor.ORANGE
    purple = otio.schema.MarkerColor.PURPLE
    for section in song_sections(song):
        name = f"{section.letter} {section.name}"
        yield _marker(name, "", section.start_s, section.end_s, rate, "section", blue)
    for part in coverage(shoot):
        spans = {bar.bar.number: bar.bar for bar in part.bars}
        for thin in part.thin:
            start_s, end_s = spans[thin.first_bar].start_s, spans[thin.last_bar].end_s
            yield _marker(thin.kind.value, thin.words, start_s, end_s, rate, "thin place", orange)
    for need, start_s, end_s, words in open_needs(shoot, song):
        yield _marker(f"need: {need.subject}", words, start_s, end_s, rate, "need", purple)


def open_needs(shoot: SongView, song: Song) -> list[tuple[Need, float, float, str]]:
    """For each run of bars that a need lacks: the need, the run's ends (s), and what is missing in words."""
    bars = {bar.number: bar for bar in bar_spans(song)}
    return [
        (result.need, bars[first].start_s, bars[last].end_s, f"{bars_words(first, last)}: {result.need.note}")
        for result in need_results(shoot)
        for first, last in runs(result.missing_bars)
    ]


def mark_markers(one: Segment) -> "Iterator[otio.schema.Marker]":
    """The faults (red) and keepers (green) of a clip that the segment shows, in the clip's own frames.

    A time warp does not change a clip's length in its track (see `otio_timeline`), nor where its markers lie:
    they count along the timeline from the first frame used.
    """
    begins = (start_frame(one.clip) or 0) + one.first_frame
    laid_s = float(one.position / one.timeline_rate)
    for mark in one.clip.marks:
        start_s = max(laid_s, one.take.song_time(mark.clip_start_s))
        end_s = min(float(one.end / one.timeline_rate), one.take.song_time(mark.clip_end_s))
        if mark.state is not MarkState.SET or end_s <= start_s:
            continue
        fault = mark.kind is MarkKind.FAULT
        colour = otio.schema.MarkerColor.RED if fault else otio.schema.MarkerColor.GREEN
        name = f"fault: {mark.reason.value}" if fault else "keeper"
        start, end = (begins + nearest_frame(s - laid_s, one.rate) for s in (start_s, end_s))
        marker = spanned(name, mark.words, start, end, one.rate, colour)
        marker.metadata["anglebook"] = {
            "kind": mark.kind.value,
            "mark_id": mark.id,
            "clip_start_s": mark.clip_start_s,
            "clip_end_s": mark.clip_end_s,
        }
        yield marker


def bar_markers(song: Song, rate: Fraction) -> "Iterator[otio.schema.Marker]":
    """The bars, in white; none where the map has none."""
    for bar in bar_spans(song) if song.map.bars_s else ():
        white = otio.schema.MarkerColor.WHITE
        yield _marker(f"bar {bar.number}", "", bar.start_s, bar.end_s, rate, "bar", white)


def _marker(
    name: str, comment: str, start_s: float, end_s: float, rate: Fraction, kind: str, colour: str
) -> "otio.schema.Marker":
    start, end = (nearest_frame(s, rate) for s in (start_s, end_s))
    marker = spanned(name, comment, start, end, rate, colour)
    marker.metadata["anglebook"] = {"kind": kind, "start_s": start_s, "end_s": end_s}
    return marker


def spanned(
    name: str, comment: str, start: int, end: int, rate: Fraction, colour: str
) -> "otio.schema.Marker":
    """A marker from one frame to another, at a rate."""
    span = otio.opentime.TimeRange(
        otio.opentime.RationalTime(start, float(rate)),
        otio.opentime.RationalTime(max(0, end - start), float(rate)),
    )
    marker = otio.schema.Marker(plain(name).strip(), span, colour)
    marker.comment = plain(comment).strip(": ")
    return marker
