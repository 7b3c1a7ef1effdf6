"""``anglebook place SONG FOLDER_OR_CLIP... [--also SONG...] [--playback FILE...] [--shoot FILE.anglebook]
[--map FILE.txt] [--report FILE.json] [--handoff DIR]``"""

import argparse
import os
from collections.abc import Sequence
from pathlib import Path

from app.cli.named_songs import with_playbacks, with_songs
from app.cli.opening import TRUST_PATHS, opened
from app.cli.output import Unusable, answer, failed, stopped_writing, tell, unwritten, wrong_use
from app.engine import tasks
from app.handoff.beside_clips import check_folder
from app.handoff.choices import DEFAULT
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffError, Planned
from app.handoff.report import report_bytes
from app.handoff.report_text import table
from app.handoff.song_folders import files_called, folders_called
from app.model.all_songs import on_all_songs
from app.model.answers import Answer, answers_on_all
from app.model.clip_verdict import clip_word
from app.model.document import store
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.edits.run import Run
from app.model.guarding import guard_of
from app.model.song_map.labels import labelled, read_text
from app.model.song_names import song_names
from app.model.songs_of_clips import views_of
from app.model.storage.files import write_whole
from app.model.storage.guard import Guard, MayNotWrite
from app.model.wrong_song import question, sharing, without_song
from audio.errors import AudioError


def describe(parser: argparse.ArgumentParser) -> None:
    """Tell the parser what the command takes."""
    parser.add_argument("song", metavar="SONG", type=Path, help="the master recording everybody performed to")
    parser.add_argument(
        "clips",
        metavar="FOLDER_OR_CLIP",
        type=Path,
        nargs="+",
        help="camera or recorder files, or folders of them",
    )
    parser.add_argument(
        "--also",
        metavar="SONG",
        type=Path,
        nargs="+",
        action="extend",
        default=[],
        help="further songs: every clip finds its song, or its songs",
    )
    parser.add_argument(
        "--playback",
        metavar="FILE",
        type=Path,
        nargs="+",
        action="extend",
        default=[],
        help="what was played on set: a song faster or slower, with its pitch kept, with a count-in",
    )
    parser.add_argument(
        "--shoot", metavar="FILE.anglebook", type=Path, help="open or start this shoot, and save it"
    )
    parser.add_argument(
        "--map",
        metavar="FILE.txt",
        type=Path,
        help="use beats, bars and sections of SONG from this label file (see anglebook map)",
    )
    parser.add_argument("--report", metavar="FILE.json", type=Path, help="write the full report as JSON")
    parser.add_argument(
        "--handoff",
        metavar="DIR",
        type=Path,
        help="write a timeline and a table of takes, replacing those of an earlier hand-off; "
        "for more choices see anglebook handoff --help",
    )
    parser.add_argument("--trust-paths", action="store_true", help=TRUST_PATHS)
    parser.add_argument(
        "--workers", metavar="N", type=int, help="processes that read clips (default: one per core)"
    )
    parser.add_argument(
        "--fresh", action="store_true", help="read everything again, even what has not changed"
    )


