"""Media files: what they hold, when each stream starts, and their sound as arrays.

Clip time counts from the first frame as presented; in a sound-only file from its first sample.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from audio.errors import AudioError, NoSound, Unreadable
from audio.files.channels import DEAD_DBFS, AnyFloats, distinct, mix_down
from audio.files.containers import can_decode, check_file, copy_again, is_iso, open_media
from audio.files.edit_lists import WHOLE, IsoTrack, iso_tracks, missing_bytes
from audio.files.frame_timing import (
    FrameRate,
    first_picture_s,
    frame_rate_of,
    indexed_stamps,
    leading_stamps,
    picture_stream,
)
from audio.files.media_tags import advance_timecode, first, recording_time
from audio.files.plausible import (
    LONGEST_SONG_S,
    MOST_APART_S,
    check_frame_rate,
    check_sound_rate,
    plausible_length_s,
)
from audio.files.sample_buffers import gather
from audio.files.sound_reader import DecodedSound, MemoryBudget, label, read_tracks
from audio.progress import never, no_progress

CLIP_MEMORY = MemoryBudget(float32_bytes=100_000_000, most_bytes=130_000_000)
"""At 8 kHz: 32-bit samples for 26 minutes of two channels or 52 of one; then 16-bit, up to 67 minutes of two
channels; beyond that only the better channel, of which three hours take 173 MB. Chosen by hand: several clips
are placed at a time, one in each process."""
SONG_MEMORY = MemoryBudget(400_000_000, 400_000_000, longest_s=LONGEST_SONG_S)
"""17 minutes of stereo at 48 kHz in 32 bits; chosen by hand: no usual song is longer."""
_FEW_FRAMES = 100
"""With fewer frames, an index may cover only the first fragment of the file; chosen by hand."""
_SAMPLES = re.compile(r"[0-9]{1,15}")
"""Samples since midnight, as Broadcast Wave files tell them."""
_CLOCK = re.compile(r"([0-9]{1,4}):([0-9]{1,2}):([0-9]{1,2}(?:\.[0-9]{1,12})?)")
"""A length as Matroska's tags tell it."""
_LOOK_BYTES = 16_000_000
"""Bytes of a file without an index that are read to see whether its frame rate varies; chosen by hand."""


@dataclass(frozen=True, slots=True)
class MediaInfo:
    """What the headers of a file say, without its sound and pictures."""

    path: Path
    size_bytes: int
    duration_s: float
    """Length of the picture in seconds; of the sound, where there is no picture."""
    frame_rate: Fraction | None
    """Exact nominal frames per second; None for sound-only files."""
    variable_frame_rate: bool
    width: int
    height: int
    """Pixels as shown (rotation and pixel shape applied); 0 for sound-only files."""
    sound_tracks: int
    start_timecode: str | None
    """``hh:mm:ss:ff`` or, drop-frame, ``hh:mm:ss;ff`` of the first picture; None where there is none."""
    make: str | None
    model: str | None
    created: str | None
    """Time of recording as ISO 8601 text from the file."""
    warnings: tuple[str, ...] = ()
    time_reference: int | None = None
    """Of a Broadcast Wave file: samples from midnight to its first sample."""
    sound_rate: int = 0
    """Samples a second of the first sound track; 0 without sound."""


@dataclass(frozen=True, slots=True, eq=False)
class TimecodeChannel:
    """A channel in which linear timecode was heard."""

    samples: AnyFloats
    """Shape (n,), as those of the `Sound` that it came with."""
    start_s: float
    """Clip time of the first sample (s)."""


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """The sound of a file: each channel that is neither silent, timecode nor a copy of another."""

    samples: AnyFloats
    """Shape (channels, n), full scale 1.0; 32-bit floats, or 16-bit for long clips (see ``CLIP_MEMORY``).

    16-bit samples may be overwritten by whoever takes the sound next: placing stores the whitened sound,
    piece by piece, in their place."""
    rate: int
    start_s: float
    """Clip time of ``samples[:, 0]`` in seconds; negative where sound starts before the first frame."""
    labels: tuple[str, ...]
    """One per channel, for example ``track 1, channel 2``."""
    gaps: tuple[tuple[float, float], ...] = ()
    """Start and end (clip time, seconds) of stretches without sound in the file; filled with silence."""
    warnings: tuple[str, ...] = ()
    damaged_s: float | None = None
    """Clip time of the first damaged time stamp: from there on nobody knows how sound and picture lie to each
    other. None where stamps are whole."""
    timecode: tuple[TimecodeChannel, ...] = ()
    """Kept only where it was asked for."""


