"""``anglebook place SONG FOLDER_OR_CLIP... [--shoot FILE.anglebook] [--map FILE.txt] [--report FILE.json]
[--handoff DIR]``"""

import argparse
import os
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

from app.cli.output import Unusable, answer, failed, stopped_writing, tell, unwritten, wrong_use
from app.engine import tasks
from app.handoff.beside_clips import check_folder
from app.handoff.choices import DEFAULT
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffError, Planned
from app.handoff.report import report_bytes
from app.handoff.report_text import table
from app.model.answers import Answer, answers
from app.model.document import store
from app.model.document.identity import media_ref
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.edits.shoot_edits import add_clips, answer_clip, relink, set_map, set_song
from app.model.on_song import on_song
from app.model.song_map.labels import labelled, read_text
from app.model.storage.files import write_whole
from audio.errors import AudioError


def describe(parser: argparse.ArgumentParser) -> None:
    """Tell the parser what the command takes."""
    parser.add_argument("song", metavar="SONG", type=Path, help="the master everybody performed to")
    parser.add_argument(
        "clips", metavar="FOLDER_OR_CLIP", type=Path, nargs="+", help="camera or recorder files"
    )
    parser.add_argument(
        "--shoot", metavar="FILE.anglebook", type=Path, help="open or begin this shoot, and save it"
    )
    parser.add_argument(
        "--map",
        metavar="FILE.txt",
        type=Path,
        help="take beats, bars and sections from this file of labels (see anglebook map)",
    )
    parser.add_argument("--report", metavar="FILE.json", type=Path, help="write the whole answer as JSON")
    parser.add_argument(
        "--handoff",
        metavar="DIR",
        type=Path,
        help="write a timeline and a table of takes, in the place of those of an earlier hand-off; "
        "more choices: anglebook handoff --help",
    )
    parser.add_argument(
        "--workers", metavar="N", type=int, help="processes that listen (default: one a core)"
    )
    parser.add_argument(
        "--fresh", action="store_true", help="hear everything again, what did not change since last time too"
    )


def run(options: argparse.Namespace) -> int:
    """Place clips; gives the exit status. Raises Unusable."""
    wrong = _wrong(options)
    if wrong:
        return wrong_use(wrong)
    labels = None if options.map is None else read_text(options.map)
    shoot = _opened(options.shoot)
    known = [Path(clip.media.path) for clip in on_song(shoot).clips if clip.verdict is not Verdict.WAITING]
    named = options.shoot or options.song
    try:
        found = tasks.find_clips(options.clips, leave_out=[options.song, *known])
        if options.handoff is not None:
            # Told before hours of listening, not behind them.
            _look_into(options.handoff, named.stem, [*(clip.media.path for clip in shoot.clips), *found])
    except (AudioError, HandoffError) as error:
        return wrong_use(str(error))
    shoot, song = _with_song(shoot, options.song, fresh=options.fresh)
    if labels is not None:
        shoot, _ = set_map(shoot, labelled(options.map.name, labels, song))
    try:
        shoot = _placed(shoot, found, options.workers, fresh=options.fresh)
    except KeyboardInterrupt:
        tell("")
        tell("anglebook: stopped; nothing was written. What was heard is kept: call it again to go on.")
        return 130
    shoot = replace(shoot, name=named.stem)
    # What was heard is saved before anybody reads it: whoever closes the pipe loses nothing.
    status = _written(shoot, options)
    return max(status, answer(table(on_song(shoot))))


def _wrong(options: argparse.Namespace) -> str:
    """A sentence about a wrong use that no parser finds; empty if there is none."""
    if options.workers is not None and options.workers < 1:
        return "--workers takes a number from 1 up."
    if options.shoot is not None and options.shoot.suffix != ".anglebook":
        return f"--shoot takes a file that ends with .anglebook, not {options.shoot.name}."
    if options.report is not None and options.report.suffix != ".json":
        # Anything else may be a clip, which is never written over.
        return f"--report takes a file that ends with .json, not {options.report.name}."
    if options.handoff is not None and options.handoff.exists() and not options.handoff.is_dir():
        return f"--handoff takes a folder; {options.handoff} is a file."
    for target in (options.shoot, options.report):
        if target is not None and not target.absolute().parent.is_dir():
            return f"The folder {target.absolute().parent} is not there: make it first."
    return ""


