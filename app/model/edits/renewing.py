"""The next master takes the place of a song's file; all that was found, decided and planned goes along."""

from collections.abc import Collection, Sequence
from dataclasses import replace
from pathlib import PurePath

from app.model.coverage.passages import passage_words
from app.model.document.change import NOTHING, Change
from app.model.document.decisions import ClipRefusal, Refusal, TakeDecision, TakeRecord
from app.model.document.findings import Finding, TakePlacement
from app.model.document.masters import EarlierMaster, Left, MasterPiece
from app.model.document.plan import Passage
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.document.shoot import Shoot
from app.model.document.song import LyricLine, Song
from app.model.document.verdict import Verdict
from app.model.on_song import mostly_shared
from app.model.renewing.carried_map import carried_map
from app.model.renewing.carried_plan import carried_passage
from app.model.renewing.carried_reasons import carried_reason
from app.model.renewing.carried_takes import carried_placements, carried_records, left_of
from app.model.renewing.through import Through

LEAST_PIECE_S = 0.5
"""A shorter piece of a playback file, left over at a cut, is dropped. Chosen by hand."""


def renew(
    shoot: Shoot, song: Song, pieces: Sequence[MasterPiece], at: str, song_id: str | None = None
) -> tuple[Shoot, Change]:
    """Put the next master in the place of a song (the first without an id), through the ``pieces`` of the old
    one that live on in it.

    ``song`` is the next master with the map that was found in it. Takes are split where the master was cut;
    those of the machine are in doubt until they were heard on it. What has no place any more is kept with the
    earlier master (`EarlierMaster.left`). Undo brings all back. Raises KeyError; ValueError where nothing
    lives on, for then it is another song.
    """
    old = shoot.song(song_id)
    if old is None or old.media.same_content(song.media):
        return shoot, NOTHING
    if not pieces:
        raise ValueError(
            "Nothing of the old master was found in this file, so it is another song. "
            "Choose it with Choose Song, or add it as one more song."
        )
    through = Through.of(pieces, song.duration_s)
    new = replace(song, id=old.id, title=old.title, map=carried_map(old.map, song.map, through))
    living = {section.id for section in new.map.sections}
    lyrics, left = _lyrics(old, living, through)
    new = replace(new, lyrics=lyrics)
    left += _of_the_map(old, through)
    for section in old.map.sections:
        if section.id and section.id not in living:
            called = f"{section.letter} {section.name}".strip()
            left.append(Left("section", called, section.start_s, section.end_s))
    shoot, more = _with_takes(shoot, old, new, through)
    left += more
    shoot, more = _with_plan(shoot, old, new, through)
    left += more
    earlier = EarlierMaster(old.id, old.media, old.duration_s, at, tuple(through.pieces), tuple(left))
    shoot = replace(
        shoot,
        songs=tuple(new if one.id == old.id else one for one in shoot.songs),
        playbacks=tuple(_playback(one, old.id, through) for one in shoot.playbacks),
        masters=(*shoot.masters, earlier),
    )
    changed = Change.SONG | Change.MAP | Change.CLIPS | Change.TAKES | Change.PLAN | Change.CUT
    return shoot, changed | Change.PLAYBACK


def _of_the_map(old: Song, through: Through) -> list[Left]:
    """What people fixed in the map and the next master has no place for."""
    fixed = [("beat", "first beat of a bar", at_s) for at_s in old.map.downbeats_s]
    fixed += [("beat", "start of a section", at_s) for at_s in old.map.edges_s]
    left = [Left(kind, what, at_s) for kind, what, at_s in fixed if through.moment(at_s) is None]
    ends_s = [*(one.from_s for one in old.map.metres[1:]), old.duration_s]
    left += [
        Left("metre", f"{one.beats} beats to a bar", one.from_s, end_s)
        for one, end_s in zip(old.map.metres, ends_s, strict=False)
        if not through.parts(one.from_s, end_s)
    ]
    return left


def _lyrics(old: Song, living: Collection[str], through: Through) -> tuple[tuple[LyricLine, ...], list[Left]]:
    """Lines by their times, or by their sections where only those are known; ``living`` are ids of these."""
    kept: list[LyricLine] = []
    left: list[Left] = []
    for line in old.lyrics:
        if line.start_s is None:
            if not line.section_id or line.section_id in living:
                kept.append(line)
            else:
                left.append(Left("lyric", line.text))
            continue
        start_s = through.moment(line.start_s)
        if start_s is None:
            left.append(Left("lyric", line.text, line.start_s, line.end_s))
            continue
        end_s = None if line.end_s is None else through.moment(line.end_s)
        kept.append(replace(line, start_s=start_s, end_s=end_s))
    kept.sort(key=lambda one: float("inf") if one.start_s is None else one.start_s)
    return tuple(kept), left


