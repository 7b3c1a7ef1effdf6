"""Which font draws which letters of a PDF: one in the file, or one that the reader of the PDF has.

The latter are for Chinese, Japanese and Korean, for which a font is larger than the program. ISO 32000-1
(9.7.5.2) names encodings of their letters that need no font in the file: the reader takes one of the system.
"""

from xml.sax.saxutils import escape

import font_source_sans_pro
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.cidfonts import UnicodeCIDFont
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from app.handoff.outcome import plain

REGULAR, BOLD = "AnglebookRegular", "AnglebookBold"
CHINESE, JAPANESE, KOREAN = "STSong-Light", "HeiseiKakuGo-W5", "HYGothic-Medium"
KANA, HANGUL = ((0x3040, 0x30FF), (0x31F0, 0x31FF)), ((0x1100, 0x11FF), (0x3130, 0x318F), (0xAC00, 0xD7A3))
HAN = ((0x3000, 0x303F), (0x3400, 0x4DBF), (0x4E00, 0x9FFF), (0xF900, 0xFAFF), (0xFF01, 0xFF60))
"""Ranges of letters, both ends within (The Unicode Standard, Blocks.txt)."""


def register() -> None:
    """Make the fonts known to the library; later calls do nothing."""
    if REGULAR in pdfmetrics.getRegisteredFontNames():
        return
    for name, file in ((REGULAR, "SourceSansPro"), (BOLD, "SourceSansProSemibold")):
        pdfmetrics.registerFont(TTFont(name, font_source_sans_pro.font_files_ttf[file]))
    for name in (CHINESE, JAPANESE, KOREAN):
        pdfmetrics.registerFont(UnicodeCIDFont(name))


def runs(text: str, font: str = REGULAR) -> list[tuple[str, str]]:
    """A text in pieces of one font each, as pairs of font and piece.

    Letters that no font has become question marks. Chinese letters are Japanese where kana stand beside them.
    """
    glyphs = pdfmetrics.getFont(REGULAR).face.charToGlyph
    text = plain(text)
    han = JAPANESE if any(_within(letter, KANA) for letter in text) else CHINESE
    pieces: list[tuple[str, str]] = []
    for letter in text:
        if ord(letter) in glyphs or letter == " ":
            wanted = font
        elif _within(letter, KANA):
            wanted = JAPANESE
        elif _within(letter, HANGUL):
            wanted = KOREAN
        elif _within(letter, HAN):
            wanted = han
        else:
            wanted, letter = font, "?"
        if pieces and pieces[-1][0] == wanted:
            pieces[-1] = (wanted, pieces[-1][1] + letter)
        else:
            pieces.append((wanted, letter))
    return pieces


def marked(text: str) -> str:
    """As the library's paragraphs read it; nothing that people typed is markup."""
    return "<br/>".join("".join(map(_marked, runs(line))) for line in text.split("\n"))


def breaks_anywhere(text: str) -> bool:
    """Whether lines of a text may end within words, because it has letters of East Asia."""
    return any(_within(letter, (*KANA, *HAN)) for letter in text)


def text_width(text: str, font: str, size: float) -> float:
    """Width of a line of text in points."""
    return sum(float(pdfmetrics.stringWidth(piece, name, size)) for name, piece in runs(text, font))


def draw(canvas: Canvas, x: float, y: float, text: str, font: str, size: float) -> None:
    """Draw a line of text from a point on."""
    for name, piece in runs(text, font):
        canvas.setFont(name, size)
        canvas.drawString(x, y, piece)
        x += float(pdfmetrics.stringWidth(piece, name, size))


def _marked(run: tuple[str, str]) -> str:
    name, piece = run
    return escape(piece) if name == REGULAR else f'<font name="{name}">{escape(piece)}</font>'


def _within(letter: str, ranges: tuple[tuple[int, int], ...]) -> bool:
    return any(first <= ord(letter) <= last for first, last in ranges)
