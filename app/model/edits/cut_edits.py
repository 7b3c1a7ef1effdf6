"""Edits of the first pass: what is locked in it, and its versions."""

from collections.abc import Collection, Iterable
from dataclasses import replace

from app.model.angles import same_name, tidy_name
from app.model.coverage.passages import passage_parts
from app.model.document.change import NOTHING, Change
from app.model.document.cut import Cut, Lock, Version
from app.model.document.ids import fresh_id
from app.model.document.plan import Passage
from app.model.document.shoot import Shoot
from app.model.first_pass.rules import Rules, settings_of
from app.model.song_map.bar_spans import bar_spans


def add_lock(
    shoot: Shoot, song_id: str, passage: Passage, angle_id: str, clip_id: str = "", clip_s: float = 0.0
) -> tuple[Shoot, Change]:
    """In this passage this angle is seen, or the take of it through that moment of a clip.

    A lock on just that passage gets the angle and take instead.

    Raises KeyError for an unknown song or angle.
    """
    shoot.song(song_id)
    shoot.angle(angle_id)
    locks = shoot.cut.locks
    there = next((one for one in locks if (one.song_id, one.passage) == (song_id, passage)), None)
    if there is not None:
        return change_lock(shoot, replace(there, angle_id=angle_id, clip_id=clip_id, clip_s=clip_s))
    new = Lock(fresh_id("lock", [one.id for one in locks]), song_id, passage, angle_id, clip_id, clip_s)
    return _with(shoot, replace(shoot.cut, locks=(*locks, new)))


def fix_bars(
    shoot: Shoot,
    song_id: str,
    first_bar: int,
    last_bar: int,
    angle_id: str,
    clip_id: str = "",
    clip_s: float = 0.0,
) -> tuple[Shoot, Change]:
    """In these bars (numbers, both included) this angle is seen, or its take through a moment of a clip.

    Other locks give way there, and keep what they fix before and after; one on a section or family becomes
    one on the bars that are left of it today. Raises KeyError for an unknown song or angle.
    """
    passage = Passage(first_bar=first_bar, last_bar=last_bar)
    same = Lock("", song_id, passage, angle_id, clip_id, clip_s)
    if any(replace(one, id="") == same for one in shoot.cut.locks):
        return shoot, NOTHING
    locks: list[Lock] = []
    ids = [one.id for one in shoot.cut.locks]
    for lock in shoot.cut.locks:
        runs = _bars_of(shoot, lock) if lock.song_id == song_id else []
        if all(high < first_bar or last_bar < low for low, high in runs):
            locks.append(lock)
            continue
        both = [
            one
            for low, high in runs
            for one in ((low, min(high, first_bar - 1)), (max(low, last_bar + 1), high))
        ]
        for n, (start, end) in enumerate(one for one in both if one[0] <= one[1]):
            ids += [fresh_id("lock", ids)] if n else []
            own = Passage(first_bar=start, last_bar=end)
            locks.append(replace(lock, id=ids[-1] if n else lock.id, passage=own))
    freed = replace(shoot, cut=replace(shoot.cut, locks=tuple(locks)))
    return add_lock(freed, song_id, passage, angle_id, clip_id, clip_s)


def _bars_of(shoot: Shoot, lock: Lock) -> list[tuple[int, int]]:
    """The runs of bars (numbers) that a lock fixes, rising."""
    passage, song = lock.passage, shoot.song(lock.song_id)
    if passage.first_bar or passage.last_bar:
        # As they were told: the song may get the bars back that it does not have today.
        first, last = passage.first_bar or 1, passage.last_bar or passage.first_bar
        return [(min(first, last), max(first, last))]
    if song is None:
        return []
    bars = bar_spans(song)
    numbers = sorted(bars[n].number for part in passage_parts(passage, song, bars) for n in part.bars)
    runs: list[tuple[int, int]] = []
    for number in numbers:
        goes_on = runs and runs[-1][1] + 1 == number
        runs[-1:] = [(runs[-1][0], number)] if goes_on else [*runs[-1:], (number, number)]
    return runs


