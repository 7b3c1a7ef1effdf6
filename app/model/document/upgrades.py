"""Shoot files of earlier versions made into those of today, one version at a time.

What is not of the expected kind is left as it is: reading the document tells what is wrong with it.
"""

from collections.abc import Callable, Iterator, Mapping

from app.model.storage.json_node import Json, WrongShape

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


FACTS = (
    "duration_s",
    "frame_rate",
    "variable_frame_rate",
    "width",
    "height",
    "start_timecode",
    "make",
    "model",
    "created",
)
PLACEMENT = (
    "clip_start_s",
    "clip_end_s",
    "song_start_s",
    "speed",
    "uncertainty_s",
    "verdict",
    "reason",
    "rivals",
    "lags",
)


def _to_6(old: Json) -> Json:
    """Songs in the plural, with ids; sections with ids; what was found apart from what was decided.

    Raises WrongShape where something is missing or no list: it would be lost without a word.
    """
    song = _popped(old, "song")
    old["songs"] = [] if song is None else [song]
    if isinstance(song, dict):
        song["id"] = _SONG
        song_map = song.get("map")
        if isinstance(song_map, dict):
            song_map["downbeats_s"] = _popped(song_map, "ones_s")
            for number, section in enumerate(_list(song_map, "sections"), 1):
                section.pop("voice", None)
                section["id"] = f"section-{number}"
    for angle in _list(old, "angles"):
        subject = _popped(angle, "subject")
        angle.update(subjects=[subject] if subject else [], rank=0)
    findings: list[Json] = []
    decisions: dict[str, list[Json]] = {"takes": [], "refusals": [], "clip_refusals": [], "settings": []}
    for clip in _list(old, "clips"):
        anchor: Json = {"clip_id": clip.get("id"), "song_id": _SONG, "song_digest": _digest(song)}
        found = {name: _popped(clip, name) for name in ("verdict", "reason", "takes", "refused")}
        decision, decided = _popped(clip, "decision"), _popped(clip, "decided")
        clip["facts"] = {name: _popped(clip, name) for name in FACTS}
        if song is None:  # nothing can have been found on no song
            continue
        _keep_decisions(clip, anchor, found, decisions)
        if decision == "by hand":
            decisions["clip_refusals"].append({**anchor, "decided": _decided(decided)})
        elif found["verdict"] != "waiting":
            # What a person moved had been found elsewhere; where, only the rivals tell.
            takes = [_placement(take) for take in _list(found, "takes") if take.get("decision") != "by hand"]
            why = "" if takes else found["reason"]
            findings.append({**anchor, "verdict": found["verdict"], "reason": _reason(why), "takes": takes})
    old.update(findings=findings, decisions=decisions, marks=[], plan={"needs": [], "set_ups": []})
    return old


def _popped(group: Json, name: str) -> object:
    if name not in group:
        raise WrongShape(f"{name!r} is missing")
    return group.pop(name)


def _list(group: Json, name: str) -> list[Json]:
    value = group.get(name)
    if not isinstance(value, list) or not all(isinstance(item, dict) for item in value):
        raise WrongShape(f"{name!r} is not a list of groups of named values")
    return value


_SONG = "song-1"


def _digest(song: object) -> object:
    media = song.get("media") if isinstance(song, dict) else None
    return media.get("digest") if isinstance(media, dict) else ""


def _keep_decisions(clip: Json, anchor: Json, found: Json, decisions: dict[str, list[Json]]) -> None:
    """What a person decided about the takes of a clip, and set on them."""
    for take in _list(found, "takes"):
        settings = {name: _popped(take, name) for name in ("shift_x", "shift_y")}
        if any(settings.values()):
            span = {name: take.get(name) for name in ("clip_start_s", "clip_end_s")}
            decisions["settings"].append({"clip_id": clip.get("id"), **span, "settings": settings})
        if take.get("decided") is not None or take.get("decision") != "computed":
            decisions["takes"].append({**anchor, "take": _record(take)})
    for one in _list(found, "refused"):
        gone = one.pop("take", None)
        kept = _record(gone) if isinstance(gone, dict) else gone
        decisions["refusals"].append({**anchor, **one, "take": kept})


