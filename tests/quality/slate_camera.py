"""A camera that films the slate page: perspective, blur, shutter, rolling readout, exposure, noise, and a
file."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import partial
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from audio.pictures.slate_code import QUIET, SlateCode, encode, matrix, stay

Floats = NDArray[np.float64]
PAGE = (540, 960)
"""Lines and columns of the page."""


@dataclass(frozen=True)
class Shot:
    """How a page was filmed, and what comes after it."""

    camera: Fraction = Fraction(25)
    """Frames that the camera takes in a second."""
    file: Fraction = Fraction(25)
    """Frames that its file shows in a second."""
    playback: Fraction = Fraction(1)
    song: str = "9F3C01AA"
    song_s: float = 0.0
    """Song time at which the page begins."""
    waits_s: float = 1.0
    """Real seconds from the camera's start to that."""
    page_s: float = 4.0
    """Real seconds that the page is filmed while the song plays."""
    after_s: float = 2.0
    """Real seconds of something else after it."""
    drift: float = 0.0
    """How much faster than it says the camera's clock runs, relative."""
    size: tuple[int, int] = (360, 640)
    height: float = 0.7
    """Of the page in the picture, as a share of the picture's."""
    tilt: float = 0.1
    """How far corners lie off a rectangle, as a share of the page."""
    turn: float = 0.05
    """Radians."""
    blur: float = 0.8
    """Standard deviation in pixels."""
    shutter: float = 0.5
    """Exposure as a share of a frame."""
    readout: float = 0.4
    """From the first line to the last, as a share of a frame."""
    gain: float = 1.0
    """Exposure: linear light times this, clipped at 1."""
    noise: float = 0.02
    shake: float = 1.0
    """Pixels from frame to frame."""
    crf: int = 27
    refresh: float = 60.0
    """Pictures a second of the screen, which it draws from top to bottom."""
    takes: tuple[int, ...] = (1,)
    """The page is shown once for each, started over each time."""
    seed: int = 0
    gop: int = 12
    codes: dict[str, Floats] = field(default_factory=dict, compare=False, repr=False)

    def song_time(self, clip_s: float, showing: int = 0) -> float:
        """The song time that is true at a clip time (s)."""
        real_s = clip_s * float(self.file / self.camera) / (1 + self.drift)
        return self.song_s + float(self.playback) * (real_s - self.starts()[showing])

    @property
    def speed(self) -> float:
        return float(self.playback * self.file / self.camera) / (1 + self.drift)

    def starts(self) -> list[float]:
        """Real times at which the song starts on the page."""
        return [self.waits_s + number * (self.page_s + self.after_s) for number in range(len(self.takes))]


Shown = Sequence[tuple[float, Callable[[], Floats] | None]]
"""When (real s) the screen shows which page, in linear light of shape `PAGE`; None is something else."""


