"""``anglebook renew SHOOT --song NEW [--of OLD] [--report FILE.json]``"""

import argparse
import json
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path, PurePath

from app.cli.named_songs import song_named
from app.cli.opening import TRUST_PATHS, opened
from app.cli.output import Unusable, answer, failed, tell, unwritten, words_of, wrong_use
from app.engine import tasks
from app.model.answers import Answer
from app.model.document import store
from app.model.document.masters import EarlierMaster
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.edits.renewing import renew
from app.model.edits.shoot_edits import answer_clip
from app.model.guarding import guard_of
from app.model.on_song import on_song
from app.model.renewing.became import Carried, became
from app.model.renewing.through import Through
from app.model.renewing.told_pieces import Fate, Told, told_pieces
from app.model.storage.files import write_whole
from app.model.storage.guard import MayNotWrite
from audio.errors import AudioError


def describe(parser: argparse.ArgumentParser) -> None:
    """Tell the parser what the command takes."""
    parser.add_argument("shoot", metavar="SHOOT.anglebook", type=Path, help="a saved shoot")
    parser.add_argument("--song", metavar="NEW", type=Path, required=True, help="the next master of the song")
    parser.add_argument(
        "--of", metavar="OLD", help="the song that it replaces, by its title or file (default: the first)"
    )
    parser.add_argument("--report", metavar="FILE.json", type=Path, help="write what became of what as JSON")
    parser.add_argument("--fresh", action="store_true", help="read everything again")
    parser.add_argument("--workers", metavar="N", type=int, help="processes to use")
    parser.add_argument("--trust-paths", action="store_true", help=TRUST_PATHS)


def run(options: argparse.Namespace) -> int:
    """Carry a shoot over to the next master; gives the exit status. Raises Unusable."""
    shoot = opened(options.shoot, trust=options.trust_paths)
    old = _song(shoot, options)
    guard = guard_of(shoot, songs=[options.song])
    if options.report is not None:
        try:
            guard.check(options.report)
        except MayNotWrite as error:
            return wrong_use(f"--report: {error}. Choose another place.")
    use_cache = not options.fresh
    try:
        tell(f"Reading {options.song.name}…")
        new = tasks.song_from_file(options.song, use_cache=use_cache)
        tell(f"Comparing it with {PurePath(old.media.path).name}…")
        pieces = tasks.master_pieces(Path(old.media.path), options.song, use_cache=use_cache)
    except (AudioError, OSError) as error:
        raise Unusable(f"The song {options.song.name} cannot be used. {words_of(error)}") from error
    at = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    try:
        carried, change = renew(shoot, new, pieces, at, old.id)
    except ValueError as error:
        raise Unusable(str(error)) from error
    if not change:
        tell(f"{options.song.name} is the file that the shoot has already: nothing to do.")
        return 0
    heard = _heard(carried, old.id, options, use_cache)

    def put(now: Shoot) -> Shoot:
        if now.song(old.id) is None or now.song(old.id) != shoot.song(old.id):
            raise store.StoreError("The song was changed meanwhile. Run the command again.")
        now, _ = renew(now, new, pieces, at, old.id)
        for one in heard:
            now, _ = answer_clip(now, one, song_id=old.id, heard_on=new.media.digest)
        return now

    try:
        saved = store.update(options.shoot, put, trust=options.trust_paths)
    except store.StoreError as error:
        return failed(error)
    tell(f"Saved {options.shoot}")
    told = became(on_song(carried, old.id), Through.of(pieces, new.duration_s), heard)
    earlier = saved.masters[-1]
    stretches = told_pieces(earlier.pieces, old.duration_s, new.duration_s)
    if options.report is not None:
        try:
            report = json.dumps(_report(old, new, stretches, told, earlier), indent=1, ensure_ascii=False)
            write_whole(options.report, (report + "\n").encode(), guard)
            tell(f"Wrote {options.report}")
        except OSError as error:
            return unwritten(options.report, error)
    return answer(_text(stretches, told, earlier))


