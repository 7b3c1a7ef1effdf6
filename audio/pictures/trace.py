"""What is kept of a clip's pictures: a row of figures for each, and small pictures some seconds apart.

Everything that pictures tell of a clip is worked out from its trace, so no clip is decoded twice.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from audio.errors import BadSignal, Stopped
from audio.pictures.picture_measures import (
    BANDS,
    COLUMNS,
    TILES,
    Plane,
    block_means,
    blocked_share,
    clipped_share,
    edge_energies,
    halved,
    histograms,
    quantiles_of,
)
from audio.pictures.sampling import Picture
from audio.pictures.shifts import shifts_of
from audio.progress import never

THUMB_LINES = 72
"""Height of the small pictures that are kept."""
THUMB_STEP_S = 2.0
"""They are about so far apart …"""
MOST_THUMBS = 120
"""… and no more than this; a longer clip's are further apart."""
_AT_ONCE = 32
"""Pictures that are measured at once: singly, steps in Python would cost more than the sums; of many, the
sums do not fit into the processor's own memory. By hand."""
_TOP_CELLS = 8, 12
"""Cells whose changes are compared: a hand that moves fills one."""


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """Figures of a clip's pictures. Levels are luma from 0 to 1, lengths are picture heights.

    Rows are pictures, n of them; ``…change``, ``shift`` and ``agreed`` compare a picture with
    the one before and are NaN where it begins a run.
    """

    clip_s: NDArray[np.float64]
    """(n,) clip time in seconds, rising."""
    run: NDArray[np.int32]
    """(n,) pictures of consecutive frames share it."""
    level: NDArray[np.float32]
    """(n,) mean."""
    quantiles: NDArray[np.float32]
    """(n, 5) as `QUANTILES` says."""
    cells: NDArray[np.float32]
    """(n, 24 bands from the top, 4 columns) means."""
    clipped: NDArray[np.float32]
    """(n,) share of pixels with clipped highlights."""
    blocked: NDArray[np.float32]
    """(n,) share of pixels with blocked shadows."""
    change: NDArray[np.float32]
    """(n,) mean absolute difference."""
    top_change: NDArray[np.float32]
    """(n,) the same of the cell (of 8 x 12) where it is largest."""
    calm_change: NDArray[np.float32]
    """(n,) the same of a calm cell: a tenth of them change less. Noise, or the camera's own unrest."""
    shift: NDArray[np.float32]
    """(n, 2) how far the whole picture moved, right and down."""
    agreed: NDArray[np.float32]
    """(n,) share of the picture's tiles that moved so."""
    edges_s: NDArray[np.float64]
    """(e,) clip times of the rows of ``edges``."""
    edges: NDArray[np.float32]
    """(e, tiles, x and y, fine and coarse) energies of edges, see `edge_energies`."""
    fine_lines: NDArray[np.int32]
    """() lines of the pictures that edges were measured in; 0 where none was."""
    thumbs_s: NDArray[np.float64]
    """(m,) clip times of ``thumbs``."""
    thumbs: NDArray[np.uint8]
    """(m, 72, w, 3) small pictures, RGB."""
    stamps: NDArray[np.float64]
    """(frames,) clip time of every frame shown, rising, whether looked at or not."""

    def arrays(self) -> dict[str, NDArray[Any]]:
        """Its arrays by name, as `from_arrays` takes them."""
        return {one.name: getattr(self, one.name) for one in fields(self)}

    @classmethod
    def from_arrays(cls, arrays: Mapping[str, NDArray[Any]]) -> "Trace":
        """From what `arrays` gave. Raises KeyError where one is missing."""
        return cls(**{one.name: arrays[one.name] for one in fields(cls)})


def trace_of(
    pictures: Iterable[Picture], stamps: NDArray[np.float64], *, stop: Callable[[], bool] = never
) -> Trace:
    """The trace of a clip: from its pictures in rising clip time, all of one shape, and its frames' times.

    The pictures are read once; no more than a few dozen small ones are held. Raises BadSignal where there is
    none, and Stopped.
    """
    tracing = _Tracing()
    for picture in pictures:
        if stop():
            raise Stopped("Looking at the clip was stopped.")
        tracing.add(picture)
    return tracing.trace(np.asarray(stamps, np.float64))


