"""``anglebook map SONG [--report FILE.json] [--labels FILE.txt] [--from-labels FILE.txt]``"""

import argparse
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from app.cli.output import Unusable, answer, tell, unwritten, words_of, wrong_use
from app.engine import tasks
from app.handoff.report import report_bytes
from app.handoff.report_text import map_table
from app.model.on_song import SongView
from app.model.song_map.labels import labelled, read_text, to_labels
from app.model.storage.files import write_whole
from app.model.storage.guard import Guard, MayNotWrite
from audio.errors import AudioError


def describe(parser: argparse.ArgumentParser) -> None:
    """Tell the parser what the command takes."""
    parser.add_argument("song", metavar="SONG", type=Path, help="the master recording everybody performed to")
    parser.add_argument("--report", metavar="FILE.json", type=Path, help="write the map as JSON")
    parser.add_argument(
        "--labels", metavar="FILE.txt", type=Path, help="write the map as labels: start, end, text"
    )
    parser.add_argument(
        "--from-labels",
        metavar="FILE.txt",
        type=Path,
        help="use the map from such a file, made elsewhere; what it leaves out is detected",
    )
    parser.add_argument("--fresh", action="store_true", help="map the song again, even if it has not changed")


def run(options: argparse.Namespace) -> int:
    """Map a song; gives the exit status. Raises Unusable."""
    wrong = _wrong(options)
    if wrong:
        return wrong_use(wrong)
    labels = None if options.from_labels is None else read_text(options.from_labels)
    if trouble := tasks.cache_trouble():
        tell(trouble)
    tell(f"Reading {options.song.name}…")
    try:
        song = tasks.song_from_file(options.song, use_cache=not options.fresh)
    except (AudioError, OSError) as error:
        raise Unusable(f"The song {options.song.name} cannot be used. {words_of(error)}") from error
    if labels is not None:
        song = replace(song, map=labelled(options.from_labels.name, labels, song))
    status, guard = 0, _guard(options)
    view = SongView(options.song.stem, song)
    texts: tuple[tuple[Path | None, Callable[[], bytes]], ...] = (
        (options.report, lambda: report_bytes(view)),
        (options.labels, lambda: to_labels(song.map).encode()),
    )
    for target, text in texts:
        if target is None:
            continue
        try:
            write_whole(target, text(), guard)
            tell(f"Wrote {target}")
        except OSError as error:
            status = unwritten(target, error)
    return max(status, answer(map_table(song)))


def _wrong(options: argparse.Namespace) -> str:
    """A sentence about a wrong use that no parser finds; empty if there is none."""
    for option, target, suffix in (
        ("--report", options.report, ".json"),
        ("--labels", options.labels, ".txt"),
    ):
        if target is None:
            continue
        if target.suffix != suffix:
            # Anything else may be the song, which is never written over.
            return f"{option} takes a file that ends with {suffix}, not {target.name}."
        if not target.absolute().parent.is_dir():
            return f"The folder {target.absolute().parent} does not exist: create it first."
        try:
            _guard(options).check(target)
        except MayNotWrite as error:
            return f"{option}: {error}. Choose another place."
    return ""


def _guard(options: argparse.Namespace) -> Guard:
    return Guard(media=(options.song,))
