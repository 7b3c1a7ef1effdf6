"""Edits of marks: stretches of clips that are spoilt, or to be used if possible."""

from collections.abc import Collection
from dataclasses import replace

from app.model.document.change import NOTHING, Change
from app.model.document.ids import fresh_id
from app.model.document.marks import FaultReason, Mark, MarkKind, MarkState
from app.model.document.shoot import Shoot

OUTSIDE = "That part is outside the clip. Mark part of the clip."


def add_mark(
    shoot: Shoot,
    clip_id: str,
    kind: MarkKind,
    from_s: float,
    to_s: float,
    reason: FaultReason = FaultReason.OTHER,
    words: str = "",
) -> tuple[Shoot, Change]:
    """A person marks a stretch of a clip (clip time, either end first).

    Raises ValueError where nothing of it lies in the clip.
    """
    length_s = shoot.clip(clip_id).facts.duration_s
    start_s, end_s = max(0.0, min(from_s, to_s)), min(length_s, max(from_s, to_s))
    if end_s <= start_s:
        raise ValueError(OUTSIDE)
    name = fresh_id("mark", [mark.id for mark in shoot.marks])
    mark = Mark(
        id=name,
        clip_id=clip_id,
        kind=kind,
        clip_start_s=start_s,
        clip_end_s=end_s,
        reason=reason,
        words=words.strip(),
    )
    return replace(shoot, marks=(*shoot.marks, mark)), Change.MARKS


def propose_marks(
    shoot: Shoot, by: str, proposed: Collection[Mark], *, clip_ids: Collection[str] | None = None
) -> tuple[Shoot, Change]:
    """Take over what a check proposes, in the place of what it proposed before (of these clips; None: all).

    What a person accepted or dismissed stays, and is not proposed again: a proposal of which half lies in a
    stretch decided before is left out. So is one that a person has marked already, with the same reason. Ids
    are given here: a proposal has the same one whatever else is marked, in every step that can be undone.
    """

    def goes(mark: Mark) -> bool:
        mine = mark.by == by and mark.state is MarkState.PROPOSED
        return mine and (clip_ids is None or mark.clip_id in clip_ids)

    kept = [mark for mark in shoot.marks if not goes(mark)]
    decided = [mark for mark in kept if mark.by in (by, "") and mark.state is not MarkState.PROPOSED]
    ids = {mark.id for mark in kept}
    for mark in proposed:
        shoot.clip(mark.clip_id)
        if not any(_about_the_same(mark, old) for old in decided):
            name = f"{by}-{mark.clip_id}-{1000 * mark.clip_start_s:.0f}ms"
            while name in ids:
                name += "+"
            ids.add(name)
            kept.append(replace(mark, id=name, by=by, state=MarkState.PROPOSED))
    if {mark.id: mark for mark in kept} == {mark.id: mark for mark in shoot.marks}:
        return shoot, NOTHING  # in another order, at most
    return replace(shoot, marks=tuple(kept)), Change.MARKS


def accept_marks(shoot: Shoot, ids: Collection[str]) -> tuple[Shoot, Change]:
    """A person accepts what was proposed."""
    return _with_state(shoot, ids, MarkState.SET)


def dismiss_marks(shoot: Shoot, ids: Collection[str]) -> tuple[Shoot, Change]:
    """A person dismisses what was proposed; it is not proposed again."""
    return _with_state(shoot, ids, MarkState.DISMISSED)


def change_mark(shoot: Shoot, mark: Mark) -> tuple[Shoot, Change]:
    """Put a mark in the place of the one of its id. Raises KeyError; ValueError where it leaves its clip."""
    _known(shoot, [mark.id])
    if not 0 <= mark.clip_start_s < mark.clip_end_s <= shoot.clip(mark.clip_id).facts.duration_s:
        raise ValueError(OUTSIDE)
    marks = tuple(mark if old.id == mark.id else old for old in shoot.marks)
    return (shoot, NOTHING) if marks == shoot.marks else (replace(shoot, marks=marks), Change.MARKS)


def remove_marks(shoot: Shoot, ids: Collection[str]) -> tuple[Shoot, Change]:
    """Take marks away. Raises KeyError."""
    _known(shoot, ids)
    marks = tuple(mark for mark in shoot.marks if mark.id not in ids)
    return (shoot, NOTHING) if marks == shoot.marks else (replace(shoot, marks=marks), Change.MARKS)


def _with_state(shoot: Shoot, ids: Collection[str], state: MarkState) -> tuple[Shoot, Change]:
    _known(shoot, ids)
    marks = tuple(replace(mark, state=state) if mark.id in ids else mark for mark in shoot.marks)
    return (shoot, NOTHING) if marks == shoot.marks else (replace(shoot, marks=marks), Change.MARKS)


def _known(shoot: Shoot, ids: Collection[str]) -> None:
    known = {mark.id for mark in shoot.marks}
    for one in ids:
        if one not in known:
            raise KeyError(one)


def _about_the_same(mark: Mark, decided: Mark) -> bool:
    """Whether a proposal is about what the same check (or a person, with the same reason) said before."""
    same = (mark.clip_id, mark.kind) == (decided.clip_id, decided.kind)
    same = same and (bool(decided.by) or mark.reason is decided.reason)
    shared_s = min(mark.clip_end_s, decided.clip_end_s) - max(mark.clip_start_s, decided.clip_start_s)
    return same and shared_s >= 0.5 * (mark.clip_end_s - mark.clip_start_s)