def film(path: Path, shot: Shot, showing: Shown | None = None) -> None:
    """Film a page into a file without sound; where ``showing`` is None, one that is drawn here."""
    rng = np.random.default_rng(shot.seed)
    warp = _warp(shot, rng)
    other = ndimage.gaussian_filter(rng.random(shot.size), 9)
    other = (0.6 * (other - other.min()) / np.ptp(other)).astype(np.float32)
    shown: dict[int, Floats] = {}
    events = _events(shot) if showing is None else showing
    times = [at_s for at_s, _ in events]
    lines = (np.arange(shot.size[0]) / shot.size[0]).astype(np.float32)
    rate = float(shot.camera) * (1 + shot.drift)
    grain = rng.normal(0, shot.noise, shot.size).astype(np.float32)
    gamma = np.round(16 + 219 * (np.arange(1024) / 1023) ** (1 / 2.2)).astype(np.uint8)
    whole_s = shot.starts()[-1] + shot.page_s + shot.after_s

    def seen(number: int) -> Floats:
        if number not in shown:
            page = events[number][1] if number >= 0 else None
            shown.pop(number - 3, None)
            if page is None:
                shown[number] = other
            else:
                shown[number] = ndimage.gaussian_filter(warp(page()), shot.blur).astype(np.float32)
        return shown[number]

    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=shot.file)
        stream.height, stream.width = shot.size
        stream.pix_fmt = "yuv420p"
        stream.options = {"crf": str(shot.crf), "preset": "veryfast", "g": str(shot.gop)}
        drift = np.zeros(2)
        for number in range(int(whole_s * rate)):
            start = number / rate + lines * shot.readout / rate
            end = start + shot.shutter / rate
            # The screen is redrawn from top to bottom within a refresh.
            first = int(np.searchsorted(times, start[0] - 1 / shot.refresh, "right")) - 1
            last = int(np.searchsorted(times, end[-1], "right")) - 1
            light = seen(first).copy()
            for event in range(first + 1, last + 1):
                new = times[event] + lines / shot.refresh
                share = np.clip((end - new) / (end - start), 0, 1)[:, None]
                light += share.astype(np.float32) * (seen(event) - light)
            drift = 0.9 * drift + rng.normal(0, shot.shake, 2)
            light = np.roll(light, tuple(np.round(drift).astype(int)), (0, 1))
            light = light * np.float32(shot.gain) + np.roll(grain, rng.integers(0, 200, 2), (0, 1))
            grey = gamma[np.clip(light * 1023, 0, 1023).astype(np.int16)]
            picture = np.full((shot.size[0] * 3 // 2, shot.size[1]), 128, np.uint8)
            picture[: shot.size[0]] = grey
            frame = av.VideoFrame.from_ndarray(picture, format="yuv420p")
            frame.pts, frame.time_base = number, 1 / shot.file
            container.mux(stream.encode(frame))
        container.mux(stream.encode())


def _events(shot: Shot) -> list[tuple[float, Callable[[], Floats] | None]]:
    """When (real s) the screen shows which code; None is something else."""
    rng = np.random.default_rng(shot.seed + 1)
    out: list[tuple[float, Callable[[], Floats] | None]] = []
    stays = stay(shot.refresh)
    for begin_s, take in zip(shot.starts(), shot.takes, strict=True):
        phase = rng.random() / shot.refresh
        for count in range(int(shot.page_s * shot.refresh) // stays):
            at_s = phase + count * stays / shot.refresh
            song_ms = round(1000 * (shot.song_s + float(shot.playback) * (at_s + 0.5 / shot.refresh)))
            code = SlateCode(shot.song, song_ms, shot.playback, take)
            out.append((begin_s + at_s, partial(_page, code)))
        out.append((begin_s + shot.page_s, None))
    return out


def _page(code: SlateCode) -> Floats:
    """The page in linear light, shape PAGE."""
    dark = np.pad(matrix(encode(code)), QUIET)
    scale = int(0.9 * PAGE[0]) // len(dark)
    page = np.full(PAGE, 0.9)
    big = np.kron(dark, np.ones((scale, scale)))
    top, left = (PAGE[0] - len(big)) // 2, PAGE[1] - len(big) - 20
    page[top : top + len(big), left : left + len(big)] = np.where(big > 0, 0.02, 0.95)
    for line in range(6):
        page[60 + 75 * line : 100 + 75 * line, 30 : 200 + 37 * (line * 5 % 7)] = 0.05
    return page


def _warp(shot: Shot, rng: np.random.Generator):  # type: ignore[no-untyped-def]
    """What puts a page into a picture, in perspective."""
    lines, columns = shot.size
    high = shot.height * lines
    wide = min(high * PAGE[1] / PAGE[0], 0.98 * columns)
    high = wide * PAGE[0] / PAGE[1]
    corners = np.array([[-high, -wide], [-high, wide], [high, wide], [high, -wide]]) / 2
    corners += rng.uniform(-1, 1, (4, 2)) * shot.tilt * high / 2
    turn = np.array([[np.cos(shot.turn), -np.sin(shot.turn)], [np.sin(shot.turn), np.cos(shot.turn)]])
    corners = corners @ turn.T + np.array([lines, columns]) / 2
    page = np.array([[0, 0], [0, PAGE[1]], [PAGE[0], PAGE[1]], [PAGE[0], 0]], float)
    rows, sides = [], []
    for (y, x), (v, u) in zip(corners, page, strict=True):
        rows += [[y, x, 1, 0, 0, 0, -v * y, -v * x], [0, 0, 0, y, x, 1, -u * y, -u * x]]
        sides += [v, u]
    h = np.append(np.linalg.solve(np.array(rows), np.array(sides)), 1).reshape(3, 3)
    grid = np.stack(np.meshgrid(np.arange(lines), np.arange(columns), indexing="ij"), -1)
    full = np.concatenate([grid, np.ones((lines, columns, 1))], -1) @ h.T
    where = np.moveaxis(full[..., :2] / full[..., 2:], -1, 0)
    step = PAGE[0] / high

    def warp(light: Floats) -> Floats:
        smooth = ndimage.gaussian_filter(light, max(0.0, 0.4 * (step - 1)))
        return np.asarray(ndimage.map_coordinates(smooth, where, order=1, cval=0.15))

    return warp