def _look_into(folder: Path, name: str, clips: Iterable[str | Path]) -> None:
    """Raises HandoffError where the hand-off cannot be written there."""
    check_folder(folder, clips)
    names = (f"{safe_name(name)}.otio", f"{safe_name(name)}.{DEFAULT.form}")
    if any(os.path.lexists(folder / one) for one in names):
        from app.handoff.all import earlier  # what it loads takes longer than a run that knows everything

        earlier(folder, [Planned(one, 0, ()) for one in names])


def _opened(path: Path | None) -> Shoot:
    if path is None or not path.exists():
        return Shoot()
    try:
        return store.load(path)
    except store.StoreError as error:
        raise Unusable(str(error)) from error


def _with_song(shoot: Shoot, path: Path, *, fresh: bool) -> tuple[Shoot, Song]:
    """The shoot on this song, and the song; a shoot that has it already keeps its map."""
    try:
        song = shoot.song()
        if song is not None and (found := media_ref(path)).digest == song.media.digest:
            shoot, _ = relink(shoot, {song.media.path: found})
        else:
            tell(f"Reading {path.name} …")
            shoot, _ = set_song(shoot, tasks.song_from_file(path, fresh=fresh))
    except OSError as error:
        raise Unusable(f"The song {path} cannot be opened: {error.strerror}.") from error
    except AudioError as error:
        raise Unusable(f"The song {path.name} cannot be used. {error}") from error
    song = shoot.song()
    assert song is not None
    return shoot, song


def _placed(shoot: Shoot, paths: Sequence[Path], workers: int | None, *, fresh: bool) -> Shoot:
    song = shoot.song()
    assert song is not None
    if not paths:
        tell("No new clips.")
        return shoot
    before = answers(shoot)
    said = {one.media.path: one.verdict for one in before}
    found: dict[str, Answer] = {}
    new = {str(path) for path in paths}

    def answered(one: Answer) -> None:
        path = one.media.path
        if path in new and path not in found:
            number = len(new & found.keys()) + 1
            tell(f"{number} of {len(paths)}  {Path(path).name}: {one.verdict}")
        elif one.verdict is not said[path]:
            tell(f"compared with other clips  {Path(path).name}: {one.verdict}")
        found[path], said[path] = one, one.verdict

    def comparing(done: int, whole: int) -> None:
        if done:
            tell(f"{done} of {whole} compared")
        else:
            tell("Comparing 1 clip with others …" if whole == 1 else f"Comparing {whole} clips with others …")

    tell("Placing 1 clip …" if len(paths) == 1 else f"Placing {len(paths)} clips …")
    try:
        tasks.place_clips(
            song,
            paths,
            beside=before,
            comparing=comparing,
            answered=answered,
            workers=workers,
            fresh=fresh,
        )
    except AudioError as error:
        raise Unusable(f"The song cannot be used. {error}") from error
    order = {str(path): number for number, path in enumerate(paths)}
    in_order = sorted(found.values(), key=lambda one: order.get(one.media.path, len(order)))
    shoot, _ = add_clips(shoot, [one.media for one in in_order])
    for one in in_order:
        shoot, _ = answer_clip(shoot, one)
    return shoot


def _written(shoot: Shoot, options: argparse.Namespace) -> int:
    status = 0
    if options.shoot is not None:
        try:
            store.save(shoot, options.shoot)
            tell(f"Saved {options.shoot}")
        except (store.StoreError, OSError) as error:
            status = failed(error)
    if options.report is not None:
        try:
            write_whole(options.report, report_bytes(on_song(shoot)))
            tell(f"Wrote {options.report}")
        except OSError as error:
            status = unwritten(options.report, error)
    if options.handoff is not None:
        from app.handoff.all import write_all  # what it loads takes longer than a run that knows everything

        try:
            done = write_all(on_song(shoot), options.handoff, replace=True)
        except KeyboardInterrupt:
            return stopped_writing(options.handoff)
        except (HandoffError, OSError) as error:
            return failed(error)
        for outcome in done.reports:
            tell(f"Wrote {outcome.path}, read it back: as in the shoot.")
            for line in outcome.lines:
                tell(f"  {line}")
        if done.left:
            tell(done.left)
        for trouble in done.troubles:
            status = failed(HandoffError(trouble))
    return status
