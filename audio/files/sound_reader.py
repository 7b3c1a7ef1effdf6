"""Decoding the sound of a file, track by track, without reading its pictures."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
from av.audio.stream import AudioStream
from av.container import InputContainer
from av.stream import Discard

from audio.errors import NoSound, Stopped, Unreadable
from audio.files.containers import can_decode, copy_again, is_iso, open_media
from audio.files.edit_lists import WHOLE, Part, iso_tracks, missing_bytes
from audio.files.plausible import LONGEST_S
from audio.files.sound_track import Origin, Track


@dataclass(frozen=True, slots=True)
class MemoryBudget:
    """How much memory the samples of one file may take."""

    float32_bytes: int
    """Bytes of 32-bit samples; beyond this, samples are stored in 16 bits."""
    most_bytes: int
    """Bytes of samples; beyond this, channels are dropped, but never the last."""
    preferred: Collection[str] = ()
    """Labels of channels that are dropped after all others."""
    longest_s: float = LONGEST_S
    """What lasts longer is refused (s)."""


def label(track: int, channel: int) -> str:
    """Label of a channel; both numbers count from 1."""
    return f"track {track}, channel {channel}"


_MOST_NO_NUMBERS = 0.01
"""Share of samples that may be no numbers: more than a click. Chosen by hand."""
_LOOK_EVERY = 64
"""Packets between two calls of ``stop`` and of ``progress``: about a second of sound."""
_DURATION_IN_HEADER = ("mov", "mxf", "wav", "flac", "aiff", "avi")
"""Containers whose headers hold the length of the sound."""


@dataclass(frozen=True, slots=True)
class DecodedSound:
    """The decoded sound of a file."""

    tracks: tuple[Track, ...]
    """Those with at least one sample."""
    origin_s: Fraction
    """Movie time in seconds of index 0 of the tracks' common sample grid."""
    warnings: tuple[str, ...]