def change_lock(shoot: Shoot, lock: Lock) -> tuple[Shoot, Change]:
    """Put a lock in the place of the one of its id. Raises KeyError for an unknown id, song or angle."""
    shoot.song(lock.song_id)
    shoot.angle(lock.angle_id)
    if all(old.id != lock.id for old in shoot.cut.locks):
        raise KeyError(lock.id)
    locks = tuple(lock if old.id == lock.id else old for old in shoot.cut.locks)
    return _with(shoot, replace(shoot.cut, locks=locks))


def remove_locks(shoot: Shoot, ids: Collection[str]) -> tuple[Shoot, Change]:
    """Take locks away. Raises KeyError."""
    _known([one.id for one in shoot.cut.locks], ids)
    return _with(shoot, replace(shoot.cut, locks=tuple(o for o in shoot.cut.locks if o.id not in ids)))


def add_version(shoot: Shoot, song_id: str, name: str, rules: Rules, seed: int = 0) -> tuple[Shoot, Change]:
    """Keep rules and seed under a name. Raises KeyError for an unknown song, ValueError for a name that is
    empty or taken."""
    shoot.song(song_id)
    versions = shoot.cut.versions
    new = Version(
        id=fresh_id("version", [one.id for one in versions]),
        song_id=song_id,
        name=_free_name(versions, song_id, name),
        seed=seed,
        settings=settings_of(rules),
    )
    return _with(shoot, replace(shoot.cut, versions=(*versions, new)))


def rename_version(shoot: Shoot, version_id: str, name: str) -> tuple[Shoot, Change]:
    """Name a version. Raises KeyError, and ValueError for a name that is empty or taken."""
    old = _version(shoot, version_id)
    others = [one for one in shoot.cut.versions if one.id != version_id]
    return _with_version(shoot, replace(old, name=_free_name(others, old.song_id, name)))


def set_rules(shoot: Shoot, version_id: str, rules: Rules, seed: int | None = None) -> tuple[Shoot, Change]:
    """Give a version other rules, and another seed where one is told. Raises KeyError."""
    old = _version(shoot, version_id)
    seed = old.seed if seed is None else seed
    return _with_version(shoot, replace(old, settings=settings_of(rules), seed=seed))


def remove_versions(shoot: Shoot, ids: Collection[str]) -> tuple[Shoot, Change]:
    """Take versions away. Raises KeyError."""
    _known([one.id for one in shoot.cut.versions], ids)
    versions = tuple(one for one in shoot.cut.versions if one.id not in ids)
    return _with(shoot, replace(shoot.cut, versions=versions))


def with_locks_carried(before: Shoot, after: Shoot, change: Change) -> tuple[Shoot, Change]:
    """The shoot after an edit of angles or clips: a lock goes where the clips of its angle went.

    Where they went to several angles it goes to that of the most, and where all were removed it goes too.
    """
    left = {angle.id for angle in after.angles}
    if all(lock.angle_id in left for lock in after.cut.locks):
        return after, change
    on = {clip.id: clip.angle_id for clip in after.clips}
    locks = []
    for lock in after.cut.locks:
        went = [on[c.id] for c in before.clips if c.angle_id == lock.angle_id and c.id in on]
        if lock.angle_id in left:
            locks.append(lock)
        elif went:
            locks.append(replace(lock, angle_id=max(went, key=lambda one: (went.count(one), one))))
    new, more = _with(after, replace(after.cut, locks=tuple(locks)))
    return new, change | more


def _free_name(versions: Iterable[Version], song_id: str, name: str) -> str:
    name = tidy_name(name)
    if not name:
        raise ValueError("A version needs a name. Type one, such as Fast or With more drums.")
    if any(one.song_id == song_id and same_name(one.name, name) for one in versions):
        raise ValueError(f"There is a version {name} already. Type another name.")
    return name


def _version(shoot: Shoot, version_id: str) -> Version:
    for one in shoot.cut.versions:
        if one.id == version_id:
            return one
    raise KeyError(version_id)


def _with_version(shoot: Shoot, version: Version) -> tuple[Shoot, Change]:
    versions = tuple(version if one.id == version.id else one for one in shoot.cut.versions)
    return _with(shoot, replace(shoot.cut, versions=versions))


def _with(shoot: Shoot, cut: Cut) -> tuple[Shoot, Change]:
    return (shoot, NOTHING) if cut == shoot.cut else (replace(shoot, cut=cut), Change.CUT)


def _known(known: Collection[str], ids: Iterable[str]) -> None:
    for one in ids:
        if one not in known:
            raise KeyError(one)
