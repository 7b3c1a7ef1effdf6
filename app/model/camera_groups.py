"""Which clips came out of one camera, where no word in their names says what they show.

Told by what cameras write: the letter of a card or reel, the series of a file name's counter, make and model,
frame rate and size, and the clock. Pure: paths and facts in, groups out. The groups follow from the clips in
the order of the shoot, so a clip that comes later never moves those before it unless it proves them apart.
"""

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import PurePath

from app.model.angles import is_layout
from app.model.document.clip import FileFacts

# A reel's letter is the camera's, its number the card's: A001 and A002 are two cards of camera A.
_REEL_NAME = re.compile(r"^([A-Z])\d{3}[_-]?(?:\d+_)?C\d{3}", re.IGNORECASE)
_REEL_FOLDER = re.compile(
    r"^(?:(?:CARD|REEL|ROLL|MAG)[ _-]?)?([A-Z])[ _-]?(?:\d{1,4}(?:[_-][A-Z0-9]+)*)?$", re.IGNORECASE
)
_SERIES = re.compile(r"^(.*?)(\d+)(?:\s*\(\d+\)|\s+\d+)?$")
# "20260411_201530", maybe with letters before and behind: the name tells the time at which a clip begins.
_DATED = re.compile(
    r"^([A-Z]*)[_-]?(20\d{2})-?(\d{2})-?(\d{2})[_ -]?(\d{2})[.-]?(\d{2})[.-]?(\d{2})(?!\d{4})", re.IGNORECASE
)
_DAY_NAMED = re.compile(r"^([A-Z]*)[_-]?20\d{6}(?!\d)", re.IGNORECASE)
# Chapters of one recorder: two letters of which the second tells the coding, two figures of the chapter.
_CHAPTERED = re.compile(r"^(G)[A-Z](\d{2})(\d{4})$", re.IGNORECASE)
# Folder 101 follows folder 100 in one camera (JEITA CP-3461).
_FOLDER_NUMBERED = re.compile(r"^([A-Z])(\d{3})(\d{4})$", re.IGNORECASE)
_SOUND = frozenset(
    [".wav", ".flac", ".mp3", ".m4a", ".aac", ".ogg", ".opus", ".aif", ".aiff", ".caf", ".wma", ".w64"]
)
_PHONE_SERIES = frozenset({"VID", "PXL", "IMG"})
FAR_NUMBERS = 1000
"""File numbers so far apart are two cameras': nobody takes that many pictures between two takes of a song."""
TOGETHER_S = 2.0
"""Clips that share more than this ran at the same time. Clocks in files tell whole seconds."""


@dataclass(frozen=True, slots=True)
class Filed:
    """What grouping reads of a clip."""

    path: str
    facts: FileFacts = field(default_factory=FileFacts)


@dataclass(frozen=True, slots=True)
class Camera:
    """The clips of one camera."""

    members: tuple[int, ...]
    """Indices of the clips, rising."""
    letter: str = ""
    """Of its cards or reels; empty where they have none."""
    kind: str = "Camera"
    """``Camera``, ``Phone`` or ``Recorder``, as far as names tell."""


@dataclass(frozen=True, slots=True)
class _Named:
    """What a path tells of its camera."""

    reel: str
    """The letter of its card or reel; empty without one."""
    series: str
    """What stands before the counter; the same for all files of a reel that names them itself."""
    number: int | None
    """The counter's; None where the name has none."""
    kind: str


