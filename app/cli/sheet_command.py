"""``anglebook sheet SHOOT --kind plan|coverage|sync|pickups --out FILE.pdf|FILE.html [--paper a4|letter]``"""

import argparse
from pathlib import Path

from app.cli.named_songs import ONE_SONG, song_named
from app.cli.opening import TRUST_PATHS, opened
from app.cli.output import Unusable, tell, unwritten, wrong_use
from app.engine import tasks
from app.handoff.each_song import parts_of
from app.handoff.sheets.contents import Kind, sheet_of
from app.handoff.sheets.jpeg_picture import PICTURE_HEIGHT, jpeg_picture
from app.handoff.sheets.sheet import Paper, Picture
from app.handoff.sheets.writing import SUFFIXES, sheet_bytes
from app.model.guarding import guard_of
from app.model.on_song import Clip
from app.model.songs_of_clips import views_of
from app.model.storage.files import write_whole
from app.model.storage.guard import MayNotWrite
from audio.errors import AudioError


def describe(parser: argparse.ArgumentParser) -> None:
    """Tell the parser what the command takes."""
    parser.add_argument("shoot", metavar="SHOOT.anglebook", type=Path, help="a saved shoot; it is only read")
    parser.add_argument(
        "--kind",
        choices=[kind.value for kind in Kind],
        required=True,
        help="plan: sections, needs and set-ups to tick off; coverage: the score on paper; sync: every take "
        "with its place and accuracy; pickups: what is still missing",
    )
    parser.add_argument(
        "--out",
        metavar="FILE.pdf|FILE.html",
        type=Path,
        required=True,
        help="file to write; an existing file is replaced",
    )
    parser.add_argument("--song", metavar="NAME", help=ONE_SONG)
    parser.add_argument(
        "--paper", choices=[paper.value for paper in Paper], default=Paper.A4.value, help="size (default: a4)"
    )
    parser.add_argument("--trust-paths", action="store_true", help=TRUST_PATHS)


def run(options: argparse.Namespace) -> int:
    """Write a sheet; gives the exit status. Raises Unusable."""
    if options.out.suffix not in SUFFIXES:
        return wrong_use(f"--out takes a file that ends with .pdf or .html, not {options.out.name}.")
    if not options.out.absolute().parent.is_dir():
        return wrong_use(f"The folder {options.out.absolute().parent} does not exist: create it first.")
    document = opened(options.shoot, trust=options.trust_paths)
    song = document.song() if options.song is None else song_named(document, options.song)
    wanted = None if song is None else [song.id]
    shoot = parts_of(options.shoot.stem, views_of(document), wanted)[0].shoot
    try:
        guard = guard_of(shoot)
        guard.check(options.out)
        sheet = sheet_of(shoot, Kind(options.kind), _picture)
        write_whole(options.out, sheet_bytes(sheet, options.out.suffix, Paper(options.paper)), guard)
    except MayNotWrite as error:
        return wrong_use(f"--out: {error}. Choose another place.")
    except ValueError as error:
        raise Unusable(str(error)) from error
    except OSError as error:
        return unwritten(options.out, error)
    tell(f"Wrote {options.out}")
    return 0


def _picture(clip: Clip, clip_s: float) -> Picture | None:
    """The picture of a clip at a moment; of a clip that cannot be read there is none, and it is said so."""
    try:
        return jpeg_picture(tasks.pictures(Path(clip.media.path), [clip_s], PICTURE_HEIGHT)[0])
    except (AudioError, OSError, IndexError):
        tell(f"There is no picture of {Path(clip.media.path).name}.")
        return None
