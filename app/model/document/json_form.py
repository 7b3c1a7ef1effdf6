"""The shoot as plain dictionaries and lists for JSON, and back, every value looked at on the way in."""

from collections.abc import Callable, Iterable
from dataclasses import replace

from app.model.document.bounds import MOST_BEATS
from app.model.document.findings import TakePlacement
from app.model.document.media_ref import MediaRef
from app.model.document.record_json import record_in, record_out
from app.model.document.shoot import Shoot
from app.model.document.verdict import Verdict
from app.model.storage.json_node import Json, Node, WrongShape, brief

Path_ = Callable[[str], str]


def to_json(shoot: Shoot, written: Path_) -> Json:
    """The shoot as JSON values; ``written`` turns a media path into the form kept in the file."""
    return record_out(_with_paths(shoot, written))


def from_json(data: object, found: Path_) -> Shoot:
    """Read the shoot out of JSON values; ``found`` turns a path of the file into one in memory.

    Raises WrongShape at the first value that is missing, unknown, of the wrong kind, or that cannot be.
    """
    shoot = _with_paths(record_in(Node(data, "the document"), Shoot), found)
    _no_twins("song", [song.id for song in shoot.songs])
    _no_twins("angle", [angle.id for angle in shoot.angles])
    _no_twins("clip", [clip.id for clip in shoot.clips])
    _no_twins("file", [clip.media.path for clip in shoot.clips])
    _no_twins("take", [one.take.id for one in shoot.decisions.takes])
    _no_twins("finding", [f"on {one.clip_id} and {one.song_id}" for one in shoot.findings])
    _no_twins("mark", [mark.id for mark in shoot.marks])
    _no_twins("playback file", [one.id for one in shoot.playbacks])
    _no_twins("need", [need.id for need in shoot.plan.needs])
    _no_twins("set-up", [one.id for one in shoot.plan.set_ups])
    for song in shoot.songs:
        if song.duration_s < 0:
            raise WrongShape(f"the song {song.id} is shorter than nothing")
        for section in song.map.sections:
            _forward("section", section.start_s, section.end_s)
        for metre in song.map.metres:
            if not 1 <= metre.beats <= MOST_BEATS:
                raise WrongShape(f"a bar of {metre.beats} beats cannot be")
        _no_twins("section", [section.id for section in song.map.sections if section.id])
    _known("angle", {angle.id for angle in shoot.angles} | {""}, [clip.angle_id for clip in shoot.clips])
    _known("clip", {clip.id for clip in shoot.clips}, _clips_named(shoot))
    _known("song", {song.id for song in shoot.songs}, _songs_named(shoot))
    for placement in _placements(shoot):
        _forward("take", placement.clip_start_s, placement.clip_end_s)
        if placement.verdict not in (Verdict.PLACED, Verdict.DOUBTFUL):
            raise WrongShape(f"a take is neither placed nor doubtful but {placement.verdict.value}")
    for playback in shoot.playbacks:
        for piece in playback.pieces:
            _forward("piece of a playback file", piece.start_s, piece.end_s)
    for mark in shoot.marks:
        _forward("mark", mark.clip_start_s, mark.clip_end_s)
    return shoot


def _with_paths(shoot: Shoot, change: Path_) -> Shoot:
    def moved(media: MediaRef) -> MediaRef:
        return replace(media, path=change(media.path))

    return replace(
        shoot,
        songs=tuple(replace(song, media=moved(song.media)) for song in shoot.songs),
        clips=tuple(replace(clip, media=moved(clip.media)) for clip in shoot.clips),
        playbacks=tuple(replace(one, media=moved(one.media)) for one in shoot.playbacks),
        masters=tuple(replace(one, media=moved(one.media)) for one in shoot.masters),
    )


def _clips_named(shoot: Shoot) -> Iterable[str]:
    decisions = shoot.decisions
    named = (shoot.findings, decisions.takes, decisions.refusals, decisions.clip_refusals, decisions.settings)
    for values in (*named, shoot.marks):
        for value in values:
            yield value.clip_id


def _songs_named(shoot: Shoot) -> Iterable[str]:
    decisions = shoot.decisions
    named = (shoot.findings, decisions.takes, decisions.refusals, decisions.clip_refusals)
    more = (shoot.plan.needs, shoot.plan.set_ups, shoot.cut.locks, shoot.cut.versions)
    for values in (*named, *more, shoot.masters):
        for value in values:
            yield value.song_id
    for playback in shoot.playbacks:
        yield from (piece.song_id for piece in playback.pieces)


def _placements(shoot: Shoot) -> Iterable[TakePlacement]:
    for finding in shoot.findings:
        yield from finding.takes
    for decision in shoot.decisions.takes:
        yield decision.take.placement
    for refusal in shoot.decisions.refusals:
        if refusal.take is not None:
            yield refusal.take.placement


def _no_twins(kind: str, ids: Iterable[str]) -> None:
    seen: set[str] = set()
    for one in ids:
        if one in seen:
            raise WrongShape(f"the {kind} {brief(one)} appears twice")
        seen.add(one)


def _known(kind: str, known: set[str], named: Iterable[str]) -> None:
    for one in named:
        if one not in known:
            raise WrongShape(f"the {kind} {brief(one)} is named, which is not there")


def _forward(kind: str, start_s: float, end_s: float) -> None:
    if end_s < start_s:
        raise WrongShape(f"a {kind} ends before it begins")