def probe(path: Path) -> MediaInfo:
    """Read what a file holds from its headers, its index and its first packets. Raises Unreadable."""
    size = check_file(path)
    with open_media(path) as container:
        video = picture_stream(container)
        if video is None and not container.streams.audio:
            raise Unreadable("The file has neither picture nor sound: leave it out.")
        tracks = iso_tracks(path) if is_iso(path) else {}
        warnings = []
        missing = missing_bytes(path)
        if missing:
            warnings.append(f"The file is cut off ({missing / 1e6:.1f} MB are missing): {copy_again(path)}")
        tags = [container.metadata, *(stream.metadata for stream in container.streams)]
        since_midnight = first(tags, "time_reference") or ""
        rates = [one.rate for one in container.streams.audio if can_decode(one)]
        for rate in rates[:1]:
            check_sound_rate(rate)
        picture = (
            _Picture() if video is None else _picture(container, video, tracks.get(video.id, IsoTrack()))
        )
        if picture.frame_rate is not None and picture.frame_rate.variable:
            warnings.append(
                "The frame rate varies: times are right here, but an editing program may drift. "
                "Convert the clip to a constant rate before the edit."
            )
        return MediaInfo(
            path=path,
            size_bytes=size,
            duration_s=plausible_length_s(_sound_s(container) if video is None else picture.duration_s, size),
            frame_rate=picture.frame_rate.rate if picture.frame_rate else None,
            variable_frame_rate=picture.frame_rate is not None and picture.frame_rate.variable,
            width=picture.width,
            height=picture.height,
            sound_tracks=len(container.streams.audio),
            start_timecode=picture.timecode,
            make=first(tags, "com.apple.quicktime.make", "make", "company_name"),
            model=first(tags, "com.apple.quicktime.model", "model", "product_name"),
            created=recording_time(tags),
            warnings=tuple(warnings),
            time_reference=int(since_midnight) if _SAMPLES.fullmatch(since_midnight) else None,
            sound_rate=rates[0] if rates else 0,
        )


@dataclass(frozen=True, slots=True)
class _Picture:
    frame_rate: FrameRate | None = None
    duration_s: float = 0.0
    width: int = 0
    height: int = 0
    timecode: str | None = None


def _picture(
    container: av.container.InputContainer, video: av.video.stream.VideoStream, track: IsoTrack
) -> _Picture:
    kind = container.format.name
    stamps = indexed_stamps(video) if kind.startswith("mov") else []
    start_s = first_picture_s(container, video, track.parts) or Fraction(0)
    # MXF and AVI have a constant frame rate by design; a fragmented MP4 has no common index.
    if sum(run.size for run in stamps) < _FEW_FRAMES and kind not in ("mxf", "avi"):
        stamps = leading_stamps(container, video, _LOOK_BYTES)
    found = frame_rate_of(video, stamps)
    check_frame_rate(found.rate)
    width = height = 0
    if can_decode(video):
        width, height = round(video.width * (video.sample_aspect_ratio or 1)), video.height
    if track.quarter_turned:
        width, height = height, width
    text = first(
        [video.metadata, container.metadata, *(one.metadata for one in container.streams)], "timecode"
    )
    timecode = (
        None if text is None else advance_timecode(text, max(0, round(start_s * found.rate)), found.rate)
    )
    return _Picture(found, _picture_end_s(container, video, track, start_s), width, height, timecode)


def _picture_end_s(
    container: av.container.InputContainer,
    video: av.video.stream.VideoStream,
    track: IsoTrack,
    start_s: Fraction,
) -> float:
    """Length of the picture in seconds, from its first frame shown to the end of its last."""
    last = track.parts[-1]
    if last.end_s is not None:
        return float(last.end_s + last.shift_s - start_s)
    if video.duration and video.time_base:
        return float(video.duration * video.time_base)
    tag = _CLOCK.fullmatch(first([video.metadata], "duration") or "")
    if tag:
        return int(tag[1]) * 3600 + int(tag[2]) * 60 + float(tag[3]) - float(start_s)
    return (container.duration or 0) / 1e6


def _sound_s(container: av.container.InputContainer) -> float:
    lengths = [
        float(one.duration * one.time_base)
        for one in container.streams.audio
        if one.duration and one.time_base
    ]
    return max(lengths, default=(container.duration or 0) / 1e6)


