"""What a person decides about takes: the place is right, another one is, or the song does not run here.

A decision is never overwritten by a new computation (see `app.model.edits.answer_clip`).
"""

from dataclasses import replace

from app.model.change import NOTHING, Change
from app.model.shoot import Clip, Decision, Rival, Shoot, Take, Verdict

SAID_NO_SONG = "A person said that the song does not run here."


def confirm_take(shoot: Shoot, take_id: str) -> tuple[Shoot, Change]:
    """A person says: the take lies right. A place chosen by hand stays "by hand"."""
    _, take = find_take(shoot, take_id)
    decision = Decision.CONFIRMED if take.decision is Decision.COMPUTED else take.decision
    return _with_take(shoot, replace(take, verdict=Verdict.PLACED, reason="", decision=decision))


def choose_rival(shoot: Shoot, take_id: str, index: int) -> tuple[Shoot, Change]:
    """A person says: the take lies at its rival of that index (IndexError when there is none).

    The place left becomes a rival, strengths are told relative to the new place, and the lags, measured
    along the place left, go.
    """
    _, take = find_take(shoot, take_id)
    if not 0 <= index < len(take.rivals):
        raise IndexError(f"take {take_id} has no rival {index}")
    chosen = take.rivals[index]
    scale = 1 / chosen.strength if chosen.strength > 0 else 1.0
    rivals = [replace(rival, strength=rival.strength * scale) for rival in take.rivals]
    rivals[index] = Rival(take.song_start_s, scale)
    new = replace(
        take,
        song_start_s=chosen.song_start_s,
        verdict=Verdict.PLACED,
        reason="",
        decision=Decision.BY_HAND,
        rivals=tuple(rivals),
        lags=(),
    )
    return _with_take(shoot, new)


def move_take(shoot: Shoot, take_id: str, song_start_s: float) -> tuple[Shoot, Change]:
    """A person says: the take's start lies at ``song_start_s`` of the song.

    A nudge, or a place of their own. The lags are told relative to the new place.
    """
    _, take = find_take(shoot, take_id)
    if song_start_s == take.song_start_s:
        return shoot, NOTHING
    by_s = song_start_s - take.song_start_s
    new = replace(
        take,
        song_start_s=song_start_s,
        verdict=Verdict.PLACED,
        reason="",
        decision=Decision.BY_HAND,
        lags=tuple(replace(point, lag_s=point.lag_s - by_s) for point in take.lags),
    )
    return _with_take(shoot, new)


def set_verdict_no_song(shoot: Shoot, clip_id: str) -> tuple[Shoot, Change]:
    """A person says: the song does not run in this clip. Its takes go."""
    old = shoot.clip(clip_id)
    new = replace(old, verdict=Verdict.NO_SONG, reason=SAID_NO_SONG, takes=(), decision=Decision.BY_HAND)
    if new == old:
        return shoot, NOTHING
    return with_clip(shoot, new), Change.CLIPS | Change.TAKES


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


def _with_take(shoot: Shoot, take: Take) -> tuple[Shoot, Change]:
    clip, old = find_take(shoot, take.id)
    if take == old:
        return shoot, NOTHING
    takes = tuple(take if other.id == take.id else other for other in clip.takes)
    new = with_verdict_of_takes(replace(clip, takes=takes))
    change = Change.TAKES if replace(new, takes=clip.takes) == clip else Change.TAKES | Change.CLIPS
    return with_clip(shoot, new), change


def with_clip(shoot: Shoot, clip: Clip) -> Shoot:
    """The shoot with a clip in the place of the one of its id."""
    return replace(shoot, clips=tuple(clip if other.id == clip.id else other for other in shoot.clips))
