"""Edits of the list of songs: adding one to those there are, taking one out, and their order.

See `app.model.document.change` for what all edits share.
"""

from dataclasses import replace

from app.model.document.change import NOTHING, Change
from app.model.document.ids import fresh_id
from app.model.document.playback_file import PlaybackFile
from app.model.document.shoot import Shoot
from app.model.document.song import FIRST_SONG, Song, SongMap
from app.model.song_map.section_ids import with_ids


def add_song(shoot: Shoot, song: Song) -> tuple[Shoot, Change]:
    """Add a song behind those there are, with an id of its own; clips wait to be held against it.

    The same recording is not added twice.
    """
    if any(one.media.same_content(song.media) for one in shoot.songs):
        return shoot, NOTHING
    song_id = fresh_id("song", [one.id for one in shoot.songs]) if shoot.songs else FIRST_SONG
    new = replace(song, id=song_id, map=with_ids(song.map, SongMap()))
    change = Change.SONG | Change.MAP | Change.CLIPS
    return replace(shoot, songs=(*shoot.songs, new)), change


def remove_song(shoot: Shoot, song_id: str) -> tuple[Shoot, Change]:
    """Take a song out of the shoot (its file stays), with all that is known, planned and was decided of it.

    Playback files stay, without the pieces through which it ran. Raises KeyError.
    """
    song = shoot.song(song_id)
    if song is None:
        return shoot, NOTHING
    decided, plan, cut = shoot.decisions, shoot.plan, shoot.cut
    new = replace(
        shoot,
        songs=tuple(one for one in shoot.songs if one is not song),
        findings=tuple(one for one in shoot.findings if one.song_id != song.id),
        decisions=replace(
            decided,
            takes=tuple(one for one in decided.takes if one.song_id != song.id),
            refusals=tuple(one for one in decided.refusals if one.song_id != song.id),
            clip_refusals=tuple(one for one in decided.clip_refusals if one.song_id != song.id),
        ),
        plan=replace(
            plan,
            needs=tuple(one for one in plan.needs if one.song_id != song.id),
            set_ups=tuple(one for one in plan.set_ups if one.song_id != song.id),
        ),
        cut=replace(
            cut,
            locks=tuple(one for one in cut.locks if one.song_id != song.id),
            versions=tuple(one for one in cut.versions if one.song_id != song.id),
        ),
        playbacks=tuple(_without(one, song.id) for one in shoot.playbacks),
        masters=tuple(one for one in shoot.masters if one.song_id != song.id),
        handed=tuple(one for one in shoot.handed if one.song_id != song.id),
    )
    change = Change.SONG | Change.MAP | Change.CLIPS | Change.TAKES
    if new.plan != plan:
        change |= Change.PLAN
    if new.cut != cut:
        change |= Change.CUT
    if new.playbacks != shoot.playbacks:
        change |= Change.PLAYBACK
    return new, change


def move_song(shoot: Shoot, song_id: str, to: int) -> tuple[Shoot, Change]:
    """Put a song at a place in the list, counted from 0. Raises KeyError."""
    song = shoot.song(song_id)
    others = [one for one in shoot.songs if one is not song]
    if song is None:
        return shoot, NOTHING
    others.insert(min(max(to, 0), len(others)), song)
    if tuple(others) == shoot.songs:
        return shoot, NOTHING
    return replace(shoot, songs=tuple(others)), Change.SONG


def _without(playback: PlaybackFile, song_id: str) -> PlaybackFile:
    return replace(playback, pieces=tuple(one for one in playback.pieces if one.song_id != song_id))
