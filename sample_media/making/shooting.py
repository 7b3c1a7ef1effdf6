"""Pictures of a shot, frame after frame."""

from collections.abc import Iterator
from types import ModuleType

import numpy as np
from numpy.typing import NDArray

from making import angles, board, details
from making.angles import Angle, Moment
from making.drawing import pixels
from making.motion import Motion
from making.shots import Run, Shot

_BREATH_S = 0.8
"""How long before the playback the players lift their instruments."""


def view(name: str) -> type[Angle]:
    """The angle of that class name."""
    (made,) = (getattr(room, name) for room in (angles, board, details) if _defines(room, name))
    return made  # type: ignore[no-any-return]


def _defines(room: ModuleType, name: str) -> bool:
    return bool(getattr(getattr(room, name, None), "__module__", "") == room.__name__)


def frame_count(shot: Shot) -> int:
    """Whole frames in the shot."""
    assert shot.rate is not None
    return int(shot.length_s * shot.rate)


def _run_near(shot: Shot, time: float) -> Run | None:
    """The run that is on, or comes next, or was last."""
    for run in shot.runs:
        if time < run.clip_end_s + 2.5:
            return run
    return shot.runs[-1] if shot.runs else None


def pictures(shot: Shot, motion: Motion, song_s: float) -> Iterator[NDArray[np.uint8]]:
    """Every frame as bytes (h, w, 4); a yielded array is valid until the next."""
    assert shot.rate is not None
    angle = view(shot.view)()
    frame_s = float(1 / shot.rate)
    for number in range(frame_count(shot)):
        start, end = float(number / shot.rate), float((number + 1) / shot.rate)
        middle = 0.5 * (start + end)
        run = _run_near(shot, middle)
        playing, lamp, song = 0.0, 0.0, 0.0
        if run is not None:
            lifted = (middle - run.clip_start_s + _BREATH_S) / _BREATH_S
            lowered = (run.clip_end_s + _BREATH_S - middle) / _BREATH_S
            playing = float(0.5 - 0.5 * np.cos(np.pi * np.clip(min(lifted, lowered), 0, 1)))
            song = float(np.clip(run.song_time(middle), run.song_start_s, run.song_end_s))
            if run.clip_start_s < end and start < run.clip_end_s:
                lamp = motion.lamp(run.song_time(start), min(run.song_time(end), run.song_end_s), frame_s)
        voyage = 0.04 + 0.9 * song / song_s if run is not None else 0.3 + 0.02 * start
        yield pixels(angle.draw(Moment(motion.pose(song, middle, playing), lamp, start, voyage)))
