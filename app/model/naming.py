"""What the maker is asked to name: what each camera shot, and what may be its set-ups; nothing of it is kept.

A proposal and what a person did to it so far. Accepting it is an edit (`app.model.edits.naming_edits`).
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from app.model.alike import by_looks, filed, how_sure, shared_look
from app.model.camera_groups import counter, recorded_s
from app.model.coverage.staves import stave_order
from app.model.on_song import Clip, SongView

PAUSE_S = 8 * 60.0
"""A camera at rest for longer may have been set up anew: a band rests for less between two takes."""
NEW_ANGLE = "New angle"
"""Name of an angle made of dragged clips, until one is typed."""
AGAIN = 0.5
"""Part of the shorter one that two stretches of the song must share for one to be played again."""
Key = tuple[str, int]
"""By which an entry is known while it is worked on: the angle, and the number of its set-up from 0. Those
that a person adds have no angle yet: an empty id."""
Alike = Callable[[Clip, Clip], bool | None]
"""Whether two clips of one camera look like one set-up; None where nobody can tell."""


@dataclass(frozen=True, slots=True)
class Entry:
    """What is to be named."""

    key: Key
    clips: tuple[Clip, ...]
    name: str
    """As typed; empty where nobody typed one."""
    known_as: str
    """The angle's name so far; empty for an added one."""
    set_up: int
    """Number of the camera's set-up, from 1; 0 where there is no other."""
    otherwise: str
    """The name it gets when none is typed: its own, that of the camera's first set-up, or of ``like``."""
    sure: float = 0.0
    """How sure it is that the clips look like one set-up, with those of ``like`` if there is one; 0 where
    looks do not say so."""
    like: str = ""
    """Shown name of another angle that looks like the same set-up; empty where there is none."""

    @property
    def shown_name(self) -> str:
        """The name that it gets as things are."""
        return self.name or self.otherwise


@dataclass(frozen=True, slots=True)
class Draft:
    """What a person typed and dragged so far."""

    names: Mapping[Key, str] = field(default_factory=dict)
    moved: Mapping[str, Key] = field(default_factory=dict)
    """Where clips were put, by their ids."""

    def named(self, key: Key, name: str) -> "Draft":
        """The draft after a name was typed."""
        return replace(self, names={**self.names, key: name})

    def with_moved(self, clip_ids: Sequence[str], key: Key) -> "Draft":
        """The draft after clips were put elsewhere."""
        return replace(self, moved={**self.moved, **dict.fromkeys(clip_ids, key)})

    @property
    def added(self) -> Key:
        """The key of an angle that is not there yet."""
        taken = [number for angle_id, number in self.moved.values() if not angle_id]
        return "", max(taken, default=-1) + 1


def entries(shoot: SongView, draft: Draft, alike: Alike = by_looks) -> tuple[Entry, ...]:
    """What there is to name, as a person left it: angles nobody named, or all where each has a name.

    Angles come in stave order, their set-ups in the order in which they were shot. An angle that nobody named
    may look like the set-up of another one, named or not; those that a person named are never joined so.
    """
    open_ones = [angle for angle in stave_order(shoot.angles) if not angle.named]
    asked = open_ones or stave_order(shoot.angles)
    settled = [
        (angle.name, [clip for clip in shoot.clips if clip.angle_id == angle.id])
        for angle in (stave_order(shoot.angles) if open_ones else ())
        if angle.named
    ]
    known, numbers, clips = {}, {}, dict[Key, list[Clip]]()
    for angle in asked:
        found = set_ups([clip for clip in shoot.clips if clip.angle_id == angle.id], alike)
        for n, members in enumerate(found):
            key = (angle.id, n)
            known[key], numbers[key] = angle.name, n + 1 if len(found) > 1 else 0
            for clip in members:
                there = draft.moved.get(clip.id, key)
                clips.setdefault(key, [])
                clips.setdefault(there if there[0] in ("", *(a.id for a in asked)) else key, []).append(clip)
    found_entries: list[Entry] = []
    for key in [*known, *sorted(key for key in clips if key not in known)]:
        if clips[key]:
            first = next((one for one in found_entries if key[0] and one.key[0] == key[0]), None)
            known_as = known.get(key, "")
            otherwise = known_as if first is None else first.shown_name
            name = draft.names.get(key, "").strip()
            sure, like = how_sure(clips[key]) if len(clips[key]) > 1 else 0.0, ""
            if open_ones and key[0] and first is None:
                others = [*settled, *((one.shown_name, one.clips) for one in found_entries)]
                sure, like = _most_alike(clips[key], others) or (sure, like)
            found_entries.append(
                Entry(
                    key,
                    tuple(clips[key]),
                    name,
                    known_as,
                    numbers.get(key, 0),
                    like or otherwise or NEW_ANGLE,
                    sure,
                    like,
                )
            )
    return tuple(found_entries)


def set_ups(clips: Sequence[Clip], alike: Alike = by_looks) -> tuple[tuple[Clip, ...], ...]:
    """The clips of one camera, parted where it may have been set up anew.

    ``alike`` decides where it can: a clip goes to the latest set-up one of whose clips it looks like; one
    that looks like none begins another. Else, in the order of the camera's clock, a set-up ends where the
    camera rested for longer than ``PAUSE_S`` and then has something of the song again. Clips whose time
    nobody knows stay with the first.
    """
    timed = [(time, clip) for clip in clips if (time := recorded_s(filed(clip))) is not None]
    timed.sort(key=lambda one: (one[0], counter(one[1].media.path) or 0))
    found: list[list[Clip]] = []
    for n, (time, clip) in enumerate(timed):
        home = _home(clip, found, alike)
        if home is None and n and found:
            before_s, before = timed[n - 1]
            rested = time - before_s - before.duration_s > PAUSE_S
            last = next(one for one in found if before in one)
            home = None if rested and any(_plays_again(one, clip) for one in last) else last
        if home:
            home.append(clip)
        else:
            found.append([clip])
    for clip in (one for one in clips if recorded_s(filed(one)) is None):
        home = _home(clip, found, alike)
        if home is None and found:
            home = found[0]
        if home:
            home.append(clip)
        else:
            found.append([clip])
    return tuple(tuple(one) for one in found)


def _most_alike(
    clips: Sequence[Clip], others: Sequence[tuple[str, Sequence[Clip]]]
) -> tuple[float, str] | None:
    """How sure it is that clips are one set-up with those of another name, and that name; else None."""
    shared = [(shared_look(clips, theirs), name) for name, theirs in others if theirs]
    return max((one for one in shared if one[0]), default=None, key=lambda one: one[0])


def _home(clip: Clip, found: Sequence[list[Clip]], alike: Alike) -> list[Clip] | None:
    """The set-up that a clip looks like; an empty one for a new one; None where looks cannot tell."""
    told = [[alike(one, clip) for one in members] for members in found]
    for members, said in zip(reversed(found), reversed(told), strict=True):
        if True in said:
            return members
    return [] if told and all(False in said for said in told) else None


def _plays_again(one: Clip, other: Clip) -> bool:
    for a in one.takes:
        for b in other.takes:
            shared_s = min(a.song_end_s, b.song_end_s) - max(a.song_start_s, b.song_start_s)
            shorter_s = min(a.song_end_s - a.song_start_s, b.song_end_s - b.song_start_s)
            if shared_s > AGAIN * shorter_s:
                return True
    return False
