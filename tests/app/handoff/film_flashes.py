"""When the beat lamps of the sample shoot light in the tiles of a proof film."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from app.handoff.filmed.film_plan import FilmPlan, Seen
from audio.filming.proof_film import ProofFilm
from audio.filming.tiles import Box, grid, heading, letters
from tests.app.window.sample_truth import PIXELS, TRUTH

LAMPS = {Path(one["file"]).name: one.get("lamp") for one in TRUTH["clips"]}


def glasses(planned: FilmPlan, engine: ProofFilm) -> list[tuple[int, Seen, Box]]:
    """Row, take and the middle of the lamp's glass, for every take in which the lamp stands still."""
    head = heading(letters(engine.height))
    boxes = grid(len(planned.rows), engine.width, engine.height - engine.foot().lines)
    found = []
    for number, (row, box) in enumerate(zip(planned.rows, boxes, strict=True)):
        for seen in row.seen:
            lamp = LAMPS[Path(seen.clip.media.path).name]
            if lamp is None:
                continue
            scale = min(box.width / PIXELS[0], (box.height - head) / PIXELS[1])
            wide, high = PIXELS[0] * scale, PIXELS[1] * scale
            x = box.x + (box.width - wide) / 2 + lamp["x"] * wide
            y = box.y + head + lamp["y"] * high
            half = max(1.5, 0.2 * lamp["height"] * high)
            found.append(
                (number, seen, Box(round(x - half), round(y - half), round(2 * half), round(2 * half)))
            )
    return found


def levels(path: Path, places: list[Box]) -> NDArray[np.float64]:
    """Brightness of each place in each frame, shape (places, frames)."""
    rows = []
    with av.open(str(path)) as file:
        for frame in file.decode(video=0):
            luma = frame.to_ndarray(format="gray")
            rows.append([luma[b.y : b.y + b.height, b.x : b.x + b.width].mean() for b in places])
    return np.array(rows, dtype=np.float64).T


@dataclass(frozen=True)
class Flashes:
    """The beats of one take whose lit frame the film shows, and in which of its frames the lamp lights."""

    rate: Fraction
    """Of the clip."""
    beats: int
    """All that fall into the take; of a clip with more frames a second the film leaves some frames out."""
    found: frozenset[int]
    """Frames of the film in which the lamp lights."""
    wanted: frozenset[int]
    """For each beat the first frame of the film whose middle lies in the frame of the clip that is lit."""
    left_out: frozenset[int]
    """Frames that come first after a lit one that the film leaves out: an afterglow may show there."""
    errors_s: NDArray[np.float64]
    """Middle of the wanted frame minus the beat."""


def flashes(path: Path, planned: FilmPlan, engine: ProofFilm) -> dict[str, Flashes]:
    """By name of take."""
    known = glasses(planned, engine)
    told = {}
    middles = np.array([engine.middle_s(frame) for frame in range(engine.frames)])
    for (_, seen, _), level in zip(known, levels(path, [box for _, _, box in known]), strict=True):
        rate = seen.clip.frame_rate
        assert rate is not None
        inside = (middles >= seen.start_s) & (middles < seen.end_s)
        beats = np.array(TRUTH["song"]["beats_s"])
        beats = beats[(beats > seen.start_s + 0.1) & (beats < min(seen.end_s, middles[-1]) - 0.1)]
        rise = np.diff(level, prepend=level[0])
        lit = inside & (rise > 0.3 * (level[inside].max() - np.median(level[inside])))
        lit &= (middles > beats[0] - 0.1) & (middles < beats[-1] + 0.1)
        # The sample shoot's README: the lamp lights in the frame during which a beat falls.
        frames = np.floor([seen.take.clip_time(beat) * float(rate) + 1e-6 for beat in beats])
        begins, ends = (
            np.array([seen.take.song_time(float(n / float(rate))) for n in some])
            for some in (frames, frames + 1)
        )
        first = np.searchsorted(middles, begins - 1e-6)
        shown = middles[first] < ends - 1e-6
        told[seen.name] = Flashes(
            rate,
            len(beats),
            frozenset(map(int, np.flatnonzero(lit))),
            frozenset(map(int, first[shown])),
            frozenset(map(int, first[~shown])),
            (middles[first] - beats)[shown],
        )
    return told
