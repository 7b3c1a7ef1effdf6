"""What the report tells of pictures."""

from app.model.faults_seen import seen_faults
from app.model.on_song import Clip, SongView, Take, reference_take

Json = dict[str, object]


def look_told(clip: Clip) -> Json | None:
    """What looking at a clip gave; None where nobody looked."""
    look = clip.look
    if look is None:
        return None
    return {
        "group": look.group,
        "sure": look.sure,
        "measures": {one.name: one.value for one in look.measures},
        "proposed": [
            {
                "kind": one.kind.value,
                "reason": one.by,
                "clip_start_s": one.clip_start_s,
                "clip_end_s": one.clip_end_s,
                "measure": one.measure,
            }
            for one in seen_faults(clip.marks)
        ],
    }


def match_told(shoot: SongView, take: Take) -> Json | None:
    """What brings a take near the reference; None where they were not compared."""
    match, reference = take.match, reference_take(shoot)
    if match is None or reference is None:
        return None
    return {
        "slope": list(match.slope),
        "offset": list(match.offset),
        "power": list(match.power),
        "saturation": match.saturation,
        "stops": match.stops,
        "reference": reference.id,
    }
