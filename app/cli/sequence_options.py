"""What ``anglebook handoff`` is told about string-outs and first passes."""

import argparse
from pathlib import Path

from app.cli.output import Unusable
from app.handoff.choices import DEFAULT, FirstPassWish, StringOutWish
from app.model.document.cut import Setting
from app.model.first_pass.rules import PACE, RulesError, rules_of, rules_of_json, settings_of
from app.model.storage.plain_file import TooLarge, read_plain
from app.model.string_out.string_out import About, Order

_SUBJECT = f"{About.SUBJECT.value}:"
MOST_BYTES = 1_000_000
"""Rules are a few lines."""


def describe_sequences(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument(
        "--string-out",
        metavar="WHAT",
        type=_about,
        default=(DEFAULT.string_out.about, ""),
        help="what the string-out shows: section (everything, the default), subject:NAME, keepers, or needs "
        "(everything where a need is not met)",
    )
    parser.add_argument(
        "--order",
        choices=[order.value for order in Order],
        default=DEFAULT.string_out.order.value,
        help="which angle of a section comes first in the string-out: those with keepers, by rank, or as "
        "they begin in the song; safeties are always last (default: keepers)",
    )
    parser.add_argument(
        "--version", metavar="NAME", default="", help="first pass: the shoot's version of that name"
    )
    parser.add_argument(
        "--rules",
        metavar="FILE.json",
        type=Path,
        help="first pass: rules and their weights, over those of the version",
    )
    parser.add_argument(
        "--pace",
        metavar="PACE",
        type=_pace,
        help="first pass: length of shots: energy (by the song's loudness), slow, medium, fast, or a number "
        "of bars such as 2 or 2-4",
    )


def string_out_wish(options: argparse.Namespace) -> StringOutWish:
    """What the string-out is to show."""
    about, subject = options.string_out
    return StringOutWish(about=about, subject=subject, order=Order(options.order))


def first_pass_wish(options: argparse.Namespace) -> FirstPassWish:
    """By which rules the first pass is to be cut. Raises Unusable for rules that cannot be read."""
    settings = {} if options.rules is None else {one.name: one for one in _rules(options.rules)}
    if options.pace is not None:
        settings[PACE] = Setting(PACE, options.pace)
    return FirstPassWish(version=options.version, settings=tuple(settings.values()))


def _rules(path: Path) -> tuple[Setting, ...]:
    try:
        return settings_of(rules_of_json(read_plain(path, MOST_BYTES).decode("utf-8-sig")))
    except TooLarge as error:
        raise Unusable(f"{path.name} is far too large for a file of rules.") from error
    except OSError as error:
        raise Unusable(f"{path} cannot be read: {error.strerror}.") from error
    except UnicodeDecodeError as error:
        raise Unusable(f"{path.name} holds no rules: it is not plain text (UTF-8).") from error
    except RulesError as error:
        raise Unusable(f"{path.name}: {error}") from error


def _about(text: str) -> tuple[About, str]:
    if text.startswith(_SUBJECT) and text != _SUBJECT:
        return About.SUBJECT, text.removeprefix(_SUBJECT)
    known = [about for about in About if about is not About.SUBJECT]
    if text not in known:
        named = ", ".join([*(about.value for about in known), f"{_SUBJECT}NAME"])
        raise argparse.ArgumentTypeError(f"{text!r} is not one of {named}.")
    return About(text), ""


def _pace(text: str) -> str:
    try:
        rules_of([Setting(PACE, text)])
    except RulesError as error:
        raise argparse.ArgumentTypeError(str(error)) from error
    return text
