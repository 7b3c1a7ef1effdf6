"""What a person decides about takes: the place is right, another one is, or the song does not run here.

Every decision leaves a record of what was done and when (``at``: UTC as in
`app.model.document.decisions.Decided`), beside what the engine found; neither overwrites the other.
Decisions by pins are in `app.model.edits.pins`, those about where a take begins and ends in
`app.model.edits.marking`.
"""

from collections.abc import Collection, Sequence
from dataclasses import replace

from app.model.document.change import NOTHING, Change
from app.model.document.decisions import (
    Action,
    ClipRefusal,
    Decided,
    Decision,
    Pin,
    Refusal,
    TakeDecision,
)
from app.model.document.findings import Rival
from app.model.document.ids import fresh_id
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, Refused, Take, is_decided, on_song, record_of, shared_s
from app.model.reasons import NO_REASON


def confirm_take(shoot: Shoot, take_id: str, at: str) -> tuple[Shoot, Change]:
    """A person says: the take lies right. A place chosen by hand stays "by hand"."""
    song, clip, take = find_take(shoot, take_id)
    if take.verdict is Verdict.PLACED and take.decision is not Decision.COMPUTED:
        return shoot, NOTHING
    decision = Decision.CONFIRMED if take.decision is Decision.COMPUTED else take.decision
    decided = Decided(Action.CONFIRMED, at)
    new = replace(
        take, verdict=Verdict.PLACED, reason=take.reason.settled, decision=decision, decided=decided
    )
    return decide(shoot, song, clip.id, [new])


def choose_rival(shoot: Shoot, take_id: str, index: int, at: str) -> tuple[Shoot, Change]:
    """A person says: the take lies at its rival of that index (IndexError when there is none).

    The place left becomes a rival, which fits as well if the chosen one did; strengths are told relative to
    the new place; the lags, measured along the place left, go. Going back to the computed place confirms it.
    """
    song, clip, take = find_take(shoot, take_id)
    if not 0 <= index < len(take.rivals):
        raise IndexError(f"take {take_id} has no rival {index}")
    chosen = take.rivals[index]
    scale = 1 / chosen.strength if chosen.strength > 0 else 1.0
    rivals = [replace(rival, strength=rival.strength * scale) for rival in take.rivals]
    computed = take.decision is not Decision.BY_HAND
    rivals[index] = Rival(take.song_start_s, scale, as_well=chosen.as_well, computed=computed)
    action, decision = Action.CHOSE_RIVAL, Decision.BY_HAND
    if chosen.computed:
        action, decision = Action.CONFIRMED, Decision.CONFIRMED
    placed = by_hand(replace(take, song_start_s=chosen.song_start_s), action, at)
    return decide(shoot, song, clip.id, [replace(placed, decision=decision, rivals=tuple(rivals), lags=())])


def move_take(shoot: Shoot, take_id: str, song_start_s: float, at: str) -> tuple[Shoot, Change]:
    """A person says: the take's start lies at ``song_start_s`` of the song.

    A nudge, or a place of their own. The lags are told relative to the new place; the computed one stays a
    rival.
    """
    song, clip, take = find_take(shoot, take_id)
    if song_start_s == take.song_start_s:
        return shoot, NOTHING
    moved = replace(on_line(take, song_start_s, take.speed), rivals=rivals_beside(take))
    return decide(shoot, song, clip.id, [by_hand(moved, Action.MOVED, at)])


def settle_take(
    shoot: Shoot, take_id: str, song_start_s: float, speed: float, uncertainty_s: float, at: str
) -> tuple[Shoot, Change]:
    """A person says: the take lies at the good fit that was found near the place they chose."""
    song, clip, take = find_take(shoot, take_id)
    moved = replace(on_line(take, song_start_s, speed), uncertainty_s=uncertainty_s)
    if moved == take:
        return shoot, NOTHING
    settled = by_hand(replace(moved, rivals=rivals_beside(take)), Action.SETTLED, at)
    return decide(shoot, song, clip.id, [settled])


