"""What a person decides about takes: the place is right, another one is, or the song does not run here.

Every decision leaves a record of what was done and when (``at``: UTC as in
`app.model.document.shoot.Decided`), and is never overwritten by a new computation (see
`app.model.edits.shoot_edits.answer_clip`). Decisions by pins are in `app.model.edits.pins`, those about
where a take begins and ends in `app.model.edits.marking`.
"""

from dataclasses import replace

from app.model.document.ids import fresh_id
from app.model.document.shoot import Clip, Decided, Decision, Deed, Pin, Refused, Rival, Shoot, Take, Verdict
from app.model.edits.change import NOTHING, Change

TAKEN_BACK = "That it is not this song was taken back. Place the clip again to have it looked for."
SAID_NO_SONG = "A person said that the song does not run here."


def confirm_take(shoot: Shoot, take_id: str, at: str) -> tuple[Shoot, Change]:
    """A person says: the take lies right. A place chosen by hand stays "by hand"."""
    _, take = find_take(shoot, take_id)
    if take.verdict is Verdict.PLACED and take.decision is not Decision.COMPUTED:
        return shoot, NOTHING
    decision = Decision.CONFIRMED if take.decision is Decision.COMPUTED else take.decision
    decided = Decided(Deed.CONFIRMED, at)
    new = replace(take, verdict=Verdict.PLACED, reason="", decision=decision, decided=decided)
    return with_take(shoot, new)


def choose_rival(shoot: Shoot, take_id: str, index: int, at: str) -> tuple[Shoot, Change]:
    """A person says: the take lies at its rival of that index (IndexError when there is none).

    The place left becomes a rival, strengths are told relative to the new place, and the lags, measured
    along the place left, go. Going back to the computed place confirms it.
    """
    _, take = find_take(shoot, take_id)
    if not 0 <= index < len(take.rivals):
        raise IndexError(f"take {take_id} has no rival {index}")
    chosen = take.rivals[index]
    scale = 1 / chosen.strength if chosen.strength > 0 else 1.0
    rivals = [replace(rival, strength=rival.strength * scale) for rival in take.rivals]
    rivals[index] = Rival(take.song_start_s, scale, computed=take.decision is not Decision.BY_HAND)
    deed, decision = Deed.CHOSE_RIVAL, Decision.BY_HAND
    if chosen.computed:
        deed, decision = Deed.CONFIRMED, Decision.CONFIRMED
    placed = by_hand(replace(take, song_start_s=chosen.song_start_s), deed, at)
    return with_take(shoot, replace(placed, decision=decision, rivals=tuple(rivals), lags=()))


def move_take(shoot: Shoot, take_id: str, song_start_s: float, at: str) -> tuple[Shoot, Change]:
    """A person says: the take's start lies at ``song_start_s`` of the song.

    A nudge, or a place of their own. The lags are told relative to the new place; the computed one stays a
    rival.
    """
    _, take = find_take(shoot, take_id)
    if song_start_s == take.song_start_s:
        return shoot, NOTHING
    moved = replace(on_line(take, song_start_s, take.speed), rivals=rivals_beside(take))
    return with_take(shoot, by_hand(moved, Deed.MOVED, at))


def settle_take(
    shoot: Shoot, take_id: str, song_start_s: float, speed: float, uncertainty_s: float, at: str
) -> tuple[Shoot, Change]:
    """A person says: the take lies at the good fit that was found near the place they chose."""
    _, take = find_take(shoot, take_id)
    moved = replace(on_line(take, song_start_s, speed), uncertainty_s=uncertainty_s)
    if moved == take:
        return shoot, NOTHING
    return with_take(shoot, by_hand(replace(moved, rivals=rivals_beside(take)), Deed.SETTLED, at))


def set_verdict_no_song(shoot: Shoot, clip_id: str, at: str) -> tuple[Shoot, Change]:
    """A person says: the song does not run in this clip. Its takes go, and can be taken back."""
    old = shoot.clip(clip_id)
    if old.decision is Decision.BY_HAND and old.verdict is Verdict.NO_SONG:
        return shoot, NOTHING
    new = replace(
        old,
        verdict=Verdict.NO_SONG,
        reason=SAID_NO_SONG,
        takes=(),
        decision=Decision.BY_HAND,
        decided=Decided(Deed.REFUSED, at),
        refused=(*old.refused, *(_refused(take, at) for take in old.takes)),
    )
    return with_clip(shoot, new), Change.CLIPS | Change.TAKES


