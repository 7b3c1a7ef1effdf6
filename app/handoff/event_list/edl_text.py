"""An event list as text, in the manner of SMPTE ST 258: one event per segment of a track.

Lines are ASCII and end with CR LF; out points are exclusive. The time base is given as in the standard, by
``TIME_CODE_MODULUS`` and the number of frames per second of timecode; drop-frame timecode has a semicolon
before the frames. (The standard itself was not at hand; this follows texts about it.)

All timecodes of a list count in its own time base, see `source_labels`. An event's source length is what the
take uses, in the source's timecode; where it differs from the record length, a note gives the speed or the
rate. What a list cannot carry at all, the sub-frame offset and drift, is in notes too: lines that
start with an asterisk, below their event.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from pathlib import PurePath

from app.handoff.event_list.source_labels import source_label
from app.handoff.layout import DRIFT_MATTERS_FRAMES, Layout, Segment, Track, take_name
from app.handoff.outcome import HandoffError
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView
from app.model.reasons import sentence
from app.model.timebase import TIMECODE_RATES, rate_text, rate_words, timecode

END = "\r\n"
OURS = "* WRITTEN BY ANGLEBOOK"
"""Third line of every list of ours."""
LONGEST_TITLE = 70


def to_text(shoot: SongView, layout: Layout, track: Track, ids: Mapping[str, str]) -> str:
    """The list of one track; ``ids`` are the source ids by clip id.

    Raises HandoffError where there is no timecode at its rate.
    """
    if layout.rate not in TIMECODE_RATES:
        raise HandoffError(no_timecode(layout.rate))
    return END.join([*_lines(shoot, layout, track, ids), ""])


def no_timecode(rate: Fraction) -> str:
    """Why there are no event lists at a rate, and what to do."""
    return (
        f"There is no timecode at {rate_words(rate)} fps, so there are no event lists. Choose another frame "
        "rate."
    )


def ascii_words(text: str) -> str:
    """Any text as ASCII on one line; other characters are escaped by their number.

    >>> ascii_words("Grüße\\n🎻")
    'Gr\\\\xfc\\\\xdfe\\\\n\\\\U0001f3bb'
    """
    shown = "".join(c if c.isprintable() else c.encode("unicode_escape", "replace").decode() for c in text)
    return shown.encode("ascii", errors="backslashreplace").decode()


def _lines(shoot: SongView, layout: Layout, track: Track, ids: Mapping[str, str]) -> Iterator[str]:
    drop = layout.choices.drop_frame
    yield from head_lines(f"{shoot.name} - {track.name}", OURS, layout.rate, drop)
    yield f"* THE SONG STARTS AT {layout.choices.start}; OUTS ARE EXCLUSIVE"
    if track.doubtful:
        yield "* TAKES IN DOUBT: CHECK THEM BEFORE USING THIS LIST"
    yield from source_lines((one.clip for one in track.segments), ids)
    for number, one in enumerate(track.segments, 1):
        channel = "A" if track.sound else "V"
        at = layout.start + one.position
        yield event_line(number, one, ids[one.clip.id], channel, at, drop)
        yield from event_notes(one, drop)


def head_lines(title: str, ours: str, rate: Fraction, drop: bool) -> Iterator[str]:
    """How every list begins; its third line is ``ours``."""
    base = round(rate)
    yield f"TITLE: {ascii_words(title)[:LONGEST_TITLE]}"
    yield f"TIME_CODE_MODULUS: {base}"
    yield ours
    counted = ", DROP-FRAME" if drop else ""
    yield f"* TIMECODE BASE {base}, {rate_words(rate)} FPS{counted}"


def source_lines(clips: Iterable[Clip], ids: Mapping[str, str]) -> Iterator[str]:
    """What each source id stands for, each clip once."""
    for clip in {clip.id: clip for clip in clips}.values():
        rate = "SOUND ONLY" if clip.frame_rate is None else f"{rate_words(clip.frame_rate)} FPS"
        yield f"* SOURCE {ids[clip.id]} IS {ascii_words(PurePath(clip.media.path).name)}, {rate}"


def event_line(number: int, one: Segment, source_id: str, channel: str, at: int, drop: bool) -> str:
    """The event of a segment that is recorded from frame ``at`` on, counted from 00:00:00:00."""
    frames = (Fraction(one.first_frame), one.first_frame + one.source_frames)
    source = [source_label(one.clip, one.rate, frame, one.timeline_rate, drop)[0] for frame in frames]
    return as_event(number, source_id, channel, source, at, one.length, one.timeline_rate, drop)


def as_event(
    number: int,
    source_id: str,
    channel: str,
    source: Sequence[str],
    at: int,
    length: int,
    rate: Fraction,
    drop: bool,
) -> str:
    """The line of an event: the labels of its source, and so many frames recorded from frame ``at`` on."""
    record = [timecode(frame, rate, drop_frame=drop) for frame in (at, at + length)]
    return f"{number:03}  {source_id:8} {channel:5} C        {' '.join([*source, *record])}"


def event_notes(one: Segment, drop: bool, under: str = "RECORD IN") -> Iterator[str]:
    """What an event cannot say of a segment, as notes; ``under`` tells what its offset is counted from."""
    for note in _notes(one, drop, under):
        yield f"* {note}"


def _notes(one: Segment, drop: bool, under: str) -> Iterator[str]:
    yield f"TAKE {ascii_words(take_name(one.clip, one.take))}"
    if one.pieces > 1:
        yield f"PIECE {one.piece} OF {one.pieces}, CUT WHERE SECTIONS BEGIN"
    offset_s = round(one.sub_frame_offset_s, 9) + 0.0
    yield f"SUB-FRAME OFFSET {offset_s:+.9f} S: SONG TIME OF ITS FIRST FRAME, MINUS {under}"
    if one.nominal != 1:
        yield f"SPEED {rate_text(one.nominal)}: SECONDS OF SONG PER SECOND OF SOURCE"
    if one.rate != one.timeline_rate:
        part = source_label(one.clip, one.rate, Fraction(one.first_frame), one.timeline_rate, drop)[1]
        yield (
            f"RATE {rate_text(one.rate)}: SOURCE FRAMES PER SECOND; BEGINS WITH FRAME {one.first_frame} "
            f"FROM 0, {float(part):.3f} FRAME AFTER SOURCE IN"
        )
    if abs(one.late_frames) >= DRIFT_MATTERS_FRAMES:
        which = "LATE" if one.late_frames > 0 else "EARLY"
        yield f"DRIFT {one.drift_ppm:+.1f} PPM: {abs(one.late_frames):.2f} SOURCE FRAME {which} BY ITS END"
    if one.clip.note:
        yield f"NOTE {ascii_words(one.clip.note)}"
    if one.take.verdict is Verdict.DOUBTFUL:
        yield f"IN DOUBT: {ascii_words(sentence(one.take.reason))}"