def _song(shoot: Shoot, options: argparse.Namespace) -> Song:
    """The song to renew. Raises Unusable."""
    if not shoot.songs:
        raise Unusable(f"{options.shoot.name} has no song yet.")
    return shoot.songs[0] if options.of is None else song_named(shoot, options.of)


def _heard(shoot: Shoot, song_id: str, options: argparse.Namespace, use_cache: bool) -> list[Answer]:
    """What is heard on the new master, in all clips; the last word on each."""
    found: dict[str, Answer] = {}
    paths = [Path(clip.media.path) for clip in shoot.clips]
    tell("Checking 1 clip by its sound…" if len(paths) == 1 else f"Checking {len(paths)} clips by sound…")

    def answered(one: Answer) -> None:
        if one.song_id in ("", song_id):
            found[one.media.path] = one

    song = shoot.song(song_id)
    assert song is not None
    songs = [song, *(one for one in shoot.songs if one.id != song_id)]
    try:
        tasks.place_clips(
            songs,
            paths,
            playbacks=shoot.playbacks,
            answered=answered,
            workers=options.workers,
            use_cache=use_cache,
        )
    except AudioError as error:
        raise Unusable(f"The song cannot be used. {words_of(error)}") from error
    return list(found.values())


def _span(span: tuple[float, float] | None) -> str:
    return "nowhere" if span is None else f"{span[0]:.3f}–{span[1]:.3f} s"


def _text(pieces: Sequence[Told], told: Sequence[Carried], earlier: EarlierMaster) -> str:
    """What became of what, for a terminal."""
    agree = sum(one.agrees for one in told)
    lines = [f"{len(told)} takes carried over, {agree} of them heard where they were carried to."]
    for one in pieces:
        old, new = (_span(span) for span in (one.old_s, one.new_s))
        lines.append(f"  {one.fate:8}  {old:>19}  →  {new}".rstrip())
    for take in told:
        if not take.agrees:
            off = "not heard" if take.heard_off_s is None else f"heard {take.heard_off_s * 1000:+.0f} ms off"
            lines.append(f"  ! {PurePath(take.media.path).name}: {off}; look at it in Check")
    if earlier.left:
        lines.append("Without a place on the new master, and kept:")
        lines += [f"  {left.kind}: {left.what}" for left in earlier.left]
    return "\n".join(lines)


def _stretch(one: Told, earlier: EarlierMaster) -> dict[str, object]:
    """A stretch of either master, or of both, and what became of it."""
    old_s, new_s = one.old_s or (None, None), one.new_s or (None, None)
    piece = None if one.number is None else earlier.pieces[one.number]
    return {
        "fate": one.fate.value,
        "old_start_s": old_s[0],
        "old_end_s": old_s[1],
        "new_start_s": new_s[0],
        "new_end_s": new_s[1],
        "speed": None if piece is None else piece.speed,
        "uncertainty_s": None if piece is None else piece.uncertainty_s,
        "again": one.fate is Fate.REPEATED,
    }


def _report(
    old: Song,
    new: Song,
    stretches: Sequence[Told],
    told: Sequence[Carried],
    earlier: EarlierMaster,
) -> dict[str, object]:
    return {
        "old": PurePath(old.media.path).name,
        "new": PurePath(new.media.path).name,
        "pieces": [_stretch(one, earlier) for one in stretches],
        "takes": [
            {
                "file": one.media.path,
                "clip_start_s": one.take.clip_start_s,
                "clip_end_s": one.take.clip_end_s,
                "old_start_s": one.old_start_s,
                "new_start_s": one.take.song_start_s,
                "speed": one.take.speed,
                "uncertainty_s": one.take.uncertainty_s,
                "heard_off_s": one.heard_off_s,
                "agrees": one.agrees,
            }
            for one in told
        ],
        "left": [
            {
                "kind": one.kind,
                "what": one.what,
                "old_start_s": one.old_start_s,
                "old_end_s": one.old_end_s,
                "clip_id": one.clip_id or None,
            }
            for one in earlier.left
        ],
    }
