"""What Hand-off says of the takes that it would write."""

from app.model.check_queue import is_open
from app.model.coverage.coverage import unnamed_angles
from app.model.on_song import SongView
from app.window.parts import words


def summary_words(shoot: SongView) -> str:
    """How many takes there are from how many angles, and whether cameras have no name yet."""
    takes = sum(len(clip.takes) for clip in shoot.clips)
    angles = {clip.angle_id for clip in shoot.clips if not all(map(is_open, clip.takes))}
    placed = words.count(takes - len(words.open_takes(shoot)), "take")
    summary = f"{placed} from {words.count(len(angles), 'angle')}, each at its place in the song."
    unnamed = len(unnamed_angles(shoot))
    if not unnamed:
        return summary
    cameras = words.count(unnamed, "camera has", "cameras have")
    return (
        f"{summary} {cameras} no name yet: name what they show first (Ctrl+Shift+N in Clips), or tracks get "
        "made-up names."
    )
