"""Shoot files of earlier versions made into those of today, one version at a time.

What is not of the expected kind is left as it is: reading the document tells what is wrong with it.
"""

from collections.abc import Callable, Iterator, Mapping

from app.model.document.json_node import Json

Upgrade = Callable[[Json], Json]


def _groups(value: object, key: str) -> Iterator[Json]:
    """The groups of named values in a list of one."""
    inner = value.get(key) if isinstance(value, dict) else None
    for item in inner if isinstance(inner, list) else ():
        if isinstance(item, dict):
            yield item


def _to_2(old: Json) -> Json:
    """Records of decisions, pins, framing, notes; subject, group and hiding of angles."""
    for angle in _groups(old, "angles"):
        angle.update(subject="", group="", hidden=False)
    for clip in _groups(old, "clips"):
        clip.update(decided=None, note="")
        for take in _groups(clip, "takes"):
            take.update(decided=None, pins=[], shift_x=0.0, shift_y=0.0)
    return old


def _to_3(old: Json) -> Json:
    """Takes that were refused while others of their clip stay."""
    for clip in _groups(old, "clips"):
        clip.update(refused=[])
    return old


def _to_4(old: Json) -> Json:
    """The other tempo, loudness, what a person fixed; of sections family, voice, and whose the name is."""
    song = old.get("song")
    song_map = song.get("map") if isinstance(song, dict) else None
    if isinstance(song_map, dict):
        song_map.update(
            other_tempo_bpm=None, tempo_by_hand=False, levels_db=[], ones_s=[], metres=[], edges_s=[]
        )
        for section in _groups(song_map, "sections"):
            section.update(family="", voice=None, suggested=True, by_hand=False, own_letter=False)
    return old


def _to_5(old: Json) -> Json:
    """Which rival is the computed place; the takes that were refused."""
    for clip in _groups(old, "clips"):
        for refused in _groups(clip, "refused"):
            refused.update(take=None)
        for take in _groups(clip, "takes"):
            for rival in _groups(take, "rivals"):
                rival.update(computed=False)
    return old


UPGRADES: Mapping[int, Upgrade] = {1: _to_2, 2: _to_3, 3: _to_4, 4: _to_5}
"""For each old version the step that makes the next one of it."""
