"""Words that were replaced on screen, in messages and in files do not come back."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

APP = Path(__file__).resolve().parents[2] / "app"

RETIRED = {
    # Questions, menus and buttons.
    "shall become of": "Restore unsaved changes?",
    "can be made again": "Cache",
    "by system": "Follow System",
    "how it goes": "Quick Guide",
    "while we shoot": "Watch a Folder…",
    "to take in": "Drop to add",
    "go on with": "Recent",
    "put on angle": "Set Angle…",
    "look in check": "Open in Check",
    "settle here": "Snap to Best Fit",
    "mark from here": "Start Take Here",
    "give up": "Cancel",
    "take the rest": "Detect Again From Here",
    "take back": "Unmark, Remove",
    "take that back": "unmark it",
    "next doubt": "Next in Doubt",
    "all like it": "All Similar Sections",
    "at least so many": "Minimum Bars…",
    "start from the song": "Safety + One More Angle in Every Section",
    "safety and one more everywhere": "Safety + One More Angle in Every Section",
    "times and handles": "Pre-roll and Handles…",
    "large letters": "Large Type",
    "put this line away": "Dismiss this message",
    # Sentences.
    "not to be opened yet": "still copying",
    "where it lies": "current place",
    "place sure to": "Accurate to",
    "a person said": "You marked this as",
    "nothing in this clip": "Song not found in this clip.",
    "looked at again": "detected again",
    "nearest else": "Nearest other takes",
    "taken in": "added",
    "was here already": "is already in this shoot",
    "is not there: make it": "does not exist: create it first",
    "there is no room for": "There is not enough space for",
    "make room": "Free some space",
    "asked for already": "The plan already has these needs.",
    "by itself": "on its own",
    # The hand-off.
    "frame frequency": "Frame rate",
    "clocks running apart": "Clock drift",
    "leave and tell": "Leave and report",
    "a track an angle": "One track per angle",
    "one an angle": "One list per angle",
    "stamped copies": "Copies with song timecode",
    "largest rest": "Largest sub-frame offset",
    "doubtful take": "take in doubt",
    "doubtful takes": "takes in doubt",
    "decide it first": "Check it first.",
    "decide them first": "check them first",
    # One word for one thing.
    "chosen bars": "selected bars",
    "chosen clips": "selected clips",
    "chosen section": "selected section",
    "chosen take": "selected take",
    "beats a minute": "bpm",
    "beats per minute": "bpm",
    "{} frames a second": "25 fps",
    "{} frames per second": "25 fps",
    # Not English.
    "is no table": "is not a table",
    "is no plan": "is not a plan",
    "is there twice": "appears twice",
    "lies outside": "is outside",
    "tells": "shows, says",
    "shall": "a question with should, or the imperative",
}
"""What is retired, in small letters with ``{}`` for a figure, and what stands in its place."""


def literals(source: str) -> Iterator[tuple[int, str]]:
    """Line and text of each string that may reach a person: figures as ``{}``, without ``&`` of menus.

    Left out: docstrings, names of actions (``name=``), annotations, and what is one word in small letters,
    such as a key of JSON or a value of an option.
    """
    tree = ast.parse(source)
    skipped: set[ast.AST] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr):
            skipped.add(node.value)
        elif isinstance(node, ast.keyword) and node.arg == "name":
            skipped |= set(ast.walk(node.value))
        elif isinstance(node, ast.JoinedStr):
            skipped |= {part for part in node.values if isinstance(part, ast.Constant)}
    for node in ast.walk(tree):
        if node in skipped:
            continue
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        elif isinstance(node, ast.JoinedStr):
            text = "".join(
                str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values
            )
        else:
            continue
        if not re.fullmatch(r"[a-z_]*", text):
            yield node.lineno, text.replace("&", "")


def retired_in(source: str) -> list[str]:
    """What a file says that is retired, a line each."""
    found = []
    for line, text in literals(source):
        said = text.casefold()
        for words, instead in RETIRED.items():
            if re.search(rf"(?<!\w){re.escape(words)}(?!\w)", said):
                found.append(f"line {line}: {text!r} says {words!r}; say {instead!r}")
        if re.search(r"[\w}] …", text):
            found.append(f"line {line}: {text!r} has a space before its ellipsis")
    return found


def test_retired_words_do_not_come_back() -> None:
    files = sorted(APP.rglob("*.py"))
    assert len(files) > 200
    found = [
        f"{file.relative_to(APP)}, {one}" for file in files for one in retired_in(file.read_text("utf-8"))
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    "source",
    [
        'label.setText("Settle Here")',
        'label.setText("&Settle "\n    "Here")',
        'say(f"Timeline at {rate} frames per second.")',
        'ask("What shall become of " f"{name}?")',
        'say("Reading …")',
        'Action("Give Up", "Esc")',
    ],
)
def test_a_retired_word_is_found(source: str) -> None:
    assert retired_in(source)


@pytest.mark.parametrize(
    "source",
    [
        '"""What this tells, and where it lies."""',
        'def f() -> None:\n    """Give up."""\n',
        "x = 1  # tells",
        'Action("Cancel", "Esc", name="give up")',
        'row["tells"]',
        'say("bars 1, 2, …")',
        'say("25 frames, marshalled")',
    ],
)
def test_what_nobody_reads_may_say_it(source: str) -> None:
    assert not retired_in(source)
