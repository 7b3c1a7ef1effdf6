"""Takes placed by moments that belong together: this frame of the clip is that beat of the song.

One pin tells where a take lies and leaves its speed; two tell its speed as well. It works without any sound.
"""

from dataclasses import replace

from app.model.document.change import Change
from app.model.document.decisions import Action, Pin
from app.model.document.ids import fresh_id
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.edits.deciding import (
    by_hand,
    decide,
    find_take,
    on_line,
    rivals_beside,
    take_ids,
    without_clip_refusal,
)
from app.model.on_song import Clip, Take, on_song
from app.model.song_line import Line

APART_S = 1.0
"""Two pins nearer than this say nothing about speed: at 25 a second a frame is 4 % of it."""
SLOWEST, FASTEST = 0.25, 4.0
"""Speeds that two pins may give."""
SHORTEST_S = 0.5
"""A take needs at least this much of a clip."""
CLOCK_SPREAD = 2e-4
"""Two standard deviations of how far camera clocks are apart (s/s): all that one pin knows of the speed."""
SOUND_STEP_S = 0.01
"""What a frame is to a clip without pictures."""


def pin(
    shoot: Shoot,
    clip_id: str,
    take_id: str | None,
    clip_s: float,
    song_s: float,
    at: str,
    song_id: str | None = None,
    within: tuple[float, float] | None = None,
) -> tuple[Shoot, Change]:
    """A person says: this moment of the clip is that moment of the song.

    Without a take (``take_id`` None) one is made of all of the clip that the song then runs through, as far
    as it lies ``within`` two moments of the clip (s). A second
    pin within a frame of an older one takes its place; so does a third of the nearer one. Raises ValueError
    with a sentence where the pins cannot be.
    """
    view = on_song(shoot, song_id)
    clip, song = view.clip(clip_id), view.song
    if song is None:
        raise ValueError("There is no song yet. Choose the song first; then frames can be pinned to it.")
    if not 0 <= clip_s <= clip.duration_s:
        raise ValueError("That moment is outside the clip. Pin a frame of the clip.")
    if not 0 <= song_s <= song.duration_s:
        raise ValueError("That moment is outside the song. Pin the frame to a beat of the song.")
    new = Pin(clip_s, song_s)
    if take_id is None:
        name = fresh_id(f"{clip.id}-take", take_ids(shoot))
        line = Take(name, 0.0, clip.duration_s, song_s - clip_s)
        start_s, end_s = _reach(clip, song, line)
        if within is not None:
            start_s, end_s = max(start_s, min(within)), min(end_s, max(within))
        take = _over(line, start_s, end_s)
        # A person who pins a clip takes back having said that it is not this song.
        shoot = without_clip_refusal(shoot, song, clip_id)
        return decide(shoot, song, clip_id, [_placed(clip, take, (new,), True, at)])
    _, _, take = find_take(shoot, take_id)
    pins = _with_pin(clip, take.pins, new)
    speed = _speed(pins) if len(pins) == 2 else take.speed
    whole = (take.clip_start_s, take.clip_end_s) == _reach(clip, song, take)
    at_start = Line(song_s, speed, clip_s).begun_at(take.clip_start_s)
    moved = on_line(take, at_start.song_start_s, speed)
    moved = replace(moved, rivals=rivals_beside(take))
    if whole:
        # It was all of the clip that the song runs through, and stays that on its new line.
        moved = _over(moved, *_reach(clip, song, moved))
    return decide(shoot, song, clip_id, [_placed(clip, moved, pins, whole and not take.lags, at)])


def frame_s(clip: Clip) -> float:
    """Length of a frame of the clip (s); of a step where it has no pictures."""
    return float(1 / clip.frame_rate) if clip.frame_rate else SOUND_STEP_S


def _with_pin(clip: Clip, pins: tuple[Pin, ...], new: Pin) -> tuple[Pin, ...]:
    kept = [old for old in pins if abs(old.clip_s - new.clip_s) >= frame_s(clip) * 0.999]
    if len(kept) == 2:
        kept.remove(min(kept, key=lambda old: abs(old.clip_s - new.clip_s)))
    return tuple(sorted([*kept, new], key=lambda one: one.clip_s))


def _speed(pins: tuple[Pin, ...]) -> float:
    first, last = pins
    apart_s = last.clip_s - first.clip_s
    if apart_s < APART_S - 1e-6:
        raise ValueError(
            "The two pins are less than a second apart, too close to give a speed. "
            "Put the second one further along the clip."
        )
    speed = (last.song_s - first.song_s) / apart_s
    if speed <= 0:
        raise ValueError(
            "The later frame is pinned to the earlier beat: time would run backwards. Check both pins."
        )
    if not SLOWEST <= speed <= FASTEST:
        raise ValueError(
            f"These pins give a speed of {speed:.3g}; between {SLOWEST:g} and {FASTEST:g} is possible. "
            "Check both pins."
        )
    return speed


def _reach(clip: Clip, song: Song, take: Take) -> tuple[float, float]:
    """From where to where the song would run through the clip on the take's line (clip time)."""
    start_s = min(max(0.0, take.clip_time(0.0)), clip.duration_s)
    return start_s, max(min(clip.duration_s, take.clip_time(song.duration_s)), start_s)


def _over(take: Take, start_s: float, end_s: float) -> Take:
    """The take's line between two moments of the clip. Raises ValueError where that is next to nothing."""
    if end_s - start_s < SHORTEST_S:
        raise ValueError(
            "Placed like this, the clip would hold less than half a second of the song. Check frame and beat."
        )
    song_start_s = take.song_time(start_s)
    lags = tuple(point for point in take.lags if start_s <= point.clip_s <= end_s)
    later_s = song_start_s - take.song_start_s
    rivals = tuple(replace(one, song_start_s=one.song_start_s + later_s) for one in take.rivals)
    return replace(
        take,
        clip_start_s=start_s,
        clip_end_s=end_s,
        song_start_s=song_start_s,
        lags=lags,
        rivals=rivals,
    )


def _placed(clip: Clip, take: Take, pins: tuple[Pin, ...], guessed: bool, at: str) -> Take:
    """The take as pinned. ``guessed``: nothing but one pin is known of its speed."""
    half_s = frame_s(clip) / 2
    ends = (take.clip_start_s, take.clip_end_s)
    if len(pins) == 2:
        middle, half = (pins[0].clip_s + pins[1].clip_s) / 2, (pins[1].clip_s - pins[0].clip_s) / 2
        unsure_s = half_s * max(1.0, *(abs(end - middle) / half for end in ends))
    else:
        unsure_s = half_s + guessed * CLOCK_SPREAD * max(abs(end - pins[0].clip_s) for end in ends)
    return replace(by_hand(take, Action.PINNED, at, pins), uncertainty_s=unsure_s)