def set_verdict_no_song(
    shoot: Shoot, clip_id: str, at: str, song_id: str | None = None
) -> tuple[Shoot, Change]:
    """A person says: the song does not run in this clip. Its takes go, and can be taken back."""
    view = on_song(shoot, song_id)
    clip, song = view.clip(clip_id), needed_song(view.song)
    if clip.decision is Decision.BY_HAND:
        return shoot, NOTHING
    shoot = without_decisions(shoot, {take.id for take in clip.takes})
    decided = without_clip_refusal(shoot, song, clip_id).decisions
    said = ClipRefusal(clip_id, song.id, song.media.digest, Decided(Action.REFUSED, at))
    decided = replace(
        decided,
        clip_refusals=(*decided.clip_refusals, said),
        refusals=(*decided.refusals, *(_refusal(clip_id, song, take, at) for take in clip.takes)),
    )
    return replace(shoot, decisions=decided), Change.CLIPS | Change.TAKES


def refuse_clips(shoot: Shoot, ids: Collection[str], at: str) -> tuple[Shoot, Change]:
    """A person says of several clips that the song does not run in them; see ``set_verdict_no_song``."""
    change = NOTHING
    for clip_id in ids:
        shoot, one = set_verdict_no_song(shoot, clip_id, at)
        change |= one
    return shoot, change


def refuse_take(shoot: Shoot, take_id: str, at: str) -> tuple[Shoot, Change]:
    """A person says: the song does not run in this take. It goes; other takes of the clip stay.

    Of a clip that has no other take, all of it is said; see ``set_verdict_no_song``.
    """
    song, clip, take = find_take(shoot, take_id)
    if len(clip.takes) == 1:
        return set_verdict_no_song(shoot, clip.id, at, song.id)
    shoot = without_decisions(shoot, {take_id})
    refusals = (*shoot.decisions.refusals, _refusal(clip.id, song, take, at))
    return replace(shoot, decisions=replace(shoot.decisions, refusals=refusals)), Change.TAKES | Change.CLIPS


def take_back(
    shoot: Shoot, clip_id: str, refused: Refused, song_id: str | None = None
) -> tuple[Shoot, Change]:
    """A person takes back that the song does not run in a stretch of a clip: the take is there as it was.

    Other takes that are refused stay so. Where the take was not kept, or another one has been found there
    since, nothing but the refusal goes.
    """
    view = on_song(shoot, song_id)
    clip, song = view.clip(clip_id), needed_song(view.song)
    if refused not in clip.refused:
        return shoot, NOTHING
    decided = shoot.decisions
    mine = [one for one in decided.refusals if (one.clip_id, one.song_id) == (clip_id, song.id)]
    mine = [one for one in mine if one.song_digest == song.media.digest]
    gone = mine[clip.refused.index(refused)]
    shoot = replace(
        shoot,
        decisions=replace(
            decided,
            refusals=tuple(one for one in decided.refusals if one is not gone),
        ),
    )
    shoot = without_clip_refusal(shoot, song, clip_id)
    take = refused.take
    # What a person decided about it counts for more than what is found there.
    there = [
        other
        for other in on_song(shoot, song.id).clip(clip_id).takes
        if take is not None and shared_s(take, other) > 0 and (is_decided(other) or not is_decided(take))
    ]
    if take is None or there:
        return shoot, Change.CLIPS | Change.TAKES
    # Takes nobody decided about give way: their ids are given anew each time.
    taken = {one.take.id for one in shoot.decisions.takes}
    name = fresh_id(f"{clip_id}-take", take_ids(shoot)) if take.id in taken else take.id
    shoot, change = decide(shoot, song, clip_id, [replace(take, id=name)])
    return shoot, change | Change.CLIPS | Change.TAKES


def take_back_clip(shoot: Shoot, clip_id: str, song_id: str | None = None) -> tuple[Shoot, Change]:
    """A person takes back that the song does not run in a clip; takes refused with it are there again.

    Takes that were refused one by one before that stay so. Nothing happens where it was not said.
    """
    view = on_song(shoot, song_id)
    clip, song = view.clip(clip_id), needed_song(view.song)
    if clip.decision is not Decision.BY_HAND:
        return shoot, NOTHING
    shoot = without_clip_refusal(shoot, song, clip_id)
    for refused in clip.refused:
        # A file of before, that kept no record of it, cannot tell which went with it: all come back.
        if clip.decided is None or refused.at == clip.decided.at:
            shoot, _ = take_back(shoot, clip_id, refused, song.id)
    return shoot, Change.CLIPS | Change.TAKES


