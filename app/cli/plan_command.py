"""``anglebook plan SHOOT_OR_SONG [--read FILE.csv]… [--write FILE.csv] [--write-angles FILE.csv]
[--shoot FILE.anglebook]``"""

import argparse
from collections.abc import Sequence
from pathlib import Path

from app.cli.opening import TRUST_PATHS, opened
from app.cli.output import Unusable, answer, failed, tell, words_of, wrong_use
from app.engine import tasks
from app.handoff.outcome import HandoffError
from app.handoff.plan_text import plan_text
from app.handoff.tables.plan_table import read_rows, write_angles, write_needs
from app.model.angles import same_name
from app.model.coverage.staves import stave_order
from app.model.document import store
from app.model.document.shoot import Shoot
from app.model.edits.angle_edits import mark_safety, set_camera, set_place, set_rank, set_subjects
from app.model.edits.planning import set_needs
from app.model.edits.shoot_edits import set_name, set_song
from app.model.guarding import guard_of
from app.model.on_song import on_song
from app.model.plan_rows import NEED_COLUMNS, PlanError, Row, angles_of_rows, needs_of_rows
from app.model.storage.guard import MayNotWrite
from audio.errors import AudioError


def describe(parser: argparse.ArgumentParser) -> None:
    """Tell the parser what the command takes."""
    parser.add_argument(
        "what", metavar="SHOOT_OR_SONG", type=Path, help="a saved shoot, or a song to start a plan for"
    )
    parser.add_argument(
        "--read",
        metavar="FILE.csv",
        type=Path,
        action="append",
        default=[],
        help="read needs from this table (section, first_bar, last_bar, subject, least_bars, "
        "least_angles, note), or what angles show (angle, subjects, safety, rank, place, camera); "
        "may be given twice",
    )
    parser.add_argument("--write", metavar="FILE.csv", type=Path, help="write the needs as such a table")
    parser.add_argument(
        "--write-angles", metavar="FILE.csv", type=Path, help="write what the angles show as such a table"
    )
    parser.add_argument(
        "--shoot",
        metavar="FILE.anglebook",
        type=Path,
        help="save the result in this shoot (default: the shoot given; required with a song)",
    )
    parser.add_argument("--trust-paths", action="store_true", help=TRUST_PATHS)


def run(options: argparse.Namespace) -> int:
    """Read, write and show a plan; gives the exit status. Raises Unusable."""
    saved = options.what.suffix == store.SUFFIX
    wrong = _wrong(options, saved)
    if wrong:
        return wrong_use(wrong)
    shoot = opened(options.what, trust=options.trust_paths) if saved else _begun(options)
    if shoot.song() is None:
        raise Unusable(
            f"{options.what.name} has no song yet: a plan needs its sections. Choose the song first."
        )
    try:
        if options.read:
            shoot = _read_into(shoot, options)
        view = on_song(shoot)
        guard = guard_of(view)
        for name, target in _tables_written(options):
            try:
                guard.check(target)
            except MayNotWrite as error:
                return wrong_use(f"{name}: {error}. Choose another place.")
        if options.write is not None:
            write_needs(options.write, view.plan.needs, shoot.songs[0], guard)
            tell(f"Wrote {options.write}")
        if options.write_angles is not None:
            write_angles(options.write_angles, stave_order(view.angles), guard)
            tell(f"Wrote {options.write_angles}")
    except (PlanError, HandoffError, store.StoreError) as error:
        return failed(error)
    return answer(plan_text(view))


def _wrong(options: argparse.Namespace, saved: bool) -> str:
    """A sentence about a wrong use that no parser finds; empty if there is none."""
    for name, target in _tables_written(options):
        if target.suffix != ".csv":
            return f"{name} takes a file that ends with .csv, not {target.name}."
    if options.shoot is not None and options.shoot.suffix != store.SUFFIX:
        return f"--shoot takes a file that ends with {store.SUFFIX}, not {options.shoot.name}."
    if options.read and not saved and options.shoot is None:
        return f"A plan read for a song is saved in a shoot: add --shoot FILE{store.SUFFIX}."
    for target in (options.write, options.write_angles, options.shoot):
        if target is not None and not target.absolute().parent.is_dir():
            return f"The folder {target.absolute().parent} does not exist: create it first."
    return ""


def _tables_written(options: argparse.Namespace) -> list[tuple[str, Path]]:
    """The tables asked for: each option and its file."""
    both = (("--write", options.write), ("--write-angles", options.write_angles))
    return [(name, target) for name, target in both if target is not None]


def _begun(options: argparse.Namespace) -> Shoot:
    """The shoot to save in, with the song. Raises Unusable."""
    tell(f"Reading {options.what.name}…")
    try:
        song = tasks.song_from_file(options.what)
    except (AudioError, OSError) as error:
        raise Unusable(f"The song {options.what.name} cannot be used. {words_of(error)}") from error
    there = options.shoot is not None and options.shoot.exists()
    shoot = opened(options.shoot, trust=options.trust_paths) if there else Shoot()
    if not there:
        shoot, _ = set_name(shoot, (options.shoot or options.what).stem)
    old = shoot.song()
    if old is not None and not old.media.same_content(song.media):
        raise Unusable(f"{options.shoot.name} is a shoot of another song, {Path(old.media.path).name}.")
    return set_song(shoot, song)[0]


def _read_into(shoot: Shoot, options: argparse.Namespace) -> Shoot:
    """The shoot with what the tables say, saved. Raises PlanError and StoreError."""
    tables = [(path, *read_rows(path)) for path in options.read]
    target = options.shoot or options.what
    song = shoot.songs[0]

    def planned(now: Shoot) -> Shoot:
        if now.song() is None:
            now, _ = set_song(now, song)
        for path, columns, rows in tables:
            try:
                now = _with_needs(now, rows) if columns == NEED_COLUMNS else _with_angles(now, path, rows)
            except PlanError as error:
                raise PlanError(f"{path.name}, {error}.") from error
        return now

    if target != options.what:
        try:
            guard_of(on_song(shoot)).check(target)
        except MayNotWrite as error:
            raise PlanError(f"--shoot: {error}. Choose another place.") from error
    saved = store.update(target, planned, trust=options.trust_paths)
    tell(f"Saved {target}")
    return saved


def _with_needs(shoot: Shoot, rows: Sequence[tuple[int, Row]]) -> Shoot:
    song = shoot.songs[0]
    return set_needs(shoot, song.id, needs_of_rows(rows, song))[0]


def _with_angles(shoot: Shoot, path: Path, rows: Sequence[tuple[int, Row]]) -> Shoot:
    for told in angles_of_rows(rows):
        angle = next((one for one in shoot.angles if same_name(one.name, told.name)), None)
        if angle is None:
            tell(f"{path.name}: no clip is on an angle {told.name} yet; that line was skipped.")
            continue
        shoot, _ = set_subjects(shoot, angle.id, told.subjects)
        shoot, _ = mark_safety(shoot, angle.id, told.safety)
        shoot, _ = set_rank(shoot, angle.id, told.rank)
        if told.place is not None:
            shoot, _ = set_place(shoot, angle.id, told.place)
        if told.camera is not None:
            shoot, _ = set_camera(shoot, angle.id, told.camera)
    return shoot