class _Tracing:
    """Gathers the rows."""

    def __init__(self) -> None:
        self._held: list[Picture] = []
        self._before: Plane | None = None
        """The picture before those held, where it is of their run."""
        self._rows: dict[str, list[NDArray[Any]]] = {}
        self._thumbs: list[tuple[float, NDArray[np.uint8]]] = []
        self._thumb_step_s = THUMB_STEP_S
        self._edges: list[tuple[float, Plane]] = []
        self._fine_lines = 0

    def add(self, picture: Picture) -> None:
        """Take one picture."""
        if self._held and picture.run != self._held[-1].run:
            self._measure()
            self._before = None
        self._held.append(picture)
        if picture.fine is not None:
            self._edges.append((picture.clip_s, edge_energies(picture.fine)))
            self._fine_lines = picture.fine.shape[0]
        if picture.rgb is not None:
            self._keep_thumb(picture.clip_s, picture.rgb)
        if len(self._held) == _AT_ONCE:
            self._measure()

    def trace(self, stamps: NDArray[np.float64]) -> Trace:
        """All of it."""
        self._measure()
        if not self._rows:
            raise BadSignal("The clip has no picture to look at.")
        edges = [one for _, one in self._edges] or [np.zeros((TILES[0] * TILES[1], 2, 2), np.float32)]
        thumbs = [one for _, one in self._thumbs] or [np.zeros((THUMB_LINES, THUMB_LINES, 3), np.uint8)]
        return Trace(
            **{name: np.concatenate(rows) for name, rows in self._rows.items()},
            edges_s=np.array([at_s for at_s, _ in self._edges], np.float64),
            edges=np.stack(edges)[: len(self._edges)],
            fine_lines=np.array(self._fine_lines, np.int32),
            thumbs_s=np.array([at_s for at_s, _ in self._thumbs], np.float64),
            thumbs=np.stack(thumbs)[: len(self._thumbs)],
            stamps=stamps,
        )

    def _measure(self) -> None:
        """Measure the pictures that are held, all at once."""
        held, self._held = self._held, []
        if not held:
            return
        codes = np.stack([one.luma for one in held])
        levels = np.multiply(codes, np.float32(1 / 255), dtype=np.float32)
        cells, counts = block_means(levels, BANDS, COLUMNS), histograms(codes)
        self._keep("clip_s", np.array([one.clip_s for one in held], np.float64))
        self._keep("run", np.array([one.run for one in held], np.int32))
        self._keep("level", cells.mean(axis=(1, 2)))
        self._keep("quantiles", quantiles_of(counts))
        self._keep("cells", cells)
        self._keep("clipped", clipped_share(counts))
        self._keep("blocked", blocked_share(counts))
        first = 0 if self._before is not None else 1
        if self._before is not None:
            levels = np.concatenate((self._before[None], levels))
        self._before = levels[-1]
        compared = {
            name: np.full((len(held), *shape), np.nan, np.float32)
            for name, shape in (
                *((one, ()) for one in ("change", "top_change", "calm_change", "agreed")),
                ("shift", (2,)),
            )
        }
        if len(levels) > 1:
            apart = np.abs(levels[1:] - levels[:-1])
            tops = np.sort(block_means(apart, *_TOP_CELLS).reshape(len(apart), -1), axis=1)
            compared["change"][first:] = tops.mean(axis=1)
            compared["top_change"][first:] = tops[:, -1]
            compared["calm_change"][first:] = tops[:, tops.shape[1] // 10]
            small = halved(levels)
            found = shifts_of(small)
            compared["agreed"][first:] = found.agreed
            compared["shift"][first:] = np.stack((found.right, found.down), axis=1) / small.shape[1]
        for name, values in compared.items():
            self._keep(name, values)

    def _keep(self, name: str, values: NDArray[Any]) -> None:
        self._rows.setdefault(name, []).append(values)

    def _keep_thumb(self, clip_s: float, rgb: NDArray[np.uint8]) -> None:
        if self._thumbs and clip_s < self._thumbs[-1][0] + self._thumb_step_s:
            return
        if rgb.shape[0] != THUMB_LINES:
            size = THUMB_LINES, max(1, round(rgb.shape[1] * THUMB_LINES / rgb.shape[0]))
            means = block_means(np.moveaxis(rgb, 2, 0).astype(np.float32), *size)
            rgb = np.clip(np.moveaxis(means, 0, 2) + 0.5, 0, 255).astype(np.uint8)
        self._thumbs.append((clip_s, rgb))
        if len(self._thumbs) > MOST_THUMBS:
            self._thumbs = self._thumbs[::2]
            self._thumb_step_s *= 2