def take_back_clips(shoot: Shoot, ids: Collection[str]) -> tuple[Shoot, Change]:
    """A person takes back of several clips that the song does not run in them; see ``take_back_clip``."""
    change = NOTHING
    for clip_id in ids:
        shoot, one = take_back_clip(shoot, clip_id)
        change |= one
    return shoot, change


def by_hand(take: Take, action: Action, at: str, pins: tuple[Pin, ...] = ()) -> Take:
    """The take as one that a person placed; the pins are those of this placing, older ones no longer hold."""
    return replace(
        take,
        verdict=Verdict.PLACED,
        reason=NO_REASON,
        decision=Decision.BY_HAND,
        decided=Decided(action, at),
        pins=pins,
    )


def rivals_beside(take: Take) -> tuple[Rival, ...]:
    """The rivals of a take that a person puts elsewhere: the computed place is the first of them."""
    if take.decision is Decision.BY_HAND:
        return take.rivals
    return Rival(take.song_start_s, 1.0, computed=True), *take.rivals


def on_line(take: Take, song_start_s: float, speed: float) -> Take:
    """The take on another line; its lags are told relative to that, so that what was measured stays."""
    new = replace(take, song_start_s=song_start_s, speed=speed)
    lags = tuple(
        replace(point, lag_s=point.lag_s + (take.song_time(point.clip_s) - new.song_time(point.clip_s)))
        for point in take.lags
    )
    return replace(new, lags=lags)


def find_take(shoot: Shoot, take_id: str) -> tuple[Song, Clip, Take]:
    """The take of that id, with the song it lies on and its clip. Raises KeyError."""
    for song in shoot.songs:
        for clip in on_song(shoot, song.id).clips:
            for take in clip.takes:
                if take.id == take_id:
                    return song, clip, take
    raise KeyError(take_id)


def take_ids(shoot: Shoot) -> set[str]:
    """Ids of all takes, on all songs."""
    return {take.id for song in shoot.songs for clip in on_song(shoot, song.id).clips for take in clip.takes}


def decide(shoot: Shoot, song: Song, clip_id: str, takes: Sequence[Take]) -> tuple[Shoot, Change]:
    """Keep takes of a clip as a person left them, each in the place of the one of its id."""
    ids = {take.id for take in takes}
    others = (one for one in shoot.decisions.takes if one.take.id not in ids)
    new = (TakeDecision(clip_id, song.id, song.media.digest, record_of(take)) for take in takes)
    decisions = replace(shoot.decisions, takes=(*others, *new))
    if decisions == shoot.decisions:
        return shoot, NOTHING
    return replace(shoot, decisions=decisions), Change.TAKES | Change.CLIPS


def without_decisions(shoot: Shoot, take_ids: Collection[str]) -> Shoot:
    """The shoot without what was decided about these takes."""
    takes = tuple(one for one in shoot.decisions.takes if one.take.id not in take_ids)
    return replace(shoot, decisions=replace(shoot.decisions, takes=takes))


def without_clip_refusal(shoot: Shoot, song: Song, clip_id: str) -> Shoot:
    """The shoot without a person saying that the song does not run in this clip."""
    said = shoot.decisions.clip_refusals
    left = tuple(one for one in said if (one.clip_id, one.song_id) != (clip_id, song.id))
    return replace(shoot, decisions=replace(shoot.decisions, clip_refusals=left))


def needed_song(song: Song | None) -> Song:
    """The song, which must be there. Raises ValueError."""
    if song is None:
        raise ValueError("There is no song yet. Choose the song first.")
    return song


def _refusal(clip_id: str, song: Song, take: Take, at: str) -> Refusal:
    return Refusal(
        clip_id=clip_id,
        song_id=song.id,
        song_digest=song.media.digest,
        clip_start_s=take.clip_start_s,
        clip_end_s=take.clip_end_s,
        at=at,
        take=record_of(take),
    )
