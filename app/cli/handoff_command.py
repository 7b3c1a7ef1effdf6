"""``anglebook handoff SHOOT.anglebook --to DIR [--song NAME…] [--what otio,edl,csv,…]``"""

import argparse
import re
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

from app.cli.handed_off import tell_done, tell_lines, tell_troubles
from app.cli.named_songs import song_named
from app.cli.opening import TRUST_PATHS, opened
from app.cli.output import Unusable, answer, failed, stopped_writing, tell, wrong_use
from app.cli.sequence_options import describe_sequences, first_pass_wish, string_out_wish
from app.handoff.all import earlier
from app.handoff.beside_clips import check_folder
from app.handoff.choices import DEFAULT, Choices, Conform, Doubtful, Drift, FilmWish, Form, Scheme
from app.handoff.each_song import Part, parts_of, preview_parts, write_parts
from app.handoff.leftovers import left_words, leftovers
from app.handoff.neighbour import size_words
from app.handoff.outcome import HandoffError, no_progress
from app.handoff.registry import FORMATS, chosen
from app.model.document.shoot import Shoot
from app.model.guarding import guard_of
from app.model.songs_of_clips import views_of
from app.model.timebase import parse_rate

WORDS = {word: one for one in FORMATS for word in one.command_words or (one.word,)}
"""The words that ``--what`` knows, each with its format; the table of takes goes by its form."""
_NTSC = {
    **{"23.976": "24000/1001", "23.98": "24000/1001", "29.97": "30000/1001"},
    **{"47.952": "48000/1001", "47.95": "48000/1001", "59.94": "60000/1001", "119.88": "120000/1001"},
}


