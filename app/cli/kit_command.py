"""``anglebook kit SHOOT_OR_SONG --to DIR [--from SECTION]… [--speed SPEED]… …``"""

import argparse
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from app.cli.named_songs import ONE_SONG, song_named
from app.cli.opening import TRUST_PATHS, opened
from app.cli.output import Unusable, answer, failed, tell, unwritten, words_of, wrong_use
from app.engine import tasks
from app.handoff.outcome import HandoffError
from app.handoff.tables.kit_table import LIST_NAME, kit_text, with_paths, write_list
from app.model.document import store
from app.model.document.playback_file import PlaybackFile
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.edits.playback_edits import add_playbacks
from app.model.edits.shoot_edits import set_name, set_song
from app.model.guarding import guard_of
from app.model.kit.kit_plan import KitWish, kit_plan
from app.model.kit.planned import Planned
from app.model.kit.wish import Wish, parse_speed
from app.model.song_map.bar_spans import song_sections
from app.model.storage.guard import MayNotWrite
from app.model.timebase import parse_rate
from audio.errors import AudioError


def describe(parser: argparse.ArgumentParser) -> None:
    """Tell the parser what the command takes."""
    parser.add_argument(
        "what", metavar="SHOOT_OR_SONG", type=Path, help="a saved shoot, or a song to play on set"
    )
    parser.add_argument("--to", metavar="DIR", type=Path, required=True, help="folder to write to")
    parser.add_argument("--song", metavar="NAME", help=ONE_SONG)
    parser.add_argument(
        "--from",
        dest="sections",
        metavar="SECTION",
        action="append",
        default=[],
        help="begin with this section (its letter or name) as well as with the song; may be given again; "
        "'all' for each section",
    )
    parser.add_argument(
        "--count-in", metavar="BARS", type=int, default=2, help="bars of clicks before (default: 2)"
    )
    parser.add_argument(
        "--lead-in",
        metavar="BARS",
        type=int,
        default=4,
        help="bars of the song before a section (default: 4)",
    )
    parser.add_argument("--to-section-end", action="store_true", help="end a bar after the section")
    parser.add_argument(
        "--speed",
        metavar="SPEED",
        action="append",
        default=[],
        help="play faster or slower, as 1.25, 125%%, or 60:24000/1001 for a camera of 60 pictures a second "
        "in such a timeline; may be given again (default: 1)",
    )
    parser.add_argument("--keep-pitch", action="store_true", help="other speeds keep the song's pitch")
    parser.add_argument("--pop", action="store_true", help="one frame of 1 kHz two seconds before the start")
    parser.add_argument("--timecode", action="store_true", help="linear timecode on the right channel")
    parser.add_argument(
        "--fps", default="25", help="frame rate of the timeline, as 25 or 24000/1001 (default: 25)"
    )
    parser.add_argument(
        "--loudness",
        metavar="LUFS",
        type=float,
        help="raise or lower the song to this loudness as far as its peaks allow (default: as it is mixed)",
    )
    parser.add_argument(
        "--shoot",
        metavar="FILE.anglebook",
        type=Path,
        help="shoot that is to know the files (default: the shoot given); clips shot to them are placed by "
        "them",
    )
    parser.add_argument("--trust-paths", action="store_true", help=TRUST_PATHS)


def run(options: argparse.Namespace) -> int:
    """Make playback files; gives the exit status. Raises Unusable."""
    saved = options.what.suffix == store.SUFFIX
    if options.shoot is not None and options.shoot.suffix != store.SUFFIX:
        return wrong_use(f"--shoot takes a file that ends with {store.SUFFIX}, not {options.shoot.name}.")
    try:
        rate = parse_rate(options.fps)
        speeds = [parse_speed(text) for text in options.speed] or [Fraction(1)]
    except ValueError as error:
        return wrong_use(str(error))
    shoot = opened(options.what, trust=options.trust_paths) if saved else _begun(options)
    song = shoot.song() if options.song is None else song_named(shoot, options.song)
    if song is None:
        raise Unusable(f"{options.what.name} has no song yet. Choose the song first.")
    options.to.mkdir(parents=True, exist_ok=True)
    try:
        plans = _planned(shoot, song, options, speeds, rate)
    except ValueError as error:
        return wrong_use(str(error))
    guard = guard_of(shoot)
    made = []
    try:
        wanted = with_paths(plans, options.to)
        for one in tasks.make_files(song, wanted, guard, loudness_lufs=options.loudness):
            tell(f"Wrote {one.playback.media.path}")
            made.append(one)
        write_list(options.to / LIST_NAME, made, guard)
        target = options.shoot or (options.what if saved else None)
        if target is not None:
            files = [one.playback for one in made]
            store.update(target, lambda now: _with_files(now, song, files), trust=options.trust_paths)
            tell(f"Saved {target}")
    except MayNotWrite as error:
        return wrong_use(f"--to: {error}. Choose another folder.")
    except (AudioError, HandoffError, store.StoreError) as error:
        return failed(error)
    except OSError as error:
        return unwritten(options.to, error)
    return answer(kit_text(made))


def _planned(
    shoot: Shoot, song: Song, options: argparse.Namespace, speeds: list[Fraction], rate: Fraction
) -> list[Planned]:
    """What to make, in its order. Raises ValueError."""
    usual = Wish(
        count_in_bars=options.count_in,
        lead_in_bars=options.lead_in,
        to_section_end=options.to_section_end,
        pitch_kept=options.keep_pitch,
        pop=options.pop,
        frame_rate=rate,
        timecode=options.timecode,
    )
    sections = _sections(song, options.sections)
    return kit_plan(shoot, song, KitWish(section_ids=sections, speeds=speeds, usual=usual))


def _sections(song: Song, asked: list[str]) -> list[str]:
    sections = song_sections(song)
    out = []
    for text in asked:
        found = [
            one
            for one in sections
            if text == "all" or text.casefold() in (one.letter.casefold(), one.name.casefold(), one.id)
        ]
        if not found:
            letters = ", ".join(one.letter for one in sections)
            raise ValueError(f"The song has no section {text}. It has {letters}.")
        out += [one.id for one in found if one.id not in out]
    return out


def _begun(options: argparse.Namespace) -> Shoot:
    """A shoot with the song. Raises Unusable."""
    tell(f"Reading {options.what.name}…")
    try:
        song = tasks.song_from_file(options.what)
    except (AudioError, OSError) as error:
        raise Unusable(f"The song {options.what.name} cannot be used. {words_of(error)}") from error
    return set_song(set_name(Shoot(), options.what.stem)[0], song)[0]


def _with_files(shoot: Shoot, song: Song, files: Sequence[PlaybackFile]) -> Shoot:
    """The shoot as it is by now with the files of a song; a new one gets that too. Raises StoreError where it
    has others only."""
    if not shoot.songs:
        shoot, _ = set_song(shoot, song)
    own = next((one for one in shoot.songs if one.media.same_content(song.media)), None)
    if own is None:
        raise store.StoreError(f"The shoot is of another song, {Path(shoot.songs[0].media.path).name}.")
    # Another shoot may know the song by another id.
    there = [
        replace(file, pieces=tuple(replace(piece, song_id=own.id) for piece in file.pieces)) for file in files
    ]
    return add_playbacks(shoot, there)[0]
