"""An event list as text, in the manner of SMPTE ST 258: an event for every take of one lane.

Seven-bit text, lines ended with CR and LF, outs exclusive. The time base is told as the standard tells it, by
``TIME_CODE_MODULUS`` and the frames to a second of labels; drop-frame labels have a semicolon before the
frames. (The standard itself was not at hand; its statements are taken from stored texts about it.)

All labels of a list count in its time base, see `source_labels`. The length of an event's source
is what the take uses of it, in the source's labels; where that is not the length on the record side, a note
tells the speed or the rate. What a list cannot say at all, the rest below a frame and drift, stands in notes
too: lines that begin with an asterisk, below their event.
"""

from collections.abc import Iterator, Mapping
from fractions import Fraction
from pathlib import PurePath

from app.handoff.event_list.source_labels import source_label
from app.handoff.laying import TOLD_FRAMES, Laid, Lane, Laying, take_name
from app.handoff.outcome import HandoffError
from app.model.document.verdict import Verdict
from app.model.on_song import SongView
from app.model.reasons import sentence
from app.model.timebase import TIMECODE_RATES, rate_text, rate_words, timecode

END = "\r\n"
OURS = "* WRITTEN BY ANGLEBOOK"
"""Third line of every list of ours."""
LONGEST_TITLE = 70


def to_text(shoot: SongView, laying: Laying, lane: Lane, ids: Mapping[str, str]) -> str:
    """The list of one lane; ``ids`` are those of the sources, by clip id.

    Raises HandoffError where its rate has no timecode.
    """
    if laying.rate not in TIMECODE_RATES:
        raise HandoffError(
            f"There is no timecode at {rate_words(laying.rate)} frames per second, so there are no event "
            "lists. Choose another rate for the timeline."
        )
    return END.join([*_lines(shoot, laying, lane, ids), ""])


def ascii_words(text: str) -> str:
    """Any text in seven bits and on one line; what has no letter there is written by its number.

    >>> ascii_words("Grüße\\n🎻")
    'Gr\\\\xfc\\\\xdfe\\\\n\\\\U0001f3bb'
    """
    shown = "".join(c if c.isprintable() else c.encode("unicode_escape", "replace").decode() for c in text)
    return shown.encode("ascii", errors="backslashreplace").decode()


def _lines(shoot: SongView, laying: Laying, lane: Lane, ids: Mapping[str, str]) -> Iterator[str]:
    drop, base = laying.choices.drop_frame, round(laying.rate)
    yield f"TITLE: {ascii_words(f'{shoot.name} - {lane.name}')[:LONGEST_TITLE]}"
    yield f"TIME_CODE_MODULUS: {base}"
    yield OURS
    counted = ", DROP-FRAME LABELS" if drop else ""
    yield f"* {base} FRAMES TO A SECOND OF LABELS, {rate_words(laying.rate)} TO A SECOND OF TIME{counted}"
    yield f"* THE SONG STARTS AT {laying.choices.start}; OUTS ARE EXCLUSIVE"
    if lane.doubtful:
        yield "* TAKES IN DOUBT: DECIDE THEM BEFORE USING THIS LIST"
    for clip in {one.clip.id: one.clip for one in lane.takes}.values():
        rate = "SOUND ONLY" if clip.frame_rate is None else f"{rate_words(clip.frame_rate)} A SECOND"
        yield f"* SOURCE {ids[clip.id]} IS {ascii_words(PurePath(clip.media.path).name)}, {rate}"
    for number, one in enumerate(lane.takes, 1):
        frames = (Fraction(one.first_frame), one.first_frame + one.source_frames)
        source = [source_label(one.clip, one.rate, at, laying.rate, drop)[0] for at in frames]
        at = (laying.start + one.position, laying.start + one.end)
        record = [timecode(frame, laying.rate, drop_frame=drop) for frame in at]
        channel = "A" if lane.sound else "V"
        yield f"{number:03}  {ids[one.clip.id]:8} {channel:5} C        {' '.join([*source, *record])}"
        for note in _notes(one, laying, drop):
            yield f"* {note}"


def _notes(one: Laid, laying: Laying, drop: bool) -> Iterator[str]:
    yield f"TAKE {ascii_words(take_name(one.clip, one.take))}"
    if one.pieces > 1:
        yield f"PIECE {one.piece} OF {one.pieces}, CUT WHERE SECTIONS BEGIN"
    yield f"REST {round(one.remainder_s, 9) + 0.0:+.9f} S: SONG TIME OF ITS FIRST FRAME, MINUS RECORD IN"
    if one.nominal != 1:
        yield f"SPEED {rate_text(one.nominal)}: SECONDS OF SONG TO A SECOND OF SOURCE"
    if one.rate != laying.rate:
        rest = source_label(one.clip, one.rate, Fraction(one.first_frame), laying.rate, drop)[1]
        yield (
            f"RATE {rate_text(one.rate)}: SOURCE FRAMES A SECOND; BEGINS WITH FRAME {one.first_frame} "
            f"FROM 0, {float(rest):.3f} FRAME AFTER SOURCE IN"
        )
    if abs(one.late_frames) >= TOLD_FRAMES:
        which = "LATE" if one.late_frames > 0 else "EARLY"
        yield f"DRIFT {one.drift_ppm:+.1f} PPM: {abs(one.late_frames):.2f} SOURCE FRAME {which} BY ITS END"
    if one.clip.note:
        yield f"NOTE {ascii_words(one.clip.note)}"
    if one.take.verdict is Verdict.DOUBTFUL:
        yield f"IN DOUBT: {ascii_words(sentence(one.take.reason))}"