def describe(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command to a parser."""
    parser.add_argument("shoot", metavar="SHOOT.anglebook", type=Path, help="a saved shoot; it is only read")
    parser.add_argument(
        "--to",
        metavar="DIR",
        type=Path,
        required=True,
        help="folder to write into; with several songs, each gets a folder in it",
    )
    parser.add_argument(
        "--song",
        metavar="NAME",
        nargs="+",
        action="extend",
        default=[],
        help="hand off only these songs of the shoot (default: all); a single one goes into DIR itself",
    )
    parser.add_argument(
        "--what",
        metavar="WHAT,…",
        type=_what,
        default="otio,csv",
        help=f"what to write (default: otio,csv): {_formats_help()}; all tables are either csv or tsv",
    )
    parser.add_argument(
        "--rate",
        metavar="RATE",
        type=_rate,
        help="frame rate of the timeline, such as 25 or 24000/1001 (default: that of most clips)",
    )
    parser.add_argument(
        "--start",
        metavar="TIMECODE",
        default=DEFAULT.start,
        help="timecode of the start of the song (default: 01:00:00:00); 01:00:00;00 counts drop-frame",
    )
    parser.add_argument(
        "--tracks",
        choices=[scheme.value for scheme in Scheme],
        default=DEFAULT.scheme.value,
        help="one track per angle or per take (default: angle)",
    )
    parser.add_argument(
        "--doubtful",
        choices=[doubtful.value for doubtful in Doubtful],
        default=DEFAULT.doubtful.value,
        help="takes in doubt: on separate, disabled tracks, or left out (default: apart)",
    )
    parser.add_argument(
        "--drift",
        choices=[drift.value for drift in Drift],
        default=DEFAULT.drift.value,
        help="a take that drifts more than a quarter of a frame: leave it whole and report it, or cut it "
        "where sections begin and reseat each piece (default: leave)",
    )
    parser.add_argument(
        "--conform",
        choices=[conform.value for conform in Conform],
        default=DEFAULT.conform.value,
        help="conformed sound follows the take's line, or also its lag where that sways because the camera "
        "moved (default: line)",
    )
    parser.add_argument(
        "--film-size",
        metavar="WxH",
        type=_size,
        default=(1280, 720),
        help="size of the film in pixels (default: 1280x720)",
    )
    parser.add_argument(
        "--film-angle",
        metavar="NAME",
        help="film only this angle: song on the left, take on the right",
    )
    parser.add_argument(
        "--film-first-pass",
        action="store_true",
        help="film the first pass instead of all angles side by side",
    )
    parser.add_argument("--film-bars", metavar="A-B", type=_bars, help="film these bars only")
    describe_sequences(parser)
    parser.add_argument("--replace", action="store_true", help="replace an earlier hand-off in that folder")
    parser.add_argument("--trust-paths", action="store_true", help=TRUST_PATHS)
    parser.add_argument(
        "--preview", action="store_true", help="list what would be written, and write nothing"
    )


def run(options: argparse.Namespace) -> int:
    """Write the hand-off; returns the exit status. Raises Unusable."""
    if options.to.exists() and not options.to.is_dir():
        return wrong_use(f"--to takes a folder; {options.to} is a file.")
    # Under the name of its file, as in the window.
    document = opened(options.shoot, trust=options.trust_paths)
    wanted = [song_named(document, name).id for name in options.song] or None
    parts = parts_of(options.shoot.stem, views_of(document), wanted)
    what, form = options.what
    width, height = options.film_size
    choices = Choices(
        what=what,
        form=form,
        rate=options.rate,
        start=options.start,
        scheme=Scheme(options.tracks),
        doubtful=Doubtful(options.doubtful),
        drift=Drift(options.drift),
        conform=Conform(options.conform),
        film=FilmWish(
            width=width,
            height=height,
            angle_id=_angle_id(document, options.film_angle),
            bars=options.film_bars,
            first_pass=options.film_first_pass,
        ),
        string_out=string_out_wish(options),
        first_pass=first_pass_wish(options),
    )
    try:
        if options.preview:
            return _preview(parts, choices, options)
        progress = _Tenths() if any(one.reads_clips for one in chosen(choices)) else no_progress
        done = write_parts(
            parts,
            options.to,
            choices,
            replace=options.replace,
            progress=progress,
            doing=lambda song, one: tell(f"Writing {one} of {song}…" if song else f"Writing {one}…"),
        )
    except KeyboardInterrupt:
        return stopped_writing(options.to)
    except (HandoffError, OSError) as error:
        return failed(error)
    return tell_done(done, options.to)


def _preview(parts: Sequence[Part], choices: Choices, options: argparse.Namespace) -> int:
    """List what would be written; gives the exit status. Raises HandoffError."""
    seen = preview_parts(parts, choices)
    check_folder(options.to, guard_of(parts[0].shoot))
    there = earlier(options.to, seen.planned)
    status = tell_troubles(seen.troubles)
    for one in seen.planned:
        size = size_words(one.size_bytes) if one.size_bytes else "size unknown"
        status = max(status, answer(f"{one.name}  {size}"))
        tell_lines(one.lines)
    if there:
        may = "will be replaced" if options.replace else "replaced only with --replace"
        tell(f"Already there from an earlier hand-off, {may}: {', '.join(there)}.")
    left = left_words(leftovers(options.to, seen.planned))
    if left:
        tell(left)
    return status


class _Tenths:
    """Reports progress, one line for each tenth."""

    def __init__(self) -> None:
        self._last = 0

    def __call__(self, fraction: float) -> None:
        tenths = int(fraction * 10)
        if tenths > self._last:
            self._last = tenths
            tell(f"{tenths * 10} %")


def _formats_help() -> str:
    texts = (f"{' or '.join(one.command_words) or one.word} ({one.help})" for one in FORMATS)
    return ", ".join(texts)


def _what(text: str) -> tuple[frozenset[str], Form]:
    words = text.split(",")
    unknown = [word for word in words if word not in WORDS]
    if unknown:
        raise argparse.ArgumentTypeError(f"{unknown[0]!r} is not one of {', '.join(WORDS)}.")
    forms = [form for form in Form if form in words]
    if len(forms) > 1:
        raise argparse.ArgumentTypeError("tables are written as csv or as tsv, not both.")
    return frozenset(WORDS[word].word for word in words), forms[0] if forms else DEFAULT.form


def _size(text: str) -> tuple[int, int]:
    found = re.fullmatch(r"(\d{1,4})x(\d{1,4})", text, re.ASCII)
    if found is None:
        raise argparse.ArgumentTypeError(f"{text!r} is not a size; write it as 1280x720.")
    return int(found[1]), int(found[2])


def _bars(text: str) -> tuple[int, int]:
    found = re.fullmatch(r"(\d{1,6})-(\d{1,6})", text, re.ASCII)
    if found is None:
        raise argparse.ArgumentTypeError(f"{text!r} is not a range of bars; write it as 17-24.")
    first, last = int(found[1]), int(found[2])
    if not 1 <= first <= last:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a range of bars; bars count up from 1, as in 17-24."
        )
    return first, last


def _angle_id(shoot: Shoot, name: str | None) -> str:
    if name is None:
        return ""
    found = next((angle.id for angle in shoot.angles if angle.name == name), None)
    if found is None:
        raise Unusable(
            f"There is no angle {name!r}. The shoot has {', '.join(a.name for a in shoot.angles)}."
        )
    return found


def _rate(text: str) -> Fraction:
    try:
        return parse_rate(_NTSC.get(text, text))
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from error
