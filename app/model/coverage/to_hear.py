"""Which take is meant where somebody points at a bar and an angle: the one that is shown and heard there."""

from app.model.coverage.showing import counted_clips, covers
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.model.song_map.bar_spans import BarSpan


def takes_in(shoot: SongView, bar: BarSpan, angle_id: str | None) -> list[Take]:
    """The takes of an angle (None: of all that count) that run through some of a bar, best first.

    Placed ones come before those in doubt, those that cover the bar before those that show a part of it.
    """
    here = [
        take
        for clip in _clips(shoot, angle_id)
        for take in clip.takes
        if take.song_start_s < bar.end_s and take.song_end_s > bar.start_s
    ]

    def rank(take: Take) -> tuple[bool, bool, float]:
        whole = covers(take, bar)
        shared_s = min(take.song_end_s, bar.end_s) - max(take.song_start_s, bar.start_s)
        return take.verdict is Verdict.DOUBTFUL, not whole, 0.0 if whole else -shared_s

    return sorted(here, key=rank)


def take_to_hear(
    shoot: SongView, bar: BarSpan, angle_id: str | None, take_id: str | None = None
) -> str | None:
    """The take that is heard from a bar on: the one pointed at where it runs there, else the angle's best.

    Where the angle has nothing in the bar, its next take, so that it comes in when it comes; failing that
    its last. Without an angle, the best of all; None where nothing shows the bar.
    """
    here = [take.id for take in takes_in(shoot, bar, angle_id)]
    if here:
        return take_id if take_id in here else here[0]
    if angle_id is None:
        return None
    takes = sorted(
        (take for clip in _clips(shoot, angle_id) for take in clip.takes), key=lambda take: take.song_start_s
    )
    if not takes:
        return None
    return next((take for take in takes if take.song_start_s >= bar.end_s), takes[-1]).id


def _clips(shoot: SongView, angle_id: str | None) -> list[Clip]:
    if angle_id is None:
        return list(counted_clips(shoot))
    return [clip for clip in shoot.clips if clip.angle_id == angle_id]
