"""What can show a bar: which clips count, and which bars a take runs through."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from app.model.coverage.staves import stave_order
from app.model.on_song import Clip, SongView, Take
from app.model.song_map.bar_spans import BarSpan

ENOUGH = 0.9
"""Part of a bar that has to lie within a take for the take to cover it."""


def covers(take: Take, bar: BarSpan) -> bool:
    """Tell whether at least 90 % of the bar lies within the take."""
    shared_s = min(take.song_end_s, bar.end_s) - max(take.song_start_s, bar.start_s)
    # A whisker of tolerance, so that exactly nine tenths of a bar counts whatever the float sums say.
    return shared_s > 0 and shared_s >= ENOUGH * (bar.end_s - bar.start_s) - 1e-9


def counted_clips(shoot: SongView) -> tuple[Clip, ...]:
    """The clips that can show a bar, in stave order (safeties last), then as they lie in the shoot.

    A recorder's sound shows nothing, so sound-only clips are left out; only in a shoot without any
    picture, where sound is all there is, they count. Hidden angles count like all others: what is not on
    screen is still there to cut to.
    """
    staves = stave_order(shoot.angles)
    place = {angle.id: n for n, angle in enumerate(staves)}
    clips = sorted(shoot.clips, key=lambda clip: place.get(clip.angle_id, len(staves)))
    pictures = tuple(clip for clip in clips if clip.frame_rate is not None)
    return pictures or tuple(clips)


def sound_clips(shoot: SongView) -> tuple[Clip, ...]:
    """The clips that are heard but show nothing, and so do not count; in stave order."""
    counted = {clip.id for clip in counted_clips(shoot)}
    place = {angle.id: n for n, angle in enumerate(stave_order(shoot.angles))}
    clips = sorted(shoot.clips, key=lambda clip: place.get(clip.angle_id, len(place)))
    return tuple(clip for clip in clips if clip.id not in counted)


def touched(take: Take, spans: Sequence[BarSpan]) -> range:
    """Indices of the bars (in the song's order) of which something may lie within a take."""
    return range(
        bisect_right(spans, take.song_start_s, key=lambda bar: bar.end_s),
        bisect_left(spans, take.song_end_s, key=lambda bar: bar.start_s),
    )