def run(options: argparse.Namespace) -> int:
    """Place clips; gives the exit status. Raises Unusable."""
    wrong = _wrong(options)
    if wrong:
        return wrong_use(wrong)
    labels = None if options.map is None else read_text(options.map)
    at_first = shoot = _opened(options.shoot, trust=options.trust_paths)
    named = options.shoot or options.song
    masters = [options.song, *options.also, *options.playback]
    try:
        found = tasks.find_clips(options.clips, leave_out=[*masters, *_known(shoot)], passed_over=tell)
        guard = guard_of(shoot, clips=found, folders=_card_folders(options), songs=masters)
        # Told before hours of listening, not behind them.
        for target in (options.shoot, options.report):
            if target is not None:
                guard.check(target, own=target == options.shoot)
        if options.handoff is not None:
            _look_into(
                options.handoff, named.stem, [song.stem for song in (options.song, *options.also)], guard
            )
    except MayNotWrite as error:
        return wrong_use(f"{error}. Choose another place.")
    except (AudioError, HandoffError) as error:
        return wrong_use(str(error))
    if trouble := tasks.cache_trouble():
        tell(trouble)
    shoot = with_songs(shoot, [options.song, *options.also], use_cache=not options.fresh)
    if labels is not None:
        labelled(
            options.map.name, labels, shoot.songs[0]
        )  # told before hours of listening if it does not fit
    try:
        shoot = with_playbacks(shoot, options.playback, use_cache=not options.fresh)
        heard = _placed(shoot, found, options.workers, use_cache=not options.fresh)
    except KeyboardInterrupt:
        tell("")
        tell(
            "anglebook: stopped; nothing was written. What was read is kept: run the command again to go on."
        )
        return 130
    song_before = at_first.song()
    outcome = Run(
        name=named.stem,
        songs=shoot.songs,
        song_before=None if song_before is None else song_before.media,
        drawn=None if labels is None else (options.map.name, labels),
        new=frozenset(map(str, found)),
        dropped=tuple(path.absolute() for path in options.clips),
        answers=heard,
        playbacks=shoot.playbacks,
    )
    # What was heard is saved before anybody reads it: whoever closes the pipe loses nothing.
    shoot, status = _saved(outcome, at_first, options)
    status = max(status, _written(shoot, options))
    status = max(status, answer(table(*views_of(shoot))))
    _ask_for_song(shoot)
    return status


def _ask_for_song(shoot: Shoot) -> None:
    """Where no clip has any of the songs, ask whether it is the right one, and tell what the clips share."""
    views = views_of(shoot)
    lost = [{clip.media.path for clip in without_song(view)} for view in views]
    paths = [Path(path) for path in sorted(set.intersection(*lost))] if all(lost) else []
    if not paths:
        return
    tell(question(views[0]))
    try:
        shared = tasks.shared_sound(paths)
    except KeyboardInterrupt:
        return
    if shared is not None and shared.matching:
        tell(sharing(shared))


def _wrong(options: argparse.Namespace) -> str:
    """A sentence about a wrong use that no parser finds; empty if there is none."""
    if options.workers is not None and options.workers < 1:
        return "--workers takes a number of 1 or more."
    if options.shoot is not None and options.shoot.suffix != ".anglebook":
        return f"--shoot takes a file that ends with .anglebook, not {options.shoot.name}."
    if options.report is not None and options.report.suffix != ".json":
        # Anything else may be a clip, which is never written over.
        return f"--report takes a file that ends with .json, not {options.report.name}."
    if options.handoff is not None and options.handoff.exists() and not options.handoff.is_dir():
        return f"--handoff takes a folder; {options.handoff} is a file."
    for target in (options.shoot, options.report):
        if target is not None and not target.absolute().parent.is_dir():
            return f"The folder {target.absolute().parent} does not exist: create it first."
    return ""


def _card_folders(options: argparse.Namespace) -> list[Path]:
    """The folders that were named as those of clips. One that holds the song too is the folder of the whole
    shoot: in it, only folders in which clips lie are guarded."""
    home = os.path.realpath(options.song.parent)
    return [path for path in options.clips if path.is_dir() and os.path.realpath(path) != home]


def _look_into(folder: Path, name: str, songs: Sequence[str], guard: Guard) -> None:
    """Raises HandoffError where the hand-off cannot be written there."""
    for own, called in zip(folders_called(songs), files_called(name, songs), strict=True):
        check_folder(folder / own, guard)
        names = (f"{safe_name(called)}.otio", f"{safe_name(called)}.{DEFAULT.form}")
        if any(os.path.lexists(folder / own / one) for one in names):
            from app.handoff.all import earlier  # what it loads takes longer than a run that knows everything

            earlier(folder / own, [Planned(one, 0, ()) for one in names])


def _opened(path: Path | None, *, trust: bool) -> Shoot:
    if path is None or not path.exists():
        return Shoot()
    return opened(path, trust=trust)


def _known(shoot: Shoot) -> list[Path]:
    """Clips that were held against all songs there are."""
    waiting = {c.id for view in views_of(shoot) for c in view.clips if c.verdict is Verdict.WAITING}
    return [Path(clip.media.path) for clip in shoot.clips if clip.id not in waiting]


