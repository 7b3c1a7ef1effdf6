"""The string-out in whole frames."""

from collections import Counter
from itertools import groupby

from app.handoff.choices import Choices, start_number
from app.handoff.layout import song_frames, take_name, timeline_rate
from app.handoff.outcome import HandoffError, count, plain
from app.handoff.sequences.fitting import fitted
from app.handoff.sequences.names_of import string_out_name
from app.handoff.sequences.sequence import Item, Kind, Note, Sequence, SongPiece
from app.model.coverage.passages import bars_words
from app.model.coverage.subjects import known_subjects, shows
from app.model.document.song import Song
from app.model.on_song import SongView
from app.model.string_out.string_out import About, Part, StringOut, string_out
from app.model.timebase import nearest_frame, rate_words


def string_out_sequence(shoot: SongView, choices: Choices) -> tuple[Song, Sequence]:
    """The song and the string-out that is chosen. Raises HandoffError where there is nothing to show."""
    if shoot.song is None:
        raise HandoffError("There is no song yet, so there is no string-out. Choose the song first.")
    wish = choices.string_out
    if wish.about is About.SUBJECT and not any(shows(angle, wish.subject) for angle in shoot.angles):
        known = plain(", ".join(known_subjects(shoot.angles)))
        raise HandoffError(
            f"No angle shows {plain(wish.subject)!r}, so there is no string-out of it. Angles show: {known}."
        )
    found = string_out(shoot, wish.about, wish.subject, wish.order)
    rate = choices.rate or timeline_rate(shoot)
    end = song_frames(shoot.song, rate)
    items: list[Item] = []
    notes: list[Note] = []
    for place, parts in groupby(found.parts, key=lambda part: part.place):
        begins = items[-1].end if items else 0
        for part in parts:
            first, last = (nearest_frame(s, rate) for s in (part.start_s, part.end_s))
            segment = fitted(
                part.clip, part.take, part.usable, max(0, first), min(last, end), rate, whole=False
            )
            if segment is not None:
                at = items[-1].end if items else 0
                items.append(
                    Item(at=at, segment=segment, name=_name(part), words=_words(part), told=_told(part))
                )
        ends = items[-1].end if items else 0
        if ends > begins:
            notes.append(Note(begins, ends - begins, "section", place.words, place.why))
    if not items:
        raise HandoffError(_nothing(wish.about))
    return shoot.song, Sequence(
        kind=Kind.STRING_OUT,
        title=f"{shoot.name} {string_out_name(choices)}".strip(),
        rate=rate,
        start=start_number(choices.start, rate),
        choices=choices,
        items=tuple(items),
        song=tuple(SongPiece(one.at, one.segment.position, one.segment.length) for one in items),
        notes=tuple(notes),
        told={"about": wish.about.value, "subject": plain(wish.subject), "order": wish.order.value},
        lines=tuple(_lines(found, items, notes, choices, rate_words(rate))),
    )


def _name(part: Part) -> str:
    """What a piece is called, with its bars where it shows only some of its place."""
    name = f"{part.place.words}: {part.angle.name}"
    middles = [(bar.number, (bar.start_s + bar.end_s) / 2) for bar in part.place.bars]
    shown = [number for number, middle_s in middles if part.start_s <= middle_s < part.end_s]
    return name if not shown or len(shown) == len(middles) else f"{name}, {bars_words(shown[0], shown[-1])}"


def _words(part: Part) -> str:
    told = [plain(take_name(part.clip, part.take))]
    if part.keeper_s:
        whole = part.keeper_s > part.end_s - part.start_s - 1e-6
        told.append("keeper" if whole else f"keeper for {part.keeper_s:.1f} s of it")
    if part.angle.safety:
        told.append("safety")
    return "; ".join([*told, *([part.place.why] if part.place.why else [])])


def _told(part: Part) -> dict[str, object]:
    return {
        "section_id": part.place.section.id,
        "section": plain(part.place.words),
        "angle": plain(part.angle.name),
        "part_start_s": part.start_s,
        "part_end_s": part.end_s,
        "keeper_s": part.keeper_s,
    }


def _lines(found: StringOut, items: list[Item], notes: list[Note], choices: Choices, rate: str) -> list[str]:
    angles = len({item.told["angle"] for item in items})
    minutes, seconds = divmod(round(float(items[-1].end / items[-1].segment.timeline_rate)), 60)
    each = Counter(note.name for note in notes)
    lines = [
        f"String-out at {rate} fps from {choices.start}: {count(len(items), 'piece')} of "
        f"{count(angles, 'angle')} in {count(len(each), 'place')}, {minutes}:{seconds:02} long, with the "
        "song's sound.",
        "Faults, takes in doubt and handles are left out.",
    ]
    if found.too_short:
        lines.append(f"{count(found.too_short, 'piece')} too short to show a bar: left out.")
    return lines


def _nothing(about: About) -> str:
    return {
        About.SECTION: "No take can be used yet, so there is no string-out. Decide on the takes in Check.",
        About.SUBJECT: "No take of this subject can be used yet, so there is no string-out of it.",
        About.KEEPERS: "Nothing is marked as a keeper yet, so there is no string-out of keepers. Mark some "
        "in Score.",
        About.NEEDS: "Every need is met, or nothing can be used where one is not, so there is no string-out "
        "of needs.",
    }[about]
