"""An event list as text, in the manner of SMPTE ST 258: one event per segment of a track.

Lines are ASCII and end with CR LF; out points are exclusive. The time base is given as in the standard, by
``TIME_CODE_MODULUS`` and the number of frames per second of timecode; drop-frame timecode has a semicolon
before the frames. (The standard itself was not at hand; this follows texts about it.)

All timecodes of a list count in its own time base, see `source_labels`. An event's source length is what the
take uses, in the source's timecode; where it differs from the record length, a note gives the speed or the
rate. What a list cannot carry at all, the sub-frame offset and drift, is in notes too: lines that
start with an asterisk, below their event.
"""

from collections.abc import Iterator, Mapping
from fractions import Fraction
from pathlib import PurePath

from app.handoff.event_list.source_labels import source_label
from app.handoff.layout import DRIFT_MATTERS_FRAMES, Layout, Segment, Track, take_name
from app.handoff.outcome import HandoffError
from app.model.document.verdict import Verdict
from app.model.on_song import SongView
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
        raise HandoffError(
            f"There is no timecode at {rate_words(layout.rate)} fps, so there are no event "
            "lists. Choose another frame rate."
        )
    return END.join([*_lines(shoot, layout, track, ids), ""])


def ascii_words(text: str) -> str:
    """Any text as ASCII on one line; other characters are escaped by their number.

    >>> ascii_words("Grüße\\n🎻")
    'Gr\\\\xfc\\\\xdfe\\\\n\\\\U0001f3bb'
    """
    shown = "".join(c if c.isprintable() else c.encode("unicode_escape", "replace").decode() for c in text)
    return shown.encode("ascii", errors="backslashreplace").decode()


def _lines(shoot: SongView, layout: Layout, track: Track, ids: Mapping[str, str]) -> Iterator[str]:
    drop, base = layout.choices.drop_frame, round(layout.rate)
    yield f"TITLE: {ascii_words(f'{shoot.name} - {track.name}')[:LONGEST_TITLE]}"
    yield f"TIME_CODE_MODULUS: {base}"
    yield OURS
    counted = ", DROP-FRAME" if drop else ""
    yield f"* TIMECODE BASE {base}, {rate_words(layout.rate)} FPS{counted}"
    yield f"* THE SONG STARTS AT {layout.choices.start}; OUTS ARE EXCLUSIVE"
    if track.doubtful:
        yield "* TAKES IN DOUBT: CHECK THEM BEFORE USING THIS LIST"
    for clip in {one.clip.id: one.clip for one in track.segments}.values():
        rate = "SOUND ONLY" if clip.frame_rate is None else f"{rate_words(clip.frame_rate)} FPS"
        yield f"* SOURCE {ids[clip.id]} IS {ascii_words(PurePath(clip.media.path).name)}, {rate}"
    for number, one in enumerate(track.segments, 1):
        frames = (Fraction(one.first_frame), one.first_frame + one.source_frames)
        source = [source_label(one.clip, one.rate, at, layout.rate, drop)[0] for at in frames]
        at = (layout.start + one.position, layout.start + one.end)
        record = [timecode(frame, layout.rate, drop_frame=drop) for frame in at]
        channel = "A" if track.sound else "V"
        yield f"{number:03}  {ids[one.clip.id]:8} {channel:5} C        {' '.join([*source, *record])}"
        for note in _notes(one, layout, drop):
            yield f"* {note}"


def _notes(one: Segment, layout: Layout, drop: bool) -> Iterator[str]:
    yield f"TAKE {ascii_words(take_name(one.clip, one.take))}"
    if one.pieces > 1:
        yield f"PIECE {one.piece} OF {one.pieces}, CUT WHERE SECTIONS BEGIN"
    offset_s = round(one.sub_frame_offset_s, 9) + 0.0
    yield f"SUB-FRAME OFFSET {offset_s:+.9f} S: SONG TIME OF ITS FIRST FRAME, MINUS RECORD IN"
    if one.nominal != 1:
        yield f"SPEED {rate_text(one.nominal)}: SECONDS OF SONG PER SECOND OF SOURCE"
    if one.rate != layout.rate:
        part = source_label(one.clip, one.rate, Fraction(one.first_frame), layout.rate, drop)[1]
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
