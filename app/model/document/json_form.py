"""The shoot as plain dictionaries and lists for JSON, and back, every value looked at on the way in."""

from collections.abc import Callable, Iterable

from app.model.document.json_node import Json, Node, WrongShape
from app.model.document.shoot import (
    Angle,
    Clip,
    Decided,
    Decision,
    Deed,
    LagPoint,
    MediaRef,
    Metre,
    Pin,
    Refused,
    Rival,
    Section,
    Shoot,
    Song,
    SongMap,
    Take,
    Verdict,
)
from app.model.timebase import rate_text

Path_ = Callable[[str], str]


def to_json(shoot: Shoot, written: Path_) -> Json:
    """The shoot as JSON values; ``written`` turns a media path into the form kept in the file."""
    return {
        "name": shoot.name,
        "song": None if shoot.song is None else song_to_json(shoot.song, written),
        "angles": [_angle_out(angle) for angle in shoot.angles],
        "clips": [clip_to_json(clip, written) for clip in shoot.clips],
    }


def from_json(data: object, found: Path_) -> Shoot:
    """Read the shoot out of JSON values; ``found`` turns a path of the file into one in memory.

    Raises WrongShape at the first value that is missing, unknown, of the wrong kind, or that cannot be.
    """
    node = Node(data, "the document")
    shoot = Shoot(
        name=node.text("name"),
        song=None if node.is_null("song") else _song_in(node.node("song"), found),
        angles=node.each("angles", _angle_in),
        clips=node.each("clips", lambda n: _clip_in(n, found)),
    )
    node.done(None)
    _no_twins("angle", [angle.id for angle in shoot.angles])
    _no_twins("clip", [clip.id for clip in shoot.clips])
    _no_twins("file", [clip.media.path for clip in shoot.clips])
    _no_twins("take", [take.id for clip in shoot.clips for take in clip.takes])
    known = {angle.id for angle in shoot.angles} | {""}
    for clip in shoot.clips:
        if clip.angle_id not in known:
            raise WrongShape(f"clip {clip.id} is on the angle {clip.angle_id}, which is not there")
    return shoot


def _angle_out(angle: Angle) -> Json:
    return {
        "id": angle.id,
        "name": angle.name,
        "safety": angle.safety,
        "subject": angle.subject,
        "group": angle.group,
        "hidden": angle.hidden,
    }


def _angle_in(node: Node) -> Angle:
    return node.done(
        Angle(
            id=node.text("id"),
            name=node.text("name"),
            safety=node.truth("safety"),
            subject=node.text("subject"),
            group=node.text("group"),
            hidden=node.truth("hidden"),
        )
    )


def song_from_json(data: object, found: Path_) -> Song:
    """Read a song by itself, as ``song_to_json`` writes it. Raises WrongShape."""
    return _song_in(Node(data, "the song"), found)


def clip_from_json(data: object, found: Path_) -> Clip:
    """Read a clip by itself, as ``clip_to_json`` writes it. Raises WrongShape."""
    return _clip_in(Node(data, "the clip"), found)


def _media_out(media: MediaRef, written: Path_) -> Json:
    return {"path": written(media.path), "size_bytes": media.size_bytes, "digest": media.digest}


def _media_in(node: Node, found: Path_) -> MediaRef:
    return node.done(MediaRef(found(node.text("path")), node.count("size_bytes"), node.text("digest")))


def song_to_json(song: Song, written: Path_) -> Json:
    """The song as JSON values."""
    return {
        "media": _media_out(song.media, written),
        "duration_s": song.duration_s,
        "map": _map_out(song.map),
    }


def _map_out(song_map: SongMap) -> Json:
    return {
        "tempo_bpm": song_map.tempo_bpm,
        "other_tempo_bpm": song_map.other_tempo_bpm,
        "tempo_by_hand": song_map.tempo_by_hand,
        "beats_s": list(song_map.beats_s),
        "bars_s": list(song_map.bars_s),
        "ones_s": list(song_map.ones_s),
        "metres": [{"from_s": metre.from_s, "beats": metre.beats} for metre in song_map.metres],
        "sections": [_section_out(section) for section in song_map.sections],
        "edges_s": list(song_map.edges_s),
        "levels_db": list(song_map.levels_db),
    }


def _section_out(section: Section) -> Json:
    return {
        "letter": section.letter,
        "own_letter": section.own_letter,
        "name": section.name,
        "suggested": section.suggested,
        "start_s": section.start_s,
        "end_s": section.end_s,
        "family": section.family,
        "voice": section.voice,
        "by_hand": section.by_hand,
    }


def _song_in(node: Node, found: Path_) -> Song:
    song_map = _map_in(node.node("map"))
    return node.done(Song(_media_in(node.node("media"), found), node.number("duration_s"), song_map))


def _map_in(node: Node) -> SongMap:
    return node.done(
        SongMap(
            tempo_bpm=None if node.is_null("tempo_bpm") else node.number("tempo_bpm"),
            other_tempo_bpm=None if node.is_null("other_tempo_bpm") else node.number("other_tempo_bpm"),
            tempo_by_hand=node.truth("tempo_by_hand"),
            beats_s=node.numbers("beats_s"),
            bars_s=node.numbers("bars_s"),
            ones_s=node.numbers("ones_s"),
            metres=node.each("metres", lambda n: n.done(Metre(n.number("from_s"), n.count("beats")))),
            sections=node.each("sections", _section_in),
            edges_s=node.numbers("edges_s"),
            levels_db=node.numbers("levels_db"),
        )
    )


