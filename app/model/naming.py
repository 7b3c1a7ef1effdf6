"""What the maker is asked to name: what each camera shot, and what may be its set-ups; nothing of it is kept.

A proposal and what a person did to it so far. Accepting it is an edit (`app.model.edits.naming_edits`).
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from app.model.camera_groups import Filed, counter, recorded_s
from app.model.coverage.staves import stave_order
from app.model.document.clip import FileFacts
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
"""Whether two clips of one camera look as if it had not moved between them; None where nobody can tell."""


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
    """The name it gets when none is typed: its own, or that of the camera's first set-up."""

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


def cannot_tell(one: Clip, other: Clip) -> bool | None:
    """Nobody has looked at the pictures."""
    return None


def entries(shoot: SongView, draft: Draft, alike: Alike = cannot_tell) -> tuple[Entry, ...]:
    """What there is to name, as a person left it: angles nobody named, or all where each has a name.

    Angles come in stave order, their set-ups in the order in which they were shot.
    """
    asked = [angle for angle in stave_order(shoot.angles) if not angle.named] or stave_order(shoot.angles)
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
            found_entries.append(
                Entry(key, tuple(clips[key]), name, known_as, numbers.get(key, 0), otherwise or NEW_ANGLE)
            )
    return tuple(found_entries)


def set_ups(clips: Sequence[Clip], alike: Alike = cannot_tell) -> tuple[tuple[Clip, ...], ...]:
    """The clips of one camera, parted where it may have been set up anew.

    In the order of its clock, a set-up ends where the camera rested for longer than ``PAUSE_S`` and then has
    something of the song again; ``alike`` decides where it can tell. Clips whose time nobody knows stay with
    the first.
    """
    timed = [(time, clip) for clip in clips if (time := recorded_s(_filed(clip))) is not None]
    timed.sort(key=lambda one: (one[0], counter(one[1].media.path) or 0))
    untimed = [clip for clip in clips if recorded_s(_filed(clip)) is None]
    found: list[list[Clip]] = []
    for n, (time, clip) in enumerate(timed):
        if n:
            before_s, before = timed[n - 1]
            same = alike(before, clip)
            rested = time - before_s - before.duration_s > PAUSE_S
            if same is None:
                same = not (rested and any(_plays_again(one, clip) for one in found[-1]))
            if same:
                found[-1].append(clip)
                continue
        found.append([clip])
    if untimed:
        found = [[*(found[0] if found else []), *untimed], *found[1:]]
    return tuple(tuple(one) for one in found)


def _filed(clip: Clip) -> Filed:
    return Filed(clip.media.path, FileFacts(duration_s=clip.duration_s, created=clip.created))


def _plays_again(one: Clip, other: Clip) -> bool:
    for a in one.takes:
        for b in other.takes:
            shared_s = min(a.song_end_s, b.song_end_s) - max(a.song_start_s, b.song_start_s)
            shorter_s = min(a.song_end_s - a.song_start_s, b.song_end_s - b.song_start_s)
            if shared_s > AGAIN * shorter_s:
                return True
    return False
