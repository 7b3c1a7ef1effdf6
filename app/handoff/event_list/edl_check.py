"""An event list read again, by its own lines alone, and compared with the shoot.

A line is told by its words, as any reader of such lists does: eight of them, or the list is not ours.
"""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from app.handoff.event_list.edl_text import END, OURS
from app.handoff.event_list.source_labels import counts_dropped
from app.handoff.laying import Lane, Laying, start_frame
from app.handoff.outcome import HandoffError
from app.model.on_song import Clip, SongView, Take
from app.model.speeds import LARGEST_DRIFT_PPM
from app.model.timebase import frame_number, timecode

_EVENT = re.compile(r"\d{3,}  ")
_SAME_S = 2e-9
"""Rests are told to a thousand-millionth of a second."""


@dataclass(frozen=True, slots=True)
class Event:
    """One event as it was read; labels as frame numbers at the list's rate."""

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
        """What follows a word at the head of a note; None where no note has it."""
        return next((note[len(word) + 1 :] for note in self.notes if note.split(" ")[0] == word), None)


def read_events(text: str, rate: Fraction) -> list[Event]:
    """The events of a list. Raises ValueError where a line is not one of a list."""
    lines = text.split(END)
    if lines.pop() != "" or not lines[0].startswith("TITLE: ") or lines[2] != OURS:
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
        days = [_day(label, rate) for label in labels]
        events.append(
            Event(
                int(number),
                source,
                channel,
                at[0],
                (at[1] - at[0]) % days[0],
                at[2],
                (at[3] - at[2]) % days[2],
                labels[0],
                tuple(below),
            )
        )
    return events


def check(
    data: bytes, shoot: SongView, laying: Laying, lane: Lane, ids: Mapping[str, str], name: str
) -> None:
    """Compare a list with the shoot it was made from. Raises HandoffError."""
    try:
        complaints = list(_complaints(data.decode("ascii"), shoot, laying, lane, ids))
    except ValueError as error:
        complaints = [str(error)]
    if complaints:
        raise HandoffError(
            f"{name} was not written, because it does not say what the shoot says: {complaints[0]}. "
            "Please report this."
        )


def _complaints(
    text: str, shoot: SongView, laying: Laying, lane: Lane, ids: Mapping[str, str]
) -> Iterable[str]:
    events = read_events(text, laying.rate)
    clips = {ids[clip.id]: clip for clip in shoot.clips}
    if [event.number for event in events] != list(range(1, len(lane.takes) + 1)):
        yield f"it holds {len(events)} events instead of {len(lane.takes)}"
        return
    end = 0
    day = _day(laying.choices.start, laying.rate)
    for event, one in zip(events, lane.takes, strict=True):
        where = f"event {event.number}"
        clip = clips.get(event.source)
        if clip is None or clip.id != one.clip.id:
            yield f"{where} tells another source"
            continue
        position = (event.record_in - laying.start) % day
        if position < end:
            yield f"{where} overlaps the one before it"
        end = position + event.record_length
        if event.channel != ("A" if clip.frame_rate is None else "V"):
            yield f"{where} is on the wrong channel"
        yield from _about_event(event, where, clip, one.take, laying, position)


def _about_event(
    event: Event, where: str, clip: Clip, take: Take, laying: Laying, position: int
) -> Iterable[str]:
    rate = clip.frame_rate or laying.rate
    rest, told_rate, speed = event.note("REST"), event.note("RATE"), event.note("SPEED")
    if rest is None:
        yield f"{where} does not tell its rest below a frame"
        return
    if event.source_length != event.record_length and told_rate is None and speed is None:
        yield f"{where} is {event.source_length} frames of source and {event.record_length} of record"
    if (told_rate is None) != (rate == laying.rate):
        yield f"{where} does not tell its rate rightly"
        return
    began = start_frame(clip) or 0
    if told_rate is None:
        first = (event.source_in - began) % _day(event.source_label, rate)
    else:
        found = re.search(r"FRAME (\d+) FROM 0, (\d\.\d{3}) FRAME AFTER", told_rate)
        if found is None:
            yield f"{where} does not tell its first frame"
            return
        first = int(found[1])
        off = abs(
            _label_s(event.source_label, laying.rate, float(found[2]))
            - _own_label_s(clip, first, rate, laying.choices.drop_frame)
        )
        if min(off, abs(off - 86400)) > 1e-3 / float(laying.rate) + 1e-9:
            yield f"{where} tells a source label {off:.4f} s from its frame"
    start_s = position / float(laying.rate) + float(rest.split(" ")[0])
    first_s = first / float(rate)
    if abs(start_s - take.song_time(first_s)) > _SAME_S:
        yield f"{where} lies {start_s - take.song_time(first_s):.9f} s from its place"
    nominal = float(Fraction(speed.split(":")[0])) if speed else 1.0
    length_s = event.record_length / float(laying.rate)
    drift_s = length_s * LARGEST_DRIFT_PPM / 1e6
    if abs(length_s / nominal * take.speed - length_s) > drift_s + _SAME_S:
        yield f"{where} tells another speed than its take has"
    if first_s + length_s / nominal > min(take.clip_end_s, clip.duration_s) + 1 / float(rate):
        yield f"{where} uses more than its take"


def _day(label: str, rate: Fraction) -> int:
    """Frames of 24 hours of labels, by a label's way of counting."""
    last = frame_number(f"23:59:59{label[8]}{round(rate) - 1:02}", rate)
    return last + 1


def _label_s(label: str, rate: Fraction, rest: float) -> float:
    """Seconds of labels since midnight; the rest counts frames of the list."""
    hours, minutes, seconds, frames = (int(part) for part in re.split("[:;]", label))
    return hours * 3600 + minutes * 60 + seconds + (frames + rest) / round(rate)


def _own_label_s(clip: Clip, first: int, rate: Fraction, list_dropped: bool) -> float:
    """Seconds of the clip's own labels since midnight at one of its frames."""
    number = (start_frame(clip) or 0) + first
    try:
        label = timecode(number, rate, drop_frame=counts_dropped(clip, list_dropped))
    except ValueError:
        return number / round(rate)
    return _label_s(label, rate, 0.0)