def _with_takes(shoot: Shoot, old: Song, new: Song, through: Through) -> tuple[Shoot, list[Left]]:
    digest = new.media.digest
    left: list[Left] = []
    names = {clip.id: PurePath(clip.media.path).name for clip in shoot.clips}
    findings: list[Finding] = []
    for finding in shoot.findings:
        if finding.song_id != old.id or finding.song_digest != old.media.digest:
            findings.append(finding)
            continue
        takes = tuple(part for take in finding.takes for part in carried_placements(take, through))
        own = [one.take.placement for one in shoot.decisions.takes if _same_clip(one, finding)]
        for take in finding.takes:
            if any(mostly_shared(one, take) for one in own):
                continue  # told with what the person decided
            for gone in left_of(take, through):
                start_s = gone.song_start_s
                end_s = gone.line.song_time(gone.clip_end_s)
                what = _take_words(names[finding.clip_id], gone)
                left.append(Left("take", what, start_s, end_s, finding.clip_id, TakeRecord("", gone)))
        verdict, reason = finding.verdict, finding.reason
        if finding.takes:
            verdict = Verdict.DOUBTFUL if takes else Verdict.NO_SONG
            reason = carried_reason(finding.verdict)
        findings.append(replace(finding, song_digest=digest, takes=takes, verdict=verdict, reason=reason))
    decided = shoot.decisions
    taken = [one.take.id for one in decided.takes]
    takes_: list[TakeDecision] = []
    for one in decided.takes:
        if one.song_id != old.id or one.song_digest != old.media.digest:
            takes_.append(one)
            continue
        kept, gone_ = carried_records(one.take, through, taken)
        taken += [record.id for record in kept]
        takes_ += [replace(one, song_digest=digest, take=record) for record in kept]
        for record in gone_:
            start_s = record.placement.song_start_s
            end_s = record.placement.line.song_time(record.placement.clip_end_s)
            what = _take_words(names[one.clip_id], record.placement)
            left.append(Left("take", what, start_s, end_s, one.clip_id, record))

    def refused(one: Refusal) -> Refusal:
        if not _of(one, old):
            return one
        kept = () if one.take is None else carried_records(one.take, through, ())[0]
        return replace(one, song_digest=digest, take=kept[0] if kept else None)

    decisions = replace(
        decided,
        takes=tuple(takes_),
        refusals=tuple(map(refused, decided.refusals)),
        clip_refusals=tuple(
            replace(one, song_digest=digest) if _of(one, old) else one for one in decided.clip_refusals
        ),
    )
    return replace(shoot, findings=tuple(findings), decisions=decisions), left


def _same_clip(one: TakeDecision, finding: Finding) -> bool:
    """Whether a decision is about the clip and song file of a finding."""
    return (one.clip_id, one.song_id, one.song_digest) == (
        finding.clip_id,
        finding.song_id,
        finding.song_digest,
    )


def _take_words(name: str, take: TakePlacement) -> str:
    return f"{name} from {take.clip_start_s:.1f} to {take.clip_end_s:.1f} s"


def _of(one: Refusal | ClipRefusal, song: Song) -> bool:
    return (one.song_id, one.song_digest) == (song.id, song.media.digest)


def _with_plan(shoot: Shoot, old: Song, new: Song, through: Through) -> tuple[Shoot, list[Left]]:
    left: list[Left] = []

    def carried(kind: str, song_id: str, passage: Passage, what: str) -> Passage | None:
        if song_id != old.id:
            return passage
        found = carried_passage(passage, old, new, through)
        if found is None:
            left.append(Left(kind, f"{what} in {passage_words(passage, old)}"))
        return found

    needs = [
        replace(need, passage=passage)
        for need in shoot.plan.needs
        if (passage := carried("need", need.song_id, need.passage, need.subject)) is not None
    ]
    set_ups = [
        replace(one, passage=passage)
        for one in shoot.plan.set_ups
        if (passage := carried("set-up", one.song_id, one.passage, one.angle)) is not None
    ]
    angles = {angle.id: angle.name for angle in shoot.angles}
    locks = [
        replace(lock, passage=passage)
        for lock in shoot.cut.locks
        if (passage := carried("lock", lock.song_id, lock.passage, angles.get(lock.angle_id, ""))) is not None
    ]
    plan = replace(shoot.plan, needs=tuple(needs), set_ups=tuple(set_ups))
    return replace(shoot, plan=plan, cut=replace(shoot.cut, locks=tuple(locks))), left


def _playback(playback: PlaybackFile, song_id: str, through: Through) -> PlaybackFile:
    """A playback file whose pieces of the song run through the next master."""
    out: list[PlaybackPiece] = []
    for piece in playback.pieces:
        if piece.song_id != song_id:
            out.append(piece)
            continue
        line = piece.line
        for part in through.parts(piece.song_start_s, line.song_time(piece.end_s)):
            start_s, end_s = line.clip_time(part.old_start_s), line.clip_time(part.old_end_s)
            if end_s - start_s >= LEAST_PIECE_S:
                out.append(
                    replace(
                        piece,
                        start_s=start_s,
                        end_s=end_s,
                        song_start_s=part.new_start_s,
                        speed=piece.speed * part.piece.speed,
                        uncertainty_s=max(piece.uncertainty_s, part.piece.uncertainty_s),
                    )
                )
    return replace(playback, pieces=tuple(sorted(out, key=lambda one: one.start_s)))
