"""Reads an event list back, from its own lines alone, and compares it with the shoot.

As in any reader of such lists, a line is split at its blanks. An event has eight fields, or the list is not
ours.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from app.handoff.event_list.edl_text import END, OURS
from app.handoff.event_list.source_labels import counts_dropped
from app.handoff.layout import Layout, Track, start_frame
from app.handoff.outcome import HandoffError
from app.model.on_song import Clip, SongView, Take
from app.model.speeds import LARGEST_DRIFT_PPM
from app.model.timebase import frame_number, timecode

_EVENT = re.compile(r"\d{3,}  ")
_SAME_S = 2e-9
"""Lists give the sub-frame offset to a nanosecond."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One event as read from a list; times and lengths in frames of the list."""

    number: int
    source: str
    channel: str
    source_in: int
    source_length: int
    record_in: int
    record_length: int
    source_label: str
    notes: tuple[str, ...]

    def note(self, word: str) -> str | None:
        """The rest of the note that starts with these words; None where no note does."""
        return next((note[len(word) + 1 :] for note in self.notes if note.startswith(f"{word} ")), None)


def read_events(text: str, rate: Fraction, ours: str = OURS) -> list[Event]:
    """The events of a list whose third line is ``ours``. Raises ValueError where a line is not one of it."""
    lines = text.split(END)
    if lines.pop() != "" or not lines[0].startswith("TITLE: ") or lines[2] != ours:
        raise ValueError("it does not begin or end as a list does")
    if lines[1] != f"TIME_CODE_MODULUS: {round(rate)}":
        raise ValueError(f"its time base is not {round(rate)}")
    events: list[Event] = []
    heads: list[list[str]] = []
    notes: list[list[str]] = []
    for line in lines[2:]:
        if line.startswith("* "):
            if notes:
                notes[-1].append(line[2:])
        elif _EVENT.match(line) and len(line.split()) == 8:
            heads.append(line.split())
            notes.append([])
        else:
            raise ValueError(f"{line!r} is neither an event nor a note")
    for head, below in zip(heads, notes, strict=True):
        number, source, channel, kind, *labels = head
        if kind != "C":
            raise ValueError(f"event {number} is no cut")
        at = [frame_number(label, rate) for label in labels]
        days = [day_frames(label, rate) for label in labels]
        events.append(
            Event(
                number=int(number),
                source=source,
                channel=channel,
                source_in=at[0],
                source_length=(at[1] - at[0]) % days[0],
                record_in=at[2],
                record_length=(at[3] - at[2]) % days[2],
                source_label=labels[0],
                notes=tuple(below),
            )
        )
    return events


def check(
    data: bytes, shoot: SongView, layout: Layout, track: Track, ids: Mapping[str, str], name: str
) -> None:
    """Compare a list with the shoot it was made from. Raises HandoffError."""
    try:
        complaints = list(_complaints(data.decode("ascii"), shoot, layout, track, ids))
    except ValueError as error:
        complaints = [str(error)]
    if complaints:
        raise HandoffError(
            f"{name} was not written, because it does not match the shoot: {complaints[0]}. "
            "Please report this."
        )


def _complaints(
    text: str, shoot: SongView, layout: Layout, track: Track, ids: Mapping[str, str]
) -> Iterable[str]:
    events = read_events(text, layout.rate)
    clips = {ids[clip.id]: clip for clip in shoot.clips}
    if [event.number for event in events] != list(range(1, len(track.segments) + 1)):
        yield f"it holds {len(events)} events instead of {len(track.segments)}"
        return
    end = 0
    day = day_frames(layout.choices.start, layout.rate)
    for event, one in zip(events, track.segments, strict=True):
        where = f"event {event.number}"
        clip = clips.get(event.source)
        if clip is None or clip.id != one.clip.id:
            yield f"{where} names another source"
            continue
        position = (event.record_in - layout.start) % day
        if position < end:
            yield f"{where} overlaps the one before it"
        end = position + event.record_length
        if event.channel != ("A" if clip.frame_rate is None else "V"):
            yield f"{where} is on the wrong channel"
        yield from about_event(
            event, where, clip, one.take, layout.rate, position, list_dropped=layout.choices.drop_frame
        )


def about_event(
    event: Event,
    where: str,
    clip: Clip,
    take: Take,
    list_rate: Fraction,
    position: int,
    *,
    list_dropped: bool,
) -> Iterable[str]:
    """What is wrong with an event of a take that begins on frame ``position`` of the song."""
    rate = clip.frame_rate or list_rate
    offset, other_rate, speed = event.note("SUB-FRAME OFFSET"), event.note("RATE"), event.note("SPEED")
    if offset is None:
        yield f"{where} does not give its sub-frame offset"
        return
    if event.source_length != event.record_length and other_rate is None and speed is None:
        yield f"{where} is {event.source_length} frames of source and {event.record_length} of record"
    if (other_rate is None) != (rate == list_rate):
        yield f"{where} gives the wrong rate"
        return
    began = start_frame(clip) or 0
    if other_rate is None:
        first = (event.source_in - began) % day_frames(event.source_label, rate)
    else:
        found = re.search(r"FRAME (\d+) FROM 0, (\d\.\d{3}) FRAME AFTER", other_rate)
        if found is None:
            yield f"{where} does not give its first frame"
            return
        first = int(found[1])
        off = abs(
            _label_s(event.source_label, list_rate, float(found[2]))
            - _own_label_s(clip, first, rate, list_dropped)
        )
        if min(off, abs(off - 86400)) > 1e-3 / float(list_rate) + 1e-9:
            yield f"{where} gives a source timecode {off:.4f} s from its frame"
    start_s = position / float(list_rate) + float(offset.split(" ")[0])
    first_s = first / float(rate)
    if abs(start_s - take.song_time(first_s)) > _SAME_S:
        yield f"{where} is {start_s - take.song_time(first_s):.9f} s off"
    nominal = float(Fraction(speed.split(":")[0])) if speed else 1.0
    length_s = event.record_length / float(list_rate)
    drift_s = length_s * LARGEST_DRIFT_PPM / 1e6
    if abs(length_s / nominal * take.speed - length_s) > drift_s + _SAME_S:
        yield f"{where} gives the wrong speed"
    if first_s + length_s / nominal > min(take.clip_end_s, clip.duration_s) + 1 / float(rate):
        yield f"{where} uses more than its take"


def day_frames(label: str, rate: Fraction) -> int:
    """Frames in 24 hours of timecode, drop-frame where the label is."""
    last = frame_number(f"23:59:59{label[8]}{round(rate) - 1:02}", rate)
    return last + 1


def _label_s(label: str, rate: Fraction, part: float) -> float:
    """Timecode seconds since midnight of a label and a part of a frame."""
    hours, minutes, seconds, frames = (int(part) for part in re.split("[:;]", label))
    return hours * 3600 + minutes * 60 + seconds + (frames + part) / round(rate)


def _own_label_s(clip: Clip, first: int, rate: Fraction, list_dropped: bool) -> float:
    """Timecode seconds since midnight, in the clip's own timecode, at one of its frames."""
    number = (start_frame(clip) or 0) + first
    try:
        label = timecode(number, rate, drop_frame=counts_dropped(clip, list_dropped))
    except ValueError:
        return number / round(rate)
    return _label_s(label, rate, 0.0)
