"""Text on pictures, without a window system: lettering as masks that are laid over pixels.

Letters come from a font that is installed along (Latin, Greek and Cyrillic). What it lacks is taken from
fonts that systems bring, where there are any; a character that none of them has is a crossed box, as is
common practice, and never another character.
"""

import unicodedata
from functools import lru_cache
from itertools import groupby

import font_source_sans_pro
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

Mask = NDArray[np.uint8]
Picture = NDArray[np.uint8]
Colour = tuple[int, int, int]

_OWN: str = font_source_sans_pro.font_files_ttf["SourceSansProSemibold"]
# Files that common systems keep their fonts in, wide ones first; looked for by name where the system keeps
# fonts. From memory, and nothing depends on any of them.
_OF_THE_SYSTEM = (
    "DejaVuSans.ttf",
    "NotoSans-Regular.ttf",
    "segoeui.ttf",
    "seguisym.ttf",
    "Arial Unicode.ttf",
    "NotoSansCJK-Regular.ttc",
    "Hiragino Sans GB.ttc",
    "msyh.ttc",
    "YuGothM.ttc",
    "malgun.ttf",
    "NotoSansArabic-Regular.ttf",
    "NotoSansHebrew-Regular.ttf",
    "NotoSansDevanagari-Regular.ttf",
    "NotoSansThai-Regular.ttf",
)
_NOWHERE = "\uffff"
"""No character, so a font draws for it what it draws for those it lacks."""
CUT = "…"
_BREAKS = ("Cc", "Zl", "Zp", "Zs")
"""Unicode's kinds of control characters and separators; those of layout alone (Cf) are left out."""


@lru_cache(maxsize=2000)
def lettering(text: str, size: int) -> Mask:
    """One line of text, shape (lines, width), 255 where it covers; as high as the font, whatever is written.

    ``size`` is the font's, in lines. Line breaks and the like become spaces.
    """
    own = _fonts(size)[0]
    above, below = own.getmetrics()
    runs = [(number, "".join(members)) for number, members in groupby(_clean(text), lambda c: _font(c, size))]
    widths = [_fonts(size)[number].getlength(run) for number, run in runs]
    image = Image.new("L", (max(1, int(np.ceil(sum(widths)))), above + below))
    pen = ImageDraw.Draw(image)
    at = 0.0
    for (number, run), width in zip(runs, widths, strict=True):
        pen.text((at, above), run, 255, font=_fonts(size)[number], anchor="ls")
        at += width
    mask = np.array(image)
    mask.flags.writeable = False
    return mask


@lru_cache(maxsize=2000)
def fitting(text: str, size: int, width: int) -> str:
    """The text, or as much of it as ``width`` pixels hold: its end stays, the middle gives way.

    >>> fitting("G0017.MOV", 16, 500)
    'G0017.MOV'
    """
    if lettering(text, size).shape[1] <= width:
        return text
    for kept in range(len(text) - 1, 0, -1):
        end = kept // 2
        short = text[: kept - end].rstrip() + CUT + text[len(text) - end :].lstrip()
        if lettering(short, size).shape[1] <= width:
            return short
    return ""


def lay_over(picture: Picture, mask: Mask, x: int, y: int, colour: Colour) -> None:
    """Colour what a mask covers, its upper left corner at x, y; what lies outside the picture is left out."""
    left, top = max(0, x), max(0, y)
    right, bottom = min(picture.shape[1], x + mask.shape[1]), min(picture.shape[0], y + mask.shape[0])
    if right <= left or bottom <= top:
        return
    share = mask[top - y : bottom - y, left - x : right - x, None].astype(np.uint16)
    under = picture[top:bottom, left:right]
    under[...] = (under * (255 - share) + np.array(colour, np.uint16) * share + 127) // 255


def _clean(text: str) -> str:
    """Composed, so that a font needs the whole letter only; nothing that breaks the line."""
    whole = unicodedata.normalize("NFC", text.encode("utf-8", errors="replace").decode("utf-8"))
    kinds = [(c, unicodedata.category(c)) for c in whole]
    return "".join(" " if kind in _BREAKS else c for c, kind in kinds if kind != "Cf")


@lru_cache(maxsize=64)
def _fonts(size: int) -> list[ImageFont.FreeTypeFont]:
    found = [ImageFont.truetype(_OWN, size)]
    for name in _OF_THE_SYSTEM:
        try:
            found.append(ImageFont.truetype(name, size))
        except OSError:
            continue
    return found


@lru_cache(maxsize=20_000)
def _font(character: str, size: int) -> int:
    """Number of the first font that has a character; 0 where none has."""
    if character.isspace():
        return 0
    for number, font in enumerate(_fonts(size)):
        drawn, lacking = font.getmask(character), font.getmask(_NOWHERE)
        if drawn.size != lacking.size or bytes(drawn) != bytes(lacking):
            return number
    return 0