def read_tracks(
    path: Path,
    rate: int,
    *,
    memory: MemoryBudget,
    most_tracks: int | None,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> DecodedSound:
    """Decode the sound of a file at ``rate`` samples a second. Raises Unreadable, NoSound, Stopped."""
    size = _size(path)
    with open_media(path) as container:
        if not container.streams.audio:
            raise NoSound(
                "The file has no sound to place it by: if a recorder ran along, add its file.",
                for_song="There is no sound in it: choose the recording that everybody played to.",
            )
        streams = [one for one in container.streams.audio if can_decode(one)][:most_tracks]
        if not streams:
            raise NoSound(
                "The sound has an unknown encoding: convert a copy to WAV and add that.",
                for_song="Its sound has an unknown encoding: convert a copy to WAV and choose that.",
            )
        for stream in container.streams:
            if stream not in streams:
                stream.discard = Discard.all
        edits = iso_tracks(path) if is_iso(path) else {}
        origin = Origin()
        shown = {one.index: edits[one.id].parts if one.id in edits else WHOLE for one in streams}
        ends = {one.index: _header_end_s(one, shown[one.index]) for one in streams}
        tracks = {
            one.index: Track(one, shown[one.index], rate, origin, ends[one.index], memory.longest_s)
            for one in streams
        }
        whole_s = max((end for end in ends.values() if end), default=(container.duration or 0) / 1e6)
        bad = _decode(container, tracks, memory, whole_s, stop, progress)
        for track in tracks.values():
            track.finish()
        filled = tuple(track for track in tracks.values() if track.sample_count)
        if _size(path) != size:
            raise Unreadable(
                "The file grew while it was read: wait until the recording or the copy is finished."
            )
        if not filled or origin.at_s is None:
            raise NoSound(
                "The file has a sound track, but no sound is in it: " + copy_again(path),
                for_song="The file has a sound track, but no sound is in it: choose another copy of it.",
            )
        lengths_s = [
            ends[track.stream.index]
            for track in filled
            if container.format.name.split(",")[0] in _DURATION_IN_HEADER and track.stream.duration
        ]
        _refuse_no_numbers(filled)
        warnings = _warnings(path, filled, bad, max((end for end in lengths_s if end), default=None))
        if any(not edits[track.stream.id].in_order for track in filled if track.stream.id in edits):
            warnings.append("The file's edit list goes back and forth; only its first part is used.")
    progress(1.0)
    return DecodedSound(filled, origin.at_s, tuple(warnings))


def _refuse_no_numbers(tracks: Sequence[Track]) -> None:
    """Raises Unreadable where more than a few samples are no numbers."""
    for track in tracks:
        share = track.no_numbers / max(1, track.sample_count * len(track.rows))
        if share > _MOST_NO_NUMBERS:
            raise Unreadable(
                f"{100 * share:.0f} % of its samples are no numbers: the file is damaged. "
                "Copy it again, or export it again."
            )


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except (OSError, ValueError):
        return -1


def _header_end_s(stream: AudioStream, parts: Sequence[Part]) -> float | None:
    """Movie time in seconds of the end of a track by its header; None where it does not say."""
    if stream.duration is None or stream.time_base is None:
        return None
    end_s = (stream.duration + max(0, stream.start_time or 0)) * stream.time_base
    last = parts[-1]
    return float((end_s if last.end_s is None else min(end_s, last.end_s)) + last.shift_s)


def _decode(
    container: InputContainer,
    tracks: dict[int, Track],
    memory: MemoryBudget,
    whole_s: float,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> int:
    """Decode every packet into its track; gives the number of packets that could not be decoded."""
    bad = 0
    packets = container.demux(*(track.stream for track in tracks.values()))
    number = 0
    while True:
        try:
            packet = next(packets)
        except StopIteration:
            return bad
        except (av.error.InvalidDataError, IndexError):
            # The end of a truncated file; or damage that looks like a stream the file did not begin with,
            # which the library looks up in vain.
            return bad + 1
        track = tracks[packet.stream.index]
        try:
            frames = packet.decode()
        except av.error.FFmpegError:
            bad += packet.size > 0
            continue
        for frame in frames:
            if isinstance(frame, av.AudioFrame):
                track.add(frame)
        number += 1
        if number % _LOOK_EVERY == 0:
            if stop():
                raise Stopped("Reading was stopped.")
            if whole_s > 0:
                progress(min(1.0, max(one.end_s for one in tracks.values()) / whole_s))
            _fit(tuple(tracks.values()), memory)


def _fit(tracks: Sequence[Track], memory: MemoryBudget) -> None:
    """Store samples in 16 bits where they are many, and drop the worst channels until the rest fits the
    budget."""
    rows = {
        (number, channel): row
        for number, track in enumerate(tracks)
        for channel, row in enumerate(track.rows)
        if row is not None
    }
    if sum(row.bytes for row in rows.values()) > memory.float32_bytes:
        for row in rows.values():
            if not row.half:
                row.to_half()
    while sum(row.bytes for row in rows.values()) > memory.most_bytes and len(rows) > 1:
        number, channel = min(rows, key=lambda at: _preference(tracks, memory, *at))
        tracks[number].rows[channel] = None
        del rows[number, channel]


def _preference(
    tracks: Sequence[Track], memory: MemoryBudget, number: int, channel: int
) -> tuple[object, ...]:
    return label(number + 1, channel + 1) in memory.preferred, *tracks[number].meters[channel].preference


def _warnings(path: Path, tracks: Sequence[Track], bad: int, header_s: float | None) -> list[str]:
    warnings = []
    end_s = max(track.end_s for track in tracks)
    short = header_s is not None and end_s < header_s - 0.5
    if short and header_s is not None:
        warnings.append(f"The file is cut off after {end_s:.1f} s of {header_s:.1f} s: {copy_again(path)}")
    elif missing_bytes(path):
        warnings.append(f"The file is cut off after {end_s:.1f} s: {copy_again(path)}")
    elif bad:
        pieces = "One piece" if bad == 1 else f"{bad} pieces"
        warnings.append(f"{pieces} of the sound could not be decoded and is taken as silence.")
    if count := sum(track.no_numbers for track in tracks):
        samples = (
            "One sample is no number and is" if count == 1 else f"{count} samples are no numbers and are"
        )
        warnings.append(f"{samples} taken as silence.")
    if any(track.leaps for track in tracks):
        warnings.append("Some time stamps of the sound are damaged: check the placement against the picture.")
    if any(track.odd_frames for track in tracks):
        warnings.append(
            "The sound changes its sample rate or channels in the middle; only the first kind is used."
        )
    return warnings
