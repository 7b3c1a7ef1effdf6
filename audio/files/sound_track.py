"""One sound track on a regular grid of samples: every decoded frame is placed by its own time stamp."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

import numpy as np
import soxr
from av import AudioFrame
from av.audio.stream import AudioStream
from numpy.typing import NDArray

from audio.errors import Unreadable
from audio.files.channels import Meter
from audio.files.edit_lists import Part
from audio.files.plausible import LONGEST_S, MOST_SILENCE_S, check_sound_rate
from audio.files.sample_buffers import SampleBuffer

FloatArray = NDArray[np.float32]

_HOLE_S = 0.010
"""Seconds; stamps that are off by less are rounded (to 1 ms in some containers) and mark no gap."""
_VORBIS_HOLE_S = 0.050
"""The same for Vorbis, whose stamps are off by a quarter of a long block where block lengths change
(seconds)."""
_LEAP_S = 600.0
"""Seconds; a stamp this far beyond the end of the file, or a second back, is damaged and ignored. Chosen by
hand."""
_PIECE = 1 << 16
"""Samples that are metered and resampled at a time: about a second."""
_AVERAGED = 400
"""Packets over which rounded stamps are averaged. Chosen by hand: rounding to 1 ms then averages out to some
hundredths."""
_COARSE = Fraction(1, 2000)
"""Seconds; stamps with a coarser time base are averaged."""


@dataclass(frozen=True, slots=True)
class _InTicks:
    """A part of the stream that is shown, in ticks of the stream's time base."""

    start: Fraction | float
    end: Fraction | float
    shift: Fraction | int
    """Ticks to add to a stamp."""
    first: float
    """First whole tick inside. With ``last`` a float, because every frame is compared and fractions compare
    slowly."""
    last: float
    """End in ticks."""

    @classmethod
    def of(cls, part: Part, tick: Fraction) -> "_InTicks":
        start = float("-inf") if part.start_s is None else part.start_s / tick
        end = float("inf") if part.end_s is None else part.end_s / tick
        shift = part.shift_s / tick
        first = start if isinstance(start, float) else ceil(start)
        return cls(start, end, int(shift) if shift.denominator == 1 else shift, first, float(end))


class Origin:
    """Zero point of the sample grids of all tracks of a file: the first sample decoded (movie time,
    seconds)."""

    def __init__(self) -> None:
        self.at_s: Fraction | None = None


