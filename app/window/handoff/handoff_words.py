"""What Hand-off says of the takes that it would write."""

from collections.abc import Sequence

from app.handoff.each_song import Part
from app.model.check_queue import is_open
from app.model.coverage.coverage import unnamed_angles
from app.window.parts import words

MOST_NAMES = 3
"""Songs without a take that are named."""


def summary_words(parts: Sequence[Part]) -> str:
    """How many takes there are of which songs from how many angles; which songs have none yet, and whether
    cameras have no name yet."""
    views = [part.shoot for part in parts]
    clips = [clip for view in views for clip in view.clips]
    takes = [take for clip in clips for take in clip.takes]
    if not takes and len(parts) == 1:
        return f"{parts[0].song or 'The song'} has no take yet."
    angles = {clip.angle_id for clip in clips if not all(map(is_open, clip.takes))}
    placed = words.count(sum(not is_open(take) for take in takes), "take")
    bare = [part.song for part in parts if not any(clip.takes for clip in part.shoot.clips)]
    several = len(parts) > 1
    songs = f" of {words.count(len(parts) - len(bare), 'song')}" if several else ""
    where = "each at its place in its song" if several else "each at its place in the song"
    said = [f"{placed}{songs} from {words.count(len(angles), 'angle')}, {where}."]
    if bare:
        named = ", ".join(bare[:MOST_NAMES]) + (" and others" if len(bare) > MOST_NAMES else "")
        said.append(f"No take yet: {named}.")
    unnamed = len({angle.id for view in views for angle in unnamed_angles(view)})
    if unnamed:
        cameras = words.count(unnamed, "camera has", "cameras have")
        said.append(
            f"{cameras} no name yet: name what they show first (Ctrl+Shift+N in Clips), or tracks get "
            "made-up names."
        )
    return " ".join(said)
