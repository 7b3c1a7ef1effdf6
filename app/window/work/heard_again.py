"""Which clips are placed once more when playback files come, or are corrected."""

from collections.abc import Iterable, Sequence

from app.model.document.playback_file import PlaybackFile
from app.model.document.verdict import Verdict
from app.model.on_song import Clip

UNSURE = (Verdict.DOUBTFUL, Verdict.NO_SONG)


def heard_again(
    before: Sequence[PlaybackFile], now: Sequence[PlaybackFile], clips: Iterable[Clip]
) -> set[str]:
    """Paths of the clips that playback files, as they are now, may change.

    What fits nowhere surely may fit a file that is new, or runs otherwise than was thought. What was heard on
    a file goes where that goes.
    """
    known = {one.media.digest: one.pieces for one in before}
    new = any(one.media.digest not in known for one in now)
    changed = {one.id for one in now if known.get(one.media.digest, one.pieces) != one.pieces}
    return {
        clip.media.path
        for clip in clips
        if ((new or changed) and clip.verdict in UNSURE)
        or any(take.playback_id in changed for take in clip.takes)
    }