class Track:
    """Collects the decoded frames of one stream and stores its channels at ``rate`` samples a second."""

    def __init__(
        self,
        stream: AudioStream,
        parts: Sequence[Part],
        rate: int,
        origin: Origin,
        end_s: float | None,
        longest_s: float = LONGEST_S,
    ) -> None:
        self.stream = stream
        self.rows: list[SampleBuffer | None] = []
        self.meters: list[Meter] = []
        self.first = 0
        """Index of the first sample on the grid at ``rate``, counted from the origin."""
        self.gaps: list[tuple[float, float]] = []
        """Start and end of each gap, in seconds from this track's first sample."""
        self.leaps = 0
        """Time stamps that were damaged."""
        self.damaged_s: float | None = None
        """Where the first of them is, in seconds from this track's first sample."""
        self.no_numbers = 0
        """Samples that are no finite numbers, of all channels; they are taken as silence."""
        self.odd_frames = 0
        self._shown = parts
        self._rate = rate
        self._origin = origin
        self._last_s = float("inf") if end_s is None else end_s + _LEAP_S
        self._longest_s = longest_s
        self._native = 0
        self._channels = 0
        self._tick = Fraction(1)
        self._samples_a_tick = 1.0
        self._coarse = False
        self._tolerance = 0.0
        self._parts: list[_InTicks] = []
        self._count = 0
        self._start: Fraction | int = 0
        self._next = 0
        self._leap = 0.0
        self._silent_s = 0.0
        self._late = 0.0
        self._stamps = 0
        self._pending: list[NDArray[np.generic]] = []
        self._pending_count = 0
        self._resampler: soxr.ResampleStream | None = None

    @property
    def start_s(self) -> Fraction:
        """Movie time of the first sample in seconds; where stamps are rounded, by their mean over the first
        packets."""
        return self._start * self._tick + self.late_s

    @property
    def late_s(self) -> Fraction:
        """Seconds by which the track is later than its first stamp says, where stamps are rounded."""
        if not self._coarse or not self._stamps:
            return Fraction(0)
        return Fraction(round(self._late / self._stamps), self._native)

    @property
    def sample_count(self) -> int:
        """Number of samples so far, at the rate of the file."""
        return self._count

    @property
    def end_s(self) -> float:
        """Movie time in seconds of the end of what was decoded so far."""
        return float(self._start * self._tick) + self._count / max(1, self._native)

    def add(self, frame: AudioFrame) -> None:
        """Add the next frame of the stream."""
        data = frame.to_ndarray()
        channels = frame.layout.nb_channels
        rows: NDArray[np.generic] = data.T if frame.format.is_planar else data.reshape(-1, channels)
        if not len(rows):
            return
        if not self._native:
            self._prepare(frame.sample_rate, channels, frame.time_base or Fraction(1, frame.sample_rate))
        elif (frame.sample_rate, channels) != (self._native, self._channels):
            self.odd_frames += 1
            return
        at = self._next if frame.pts is None else frame.pts
        length = len(rows) / self._samples_a_tick
        self._next = at + round(length)
        for part in self._parts:
            if part.first <= at and at + length <= part.last:
                self._place(at + part.shift, rows)
            else:
                self._place_inside(Fraction(at), rows, part)

    def _prepare(self, native: int, channels: int, tick: Fraction) -> None:
        check_sound_rate(native)
        self._native, self._channels, self._tick = native, channels, tick
        self._samples_a_tick = float(tick * native)
        self._coarse = tick > _COARSE
        self._tolerance = native * (_VORBIS_HOLE_S if self.stream.codec_context.name == "vorbis" else _HOLE_S)
        self._parts = [_InTicks.of(part, tick) for part in self._shown]
        self.rows = [SampleBuffer() for _ in range(channels)]
        self.meters = [Meter(native) for _ in range(channels)]
        if native != self._rate:
            self._resampler = soxr.ResampleStream(native, self._rate, channels, quality="HQ")

    def _place_inside(self, at: Fraction, rows: NDArray[np.generic], part: "_InTicks") -> None:
        """Place the samples that lie inside a part."""
        sample = 1 / (self._tick * self._native)
        if at < part.start:
            early = ceil((Fraction(part.start) - at) / sample)
            rows = rows[early:]
            at += early * sample
        if part.end != float("inf"):
            rows = rows[: max(0, ceil((Fraction(part.end) - at) / sample))]
        if len(rows):
            self._place(at + part.shift, rows)

    def _place(self, at: Fraction | int, rows: NDArray[np.generic]) -> None:
        if self._count == 0:
            self._begin(at)
        off = float(at - self._start) * self._samples_a_tick + self._leap - self._count
        hole = round(off)
        if hole > self._tolerance and self._may_wait(hole / self._native):
            self._silent_s += hole / self._native
            self.gaps.append((self._count / self._native, (self._count + hole) / self._native))
            self._silence(hole)
        elif -self._native < hole < -self._tolerance:
            rows = rows[-hole:]
        elif abs(hole) > self._tolerance:
            # A damaged stamp: continue without a gap.
            self.leaps += 1
            if self.damaged_s is None:
                self.damaged_s = self._count / self._native
            self._leap -= off
        elif self._stamps < _AVERAGED and not self.gaps and not self.leaps:
            self._stamps += 1
            self._late += off
        if len(rows):
            self._queue(rows)

    def _may_wait(self, hole_s: float) -> bool:
        """Whether so much silence can be meant by a stamp that is late."""
        return self.end_s + hole_s <= self._last_s and self._silent_s + hole_s <= MOST_SILENCE_S

    def _begin(self, at: Fraction | int) -> None:
        """Set the start of this track on the common grid; the fraction of a grid step before it is filled
        with silence."""
        self._start = at
        if self._origin.at_s is None:
            self._origin.at_s = at * self._tick
        later = at * self._tick - self._origin.at_s
        self.first = floor(later * self._rate)
        lead_in = round((later - Fraction(self.first, self._rate)) * self._native)
        if lead_in:
            self._add_samples(np.zeros((lead_in, self._channels), dtype=np.float32), metered=False)

    def _queue(self, rows: NDArray[np.generic]) -> None:
        if self._count > self._longest_s * self._native:
            raise Unreadable(
                f"The recording is longer than {LONGEST_S / 3600:.0f} hours: cut a copy into shorter parts, "
                "and add those.",
                for_song=f"It is longer than {self._longest_s / 60:.0f} minutes: choose the recording of one "
                "song, or cut a copy into parts and choose those.",
            )
        self._pending.append(rows)
        self._pending_count += len(rows)
        self._count += len(rows)
        if self._pending_count >= _PIECE:
            self._work()

    def _silence(self, length: int) -> None:
        self._work()
        self._count += length
        while length > 0:
            part = min(length, _PIECE)
            self._add_samples(np.zeros((part, self._channels), dtype=np.float32), metered=False)
            length -= part

    def _work(self) -> None:
        if self._pending:
            rows = self._pending[0] if len(self._pending) == 1 else np.concatenate(self._pending)
            self._pending, self._pending_count = [], 0
            samples = _to_float(rows)
            if rows.dtype.kind == "f":
                numbers = np.isfinite(samples)
                if not numbers.all():
                    self.no_numbers += int(samples.size - np.count_nonzero(numbers))
                    samples = np.where(numbers, samples, np.float32(0))
            self._add_samples(samples, metered=True)

    def _add_samples(self, samples: FloatArray, *, metered: bool, last: bool = False) -> None:
        if metered:
            for channel, meter in enumerate(self.meters):
                if self.rows[channel] is not None:
                    meter.add(np.ascontiguousarray(samples[:, channel]))
        out = samples if self._resampler is None else self._resampler.resample_chunk(samples, last=last)
        for channel, row in enumerate(self.rows):
            if row is not None:
                row.append(out[:, channel])

    def finish(self) -> None:
        """Process what is still pending; nothing may be added afterwards."""
        self._work()
        if self._resampler is not None and self._count:
            self._add_samples(np.zeros((0, self._channels), dtype=np.float32), metered=False, last=True)


def _to_float(rows: NDArray[np.generic]) -> FloatArray:
    """Samples as float32, full scale 1.0, shape (n, channels), C-contiguous."""
    kind = rows.dtype
    out = np.ascontiguousarray(rows, dtype=np.float32)
    if kind == np.uint8:
        out = (out - np.float32(128)) / np.float32(128)
    elif kind.kind == "i":
        out *= np.float32(2.0 ** (1 - 8 * kind.itemsize))
    return out
