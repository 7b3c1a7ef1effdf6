"""Split recordings: which files are one recording, and their sound joined on one clock.

Cameras start a new file when one becomes too large or too long.
"""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from fractions import Fraction
from pathlib import Path

import numpy as np

from audio.files.channels import AnyFloats
from audio.files.media import MediaInfo, Sound
from audio.files.media_tags import timecode_frames

_CLOCK_S = 1.5
"""Seconds; recording times are written in whole seconds, and nobody stops and starts a camera in less."""
_REFERENCE_S = 0.02
"""Seconds by which time references of Broadcast Wave files may be off; chosen by hand, half a frame."""
# Common practice, from no standard: limits of file systems, and settings that cameras offer.
_SPLIT_BYTES = (2 << 30, 4_000_000_000, 4 << 30, 8 << 30, 16 << 30, 32 << 30, 64 << 30)
_SPLIT_MINUTES = (10, 15, 20, 30, 60)
_SIZE_BELOW = 0.06
"""Share by which a file may be smaller than the size at which cameras split; chosen by hand."""
_LENGTH_NEAR_S = 6.0
"""Seconds by which a file may be off the length at which cameras split; chosen by hand."""


def recording_groups(infos: Sequence[MediaInfo]) -> tuple[tuple[int, ...], ...]:
    """Groups of files that are one recording, as indices into ``infos`` in the order of recording.

    A single file is a group of one. Groups are in the order of their first file in ``infos``.

    Two files belong together only if they are in one folder and agree in suffix, picture size, frame rate,
    sound, make and model. In addition the clocks must say that the second starts where the first ends:

    - by timecode, to the frame (for Broadcast Wave files, by the time reference), if also the recording times
      agree (they differ by the length of the first file), or there are none and the first file has a size or
      length at which cameras split (2, 4, 8 … GB; 10, 15, 20, 30, 60 minutes). Timecode alone is not enough:
      on many cameras it runs only while recording, so each take starts where the one before ended;
    - without timecode, by the recording times, to 1.5 s, if also the file numbers are consecutive and the
      first file has such a size or length.

    A file that several could follow, or that could follow several, stays by itself.

    Limits: not recognised are cameras without timecode that split at an unusual size, renamed files without
    timecode, and recordings whose files were sorted into several folders. The sizes and lengths are common
    practice, not a standard.
    """
    pairs = [
        (index, other)
        for index, info in enumerate(infos)
        for other, candidate in enumerate(infos)
        if other != index and _alike(info, candidate) and _follows(info, candidate)
    ]
    firsts, seconds = Counter(first for first, _ in pairs), Counter(second for _, second in pairs)
    next_of = {first: second for first, second in pairs if firsts[first] == seconds[second] == 1}
    groups: list[tuple[int, ...]] = []
    grouped: set[int] = set()
    # Start with files that follow no other; a ring, if clocks claim one, then starts at its first file.
    followers = set(next_of.values())
    for index in sorted(range(len(infos)), key=lambda one: one in followers):
        group: list[int] = []
        step: int | None = index
        while step is not None and step not in grouped:
            group.append(step)
            grouped.add(step)
            step = next_of.get(step)
        if group:
            groups.append(tuple(group))
    return tuple(sorted(groups))


def joined(sounds: list[Sound], starts_s: Sequence[float]) -> Sound:
    """Join the sounds of files that continue one another, on the first file's clock.

    Parameters ---------- sounds : list of Sound In the order of recording, all at one rate. The list is
    emptied, so that each one's memory can be freed once its samples are copied. A single one is returned as
    it is. starts_s : sequence of float Each file's own time 0 on the first file's clock, in seconds; the
    first is 0.

    Returns ------- Sound With the channels that all files share, or each file's first one where they share
    none. 16-bit if any of them is.

    >>> one = Sound(np.ones((1, 80), np.float32), 8, 0.0, ("a",))
    >>> both = joined([one, one], [0.0, 10.0])
    >>> both.samples.shape, both.start_s
    ((1, 160), 0.0)
    """
    if len(sounds) == 1:
        return sounds.pop()
    rate = sounds[0].rate
    shared = [name for name in sounds[0].labels if all(name in sound.labels for sound in sounds)]
    labels = tuple(shared) or sounds[0].labels[:1]
    begins = [start + sound.start_s for sound, start in zip(sounds, starts_s, strict=True)]
    first = min(begins)
    gaps = tuple(
        (gap[0] + start, gap[1] + start)
        for sound, start in zip(sounds, starts_s, strict=True)
        for gap in sound.gaps
    )
    warnings = tuple(dict.fromkeys(text for sound in sounds for text in sound.warnings))
    damaged = [
        sound.damaged_s + start
        for sound, start in zip(sounds, starts_s, strict=True)
        if sound.damaged_s is not None
    ]
    timecode = tuple(
        replace(code, start_s=code.start_s + start)
        for sound, start in zip(sounds, starts_s, strict=True)
        for code in sound.timecode
    )
    places = [round((begin - first) * rate) for begin in begins]
    length = max(place + sound.samples.shape[1] for place, sound in zip(places, sounds, strict=True))
    # The system maps zeroed pages when they are written, so this does not need the memory twice.
    samples: AnyFloats = np.zeros((len(labels), length), np.float32)
    if any(sound.samples.dtype == np.float16 for sound in sounds):
        samples = np.zeros((len(labels), length), np.float16)
    sounds.reverse()
    for place in places:
        sound = sounds.pop()
        for row, name in enumerate(shared or sound.labels[:1]):
            samples[row, place : place + sound.samples.shape[1]] = sound.samples[sound.labels.index(name)]
    return Sound(samples, rate, first, labels, gaps, warnings, min(damaged, default=None), timecode)


