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
from functools import lru_cache
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


@dataclass(frozen=True, slots=True)
class _Told:
    """All that grouping goes by, of one clip."""

    named: _Named
    card: str
    """Its folder, without the card's own layout."""
    file_name: str
    time_s: float | None
    length_s: float


def cameras(clips: Sequence[Filed]) -> tuple[Camera, ...]:
    """Group clips by camera, in the order of each camera's first clip.

    Clips whose file was not read yet count with the first camera that their path leaves open.

    >>> shoot = ["A001/A001C001.MOV", "B001/B001C001.MOV", "A002/A002C001.MOV", "DCIM/100/IMG_0007.MOV"]
    >>> [(camera.kind, camera.letter, camera.members) for camera in cameras([Filed(one) for one in shoot])]
    [('Camera', 'A', (0, 2)), ('Camera', 'B', (1,)), ('Phone', '', (3,))]
    """
    told = [_told(clip) for clip in clips]
    piles: dict[tuple[str, ...], list[int]] = {}
    for n, one in enumerate(told):
        suffix = PurePath(one.file_name).suffix
        piles.setdefault((one.named.reel, one.named.series, suffix), []).append(n)
    found: list[Camera] = []
    for pile in piles.values():
        letter, kind = told[pile[0]].named.reel, told[pile[0]].named.kind
        for body in _bodies(clips, pile):
            found += [Camera(tuple(part), letter, kind) for part in _runs(told, body)]
    # A letter that several cameras share is that of a folder of all of them.
    often = Counter(camera.letter for camera in found)
    found = [replace(camera, letter="") if often[camera.letter] > 1 else camera for camera in found]
    return tuple(sorted(found, key=lambda camera: camera.members[0]))


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


def ran_together(one: Sequence[Filed], other: Sequence[Filed]) -> bool:
    """Whether some clip of one ran while one of the other did, by their clocks: these are two cameras."""
    return _together([_told(clip) for clip in one], [_told(clip) for clip in other])


@lru_cache(maxsize=4096)  # asked again with every file that is read
def _told(clip: Filed) -> _Told:
    path = PurePath(clip.path)
    return _Told(_named(path), _card(path), path.name.casefold(), recorded_s(clip), clip.facts.duration_s)


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


def _runs(told: Sequence[_Told], body: Sequence[int]) -> list[list[int]]:
    """Clips alike in all they tell, parted where one camera cannot have made them.

    A unit is a run of numbers in one folder. Units are one camera's unless they ran at the same time. Where
    the cards have no letter, neither may they take turns (nobody changes cards to and fro), nor may their
    numbers lie far apart, nor come twice unless the clock shows that one card followed the other.
    """
    units: list[list[_Told]] = []
    number: dict[int, int] = {}
    for n in sorted(body):
        clip = told[n]
        near = [
            (gap, m)
            for m, unit in enumerate(units)
            if unit[0].card == clip.card
            and ((gap := _gap(clip, unit)) < FAR_NUMBERS or clip.named.reel)
            and not _together([clip], unit)
        ]
        number[n] = min(near)[1] if near else len(units)
        if near:
            units[number[n]].append(clip)
        else:
            units.append([clip])
    bodies: list[list[int]] = []
    for m, unit in enumerate(units):
        home = next((b for b in bodies if not any(_apart(unit, units[other]) for other in b)), None)
        if home is None:
            bodies.append([m])
        else:
            home.append(m)
    return [[n for n in sorted(body) if number[n] in one] for one in bodies]


def _gap(clip: _Told, unit: Sequence[_Told]) -> int:
    """How far the number of a clip is from the nearest of a unit; 0 where numbers do not tell."""
    own = clip.named.number
    others = [other for one in unit if (other := one.named.number) is not None]
    return 0 if own is None else min((abs(own - other) for other in others), default=0)


def _card(path: PurePath) -> str:
    """The folder of a file without the card's own layout at its end."""
    folder = path.parent
    while folder.parts and is_layout(folder.name) and not folder.name.isdecimal() and folder != folder.parent:
        folder = folder.parent
    return str(folder)


def _apart(one: Sequence[_Told], other: Sequence[_Told]) -> bool:
    if _together(one, other):
        return True
    if one[0].named.reel:
        return False
    mine, theirs = ([clip.time_s for clip in unit if clip.time_s is not None] for unit in (one, other))
    if mine and theirs:
        if max(mine) >= min(theirs) and max(theirs) >= min(mine):
            return True  # they took turns
    elif {clip.file_name for clip in one} & {clip.file_name for clip in other}:
        return True
    a, b = (next((n for clip in unit if (n := clip.named.number) is not None), None) for unit in (one, other))
    return a is not None and b is not None and abs(a - b) >= FAR_NUMBERS


def _together(one: Iterable[_Told], other: Sequence[_Told]) -> bool:
    """Whether clips ran at the same time, be it their beginning or their end that the files tell."""
    for a in one:
        if a.time_s is None:
            continue
        for b in other:
            if b.time_s is None or b.time_s - a.time_s > a.length_s or a.time_s - b.time_s > b.length_s:
                continue
            begun = min(a.time_s + a.length_s, b.time_s + b.length_s) - max(a.time_s, b.time_s)
            ended = min(a.time_s, b.time_s) - max(a.time_s - a.length_s, b.time_s - b.length_s)
            if min(begun, ended) > TOGETHER_S:
                return True
    return False
