"""Opening media files: which formats are allowed, and every failure as a sentence."""

import os
import stat
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import av
from av.container import InputContainer
from av.stream import Stream

from audio.errors import Unreadable
from audio.files.boxes import FIRST_KINDS

# Only these formats may be recognised. The media library also knows playlists, which open other files and
# network addresses; a clip must never do that.
_FORMATS = (
    "mov,mp4,m4a,3gp,3g2,mj2,mpegts,mpeg,mxf,avi,matroska,webm,asf,flv,dv,gxf,nut,"
    "wav,w64,aiff,caf,flac,mp3,aac,ac3,eac3,ogg,au,wv,tta,ape,amr"
)
_STILL_STARTS = (b"\xff\xd8\xff", b"\x89PNG", b"GIF8", b"II*\x00", b"MM\x00*", b"8BPS")
_STILL_BRANDS = (b"heic", b"heix", b"mif1", b"msf1", b"avif", b"crx ")
_FRESH_S = 60.0
"""Seconds since the last change within which a file may still be being written; chosen by hand."""

READ_ERRORS = (av.error.FFmpegError, OSError)
"""Exceptions that the media library raises on bad contents."""


def is_iso(path: Path) -> bool:
    """Whether a file begins like one of the MP4 and MOV family. Raises OSError."""
    with path.open("rb") as file:
        return file.read(8)[4:] in FIRST_KINDS


def still_changing(path: Path) -> bool:
    """Whether a file was changed within the last minute. Raises OSError."""
    return 0 <= time.time() - path.stat().st_mtime < _FRESH_S


def copy_again(path: Path) -> str:
    """The end of a sentence about an incomplete file: what to do about it."""
    try:
        fresh = still_changing(path)
    except OSError:
        fresh = False
    if fresh:
        return "wait until the recording or the copy is finished, or copy it again from the card."
    return "copy it again from the card."


def library_name(path: Path) -> str | bytes:
    """A path as the sound library takes it; as bytes where file names need not be valid text."""
    return os.fsencode(path) if os.name == "posix" else str(path)


def cause(error: Exception) -> str:
    """What the system says is wrong, without its numbers and without the path.

    >>> cause(OSError(5, "Input/output error", "/card/C0001.MP4"))
    'Input/output error'
    """
    return str(getattr(error, "strerror", None) or error)


def check_file(path: Path) -> int:
    """Check that a path is a plain file that can be opened; its size in bytes. Raises Unreadable."""
    try:
        facts = path.stat()
        if stat.S_ISDIR(facts.st_mode):
            raise Unreadable("This is a folder, not a file: choose the files in it.")
        # On a pipe or device the media library would wait for ever.
        if not stat.S_ISREG(facts.st_mode):
            raise Unreadable(
                "This is not a plain file but a pipe, socket or device: choose the recording itself."
            )
        with path.open("rb") as file:
            start = file.read(12)
    except FileNotFoundError as error:
        raise Unreadable(
            "The file is not there: check that the disk is connected and the file was not moved."
        ) from error
    except PermissionError as error:
        raise Unreadable(
            "You do not have permission to open this file: ask for it, or copy it elsewhere."
        ) from error
    except (OSError, ValueError) as error:
        raise Unreadable(f"The file cannot be opened ({cause(error)}): check the disk or card.") from error
    if facts.st_size == 0:
        raise Unreadable(
            f"The file is empty (0 bytes): {copy_again(path)}",
            for_song="The file is empty (0 bytes): choose another copy of it.",
        )
    if start.startswith(_STILL_STARTS) or (start[4:8] == b"ftyp" and start[8:12] in _STILL_BRANDS):
        raise Unreadable(
            "This is a still picture, not a clip: leave it out.",
            for_song="This is a still picture: choose the recording that everybody played to.",
        )
    return facts.st_size


def _refused(path: Path, iso: bool, error: Exception) -> Unreadable:
    todo, another = copy_again(path), "copy it again, or choose another file."
    # Other errors of the library, such as an early end, are about what is in the file.
    if isinstance(error, OSError):
        what = f"The file cannot be read ({cause(error)}):"
    elif iso:
        what = "The file has no readable table of contents, so its recording or copy was not finished:"
    else:
        what = (
            "This is not a recording that can be read (unknown or damaged contents): check that it plays, or"
        )
        another = "choose the recording that everybody played to."
    return Unreadable(f"{what} {todo}", for_song=f"{what} {another}")


@contextmanager
def open_media(path: Path) -> Iterator[InputContainer]:
    """Open a file for reading, and close it at the end. Errors inside the block become Unreadable as well.

    In MOV and MP4, packet times count from the start of the movie, shifted by the first edit of each track.
    The library's own handling of edit lists is off: it moves the first picture to the start of a frame and so
    loses up to one frame. In other containers more of the file is probed than by default: at 90 Mb/s the
    first sound of a transport stream lies further in.
    """
    check_file(path)
    iso = is_iso(path)
    options = {"advanced_editlist": "0"} if iso else {"probesize": "20000000"}
    options |= {"format_whitelist": _FORMATS, "protocol_whitelist": "file"}
    try:
        container = av.open(str(path.absolute()), options=options, metadata_errors="replace")
    except (av.error.FFmpegError, OSError, ValueError) as error:
        raise _refused(path, iso, error) from error
    with container:
        try:
            yield container
        except READ_ERRORS as error:
            raise _refused(path, iso, error) from error


def can_decode(stream: Stream) -> bool:
    """Whether there is a decoder for a stream; without one only packets and their times can be read."""
    return stream.codec_context is not None