def _alike(first: MediaInfo, second: MediaInfo) -> bool:
    def kind(info: MediaInfo) -> tuple[object, ...]:
        return (
            info.path.parent,
            info.path.suffix.lower(),
            (info.width, info.height, info.frame_rate),
            (info.sound_tracks, info.sound_rate),
            (info.make, info.model),
        )

    return kind(first) == kind(second)


def _follows(first: MediaInfo, second: MediaInfo) -> bool:
    by_timecode = _timecode_follows(first, second)
    by_time = _time_follows(first, second)
    if by_timecode is None:
        return by_time is True and _numbers_follow(first.path, second.path) and _could_split(first)
    if by_time is None:
        return by_timecode and _could_split(first)
    return by_timecode and by_time


def _timecode_follows(first: MediaInfo, second: MediaInfo) -> bool | None:
    """None where either has no timecode."""
    if first.time_reference is not None and second.time_reference is not None and first.sound_rate:
        apart_s = (second.time_reference - first.time_reference) / first.sound_rate
        return first.duration_s > 0 and abs(apart_s - first.duration_s) < _REFERENCE_S
    if first.frame_rate is None or first.start_timecode is None or second.start_timecode is None:
        return None
    # Pictures at 50 or 60 a second are often counted in pairs.
    rates = [first.frame_rate, first.frame_rate / 2] if first.frame_rate >= 47 else [first.frame_rate]
    return any(
        _ends_where(first.start_timecode, first.duration_s, second.start_timecode, rate) for rate in rates
    )


def _ends_where(first: str, duration_s: float, second: str, rate: Fraction) -> bool:
    """Whether a file with a start timecode and length ends, to a frame, at the start timecode of another."""
    start, following = timecode_frames(first, rate), timecode_frames(second, rate)
    last = timecode_frames(f"23:59:59{first.strip()[8]}{round(rate) - 1:02d}", rate)
    if start is None or following is None or last is None or duration_s <= 0:
        return False
    off = following - start - round(Fraction(duration_s) * rate)
    return (off + 1) % (last + 1) in (0, 1, 2)


def _time_follows(first: MediaInfo, second: MediaInfo) -> bool | None:
    """None where either has no recording time, or both have the same: that of the whole recording."""
    if first.created is None or second.created is None or first.created == second.created:
        return None
    try:
        apart = datetime.fromisoformat(second.created) - datetime.fromisoformat(first.created)
    except (ValueError, TypeError):
        return None
    return abs(apart.total_seconds() - first.duration_s) <= _CLOCK_S


def _could_split(info: MediaInfo) -> bool:
    size = any(limit * (1 - _SIZE_BELOW) <= info.size_bytes <= limit for limit in _SPLIT_BYTES)
    length = any(abs(info.duration_s - minutes * 60) <= _LENGTH_NEAR_S for minutes in _SPLIT_MINUTES)
    return size or length


def _numbers_follow(first: Path, second: Path) -> bool:
    """True where two names differ in one number alone, which goes up by one.

    >>> _numbers_follow(Path("C0009.MP4"), Path("C0010.MP4"))
    True
    >>> _numbers_follow(Path("A1_1.MOV"), Path("A2_2.MOV"))
    False
    """
    one, two = re.split(r"(\d+)", first.stem), re.split(r"(\d+)", second.stem)
    if len(one) != len(two):
        return False
    differing = [(a, b) for a, b in zip(one, two, strict=True) if a != b]
    return (
        len(differing) == 1
        and all(part.isdigit() for part in differing[0])
        and (int(differing[0][1]) == int(differing[0][0]) + 1)
    )
