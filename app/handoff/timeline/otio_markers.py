"""Markers of a timeline: sections and thin places over all of it, bars on the song's own track.

Two hundred bars over everything would hide what matters, so they lie where the song lies. The markers of
clips are left to whoever marks clips later.
"""

from collections.abc import Iterator
from fractions import Fraction

import opentimelineio as otio

from app.handoff.outcome import plain
from app.model.coverage.coverage import coverage
from app.model.document.song import Song
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans, song_sections
from app.model.timebase import nearest_frame


def shoot_markers(shoot: SongView, song: Song, rate: Fraction) -> "Iterator[otio.schema.Marker]":
    """Sections in blue, then thin places in orange."""
    blue, orange = otio.schema.MarkerColor.BLUE, otio.schema.MarkerColor.ORANGE
    for section in song_sections(song):
        name = f"{section.letter} {section.name}"
        yield _marker(name, "", section.start_s, section.end_s, rate, "section", blue)
    for part in coverage(shoot):
        spans = {bar.bar.number: bar.bar for bar in part.bars}
        for thin in part.thin:
            start_s, end_s = spans[thin.first_bar].start_s, spans[thin.last_bar].end_s
            yield _marker(thin.kind.value, thin.words, start_s, end_s, rate, "thin place", orange)


def bar_markers(song: Song, rate: Fraction) -> "Iterator[otio.schema.Marker]":
    """The bars, in white; none where the map has none."""
    for bar in bar_spans(song) if song.map.bars_s else ():
        white = otio.schema.MarkerColor.WHITE
        yield _marker(f"bar {bar.number}", "", bar.start_s, bar.end_s, rate, "bar", white)


def _marker(
    name: str, comment: str, start_s: float, end_s: float, rate: Fraction, kind: str, colour: str
) -> "otio.schema.Marker":
    start, end = (nearest_frame(s, rate) for s in (start_s, end_s))
    span = otio.opentime.TimeRange(
        otio.opentime.RationalTime(start, float(rate)),
        otio.opentime.RationalTime(max(0, end - start), float(rate)),
    )
    marker = otio.schema.Marker(plain(name).strip(), span, colour)
    marker.comment = plain(comment)
    marker.metadata["anglebook"] = {"kind": kind, "start_s": start_s, "end_s": end_s}
    return marker
