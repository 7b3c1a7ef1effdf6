"""What a person does to the playback files of a shoot."""

from dataclasses import replace

from app.model.document.change import NOTHING, Change
from app.model.document.shoot import Shoot


def remove_playback(shoot: Shoot, playback_id: str) -> tuple[Shoot, Change]:
    """Forget a playback file; it stays on disk, and what was found on it stays where it is."""
    kept = tuple(one for one in shoot.playbacks if one.id != playback_id)
    return (shoot, NOTHING) if kept == shoot.playbacks else (replace(shoot, playbacks=kept), Change.PLAYBACK)


def set_note(shoot: Shoot, playback_id: str, note: str) -> tuple[Shoot, Change]:
    """Say what a playback file is for."""
    changed = tuple(
        replace(one, note=note.strip()) if one.id == playback_id else one for one in shoot.playbacks
    )
    same = changed == shoot.playbacks
    return (shoot, NOTHING) if same else (replace(shoot, playbacks=changed), Change.PLAYBACK)