def refuse_take(shoot: Shoot, take_id: str, at: str) -> tuple[Shoot, Change]:
    """A person says: the song does not run in this take. It goes; other takes of the clip stay.

    Of a clip that has no other take, all of it is said; see ``set_verdict_no_song``.
    """
    clip, take = find_take(shoot, take_id)
    left = tuple(other for other in clip.takes if other is not take)
    if not left:
        return set_verdict_no_song(shoot, clip.id, at)
    refused = (*clip.refused, _refused(take, at))
    reason = "" if clip.reason == take.reason else clip.reason
    shoot, change = with_takes(shoot, replace(clip, refused=refused, reason=reason), left)
    return shoot, change | Change.CLIPS


def take_back(shoot: Shoot, clip_id: str, refused: Refused) -> tuple[Shoot, Change]:
    """A person takes back that the song does not run in a stretch of a clip: the take is there as it was.

    Other takes that are refused stay so. Where the take was not kept, or another one has been found there
    since, nothing but the refusal goes.
    """
    clip = shoot.clip(clip_id)
    if refused not in clip.refused:
        return shoot, NOTHING
    left = tuple(other for other in clip.refused if other != refused)
    clip = replace(clip, refused=left, decision=Decision.COMPUTED, decided=None)
    take, takes = refused.take, clip.takes
    if take is not None and not any(_overlap(take, other) for other in takes):
        taken = [other.id for one in shoot.clips for other in one.takes]
        name = fresh_id(f"{clip_id}-take", taken) if take.id in taken else take.id
        takes = tuple(sorted((*takes, replace(take, id=name)), key=lambda one: one.clip_start_s))
    if takes:
        shoot, change = with_takes(shoot, replace(clip, reason="", takes=takes), takes)
        return shoot, change | Change.CLIPS | Change.TAKES
    return with_clip(shoot, replace(clip, reason=TAKEN_BACK)), Change.CLIPS


def is_decided(take: Take) -> bool:
    """Whether a person decided something about the take, so that no new computation may replace it."""
    return take.decision is not Decision.COMPUTED or take.decided is not None


def was_moved(take: Take) -> bool:
    """Whether a person put the take where it lies: how sure the machine was says nothing of that place."""
    return take.decided is not None and take.decided.deed is Deed.MOVED


def by_hand(take: Take, deed: Deed, at: str, pins: tuple[Pin, ...] = ()) -> Take:
    """The take as one that a person placed; the pins are those of this placing, older ones no longer hold."""
    return replace(
        take,
        verdict=Verdict.PLACED,
        reason="",
        decision=Decision.BY_HAND,
        decided=Decided(deed, at),
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


def _refused(take: Take, at: str) -> Refused:
    return Refused(take.clip_start_s, take.clip_end_s, at, take)


def _overlap(one: Take, other: Take) -> bool:
    return one.clip_start_s < other.clip_end_s and other.clip_start_s < one.clip_end_s


def find_take(shoot: Shoot, take_id: str) -> tuple[Clip, Take]:
    """The take of that id and its clip. Raises KeyError."""
    for clip in shoot.clips:
        for take in clip.takes:
            if take.id == take_id:
                return clip, take
    raise KeyError(take_id)


def with_verdict_of_takes(clip: Clip) -> Clip:
    """The clip's verdict as its takes have it: doubtful as long as one of them is."""
    if any(take.verdict is Verdict.DOUBTFUL for take in clip.takes):
        reason = clip.reason or next(t.reason for t in clip.takes if t.verdict is Verdict.DOUBTFUL)
        return replace(clip, verdict=Verdict.DOUBTFUL, reason=reason)
    return replace(clip, verdict=Verdict.PLACED, reason="")


def with_take(shoot: Shoot, take: Take) -> tuple[Shoot, Change]:
    """The shoot with a take in the place of the one of its id, and its clip's verdict as that makes it."""
    clip, old = find_take(shoot, take.id)
    if take == old:
        return shoot, NOTHING
    return with_takes(shoot, clip, tuple(take if other.id == take.id else other for other in clip.takes))


def with_takes(shoot: Shoot, clip: Clip, takes: tuple[Take, ...]) -> tuple[Shoot, Change]:
    """The shoot with these takes in a clip, and the clip's verdict as they make it."""
    new = with_verdict_of_takes(replace(clip, takes=takes))
    change = Change.TAKES if replace(new, takes=clip.takes) == clip else Change.TAKES | Change.CLIPS
    return with_clip(shoot, new), change


def with_clip(shoot: Shoot, clip: Clip) -> Shoot:
    """The shoot with a clip in the place of the one of its id."""
    return replace(shoot, clips=tuple(clip if other.id == clip.id else other for other in shoot.clips))