def read_sound(
    path: Path,
    rate: int = 8000,
    *,
    memory: MemoryBudget = CLIP_MEMORY,
    timecode: bool = False,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> Sound:
    """Read a clip's sound at ``rate`` samples a second, on the clip's clock. Raises Unreadable, NoSound,
    Stopped.

    Every channel of every track is judged by itself. Channels are never added: a sum of two microphones, or
    of a microphone and timecode, is worse than either. Left out are silent channels (less than two seconds
    above -70 dBFS RMS), timecode, and copies of another channel in either polarity (correlation of at least
    0.98; the unclipped copy is used, then the louder one). If all channels are silent, the loudest is used
    with a warning, if it reaches -90 dBFS.

    While they are read, samples take no more than ``memory``. A long clip first changes to 16-bit samples;
    then the worst channel so far (silent, timecode, clipped, softer, in that order) is dropped until the rest
    fits. The last channel is never dropped. With ``timecode`` channels of it are kept beside the others.
    """
    with open_media(path) as container:
        video = picture_stream(container)
        start_s = None
        if video is not None and container.streams.audio:
            tracks = iso_tracks(path) if is_iso(path) else {}
            parts = tracks[video.id].parts if video.id in tracks else WHOLE
            start_s = first_picture_s(container, video, parts)
    decoded = read_tracks(path, rate, memory=memory, most_tracks=None, stop=stop, progress=progress)
    return _sound(decoded, rate, start_s, timecode)


def _sound(decoded: DecodedSound, rate: int, picture_s: Fraction | None, timecode: bool) -> Sound:
    found = [
        (track, channel, track.meters[channel])
        for track in decoded.tracks
        for channel, row in enumerate(track.rows)
        if row is not None
    ]
    numbers = {id(track): number for number, track in enumerate(decoded.tracks, 1)}
    usable = [one for one in found if not one[2].timecode]
    coded = timecode and any(one[2].some_timecode for one in found)
    warnings = list(decoded.warnings)
    if not usable:
        only = "Its sound is timecode only: if a recorder ran along, add its file."
        if not coded:
            raise NoSound(only)
        usable, warnings = found, [*warnings, only]
    used = [one for one in usable if one[2].has_signal]
    if not used:
        loudest = max(usable, key=lambda one: one[2].level_dbfs)
        if loudest[2].level_dbfs < DEAD_DBFS and not coded:
            raise NoSound("Its sound is silent: if a recorder ran along, add its file.")
        warnings.append(f"The sound is very soft ({loudest[2].level_dbfs:.0f} dBFS).")
        used = [loudest]
    best = max(used, key=lambda one: one[2].preference)[0]
    near = [one for one in used if abs(one[0].first - best.first) <= MOST_APART_S * rate]
    if len(near) < len(used):
        used = near
        warnings.append("A sound track begins far from the others, by damaged time stamps: it was left out.")
    rows = [track.rows[channel] for track, channel, _ in used]
    starts = [track.first for track, _, _ in used]
    samples = gather([row for row in rows if row is not None], starts)
    order = sorted(range(len(used)), key=lambda index: used[index][2].preference, reverse=True)
    chosen = distinct(list(samples), order)
    begin = min(starts)
    heard = [
        (samples[place].copy(), begin, track)
        for place, (track, _, meter) in enumerate(used)
        if timecode and meter.some_timecode
    ]
    for place, index in enumerate(chosen):
        if place != index:
            samples[place] = samples[index]
    start_s = decoded.origin_s + Fraction(begin, rate)
    lead = used[chosen[0]][0]
    # Without a picture, clip time 0 is the first sample, whatever its stamp.
    zero_s = picture_s if picture_s is not None else min(track.start_s for track in decoded.tracks)
    start_s += lead.late_s if picture_s is not None else 0
    heard += [
        (gather([row], [0])[0], track.first, track)
        for track, channel, meter in found
        if timecode and meter.timecode and (row := track.rows[channel]) is not None and row.size
    ]
    codes = tuple(
        TimecodeChannel(
            row,
            float(
                decoded.origin_s
                + Fraction(first, rate)
                + (track.late_s if picture_s is not None else 0)
                - zero_s
            ),
        )
        for row, first, track in heard
    )
    gap_start = float(lead.start_s - zero_s)
    return Sound(
        samples=samples[: len(chosen)],
        rate=rate,
        start_s=float(start_s - zero_s),
        labels=tuple(label(numbers[id(used[i][0])], used[i][1] + 1) for i in chosen),
        gaps=tuple((gap_start + first, gap_start + last) for first, last in lead.gaps),
        warnings=tuple(warnings),
        damaged_s=None if lead.damaged_s is None else gap_start + lead.damaged_s,
        timecode=codes,
    )


def read_played(
    path: Path,
    rate: int,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> NDArray[np.float32]:
    """Read a playback file as mono at ``rate`` samples a second, shape (n,), from time 0 of its clock.

    Timecode and silent channels are left out; the others are mixed. Raises Unreadable, NoSound, Stopped.
    """
    sound = read_sound(path, rate, stop=stop, progress=progress)
    mixed = np.asarray(sound.samples.mean(axis=0, dtype=np.float32), np.float32)
    first = round(sound.start_s * rate)
    return np.pad(mixed, (first, 0)) if first > 0 else mixed[-first:]


def read_song(
    path: Path,
    rate: int,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> NDArray[np.float32]:
    """Read the song as mono at ``rate`` samples a second, shape (n,), full scale 1.0.

    Song time 0 is its first decoded sample. The channels of the first track are mixed; one of opposite
    polarity is inverted first. Samples take no more than ``SONG_MEMORY`` while they are read: 16-bit beyond
    17 minutes of stereo at 48 kHz. Raises Unreadable (also for one
    longer than ``LONGEST_SONG_S``), NoSound, Stopped.
    """
    try:
        decoded = read_tracks(path, rate, memory=SONG_MEMORY, most_tracks=1, stop=stop, progress=progress)
    except AudioError as error:
        if error.for_song:
            raise type(error)(error.for_song) from error
        raise
    rows = [row for row in decoded.tracks[0].rows if row is not None]
    samples = gather(rows, [0] * len(rows))
    if all(meter.level_dbfs < DEAD_DBFS for meter in decoded.tracks[0].meters):
        raise NoSound("The song is silent: choose another file.")
    return mix_down(samples)
