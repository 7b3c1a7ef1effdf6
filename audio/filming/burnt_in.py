"""Text burnt into pictures, without a window system: masks of text that are blended over pixels.

The font is installed with the project (Latin, Greek and Cyrillic). Characters it lacks are taken from fonts
of the system, where there are any. A character that no font has is drawn as a crossed box, as is common
practice, never as another character.
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
# Font files of common systems, those with many characters first; found by name where the system keeps fonts.
# From memory; nothing depends on any of them.
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
"""Not a character: a font draws it like those it lacks."""
CUT = "…"
"""Replaces what does not fit."""
_BREAKS = ("Cc", "Zl", "Zp", "Zs")
"""Unicode categories of control characters and separators, which become spaces; layout characters (Cf) are
removed."""


@lru_cache(maxsize=2000)
def lettering(text: str, size: int) -> Mask:
    """Mask of one line of text, shape (height, width), 255 where it covers; the height depends on the font
    alone.

    ``size`` is the font size in pixels. Line breaks and the like become spaces.
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
    """Shorten a text to ``width`` pixels at font size ``size`` (pixels): start and end stay, the middle is
    cut.

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
    """Blend a colour into a picture through a mask with its upper left corner at x, y (pixels); clipped to
    the picture."""
    left, top = max(0, x), max(0, y)
    right, bottom = min(picture.shape[1], x + mask.shape[1]), min(picture.shape[0], y + mask.shape[0])
    if right <= left or bottom <= top:
        return
    share = mask[top - y : bottom - y, left - x : right - x, None].astype(np.uint16)
    under = picture[top:bottom, left:right]
    under[...] = (under * (255 - share) + np.array(colour, np.uint16) * share + 127) // 255


def _clean(text: str) -> str:
    """Normalise to composed characters, which fonts have more often, and remove line breaks."""
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
    """Index of the first font that has a character; 0 where none has."""
    if character.isspace():
        return 0
    for number, font in enumerate(_fonts(size)):
        drawn, lacking = font.getmask(character), font.getmask(_NOWHERE)
        if drawn.size != lacking.size or bytes(drawn) != bytes(lacking):
            return number
    return 0
