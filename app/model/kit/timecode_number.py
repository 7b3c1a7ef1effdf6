"""The number in the user bits of a playback file's timecode: by it clips know which file was played."""

import zlib

from app.model.document.playback_file import PlaybackTimecode


def timecode_number(code: PlaybackTimecode, duration_s: float) -> int:
    """A number of 32 bits, never 0, made of what stays with a file for good: its timecode and its length.

    Timecode of the day has user bits of zero, a date, or a reel's number; one of those is hit by chance once
    in four thousand million times.
    """
    told = f"{code.label} {code.frame_rate} {code.at_s:.6f} {duration_s:.6f}"
    return zlib.crc32(told.encode()) or 1