def _section_in(node: Node) -> Section:
    return node.done(
        Section(
            letter=node.text("letter"),
            own_letter=node.truth("own_letter"),
            name=node.text("name"),
            suggested=node.truth("suggested"),
            start_s=node.number("start_s"),
            end_s=node.number("end_s"),
            family=node.text("family"),
            voice=None if node.is_null("voice") else node.truth("voice"),
            by_hand=node.truth("by_hand"),
        )
    )


def clip_to_json(clip: Clip, written: Path_) -> Json:
    """A clip with its takes as JSON values."""
    return {
        "id": clip.id,
        "media": _media_out(clip.media, written),
        "angle_id": clip.angle_id,
        "duration_s": clip.duration_s,
        "frame_rate": None if clip.frame_rate is None else rate_text(clip.frame_rate),
        "variable_frame_rate": clip.variable_frame_rate,
        "width": clip.width,
        "height": clip.height,
        "start_timecode": clip.start_timecode,
        "make": clip.make,
        "model": clip.model,
        "created": clip.created,
        "verdict": clip.verdict.value,
        "reason": clip.reason,
        "decision": clip.decision.value,
        "decided": _decided_out(clip.decided),
        "refused": [_refused_out(one) for one in clip.refused],
        "note": clip.note,
        "warnings": list(clip.warnings),
        "recording": clip.recording,
        "takes": [_take_out(take) for take in clip.takes],
    }


def _clip_in(node: Node, found: Path_) -> Clip:
    return node.done(
        Clip(
            id=node.text("id"),
            media=_media_in(node.node("media"), found),
            angle_id=node.text("angle_id"),
            duration_s=node.number("duration_s"),
            frame_rate=node.rate("frame_rate"),
            variable_frame_rate=node.truth("variable_frame_rate"),
            width=node.count("width"),
            height=node.count("height"),
            start_timecode=node.text_or_none("start_timecode"),
            make=node.text_or_none("make"),
            model=node.text_or_none("model"),
            created=node.text_or_none("created"),
            verdict=node.one_of("verdict", Verdict),
            reason=node.text("reason"),
            decision=node.one_of("decision", Decision),
            decided=_decided_in(node),
            refused=node.each("refused", _refused_in),
            note=node.text("note"),
            warnings=node.texts("warnings"),
            recording=node.text_or_none("recording"),
            takes=node.each("takes", _take_in),
        )
    )


def _decided_out(decided: Decided | None) -> Json | None:
    return None if decided is None else {"deed": decided.deed.value, "at": decided.at}


def _decided_in(node: Node) -> Decided | None:
    if node.is_null("decided"):
        return None
    inner = node.node("decided")
    return inner.done(Decided(inner.one_of("deed", Deed), inner.text("at")))


def _refused_out(refused: Refused) -> Json:
    return {
        "clip_start_s": refused.clip_start_s,
        "clip_end_s": refused.clip_end_s,
        "at": refused.at,
        "take": None if refused.take is None else _take_out(refused.take),
    }


def _refused_in(node: Node) -> Refused:
    take = None if node.is_null("take") else _take_in(node.node("take"))
    return node.done(Refused(node.number("clip_start_s"), node.number("clip_end_s"), node.text("at"), take))


def _take_out(take: Take) -> Json:
    return {
        "id": take.id,
        "clip_start_s": take.clip_start_s,
        "clip_end_s": take.clip_end_s,
        "song_start_s": take.song_start_s,
        "speed": take.speed,
        "uncertainty_s": take.uncertainty_s,
        "verdict": take.verdict.value,
        "reason": take.reason,
        "decision": take.decision.value,
        "rivals": [
            {"song_start_s": r.song_start_s, "strength": r.strength, "computed": r.computed}
            for r in take.rivals
        ],
        "lags": [{"clip_s": p.clip_s, "lag_s": p.lag_s, "strength": p.strength} for p in take.lags],
        "decided": _decided_out(take.decided),
        "pins": [{"clip_s": pin.clip_s, "song_s": pin.song_s} for pin in take.pins],
        "shift_x": take.shift_x,
        "shift_y": take.shift_y,
    }


def _take_in(node: Node) -> Take:
    take = Take(
        id=node.text("id"),
        clip_start_s=node.number("clip_start_s"),
        clip_end_s=node.number("clip_end_s"),
        song_start_s=node.number("song_start_s"),
        speed=node.number("speed"),
        uncertainty_s=node.number("uncertainty_s"),
        verdict=node.one_of("verdict", Verdict),
        reason=node.text("reason"),
        decision=node.one_of("decision", Decision),
        rivals=node.each(
            "rivals",
            lambda n: n.done(Rival(n.number("song_start_s"), n.number("strength"), n.truth("computed"))),
        ),
        lags=node.each(
            "lags", lambda n: n.done(LagPoint(n.number("clip_s"), n.number("lag_s"), n.number("strength")))
        ),
        decided=_decided_in(node),
        pins=node.each("pins", lambda n: n.done(Pin(n.number("clip_s"), n.number("song_s")))),
        shift_x=node.number("shift_x"),
        shift_y=node.number("shift_y"),
    )
    if take.speed <= 0 or take.clip_end_s < take.clip_start_s:
        raise WrongShape(f"{node.where} runs backwards or not at all")
    return node.done(take)


def _no_twins(kind: str, ids: Iterable[str]) -> None:
    seen: set[str] = set()
    for one in ids:
        if one in seen:
            raise WrongShape(f"the {kind} {one} is there twice")
        seen.add(one)
