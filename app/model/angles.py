"""What a camera was set up to show, guessed from where its file lies and what it is called.

A guess and nothing more: the maker renames an angle, or moves a clip to another one, at any time.
"""

import os
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import PurePath

EVERYWHERE = PurePath("/")
"""As the folder below which names speak: all of them do."""

# Counters that cameras, telephones and recorders give their files: letters, then figures, and no word
# among them. Common practice, gathered from file names in use: DCF names (JEITA CP-3461: four characters
# and four figures) and the counters of the makers that number freely.
_COUNTERS = re.compile(
    r"""^(?:
        \d+                                            # 00012
      | [A-Z]\d{3,}(?:[A-Z]\d{2,})?(?:[_-].*)?         # C0012, P1000123, A001C003_…
      | [A-Z]{2}\d{6}                                  # GX010023
      | (?:[A-Z]{3}_|_[A-Z]{3})\d{4}                   # IMG_1234, _DSC0042
      | (?-i:[A-Z]{2,4}\d{4,}|[A-Z]{2,3}[_-]\d{4,}[\d_-]*)  # ABCD0012, AB_00123: in capitals
      | (?:DSC|DSCF|DSCN|IMG|MVI|MOV|MAH|MAQ|VID|VIDEO|PXL|CLIP|STE|ZOOM|REC|DJI|MAX|SAM)[ _-]?\d[\d_-]*
        (?:[A-Z]{2}\d*)?
    )$""",
    re.VERBOSE | re.IGNORECASE,
)
# Folders that a card brings along, whatever was shot.
_CARD_FOLDERS = re.compile(
    r"""^(?:
        DCIM | PRIVATE | CLIP | CLIPS\d+ | STREAM | BDMV | AVCHD | XDROOT | M4ROOT | MP_ROOT | AVF_INFO | SUB
      | CONTENTS | VIDEO | VIDEOS | MEDIA | CARD[ _-]?[A-Z]?\d* | SD[ _-]?\d* | MISC | MOVIES? | THMBNL
      | GENERAL
      | \d{3}[A-Z0-9_]{5} | \d{3}[A-Z]{3,} | \d+ | \d{4}[-_.]?\d{2}[-_.]?\d{2}
    )$""",
    re.VERBOSE | re.IGNORECASE,
)
# Folders that are about the material as a whole, or about more than one camera: no word on what is shown.
_ANY_FOLDERS = re.compile(
    r"""^(?:
        (?:FOOTAGE|RUSHES|RAW|ORIGINALS?|CLIPS?|TAKES?|SHOOT|CARDS?|CAMERAS?|CAMS?|PHONES?|MOBILES?|CELLS?|FILES
          |IMPORTS?|INGEST|DUMPS?|OFFLOADS?|BACKUPS?|COPY|COPIES|UNSORTED|NEW[ _-]FOLDER|UNTITLED[ _-]FOLDER
          |PHOTOS?|PICTURES?|CAMERA[ _-]ROLL|INTERNAL|EXTERNAL)(?:[ _-]?\(\d+\))?
      | (?:DAY|REEL|ROLL|MAG|SLOT|DISK|DRIVE|CARD|COPY|BACKUP)[ _-]?[A-Z]?\d*
      | [A-Z]{1,2}[ _-]?\d{1,4}(?:[_-][A-Z0-9]+)*
    )$""",
    re.VERBOSE | re.IGNORECASE,
)
SEAM = "\0"
"""Stands where a name goes on without a space: before a capital, or before figures. It is not written out."""
# The part of a name that counts attempts: "take 2", "_t2", "pick-up 3", "restart", "(1)".
_ATTEMPTS = re.compile(
    r"""(?:
        \(\d+\)
      | \b(?:take|retake|restart|again|pick[ \0-]?ups?|copy)[ \0-]?\d*\b
      | \b(?:tk|t|pu|v|version|run|pass|part|pt)[ \0-]?\d+\b
    )""",
    re.VERBOSE | re.IGNORECASE,
)
# A bare number in a file's name counts attempts too, but behind these words it tells cameras apart.
_NUMBERS = re.compile(
    r"(?<!\bcam[ \0])(?<!\bcamera[ \0])(?<!\bkamera[ \0])(?<!\bangle[ \0])(?<!\bphone[ \0])(?<!\bunit[ \0])"
    r"(?<![^\W\d_])\b\d+\b",
    re.IGNORECASE,
)
_SAFETY = re.compile(r"\b(?:safety|wide|whole band|totale?|master shot)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class AngleGuess:
    """A name for the angle, and whether it looks like the safety."""

    name: str
    safety: bool


def guess_angle(path: str | PurePath, root: PurePath = EVERYWHERE) -> AngleGuess | None:
    """Guess the angle of a file from words in its name, or else in the names of its folders below ``root``.

    ``root`` is the folder that was dropped or named: its own name, and those above it, are about the whole
    shoot and never name an angle. A name made by a camera's counter holds no words; then the nearest folder
    speaks that is not part of a card's own layout. Counters of attempts ("take 2", "(1)", "_02") are left
    out, so that takes of one angle meet on one stave; numbers of cameras and folders stay. Words are kept as
    they were written; only the first gets a capital where it has none. None where no word speaks. Nothing is
    read from disk.

    >>> guess_angle("/shoot/fiddle_02.mov")
    AngleGuess(name='Fiddle', safety=False)
    >>> guess_angle("/shoot/Safety wide.mp4")
    AngleGuess(name='Safety wide', safety=True)
    >>> guess_angle("/shoot/Accordion/PRIVATE/M4ROOT/CLIP/C0012.MP4", PurePath("/shoot")).name
    'Accordion'
    >>> guess_angle("/shoot/C0012.MP4", PurePath("/shoot")) is None
    True
    """
    pure = PurePath(path)
    name = ""
    if not is_counter(pure.stem):
        name = _words(pure.stem)
    if not name:
        below = pure.parent.parts[len(root.parts) :] if pure.is_relative_to(root) else pure.parent.parts
        folders = [part for part in below if part.strip("/\\.") and not part.endswith((":", ":\\"))]
        for folder in reversed(folders):
            if not is_layout(folder) and not _ANY_FOLDERS.match(folder):
                name = _words(folder, numbers=True)
                if name:
                    break
    return AngleGuess(name, is_safety_name(name)) if name else None


def root_of(path: str | PurePath, dropped: Iterable[str | PurePath]) -> PurePath:
    """The folder below which names speak of a file, given the files and folders that were dropped or named.

    The innermost of those folders that hold it; of a file that was named by itself, its own folder.

    >>> root_of("/a/b/Singer/C0001.MP4", ["/a", "/a/b"]).as_posix(), root_of("/a/C0001.MP4", []).as_posix()
    ('/a/b', '/a')
    """
    pure = PurePath(path)
    folders = (PurePath(os.path.normpath(one)) for one in dropped)
    holding = [one for one in folders if one != pure and pure.is_relative_to(one)]
    return max(holding, key=lambda one: len(one.parts), default=pure.parent)


def is_counter(stem: str) -> bool:
    """Whether a camera's counter made a file's name (without its suffix), so that it holds no word.

    >>> is_counter("C0012"), is_counter("IMG_1234(1)"), is_counter("fiddle_02")
    (True, True, False)
    """
    return _COUNTERS.match(re.sub(r"\s*\(\d+\)$|\s+\d+$", "", stem)) is not None


def is_layout(folder: str) -> bool:
    """Whether a folder is one that every card brings along, whatever was shot.

    >>> is_layout("DCIM"), is_layout("101ABCDE"), is_layout("Singer")
    (True, True, False)
    """
    return (_CARD_FOLDERS.match(folder) or _COUNTERS.match(folder)) is not None


def is_safety_name(name: str) -> bool:
    """Whether a name sounds like the angle to cut to when the others fail.

    >>> is_safety_name("Safety wide"), is_safety_name("Fiddle")
    (True, False)
    """
    return _SAFETY.search(name) is not None


def same_name(one: str, other: str) -> bool:
    """Tell whether two angle names are one: case, spaces and the way of writing accents do not matter.

    >>> same_name("Wide  shot", "wide shot")
    True
    """
    return _folded(one) == _folded(other)


def tidy_name(name: str) -> str:
    """Make an angle name of what was typed: composed accents, single spaces, nothing at the ends."""
    return " ".join(unicodedata.normalize("NFC", name).split())


@lru_cache(maxsize=4096)
def _folded(name: str) -> str:
    return tidy_name(name).casefold()


def _words(text: str, numbers: bool = False) -> str:
    """The words of a file or folder name, as they were written; empty where there are none."""
    text = tidy_name(text.replace("_", " ").replace(".", " "))
    text = re.sub(r"(?<=[a-z])(?=[A-Z])|(?<=[^\W\d_]{3})(?=\d)", SEAM, text)
    text = tidy_name(_ATTEMPTS.sub(" ", text))
    if not numbers:
        text = tidy_name(_NUMBERS.sub(" ", text))
    text = re.sub(r"(?<!\S)[-–+,;]+(?!\S)", " ", text.replace(SEAM, ""))
    text = tidy_name(text.strip(" -–+,;()[]"))
    if not re.search(r"[^\W\d_]{2}", text):
        return ""
    # "deCarlo" was written so on purpose.
    first = text.split(" ")[0]
    return text if first != first.lower() else text[0].upper() + text[1:]