def cameras(clips: Sequence[Filed]) -> tuple[Camera, ...]:
    """Group clips by camera, in the order of each camera's first clip.

    Clips whose file was not read yet count with the first camera that their path leaves open.

    >>> shoot = ["A001/A001C001.MOV", "B001/B001C001.MOV", "A002/A002C001.MOV", "DCIM/100/IMG_0007.MOV"]
    >>> [(camera.kind, camera.letter, camera.members) for camera in cameras([Filed(one) for one in shoot])]
    [('Camera', 'A', (0, 2)), ('Camera', 'B', (1,)), ('Phone', '', (3,))]
    """
    named = [_named(PurePath(clip.path)) for clip in clips]
    piles: dict[tuple[str, ...], list[int]] = {}
    for n, (clip, one) in enumerate(zip(clips, named, strict=True)):
        suffix = PurePath(clip.path).suffix.lower()
        piles.setdefault((one.reel, one.series, suffix), []).append(n)
    found: list[Camera] = []
    for pile in piles.values():
        letter, kind = named[pile[0]].reel, named[pile[0]].kind
        for body in _bodies(clips, pile):
            found += [Camera(tuple(sorted(part)), letter, kind) for part in _runs(clips, named, body)]
    # A letter that several cameras share is that of a folder of all of them.
    often = Counter(camera.letter for camera in found)
    told = [replace(camera, letter="") if often[camera.letter] > 1 else camera for camera in found]
    return tuple(sorted(told, key=lambda camera: camera.members[0]))


def recorded_s(clip: Filed) -> float | None:
    """When a clip was recorded by its camera's clock, seconds; None where nothing tells.

    Comparable within one camera only: clocks differ, and files tell the beginning or the end.

    >>> late, early = (Filed(f"20261130_{time}.mp4") for time in ("201530", "201500"))
    >>> recorded_s(late) - recorded_s(early)
    30.0
    """
    dated = _DATED.match(PurePath(clip.path).stem)
    try:
        if dated:
            year, month, day, hour, minute, second = (int(one) for one in dated.groups()[1:])
            return _seconds(datetime(year, month, day, hour, minute, second, tzinfo=UTC))
        if clip.facts.created:
            when = datetime.fromisoformat(clip.facts.created.strip())
            return _seconds(when if when.tzinfo else when.replace(tzinfo=UTC))
    except ValueError:
        pass
    return None


def counter(path: str) -> int | None:
    """The number that a camera's counter gave a file; None where there is none.

    >>> counter("DCIM/101/P1010023.MP4"), counter("fiddle.mov")
    (23, None)
    """
    return _named(PurePath(path)).number


def _seconds(when: datetime) -> float:
    # Not timestamp(), which fails on some systems before 1970, where clocks lie that were never set.
    return (when - datetime(2000, 1, 1, tzinfo=UTC)) / timedelta(seconds=1)


def _named(path: PurePath) -> _Named:
    series, number = _series(path.stem)
    if path.suffix.lower() in _SOUND:
        return _Named("", series, number, "Recorder")
    reel = _REEL_NAME.match(path.stem)
    if reel is not None:
        return _Named(reel[1].upper(), "", number, "Camera")
    # The folder of a card: between it and the file lies nothing but what cards bring along.
    card = next(
        (part for part in reversed(path.parent.parts) if not is_layout(part) or _REEL_FOLDER.match(part)), ""
    )
    reel = _REEL_FOLDER.match(card)
    phone = series.rstrip("_-") in _PHONE_SERIES or series == "date"
    return _Named("" if reel is None else reel[1].upper(), series, number, "Phone" if phone else "Camera")


def _series(stem: str) -> tuple[str, int | None]:
    """The letters before a counter, in capitals, and its number."""
    stem = stem.strip()
    for pattern in (_DATED, _DAY_NAMED):
        dated = pattern.match(stem)
        if dated:
            return dated[1].upper() or "date", None
    chaptered = _CHAPTERED.match(stem)
    if chaptered:
        return chaptered[1].upper(), int(chaptered[3])
    numbered = _FOLDER_NUMBERED.match(stem)
    if numbered:
        return numbered[1].upper(), int(numbered[3])
    counted = _SERIES.match(stem)
    if counted:
        return counted[1].strip().upper(), int(counted[2][-6:])
    return stem.upper() if not is_layout(stem) else "", None


def _bodies(clips: Sequence[Filed], pile: Sequence[int]) -> list[list[int]]:
    """A pile of one series parted by what the files tell; those not read yet lie with the first."""
    told: dict[tuple[object, ...], list[int]] = {}
    unread = []
    for n in pile:
        facts = clips[n].facts
        if facts == FileFacts():
            unread.append(n)
        else:
            told.setdefault(_body(facts), []).append(n)
    if not told:
        return [unread]
    first, *others = told.values()
    return [[*first, *unread], *others]