def _record(take: Json) -> Json:
    return {
        "id": take.get("id"),
        "placement": _placement(take),
        "decision": take.get("decision"),
        "decided": _decided(take.get("decided")),
        "pins": take.get("pins"),
    }


def _placement(take: Json) -> Json:
    values = {name: take[name] for name in PLACEMENT if name in take}
    return {**values, "reason": _reason(take.get("reason"))}


def _decided(old: object) -> object:
    if not isinstance(old, dict):
        return old
    return {("action" if name == "deed" else name): value for name, value in old.items()}


def _reason(words: object) -> object:
    """A sentence of old: its code where it says no more than that, else its words."""
    if not isinstance(words, str):
        return words
    if not words:
        return {"code": "", "figures": {}}
    if words in _CODES:
        return {"code": _CODES[words], "figures": {}}
    return {"code": "words", "figures": {"words": words}}


_CODES = {
    "Decided on another song file; check that it still fits.": "other song",
}


def _to_7(old: Json) -> Json:
    """Which rivals fit as well; whose an angle's name is, its place and camera; lyrics; what a pick-up costs.

    Of the rivals only their number was known; it is taken to mean the strongest.
    """
    for placement in _all_placements(old):
        reason = placement.get("reason")
        figures = reason.get("figures") if isinstance(reason, dict) else None
        places = figures.get("places") if isinstance(figures, dict) else 0
        rivals = list(_groups(placement, "rivals"))
        for rival in rivals:
            rival["as_well"] = False
        found = [rival for rival in rivals if not rival.get("computed") and _is_number(rival.get("strength"))]
        found.sort(key=lambda rival: rival["strength"], reverse=True)  # type: ignore[arg-type,return-value]
        for rival in found[: places if isinstance(places, int) else 0]:
            rival["as_well"] = True
    for angle in _groups(old, "angles"):
        angle.update(named=True, place="", camera="")
    for song in _groups(old, "songs"):
        song["lyrics"] = []
    plan = old.get("plan")
    if isinstance(plan, dict):
        plan.update(handle_frames=0, lead_in_s=10.0, reset_s=120.0)
    return old


def _all_placements(old: Json) -> Iterator[Json]:
    """Of takes that were found, decided or refused."""
    for finding in _groups(old, "findings"):
        yield from _groups(finding, "takes")
    decisions = old.get("decisions")
    for one in (*_groups(decisions, "takes"), *_groups(decisions, "refusals")):
        take = one.get("take")
        placement = take.get("placement") if isinstance(take, dict) else None
        if isinstance(placement, dict):
            yield placement


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _to_8(old: Json) -> Json:
    """What pictures tell, the take they are compared with, and the first pass: nothing of it yet."""
    for mark in _groups(old, "marks"):
        mark["measure"] = None
    decisions = old.get("decisions")
    if isinstance(decisions, dict):
        decisions["reference"] = None
    return {**old, "looks": [], "matches": [], "cut": {"locks": [], "versions": []}}


def _to_9(old: Json) -> Json:
    """Titles of songs, playback files, earlier masters, and what was handed off last: nothing of it yet.

    Locks of the first pass are on angles, not on takes.
    """
    for placement in _all_placements(old):
        placement["playback_id"] = ""
    for song in _groups(old, "songs"):
        song["title"] = ""
    for lock in _groups(old.get("cut"), "locks"):
        lock.update(clip_id="", clip_s=0.0)
    return {**old, "playbacks": [], "masters": [], "handed": []}


UPGRADES: Mapping[int, Upgrade] = {
    1: _to_2,
    2: _to_3,
    3: _to_4,
    4: _to_5,
    5: _to_6,
    6: _to_7,
    7: _to_8,
    8: _to_9,
}
"""For each old version the step that makes the next one of it."""
VERSION = len(UPGRADES) + 1
"""The version that is written today."""
