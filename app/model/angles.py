"""What a camera was set up to show, guessed from where its file lies and what it is called.

A guess and nothing more: the maker renames an angle, or moves a clip to another one, at any time.
"""

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from pathlib import PurePath

NO_WORDS = "Clips"
"""Angle of a file whose name and folders say nothing at all."""

# Counters that cameras, telephones and recorders give their files: letters, then figures, and no word
# among them. Common practice, gathered from file names in use: DCF names (JEITA CP-3461: four characters
# and four figures) and the counters of the makers that number freely.
_COUNTERS = re.compile(
    r"""^(?:
        \d+                                            # 00012
      | [A-Z]\d{3,}(?:[A-Z]\d{2,})?(?:[_-].*)?         # C0012, P1000123, A001C003_…
      | [A-Z]{2}\d{6}                                  # GX010023
      | (?:[A-Z]{3}_|_[A-Z]{3})\d{4}                   # IMG_1234, _DSC0042
      | (?:DSC|DSCF|DSCN|IMG|MVI|MOV|MAH|MAQ|VID|PXL|CLIP|STE|ZOOM|REC|DJI|MAX|SAM)[_-]?\d[\d_-]*(?:[A-Z]{2})?
    )$""",
    re.VERBOSE | re.IGNORECASE,
)
# Folders that a card brings along, whatever was shot.
_CARD_FOLDERS = re.compile(
    r"""^(?:
        DCIM | PRIVATE | CLIP | CLIPS\d+ | STREAM | BDMV | AVCHD | XDROOT | M4ROOT | MP_ROOT | AVF_INFO | SUB
      | CONTENTS | VIDEO | VIDEOS | MEDIA | CARD[ _-]?\d* | SD[ _-]?\d* | MISC | MOVIES? | THMBNL | GENERAL
      | \d{3}[A-Z0-9_]{5} | \d{3}[A-Z]{3,} | \d+ | \d{4}[-_.]?\d{2}[-_.]?\d{2}
    )$""",
    re.VERBOSE | re.IGNORECASE,
)
# The part of a name that counts attempts: "take 2", "_t2", "pick-up 3", "restart", "(1)".
_ATTEMPTS = re.compile(
    r"""(?:
        \(\d+\)
      | \b(?:take|retake|restart|again|pick[ -]?ups?|copy)[ -]?\d*\b
      | \b(?:tk|t|pu|v|version|run|pass|part|pt)[ -]?\d+\b
    )""",
    re.VERBOSE | re.IGNORECASE,
)
# A bare number in a file's name counts attempts too, but behind these words it tells cameras apart.
_NUMBERS = re.compile(
    r"(?<!\bcam )(?<!\bcamera )(?<!\bkamera )(?<!\bangle )(?<!\bphone )(?<!\bunit )(?<![^\W\d_])\b\d+\b",
    re.IGNORECASE,
)
_SAFETY = re.compile(r"\b(?:safety|wide|whole band|totale?|master shot)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class AngleGuess:
    """A name for the angle, and whether it looks like the safety."""

    name: str
    safety: bool


def guess_angle(path: str | PurePath) -> AngleGuess:
    """Guess the angle of a file from the words in its name, or else in its folders' names.

    A name made by a camera's counter holds no words; then the nearest folder speaks that is not part of a
    card's own layout, and where none does, the name itself. Counters of attempts ("take 2", "(1)", "_02")
    are left out, so that takes of one angle meet on one stave; numbers of cameras and folders stay. Nothing
    is read from disk.

    >>> guess_angle("/shoot/fiddle_02.mov")
    AngleGuess(name='Fiddle', safety=False)
    >>> guess_angle("/shoot/Safety wide.mp4")
    AngleGuess(name='Safety wide', safety=True)
    >>> guess_angle("/shoot/Accordion/PRIVATE/M4ROOT/CLIP/C0012.MP4").name
    'Accordion'
    """
    pure = PurePath(path)
    name = ""
    if not _COUNTERS.match(re.sub(r"\s*\(\d+\)$", "", pure.stem)):
        name = _words(pure.stem)
    if not name:
        folders = [
            part for part in pure.parent.parts if part.strip("/\\.") and not part.endswith((":", ":\\"))
        ]
        for folder in reversed(folders):
            if not _CARD_FOLDERS.match(folder) and not _COUNTERS.match(folder):
                name = _words(folder, numbers=True)
                if name:
                    break
    name = name or pure.stem.strip() or NO_WORDS
    return AngleGuess(name, safety=_SAFETY.search(name) is not None)


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
    """The words of a file or folder name with a capital in front; empty where there are none."""
    text = tidy_name(text.replace("_", " ").replace(".", " "))
    text = re.sub(r"(?<=[a-z])(?=[A-Z])|(?<=[^\W\d_]{3})(?=\d)", " ", text)
    text = tidy_name(_ATTEMPTS.sub(" ", text))
    if not numbers:
        text = tidy_name(_NUMBERS.sub(" ", text))
    text = re.sub(r"(?<!\S)[-–+,;]+(?!\S)", " ", text)
    text = tidy_name(text.strip(" -–+,;()[]"))
    if not re.search(r"[^\W\d_]{2}", text):
        return ""
    return text[0].upper() + text[1:]
