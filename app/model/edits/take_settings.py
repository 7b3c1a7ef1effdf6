"""What a person sets on a take stays with its stretch of the clip, wherever in the song that lies."""

from dataclasses import replace

from app.model.document.decisions import SetTake, TakeSettings
from app.model.document.shoot import Shoot
from app.model.edits.change import NOTHING, Change
from app.model.on_song import Take, mostly_shared


def set_on_take(shoot: Shoot, clip_id: str, take: Take, settings: TakeSettings) -> tuple[Shoot, Change]:
    """Give a take of a clip other settings."""
    if settings == take.settings:
        return shoot, NOTHING
    others = tuple(
        one for one in shoot.decisions.settings if one.clip_id != clip_id or not mostly_shared(one, take)
    )
    new = SetTake(clip_id, take.clip_start_s, take.clip_end_s, settings)
    return replace(shoot, decisions=replace(shoot.decisions, settings=(*others, new))), Change.TAKES
