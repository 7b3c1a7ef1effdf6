"""A short piece of a clip's sound, read without the rest of the file, for playback.

One channel of one track is played: the best one by a piece of the take (see `audio.files.channels`). Channels
are never added.
"""

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.audio.stream import AudioStream
from av.container import InputContainer
from av.stream import Discard
from numpy.typing import NDArray

from audio.errors import NoSound
from audio.files.containers import can_decode, copy_again, is_iso, open_media
from audio.files.edit_lists import WHOLE, Part, iso_tracks
from audio.files.frame_timing import first_picture_s, picture_stream
from audio.files.sound_track import Origin, Track

LEAD_S = 0.3
"""Seconds decoded before the piece: decoders need a few packets, and filters some samples, to reach steady
state."""
_TAIL_S = 0.1
"""Seconds of sound around the piece that are returned with it: more than interpolation needs on either
side."""
_SEEKS_BEFORE_S = (0.0, 2.0, 10.0)
"""Seconds to seek further back where a container lands after the time it was asked for; chosen by hand."""


@dataclass(frozen=True, slots=True)
class SourceChannel:
    """A channel of a clip."""

    track: int
    """Counted from 0 among the tracks that can be decoded."""
    channel: int
    """Counted from 0 in its track."""
    level_dbfs: float
    """RMS level, in dB of full scale, of the piece by which it was chosen."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A stretch of one channel."""

    start_s: float
    """Clip time of ``samples[0]`` in seconds, exact to less than a sample."""
    samples: NDArray[np.float32]
    """Shape (n,), full scale 1.0."""


def choose_channel(path: Path, start_s: float, end_s: float) -> SourceChannel:
    """The best channel to listen to, by a stretch of the clip (clip time, seconds). Raises Unreadable,
    NoSound."""
    return rank_channels(path, start_s, end_s)[0]


def rank_channels(path: Path, start_s: float, end_s: float) -> list[SourceChannel]:
    """All channels by a stretch of the clip (clip time, seconds), the best first. Raises Unreadable,
    NoSound."""
    tracks, _ = _read(path, start_s, end_s, None, None)
    found = [
        (meter.preference, -number, -channel, meter.level_dbfs)
        for number, track in tracks.items()
        for channel, meter in enumerate(track.meters)
    ]
    if not found:
        raise NoSound("There is no sound in this part of the clip.")
    ordered = sorted(found, reverse=True)
    return [SourceChannel(-number, -channel, level) for _, number, channel, level in ordered]


def channel_rate(path: Path, voice: SourceChannel) -> int:
    """Sample rate of a channel in samples a second. Raises Unreadable."""
    with open_media(path) as container:
        return [one for one in container.streams.audio if can_decode(one)][voice.track].rate


def read_piece(path: Path, voice: SourceChannel, start_s: float, end_s: float, rate: int) -> Piece:
    """A stretch of one channel (clip time, seconds) at ``rate`` samples a second, with up to 0.1 s more on
    both sides.

    Sound is placed by its time stamps; where there is none, the piece is empty. Raises Unreadable, NoSound.
    """
    tracks, zero_s = _read(path, start_s, end_s, voice.track, rate)
    for track in tracks.values():
        row = track.rows[voice.channel] if voice.channel < len(track.rows) else None
        if row is None:
            break
        samples = np.zeros(row.size, np.float32)
        row.move_into(samples)
        first_s = float(track.start_s - zero_s)
        skip = max(0, int((start_s - _TAIL_S - first_s) * rate))
        most = max(0, int((end_s + _TAIL_S - first_s) * rate))
        return Piece(first_s + skip / rate, samples[skip:most].copy())
    return Piece(start_s, np.zeros(0, np.float32))


def _read(
    path: Path, start_s: float, end_s: float, only: int | None, rate: int | None
) -> tuple[dict[int, Track], Fraction]:
    """The tracks, by number, with their sound in a stretch; and the movie time of clip time 0."""
    edits = iso_tracks(path) if path.is_file() and is_iso(path) else {}
    zero_s = _zero_s(path, {number: track.parts for number, track in edits.items()})
    with open_media(path) as container:
        streams = [one for one in container.streams.audio if can_decode(one)]
        if not streams:
            raise NoSound("The clip has no sound that can be played.")
        wanted = {n: one for n, one in enumerate(streams) if only is None or n == only}
        for stream in container.streams:
            if stream not in wanted.values():
                stream.discard = Discard.all
        parts = {n: edits[one.id].parts if one.id in edits else WHOLE for n, one in wanted.items()}
        tracks: dict[int, Track] = {}
        for back_s in (*_SEEKS_BEFORE_S, None):
            first_s = zero_s + Fraction(start_s) - Fraction(LEAD_S)
            lead = next(iter(wanted))
            _go(
                container,
                wanted[lead],
                None if back_s is None else _stamp_s(parts[lead], first_s - Fraction(back_s)),
            )
            tracks = {n: Track(one, parts[n], rate or one.rate, Origin(), None) for n, one in wanted.items()}
            _fill(container, wanted, tracks, float(zero_s) + end_s + _TAIL_S)
            begun = [float(track.start_s) for track in tracks.values() if track.sample_count]
            if begun and min(begun) <= float(zero_s) + start_s - LEAD_S / 2:
                break
        for track in tracks.values():
            track.finish()
        return {n: track for n, track in tracks.items() if track.sample_count}, zero_s


def _zero_s(path: Path, parts: dict[int, tuple[Part, ...]]) -> Fraction:
    """Movie time in seconds of the first frame, or of the first sample where there is no picture."""
    with open_media(path) as container:
        video = picture_stream(container)
        if video is not None:
            found = first_picture_s(container, video, parts.get(video.id, WHOLE))
            return found or Fraction(0)
        for frame in container.decode(audio=0):
            if frame.pts is not None and frame.time_base is not None:
                return (
                    frame.pts * frame.time_base + parts.get(container.streams.audio[0].id, WHOLE)[0].shift_s
                )
            return Fraction(0)
    raise NoSound("The file has a sound track, but no sound is in it: " + copy_again(path))


def _stamp_s(parts: Sequence[Part], movie_s: Fraction) -> Fraction:
    """Movie time on the clock of the packets, both in seconds."""
    for part in parts:
        if part.end_s is None or movie_s < part.end_s + part.shift_s:
            break
    return movie_s - part.shift_s


def _go(container: InputContainer, stream: AudioStream, stamp_s: Fraction | None) -> None:
    """Seek to the packet before a time in seconds, or to the beginning."""
    with suppress(av.error.FFmpegError):
        if stamp_s is None or stream.time_base is None:
            container.seek(container.start_time or 0)
        else:
            container.seek(int(stamp_s / stream.time_base), stream=stream)


def _fill(
    container: InputContainer, wanted: dict[int, AudioStream], tracks: dict[int, Track], end_s: float
) -> None:
    """Decode up to a movie time in seconds."""
    numbers = {stream.index: number for number, stream in wanted.items()}
    for packet in container.demux(list(wanted.values())):
        track = tracks[numbers[packet.stream.index]]
        try:
            frames = packet.decode()
        except av.error.FFmpegError:
            continue
        for frame in frames:
            if isinstance(frame, av.AudioFrame):
                track.add(frame)
        if all(one.sample_count and one.end_s >= end_s for one in tracks.values()):
            return