def _placed(
    shoot: Shoot, found: Sequence[Path], workers: int | None, *, use_cache: bool
) -> tuple[Answer, ...]:
    """What was found out about clips, also about those known before."""
    songs = shoot.songs
    before = answers_on_all(shoot)
    # A clip of the shoot that was held against some of the songs is held against the others too.
    had = {one.media.path for one in before}
    half = [path for path in map(Path, sorted(had)) if path not in _known(shoot)]
    paths = list(dict.fromkeys([*found, *half]))
    if not paths:
        tell("No new clips.")
        return ()
    said = {(one.song_id, one.media.path): one.verdict for one in before}
    answers: dict[tuple[str, str], Answer] = {}
    told: set[str] = set()
    new = {str(path) for path in paths}

    def answered(one: Answer) -> None:
        path, key = one.media.path, (one.song_id or songs[0].id, one.media.path)
        answers[key] = one
        on_all = [answers[song.id, path] for song in songs if (song.id, path) in answers]
        if path in new and path not in told:
            if len(on_all) == len(songs):
                told.add(path)
                tell(f"{len(told)} of {len(paths)}  {Path(path).name}: {_words(on_all, songs)}")
        elif one.verdict is not said[key]:
            tell(f"compared with other clips  {Path(path).name}: {_words([one], songs)}")
        said[key] = one.verdict

    def comparing(done: int, whole: int) -> None:
        if done:
            tell(f"{done} of {whole} compared")
        else:
            tell("Comparing 1 clip with others…" if whole == 1 else f"Comparing {whole} clips with others…")

    tell("Placing 1 clip…" if len(paths) == 1 else f"Placing {len(paths)} clips…")
    try:
        tasks.place_clips(
            songs,
            paths,
            playbacks=shoot.playbacks,
            beside=before,
            comparing=comparing,
            answered=answered,
            workers=workers,
            use_cache=use_cache,
        )
    except AudioError as error:
        raise Unusable(f"The song cannot be used. {error}") from error
    order = {str(path): number for number, path in enumerate(paths)}
    return tuple(sorted(answers.values(), key=lambda one: order.get(one.media.path, len(order))))


def _words(on_all: Sequence[Answer], songs: Sequence[Song]) -> str:
    """What became of a clip; where there are several songs, on which of them."""
    verdict, reason = on_all_songs(on_all)
    names = song_names(songs)
    has = [names[one.song_id or songs[0].id] for one in on_all if one.takes]
    word = clip_word(verdict, reason)
    return f"{word} ({', '.join(has)})" if has and len(songs) > 1 else word


def _saved(outcome: Run, at_first: Shoot, options: argparse.Namespace) -> tuple[Shoot, int]:
    """The shoot with all that was found, and the exit status.

    Hours may lie between: what others saved into the file meanwhile stays, and what was found is put onto it.
    """
    shoot = outcome.onto(at_first)
    if options.shoot is None:
        return shoot, 0
    try:
        shoot = store.update(options.shoot, outcome.onto, trust=options.trust_paths)
        tell(f"Saved {options.shoot}")
    except (store.StoreError, OSError) as error:
        return shoot, failed(error)
    return shoot, 0


def _written(shoot: Shoot, options: argparse.Namespace) -> int:
    status = 0
    if options.report is not None:
        try:
            write_whole(options.report, report_bytes(*views_of(shoot)), guard_of(shoot))
            tell(f"Wrote {options.report}")
        except OSError as error:
            status = unwritten(options.report, error)
    if options.handoff is not None:
        # What they load takes longer than a run that knows everything.
        from app.cli.handed_off import tell_done
        from app.handoff.each_song import parts_of, write_parts

        try:
            done = write_parts(parts_of(shoot.name, views_of(shoot)), options.handoff, replace=True)
        except KeyboardInterrupt:
            return stopped_writing(options.handoff)
        except (HandoffError, OSError) as error:
            status = max(status, failed(error))
        else:
            status = max(status, tell_done(done, options.handoff))
    return status
