"""Files: what is in them, when each stream starts, and their sound as arrays.

Time in a clip counts from its first picture frame as presented; in a sound-only file from its first sample.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from audio.errors import NoSound, Unreadable
from audio.files.channels import DEAD_DBFS, AnyFloats, distinct, mix_down
from audio.files.containers import can_decode, check_file, copy_again, is_iso, open_media
from audio.files.edit_lists import WHOLE, IsoTrack, iso_tracks, missing_bytes
from audio.files.media_tags import advance_timecode, first, recording_time
from audio.files.picture_clock import (
    Pace,
    first_picture_s,
    indexed_stamps,
    leading_stamps,
    pace,
    picture_stream,
)
from audio.files.sound_reader import Heard, Room, label, read_tracks
from audio.files.sound_rows import gather
from audio.progress import never, no_progress

CLIP_ROOM = Room(whole_bytes=100_000_000, most_bytes=130_000_000)
"""At 8 kHz: 32 bits for 26 minutes of two channels or 52 of one; then 16 bits, up to 67 minutes of two
channels, and the better of them beyond: three hours of it take 173 MB."""
SONG_ROOM = Room(whole_bytes=400_000_000, most_bytes=400_000_000)
_FEW_FRAMES = 100
"""An index of fewer frames may be only the beginning of one."""
_LOOK_BYTES = 16_000_000
"""As much of a file without an index is read to see whether its frame rate varies."""


@dataclass(frozen=True, slots=True)
class MediaInfo:
    """What a file says of itself, without reading its sound or pictures."""

    path: Path
    size_bytes: int
    duration_s: float
    """Seconds of picture (of sound, where there is no picture)."""
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
    """ISO 8601 text as the file tells it."""
    warnings: tuple[str, ...] = ()
    time_reference: int | None = None
    """Of a broadcast wave file: samples since midnight at which it starts."""
    sound_rate: int = 0
    """Samples a second of the first sound track; 0 without sound."""


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """The sound of a file, each distinct live channel by itself."""

    samples: AnyFloats
    """Shape (channels, n), full scale 1.0, in 32 bits, or in 16 where they are many (see ``CLIP_ROOM``).

    Silent, duplicate and timecode-tone channels are left out. Samples in 16 bits belong to whoever gets the
    sound next: placing may put the flattened sound, piece by piece, where they were."""
    rate: int
    start_s: float
    """Time in the clip of ``samples[:, 0]``; negative when sound runs before the first picture."""
    labels: tuple[str, ...]
    """One a channel, e.g. ``track 1, channel 2``."""
    gaps: tuple[tuple[float, float], ...] = ()
    """Stretches (start, end; time in clip) in which the file holds no sound; filled with silence."""
    warnings: tuple[str, ...] = ()


def probe(path: Path) -> MediaInfo:
    """Tell what a file holds, from its header, its index and its first packets. Raises Unreadable."""
    size = check_file(path)
    with open_media(path) as container:
        video = picture_stream(container)
        if video is None and not container.streams.audio:
            raise Unreadable("The file holds neither picture nor sound: leave it out.")
        tracks = iso_tracks(path) if is_iso(path) else {}
        warnings = []
        missing = missing_bytes(path)
        if missing:
            warnings.append(f"The file is cut off ({missing / 1e6:.1f} MB are missing): {copy_again(path)}")
        tags = [container.metadata, *(stream.metadata for stream in container.streams)]
        time_reference = first(tags, "time_reference")
        rates = [one.rate for one in container.streams.audio if can_decode(one)]
        picture = (
            _Picture() if video is None else _picture(container, video, tracks.get(video.id, IsoTrack()))
        )
        if picture.pace is not None and picture.pace.variable:
            warnings.append(
                "The frame rate varies: times are right here, but an editing program may drift. "
                "Convert the clip to a constant rate before the edit."
            )
        return MediaInfo(
            path=path,
            size_bytes=size,
            duration_s=_sound_s(container) if video is None else picture.duration_s,
            frame_rate=picture.pace.rate if picture.pace else None,
            variable_frame_rate=picture.pace is not None and picture.pace.variable,
            width=picture.width,
            height=picture.height,
            sound_tracks=len(container.streams.audio),
            start_timecode=picture.timecode,
            make=first(tags, "com.apple.quicktime.make", "make", "company_name"),
            model=first(tags, "com.apple.quicktime.model", "model", "product_name"),
            created=recording_time(tags),
            warnings=tuple(warnings),
            time_reference=int(time_reference) if time_reference and time_reference.isdigit() else None,
            sound_rate=rates[0] if rates else 0,
        )


@dataclass(frozen=True, slots=True)
class _Picture:
    pace: Pace | None = None
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
    # MXF and AVI give every frame the same length; parts of an MP4 written piecemeal have no common index.
    if sum(run.size for run in stamps) < _FEW_FRAMES and kind not in ("mxf", "avi"):
        stamps = leading_stamps(container, video, _LOOK_BYTES)
    found = pace(video, stamps)
    width = height = 0
    if can_decode(video):
        width, height = round(video.width * (video.sample_aspect_ratio or 1)), video.height
    if track.turned:
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
    """Length of the picture in seconds, from its first shown frame to the end of its last."""
    last = track.parts[-1]
    if last.end_s is not None:
        return float(last.end_s + last.shift_s - start_s)
    if video.duration and video.time_base:
        return float(video.duration * video.time_base)
    told = first([video.metadata], "duration")
    if told and told.count(":") == 2:
        hours, minutes, seconds = told.split(":")
        return int(hours) * 3600 + int(minutes) * 60 + float(seconds) - float(start_s)
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
    room: Room = CLIP_ROOM,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> Sound:
    """Read a clip's sound on the clip's clock. Raises Unreadable, NoSound, Stopped.

    Every channel of every track is judged by itself; channels are never added, for a sum of two microphones,
    or of a microphone and timecode, is worse than either. Left out are silent channels (not two seconds above
    -70 dBFS RMS), timecode tone, and copies of another channel of either polarity (correlation of 0.98 and
    more; of two copies the unclipped one stays, then the louder). If all are silent by that measure, the
    loudest stays if it reaches -90 dBFS, with a warning.

    Memory: samples take no more than ``room`` while they are read. When a long clip passes what it allows for
    whole samples, they are kept in 16 bits from then on; when it passes what it allows at all, the channel
    least worth hearing by what was heard so far (silent, timecode, clipped, softer, in that order) is given
    up, until the rest fits. The last always stays.
    """
    with open_media(path) as container:
        video = picture_stream(container)
        start_s = None
        if video is not None and container.streams.audio:
            tracks = iso_tracks(path) if is_iso(path) else {}
            parts = tracks[video.id].parts if video.id in tracks else WHOLE
            start_s = first_picture_s(container, video, parts)
    heard = read_tracks(path, rate, room=room, most_tracks=None, stop=stop, progress=progress)
    return _sound(heard, rate, start_s)


def _sound(heard: Heard, rate: int, picture_s: Fraction | None) -> Sound:
    found = [
        (track, channel, track.meters[channel])
        for track in heard.tracks
        for channel, row in enumerate(track.rows)
        if row is not None
    ]
    numbers = {id(track): number for number, track in enumerate(heard.tracks, 1)}
    usable = [one for one in found if not one[2].timecode]
    if not usable:
        raise NoSound("Its sound is timecode only: if a recorder ran along, add its file.")
    live = [one for one in usable if one[2].live]
    warnings = list(heard.warnings)
    if not live:
        loudest = max(usable, key=lambda one: one[2].level_dbfs)
        if loudest[2].level_dbfs < DEAD_DBFS:
            raise NoSound("Its sound is silent: if a recorder ran along, add its file.")
        warnings.append(f"The sound is very soft ({loudest[2].level_dbfs:.0f} dBFS).")
        live = [loudest]
    rows = [track.rows[channel] for track, channel, _ in live]
    starts = [track.first for track, _, _ in live]
    samples = gather([row for row in rows if row is not None], starts)
    order = sorted(range(len(live)), key=lambda index: live[index][2].worth, reverse=True)
    kept = distinct(list(samples), order)
    for place, index in enumerate(kept):
        if place != index:
            samples[place] = samples[index]
    start_s = heard.origin_s + Fraction(min(starts), rate)
    lead = live[kept[0]][0]
    # Without a picture the first sample is moment 0, whatever the container stamps it with.
    zero_s = picture_s if picture_s is not None else min(track.start_s for track in heard.tracks)
    start_s += lead.late_s if picture_s is not None else 0
    gap_start = float(lead.start_s - zero_s)
    return Sound(
        samples=samples[: len(kept)],
        rate=rate,
        start_s=float(start_s - zero_s),
        labels=tuple(label(numbers[id(live[i][0])], live[i][1] + 1) for i in kept),
        gaps=tuple((gap_start + first, gap_start + last) for first, last in lead.gaps),
        warnings=tuple(warnings),
    )


def read_song(
    path: Path,
    rate: int,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> NDArray[np.float32]:
    """Read the song as mono, shape (n,), time 0 at its first decoded sample.

    The channels of the first track are mixed; one of opposite polarity is turned over before. Samples take no
    more than ``SONG_ROOM``: they are kept in 16 bits beyond 17 minutes of a stereo song at 48 kHz.
    Raises Unreadable, NoSound, Stopped.
    """
    heard = read_tracks(path, rate, room=SONG_ROOM, most_tracks=1, stop=stop, progress=progress)
    rows = [row for row in heard.tracks[0].rows if row is not None]
    samples = gather(rows, [0] * len(rows))
    if all(meter.level_dbfs < DEAD_DBFS for meter in heard.tracks[0].meters):
        raise NoSound("The song is silent: choose another file.")
    whole = np.asarray(samples, np.float32)
    return whole[0] if len(rows) == 1 else mix_down(whole)
