"""The shoot as plain dictionaries and lists for JSON, and back, every value looked at on the way in."""

import math
from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import TypeVar

from app.model.shoot import (
    Angle,
    Clip,
    Decision,
    LagPoint,
    MediaRef,
    Rival,
    Section,
    Shoot,
    Song,
    SongMap,
    Take,
    Verdict,
)
from app.model.timebase import parse_rate, rate_text

T = TypeVar("T")
Json = dict[str, object]
Path_ = Callable[[str], str]


class WrongShape(Exception):
    """A value is not what it should be; ``str(error)`` says where and what."""


def to_json(shoot: Shoot, written: Path_) -> Json:
    """The shoot as JSON values; ``written`` turns a media path into the form kept in the file."""
    return {
        "name": shoot.name,
        "song": None if shoot.song is None else song_to_json(shoot.song, written),
        "angles": [{"id": a.id, "name": a.name, "safety": a.safety} for a in shoot.angles],
        "clips": [clip_to_json(clip, written) for clip in shoot.clips],
    }


def from_json(data: object, found: Path_) -> Shoot:
    """Read the shoot out of JSON values; ``found`` turns a path of the file into one in memory.

    Raises WrongShape at the first value that is missing, unknown, of the wrong kind, or that cannot be.
    """
    node = _Node(data, "the document")
    shoot = Shoot(
        name=node.text("name"),
        song=None if node.is_null("song") else _song_in(node.node("song"), found),
        angles=node.each("angles", lambda n: n.done(Angle(n.text("id"), n.text("name"), n.truth("safety")))),
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


def song_from_json(data: object, found: Path_) -> Song:
    """Read a song by itself, as ``song_to_json`` writes it. Raises WrongShape."""
    return _song_in(_Node(data, "the song"), found)


def clip_from_json(data: object, found: Path_) -> Clip:
    """Read a clip by itself, as ``clip_to_json`` writes it. Raises WrongShape."""
    return _clip_in(_Node(data, "the clip"), found)


def _media_out(media: MediaRef, written: Path_) -> Json:
    return {"path": written(media.path), "size_bytes": media.size_bytes, "digest": media.digest}


def _media_in(node: "_Node", found: Path_) -> MediaRef:
    return node.done(MediaRef(found(node.text("path")), node.count("size_bytes"), node.text("digest")))


def song_to_json(song: Song, written: Path_) -> Json:
    """The song as JSON values."""
    return {
        "media": _media_out(song.media, written),
        "duration_s": song.duration_s,
        "map": {
            "tempo_bpm": song.map.tempo_bpm,
            "beats_s": list(song.map.beats_s),
            "bars_s": list(song.map.bars_s),
            "sections": [
                {"letter": s.letter, "name": s.name, "start_s": s.start_s, "end_s": s.end_s}
                for s in song.map.sections
            ],
        },
    }


def _song_in(node: "_Node", found: Path_) -> Song:
    inner = node.node("map")
    song_map = SongMap(
        tempo_bpm=None if inner.is_null("tempo_bpm") else inner.number("tempo_bpm"),
        beats_s=inner.numbers("beats_s"),
        bars_s=inner.numbers("bars_s"),
        sections=inner.each(
            "sections",
            lambda n: n.done(
                Section(n.text("letter"), n.text("name"), n.number("start_s"), n.number("end_s"))
            ),
        ),
    )
    inner.done(None)
    return node.done(Song(_media_in(node.node("media"), found), node.number("duration_s"), song_map))


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
        "warnings": list(clip.warnings),
        "recording": clip.recording,
        "takes": [_take_out(take) for take in clip.takes],
    }


def _clip_in(node: "_Node", found: Path_) -> Clip:
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
            warnings=node.texts("warnings"),
            recording=node.text_or_none("recording"),
            takes=node.each("takes", _take_in),
        )
    )


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
        "rivals": [{"song_start_s": r.song_start_s, "strength": r.strength} for r in take.rivals],
        "lags": [{"clip_s": p.clip_s, "lag_s": p.lag_s, "strength": p.strength} for p in take.lags],
    }


def _take_in(node: "_Node") -> Take:
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
        rivals=node.each("rivals", lambda n: n.done(Rival(n.number("song_start_s"), n.number("strength")))),
        lags=node.each(
            "lags", lambda n: n.done(LagPoint(n.number("clip_s"), n.number("lag_s"), n.number("strength")))
        ),
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


class _Node:
    """One JSON object: knows where in the document it is, and which of its keys were read."""

    def __init__(self, value: object, where: str) -> None:
        if not isinstance(value, dict):
            raise WrongShape(f"{where} is not a group of named values")
        self.where = where
        self._values: Json = value
        self._read: set[str] = set()

    def done(self, result: T) -> T:
        """Give back what was made of this node, when no key is left over that would be lost."""
        for key in self._values:
            if key not in self._read:
                raise WrongShape(f"{self.where} holds {key!r}, which is not known")
        return result

    def is_null(self, key: str) -> bool:
        return self._get(key) is None

    def node(self, key: str) -> "_Node":
        return _Node(self._get(key), self._at(key))

    def each(self, key: str, read: Callable[["_Node"], T]) -> tuple[T, ...]:
        return tuple(
            read(_Node(item, f"{self._at(key)} number {n}")) for n, item in enumerate(self._list(key), 1)
        )

    def text(self, key: str) -> str:
        return self._text(self._get(key), key)

    def text_or_none(self, key: str) -> str | None:
        return None if self.is_null(key) else self.text(key)

    def texts(self, key: str) -> tuple[str, ...]:
        return tuple(self._text(item, key) for item in self._list(key))

    def number(self, key: str) -> float:
        return self._number(self._get(key), key)

    def numbers(self, key: str) -> tuple[float, ...]:
        return tuple(self._number(item, key) for item in self._list(key))

    def count(self, key: str) -> int:
        value = self._get(key)
        if not isinstance(value, int) or isinstance(value, bool) or value < 0:
            raise WrongShape(f"{self._at(key)} is not a whole number from 0 on")
        return value

    def truth(self, key: str) -> bool:
        value = self._get(key)
        if not isinstance(value, bool):
            raise WrongShape(f"{self._at(key)} is neither true nor false")
        return value

    def rate(self, key: str) -> Fraction | None:
        if self.is_null(key):
            return None
        try:
            return parse_rate(self.text(key))
        except ValueError as error:
            raise WrongShape(f"{self._at(key)}: {error}") from None

    def one_of(self, key: str, kind: Callable[[str], T]) -> T:
        try:
            return kind(self.text(key))
        except ValueError:
            raise WrongShape(f"{self._at(key)} says {self._get(key)!r}, which is not known") from None

    def _at(self, key: str) -> str:
        return f"{key!r} of {self.where}"

    def _get(self, key: str) -> object:
        if key not in self._values:
            raise WrongShape(f"{self.where} lacks {key!r}")
        self._read.add(key)
        return self._values[key]

    def _list(self, key: str) -> list[object]:
        value = self._get(key)
        if not isinstance(value, list):
            raise WrongShape(f"{self._at(key)} is not a list")
        return value

    def _text(self, value: object, key: str) -> str:
        if not isinstance(value, str):
            raise WrongShape(f"{self._at(key)} is not a text")
        return value

    def _number(self, value: object, key: str) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise WrongShape(f"{self._at(key)} is not a number")
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise WrongShape(f"{self._at(key)} is not a finite number")
        return number
