"""A copy of a clip with another start timecode, without transcoding.

The copy equals the clip byte for byte, except for the few headers that hold the timecode (`iso_stamp` for MOV
and MP4, `mxf_stamp` for MXF). So all its streams survive, unknown ones too. Afterwards the copy is compared
with the clip, and its timecode is read back in two ways.
"""

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

from audio.copies import iso_stamp, mxf_stamp
from audio.copies.changes import Changes, copy_changed
from audio.copies.timecode_track import Stamp
from audio.errors import CannotStamp
from audio.files.containers import cause, is_iso, open_media
from audio.files.edit_lists import IsoTrack, iso_tracks
from audio.files.frame_timing import first_picture_s, picture_stream
from audio.files.media import probe
from audio.files.media_tags import advance_timecode
from audio.progress import never, no_progress

_NO_PLACE = {
    "avi": "AVI",
    "matroska,webm": "Matroska",
    "mpegts": "a transport stream",
    "mpeg": "a program stream",
}


def label(stamp: Stamp) -> str:
    """The timecode as text, ``hh:mm:ss:ff`` or, drop-frame, ``hh:mm:ss;ff``. Raises CannotStamp."""
    sign = ";" if stamp.drop_frame else ":"
    found = advance_timecode(f"00:00:00{sign}00", stamp.count(), stamp.rate)
    if found is None:
        raise CannotStamp("There is no timecode for its frame rate: use the timeline instead.")
    return found


def prepare(path: Path, stamp: Stamp) -> Changes:
    """How a copy of the clip would differ from it. Raises CannotStamp, Unreadable."""
    label(stamp)
    try:
        with open_media(path) as container:
            kind = container.format.name
            picture = picture_stream(container)
            if picture is None:
                raise CannotStamp("It has no picture: a sound file gets a time reference instead.")
            number, frames = picture.id, picture.frames
            if is_iso(path):
                edits = iso_tracks(path).get(picture.id, IsoTrack())
                start_s = first_picture_s(container, picture, edits.parts) or Fraction(0)
                # Rounded as `audio.files.media` rounds it when it reads the start timecode.
                late = max(0, round(start_s * stamp.rate))
                return iso_stamp.changes(path, stamp, number, frames, late)
            if kind == "mxf":
                return mxf_stamp.changes(path, stamp)
    except OSError as error:
        raise CannotStamp(f"The file cannot be read ({cause(error)}): check the disk or card.") from error
    what = _NO_PLACE.get(kind, f"a file of its kind ({kind})")
    raise CannotStamp(
        f"There is no place for a start timecode in {what} that all programs read: use the timeline "
        "file, or put a copy into MOV first."
    )


def stamp_copy(
    source: Path,
    target: Path,
    stamp: Stamp,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> None:
    """Write a stamped copy to a new file, and check it.

    Raises CannotStamp, Unreadable, Stopped, OSError; the target may then exist, incomplete.
    """
    copy_changed(source, target, prepare(source, stamp), stop=stop, progress=progress)
    wanted, found = label(stamp), probe(target).start_timecode
    if found != wanted:
        raise CannotStamp(f"The copy says {found} instead of {wanted}, so it was not kept.")
    if is_iso(target) and not iso_stamp.counts(target):
        raise CannotStamp("The copy has no timecode track after all, so it was not kept.")


def is_stamped(path: Path) -> bool:
    """Whether a file is a copy that was stamped here. Raises OSError."""
    return iso_stamp.is_marked(path) if is_iso(path) else mxf_stamp.is_marked(path)
