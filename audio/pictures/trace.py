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
    Plane,
    block_means,
    blocked_share,
    clipped_share,
    gradient_energies,
    halved,
    luma_of,
    quantiles_of,
)
from audio.pictures.sampling import Picture
from audio.pictures.shifts import Shifts
from audio.progress import never

THUMB_LINES = 72
"""Height of the small pictures that are kept."""
THUMB_STEP_S = 2.0
"""They are about so far apart …"""
MOST_THUMBS = 120
"""… and no more than this; a longer clip's are further apart."""
EDGE_STEP_S = 0.24
"""Gradient energies are taken about so far apart: focus changes no faster, and they cost most."""
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
    """(e, tiles, x and y, fine and coarse) gradient energies, see `gradient_energies`."""
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

    The pictures are read once; no more than two are held. Raises BadSignal where there is none, and Stopped.
    """
    tracing: _Tracing | None = None
    for picture in pictures:
        if stop():
            raise Stopped("Looking at the clip was stopped.")
        if tracing is None:
            high, wide = picture.rgb.shape[:2]
            tracing = _Tracing(high, wide)
        tracing.add(picture)
    if tracing is None:
        raise BadSignal("The clip has no picture to look at.")
    return tracing.trace(np.asarray(stamps, np.float64))


class _Tracing:
    """Gathers the rows."""

    def __init__(self, high: int, wide: int) -> None:
        self._halved = high // 2, wide // 2
        self._shifts = Shifts(self._halved)
        self._thumb = THUMB_LINES, max(1, round(wide * THUMB_LINES / high))
        self._rows: dict[str, list[object]] = {}
        self._last_luma: Plane | None = None
        self._last_run: int | None = None
        self._thumbs: list[tuple[float, NDArray[np.uint8]]] = []
        self._thumb_step_s = THUMB_STEP_S
        self._edges: list[tuple[float, Plane]] = []

    def add(self, picture: Picture) -> None:
        """Measure one picture."""
        luma = luma_of(picture.rgb)
        if picture.run != self._last_run:
            self._last_luma, self._last_run = None, picture.run
            self._shifts.forget()
        self._keep("clip_s", picture.clip_s)
        self._keep("run", picture.run)
        self._keep("level", luma.mean())
        self._keep("quantiles", quantiles_of(luma))
        self._keep("cells", block_means(luma, BANDS, COLUMNS))
        self._keep("clipped", clipped_share(picture.rgb))
        self._keep("blocked", blocked_share(luma))
        self._compare(luma)
        if not self._edges or picture.clip_s >= self._edges[-1][0] + EDGE_STEP_S:
            self._edges.append((picture.clip_s, gradient_energies(luma)))
        if not self._thumbs or picture.clip_s >= self._thumbs[-1][0] + self._thumb_step_s:
            self._keep_thumb(picture)

    def trace(self, stamps: NDArray[np.float64]) -> Trace:
        """All of it."""
        kinds: dict[str, type] = {"clip_s": np.float64, "run": np.int32}
        rows: dict[str, NDArray[Any]] = {
            name: np.array(row, kinds.get(name, np.float32)) for name, row in self._rows.items()
        }
        edges_s, edges = zip(*self._edges, strict=True)
        thumbs_s, thumbs = zip(*self._thumbs, strict=True)
        return Trace(
            **rows,
            edges_s=np.array(edges_s, np.float64),
            edges=np.stack(edges),
            thumbs_s=np.array(thumbs_s, np.float64),
            thumbs=np.stack(thumbs),
            stamps=stamps,
        )

    def _keep(self, name: str, value: object) -> None:
        self._rows.setdefault(name, []).append(value)

    def _compare(self, luma: Plane) -> None:
        change = top = calm = agreed = np.nan
        shift = (np.nan, np.nan)
        if self._last_luma is not None:
            apart = np.abs(luma - self._last_luma)
            cells = np.sort(block_means(apart, *_TOP_CELLS), axis=None)
            change, top, calm = float(apart.mean()), float(cells[-1]), float(cells[cells.size // 10])
        found = self._shifts.add(halved(luma))
        if found is not None:
            shift = found.right / self._halved[0], found.down / self._halved[0]
            agreed = found.agreed
        self._last_luma = luma
        self._keep("change", change)
        self._keep("top_change", top)
        self._keep("calm_change", calm)
        self._keep("shift", shift)
        self._keep("agreed", agreed)

    def _keep_thumb(self, picture: Picture) -> None:
        channels = [block_means(picture.rgb[:, :, one].astype(np.float32), *self._thumb) for one in range(3)]
        small = np.clip(np.stack(channels, axis=2) + 0.5, 0, 255).astype(np.uint8)
        self._thumbs.append((picture.clip_s, small))
        if len(self._thumbs) > MOST_THUMBS:
            self._thumbs = self._thumbs[::2]
            self._thumb_step_s *= 2
