"""What of each take can be used: all of it but its faults, with a handle left at either side of a cut."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from app.model.coverage.showing import ENOUGH, counted_clips, touched
from app.model.coverage.time_spans import Span, Spans, common, union, without
from app.model.document.marks import Mark, MarkKind, MarkState
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.model.song_map.bar_spans import BarSpan

SAME_S = 0.001
"""Takes end with the song to a sample of what was compared (8 kHz); a frame is far longer."""


@dataclass(frozen=True, slots=True)
class UsableTake:
    """A take and what of it can be used, on the song's clock."""

    take: Take
    clip: Clip
    usable: Spans
    """Without faults and without handles: whatever is shown from within one of these can be moved by the
    handle either way."""
    keepers: Spans
    """Of the usable stretches what the maker wants used if possible."""

    @property
    def angle_id(self) -> str:
        """Angle of its clip."""
        return self.clip.angle_id

    @property
    def doubtful(self) -> bool:
        """Nobody is sure that it lies there; it is told apart and does not count."""
        return self.take.verdict is Verdict.DOUBTFUL


def usable_takes(shoot: SongView) -> tuple[UsableTake, ...]:
    """All takes that can show something, in stave order, doubtful ones included.

    Proposed and dismissed marks do not count.
    """
    if shoot.song is None:
        return ()
    found = []
    for clip in counted_clips(shoot):
        for take in clip.takes:
            # What was shot before and after the song shows nothing of it.
            whole = (max(0.0, take.song_start_s), min(take.song_end_s, shoot.song.duration_s))
            usable = _handles_off(
                without(union((whole,)), marked(take, clip.marks, MarkKind.FAULT)),
                handle_s(clip, take, shoot.plan.handle_frames),
                shoot.song.duration_s,
            )
            keepers = common(usable, marked(take, clip.marks, MarkKind.KEEPER))
            found.append(UsableTake(take, clip, usable, keepers))
    return tuple(found)


def marked(take: Take, marks: Iterable[Mark], kind: MarkKind) -> Spans:
    """The stretches of a take, on the song's clock, that people marked so."""
    return union(
        (
            take.song_time(max(mark.clip_start_s, take.clip_start_s)),
            take.song_time(min(mark.clip_end_s, take.clip_end_s)),
        )
        for mark in marks
        if mark.kind is kind and mark.state is MarkState.SET
    )


def handle_s(clip: Clip, take: Take, frames: int) -> float:
    """How much of the song passes in so many of the clip's frames; sound has none, and no handle."""
    return 0.0 if clip.frame_rate is None else float(frames / clip.frame_rate) * take.speed


def at_start(song_s: float) -> bool:
    """Whether a moment is the song's start, where nothing is cut and no handle is needed."""
    return song_s <= SAME_S


def at_end(song_s: float, song_end_s: float) -> bool:
    """Whether a moment is the song's end."""
    return song_s >= song_end_s - SAME_S


def usable_bars(one: UsableTake, bars: Sequence[BarSpan]) -> tuple[int, ...]:
    """Indices of the bars of which one usable stretch shows at least nine tenths, without a hole."""
    found = []
    for n in touched(one.take, bars):
        bar = bars[n]
        enough = ENOUGH * (bar.end_s - bar.start_s) - 1e-9
        if any(0 < _shared(span, bar) >= enough for span in one.usable):
            found.append(n)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class OneAngleOnly:
    """A stretch of the song in which one angle only can be used."""

    start_s: float
    end_s: float
    angle_id: str


def longest_with_one_angle(takes: Iterable[UsableTake]) -> OneAngleOnly | None:
    """The longest stretch in which there is no other angle to cut to; None where there is none.

    Ends are those of the usable stretches, not of bars. The earliest of several as long.
    """
    by_angle: dict[str, list[Span]] = {}
    for one in takes:
        if not one.doubtful:
            by_angle.setdefault(one.angle_id, []).extend(one.usable)
    spans = {angle_id: union(found) for angle_id, found in by_angle.items()}
    alone = [
        OneAngleOnly(start_s, end_s, angle_id)
        for angle_id, mine in spans.items()
        for start_s, end_s in without(
            mine, union(span for other, found in spans.items() if other != angle_id for span in found)
        )
    ]
    return max(alone, key=lambda one: (one.end_s - one.start_s, -one.start_s), default=None)


def _handles_off(spans: Spans, handle: float, song_end_s: float) -> Spans:
    """The stretches without a handle at either side; at the song's own ends nothing is cut."""
    found = []
    for start, end in spans:
        low = start if at_start(start) else start + handle
        high = end if at_end(end, song_end_s) else end - handle
        if low < high:
            found.append((low, high))
    return tuple(found)


def _shared(span: Span, bar: BarSpan) -> float:
    return min(span[1], bar.end_s) - max(span[0], bar.start_s)
