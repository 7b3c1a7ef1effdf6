"""The first pass in whole frames, and below each shot what could be shown instead."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from app.handoff.choices import Choices, start_number
from app.handoff.layout import song_frames, timeline_rate
from app.handoff.outcome import HandoffError, count, plain
from app.handoff.sequences.chosen_pass import chosen_pass
from app.handoff.sequences.fitting import fitted, with_edges
from app.handoff.sequences.names_of import first_pass_name
from app.handoff.sequences.sequence import Item, Kind, Note, Row, Sequence, SongPiece
from app.model.coverage.usable import usable_takes
from app.model.document.song import Song
from app.model.first_pass.result import FirstPass, Shot, Unsatisfied
from app.model.first_pass.solver import FIRST_PASS
from app.model.on_song import SongView
from app.model.song_map.bar_spans import section_words, song_sections
from app.model.string_out.string_out import NO_ANGLE
from app.model.timebase import nearest_frame, rate_words

MOST_TOLD = 24
"""Most sentences on what no rule could satisfy."""


@dataclass(frozen=True, slots=True)
class MadePass:
    """A first pass, and its frames."""

    song: Song
    found: FirstPass
    sequence: Sequence


def first_pass_sequence(shoot: SongView, choices: Choices) -> MadePass:
    """The first pass that is chosen. Raises HandoffError where there is nothing to show."""
    song = shoot.song
    if song is None:
        raise HandoffError("There is no song yet, so there is no first pass. Choose the song first.")
    rate = choices.rate or timeline_rate(shoot)
    found = _seen(chosen_pass(shoot, choices.first_pass, rate), song, rate)
    angles = {angle.id: angle for angle in shoot.angles}
    fit = _Fit(shoot, song, rate)
    items: list[Item] = []
    rows: dict[tuple[str, int], list[Item]] = {}
    for number, shot in enumerate(found.shots, 1):
        name = f"{number} {angles.get(shot.angle_id, NO_ANGLE).name}"
        item = fit.item(shot, shot.take_id, name, plain(shot.reason), _told(number, shot))
        if item is None:
            continue
        items.append(item)
        beside: dict[str, int] = {}
        for take_id in shot.others:
            other = fit.item(shot, take_id, "", "", {"instead_of": number}, whole=True)
            if other is not None:
                angle_id = other.segment.clip.angle_id
                beside[angle_id] = beside.get(angle_id, 0) + 1
                rows.setdefault((angle_id, beside[angle_id]), []).append(other)
    if not items:
        raise HandoffError(
            "No take can be used yet, so there is no first pass. Decide on the takes in Check."
        )
    whole = SongPiece(0, 0, song_frames(song, rate))
    # Safeties are the lowest tracks, as on the timeline of all takes.
    order = [NO_ANGLE, *sorted(shoot.angles, key=lambda angle: not angle.safety)]
    sequence = Sequence(
        kind=Kind.FIRST_PASS,
        title=f"{shoot.name} {first_pass_name(choices)}".strip(),
        rate=rate,
        start=start_number(choices.start, rate),
        choices=choices,
        items=tuple(items),
        song=(whole,),
        others=tuple(
            Row(angle.name if number == 1 else f"{angle.name} {number}", tuple(rows[angle.id, number]))
            for angle in order
            for number in sorted((n for own, n in rows if own == angle.id), reverse=True)
        ),
        notes=tuple(_notes(found, song, rate)),
        told={"version": plain(found.name)},
        lines=tuple(_lines(found, items, song, choices, rate)),
    )
    return MadePass(song, found, sequence)


def _seen(found: FirstPass, song: Song, rate: Fraction) -> FirstPass:
    """Without shots and gaps of which no frame is seen."""

    def seen(one: Shot | Unsatisfied) -> bool:
        start, end = _frames(one, song, rate)
        return end > start

    shots = tuple(filter(seen, found.shots))
    told = tuple(one for one in found.unsatisfied if not one.gap or seen(one))
    return replace(found, shots=shots, unsatisfied=told)


def _frames(one: Shot | Unsatisfied, song: Song, rate: Fraction) -> tuple[int, int]:
    """The first frame of the song that it fills, and the first one after it."""
    end = song_frames(song, rate)
    return min(end, nearest_frame(one.song_start_s, rate)), min(end, nearest_frame(one.song_end_s, rate))


class _Fit:
    """Puts takes on the frames of a shot."""

    def __init__(self, shoot: SongView, song: Song, rate: Fraction) -> None:
        # A cut that is rounded to a frame may use a little of a handle, and never of a fault.
        bare = replace(shoot, plan=replace(shoot.plan, handle_frames=0))
        self._takes = {one.take.id: one for one in usable_takes(bare) if not one.doubtful}
        self._song, self._rate = song, rate

    def item(
        self,
        shot: Shot,
        take_id: str,
        name: str,
        words: str,
        told: dict[str, object],
        *,
        whole: bool = False,
    ) -> Item | None:
        """A take for all of a shot; unless it must be ``whole``, for as much of it as there are frames."""
        one = self._takes.get(take_id)
        if one is None or one.clip.frame_rate is None:
            return None
        start, end = _frames(shot, self._song, self._rate)
        usable = max(one.usable, key=lambda span: _shared(span, shot), default=(0.0, 0.0))
        usable = with_edges(one.clip, one.take, usable, self._song.duration_s)
        segment = fitted(one.clip, one.take, usable, start, end, self._rate, whole=True)
        if segment is None and not whole:
            segment = fitted(one.clip, one.take, usable, start, end, self._rate, whole=False)
        if segment is None:
            return None
        return Item(at=segment.position, segment=segment, name=name, words=words, told=told)


def _shared(span: tuple[float, float], shot: Shot) -> float:
    return min(span[1], shot.song_end_s) - max(span[0], shot.song_start_s)


def _told(number: int, shot: Shot) -> dict[str, object]:
    return {
        "number": number,
        "reason": plain(shot.reason),
        "song_start_s": shot.song_start_s,
        "song_end_s": shot.song_end_s,
        "first_bar": shot.first_bar,
        "last_bar": shot.last_bar,
    }


def _notes(found: FirstPass, song: Song, rate: Fraction) -> Iterator[Note]:
    """Sections, and the bars that no rule could satisfy."""
    for section in song_sections(song):
        at, end = (nearest_frame(s, rate) for s in (section.start_s, section.end_s))
        yield Note(at, end - at, "section", section_words(section))
    for one in found.unsatisfied:
        at, end = _frames(one, song, rate)
        yield Note(at, end - at, "unsatisfied", "nothing to show" if one.gap else "rules", one.words)


def _lines(
    found: FirstPass, items: list[Item], song: Song, choices: Choices, rate: Fraction
) -> Iterator[str]:
    takes = len({item.segment.take.id for item in items})
    yield (
        f"First pass at {rate_words(rate)} fps from {choices.start}: {count(len(items), 'shot')} of "
        f"{count(takes, 'take')} over the whole song, {song_frames(song, rate)} frames. Each shot says why."
    )
    if found.name != FIRST_PASS:
        yield f"Cut by the rules of {plain(found.name)}."
    yield "What else can be used lies below each shot on tracks that are switched off."
    # Passages without a picture come first.
    told = sorted(found.unsatisfied, key=lambda one: not one.gap)
    for one in told[:MOST_TOLD]:
        words = plain(one.words).rstrip(".")
        yield f"{words[:1].upper()}{words[1:]}."
    if len(told) > MOST_TOLD:
        yield f"{len(told) - MOST_TOLD} more that the rules ask for and do not get; the markers tell all."
    spans = [_frames(one, song, rate) for one in found.gaps]
    gaps = sum(end - start for start, end in spans)
    lacking = song_frames(song, rate) - gaps - sum(item.segment.length for item in items)
    if lacking > 0:
        yield f"{count(lacking, 'frame')} at edges of faults or takes without a picture."