def _body(facts: FileFacts) -> tuple[object, ...]:
    """What tells one camera from another in their files.

    A camera may shoot slow motion or upright, so rate and size speak only where it does not name itself.
    """
    make, model = (facts.make or "").strip().casefold(), (facts.model or "").strip().casefold()
    if model or make:
        return make, model
    rate = facts.frame_rate
    # A rate that varies is no exact figure: 29.97 and 30.02 may be one phone's.
    shown = None if rate is None else round(rate / 5) * 5 if facts.variable_frame_rate else rate
    return shown, max(facts.width, facts.height), min(facts.width, facts.height)


def _runs(clips: Sequence[Filed], named: Sequence[_Named], body: Sequence[int]) -> list[list[int]]:
    """Clips alike in all they tell, parted where one camera cannot have made them.

    A unit is a run of numbers in one folder. Units are one camera's unless they ran at the same time. Where
    the cards have no letter, neither may they take turns (nobody changes cards to and fro), nor may their
    numbers lie far apart, nor come twice unless the clock shows that one card followed the other.
    """
    units: list[list[int]] = []
    for n in sorted(body):
        near = [
            (gap, unit)
            for unit in units
            if _card(clips[unit[0]].path) == _card(clips[n].path)
            and ((gap := _gap(named, n, unit)) < FAR_NUMBERS or named[n].reel)
            and not _together(clips, [n], unit)
        ]
        if near:
            min(near, key=lambda one: one[0])[1].append(n)
        else:
            units.append([n])
    bodies: list[list[list[int]]] = []
    for unit in units:
        home = next((b for b in bodies if not any(_apart(clips, named, unit, other) for other in b)), None)
        if home is None:
            bodies.append([unit])
        else:
            home.append(unit)
    return [[n for unit in one for n in unit] for one in bodies]


def _gap(named: Sequence[_Named], n: int, unit: Sequence[int]) -> int:
    """How far the number of a clip is from the nearest of a unit; 0 where numbers do not tell."""
    number = named[n].number
    others = [one for m in unit if (one := named[m].number) is not None]
    return 0 if number is None else min((abs(number - one) for one in others), default=0)


def _card(path: str) -> str:
    """The folder of a file without the card's own layout at its end."""
    folder = PurePath(path).parent
    while folder.parts and is_layout(folder.name) and not folder.name.isdecimal() and folder != folder.parent:
        folder = folder.parent
    return str(folder)


def _apart(clips: Sequence[Filed], named: Sequence[_Named], one: Sequence[int], other: Sequence[int]) -> bool:
    if _together(clips, one, other):
        return True
    if named[one[0]].reel:
        return False
    times = [[recorded_s(clips[n]) for n in unit] for unit in (one, other)]
    mine, theirs = ([t for t in unit if t is not None] for unit in times)
    if mine and theirs:
        if max(mine) >= min(theirs) and max(theirs) >= min(mine):
            return True  # they took turns
    elif _repeated(clips, one, other):
        return True
    a, b = (next((m for n in unit if (m := named[n].number) is not None), None) for unit in (one, other))
    return a is not None and b is not None and abs(a - b) >= FAR_NUMBERS


def _repeated(clips: Sequence[Filed], one: Iterable[int], other: Iterable[int]) -> bool:
    names = [{PurePath(clips[n].path).name.casefold() for n in unit} for unit in (one, other)]
    return bool(names[0] & names[1])


def _together(clips: Sequence[Filed], one: Iterable[int], other: Iterable[int]) -> bool:
    """Whether clips ran at the same time, be it their beginning or their end that the files tell."""
    for a in one:
        for b in other:
            a_s, b_s = recorded_s(clips[a]), recorded_s(clips[b])
            if a != b and a_s is not None and b_s is not None:
                lengths = clips[a].facts.duration_s, clips[b].facts.duration_s
                begun = min(a_s + lengths[0], b_s + lengths[1]) - max(a_s, b_s)
                ended = min(a_s, b_s) - max(a_s - lengths[0], b_s - lengths[1])
                if min(begun, ended) > TOGETHER_S:
                    return True
    return False
