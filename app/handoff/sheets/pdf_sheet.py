"""A sheet as PDF, made by the reportlab library: pages with numbers, same bytes every time."""

import io
from typing import Any

from reportlab.lib.colors import black, white
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    LongTable,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    TableStyle,
)

from app.handoff.outcome import plain
from app.handoff.sheets.pdf_letters import BOLD, REGULAR, breaks_anywhere, draw, marked, register, text_width
from app.handoff.sheets.sheet import (
    TICK_BOX,
    Block,
    Box,
    Drawing,
    Heading,
    Label,
    Paper,
    Picture,
    Pictures,
    Rows,
    Sheet,
    Text,
)

MARGIN = 40.0
"""Points at every side: what home printers cannot reach is less."""
IN_A_ROW, GAP = 3, 9.0
ROOM_BELOW_HEADING = 110.0
"""Points that a heading wants below it: some lines of what follows."""
_WIDTH = 1000.0
_HATCH = 5.0


def to_pdf(sheet: Sheet, paper: Paper) -> bytes:
    """The file."""
    register()
    out = io.BytesIO()
    width, height = paper.size_pt
    document = SimpleDocTemplate(
        out,
        pagesize=(width, height),
        leftMargin=MARGIN,
        rightMargin=MARGIN,
        topMargin=MARGIN,
        bottomMargin=MARGIN + 8,
        title=plain(sheet.title),
        invariant=1,
    )
    room = width - 2 * MARGIN - 12  # the frame's own padding
    story: list[Any] = [
        _paragraph(sheet.title, _style(20, bold=True)),
        _paragraph(sheet.subtitle, _style(10.5)),
        Spacer(1, 8),
    ]
    for block in sheet.blocks:
        story += _flowables(block, room)

    def number(canvas: Canvas, _: object) -> None:
        draw(canvas, MARGIN + 6, MARGIN - 8, sheet.title, REGULAR, 8.5)
        canvas.setFont(REGULAR, 8.5)
        canvas.drawRightString(width - MARGIN - 6, MARGIN - 8, f"page {canvas.getPageNumber()}")

    document.build(story, onFirstPage=number, onLaterPages=number)
    return out.getvalue()


def _flowables(block: Block, room: float) -> list[Any]:
    match block:
        case Heading():
            # Kept with the next block as a whole, a heading would take a long table to a page of its own.
            heading = _paragraph(block.text, _style(13, bold=True, before=10, after=4))
            return [CondPageBreak(ROOM_BELOW_HEADING), heading]
        case Text():
            return [_paragraph(block.text, _style(9 if block.small else 10.5, after=5))]
        case Rows():
            return [_table(block, room), Spacer(1, 6)]
        case Drawing():
            return [_Drawn(block, room), Spacer(1, 6)]
        case Pictures():
            rows = [block.pictures[n : n + IN_A_ROW] for n in range(0, len(block.pictures), IN_A_ROW)]
            return [_Shown(row, room) for row in rows]


def _table(block: Rows, room: float) -> LongTable:
    plain_, right = _style(9.5), _style(9.5, right=True)
    head, head_right = _style(9.5, bold=True), _style(9.5, bold=True, right=True)
    lines: list[list[Any]] = [
        [_paragraph(one.title, head_right if one.right else head) for one in block.columns]
    ]
    for row in block.rows:
        lines.append(
            [
                _TickBox() if text == TICK_BOX else _paragraph(text, right if one.right else plain_)
                for text, one in zip(row, block.columns, strict=True)
            ]
        )
    return LongTable(
        lines,
        colWidths=[one.share * room for one in block.columns],
        repeatRows=1,
        style=TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 3),
                ("RIGHTPADDING", (0, 0), (-1, -1), 3),
                ("TOPPADDING", (0, 0), (-1, -1), 2.5),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 3.5),
                ("LINEBELOW", (0, 0), (-1, 0), 1.2, black),
                ("LINEBELOW", (0, 1), (-1, -1), 0.4, black),
            ]
        ),
    )


class _TickBox(Flowable):  # type: ignore[misc]
    """A box to tick off with a pen."""

    def __init__(self) -> None:
        super().__init__()
        self.width = self.height = 10.0

    def draw(self) -> None:
        self.canv.setLineWidth(0.9)
        self.canv.rect(0, 0, 9.5, 9.5)


class _Drawn(Flowable):  # type: ignore[misc]
    """A drawing, as wide as the page."""

    def __init__(self, drawing: Drawing, room: float) -> None:
        super().__init__()
        self._drawing, self._scale = drawing, room / _WIDTH
        self.width, self.height = room, drawing.height * self._scale

    def draw(self) -> None:
        canvas = self.canv
        canvas.saveState()
        canvas.scale(self._scale, self._scale)
        for box in self._drawing.boxes:
            self._box(canvas, box)
        for label in self._drawing.labels:
            self._label(canvas, label)
        canvas.restoreState()

    def _box(self, canvas: Canvas, box: Box) -> None:
        y = self._drawing.height - box.y - box.height
        canvas.setLineWidth(0.8)
        canvas.setStrokeColor(black)
        canvas.setFillColor(white if box.hatched else (box.grey, box.grey, box.grey))
        canvas.rect(box.x, y, box.width, box.height, stroke=0, fill=1)
        if box.hatched:
            canvas.saveState()
            clip = canvas.beginPath()
            clip.rect(box.x, y, box.width, box.height)
            canvas.clipPath(clip, stroke=0)
            at = box.x - box.height
            while at < box.x + box.width:
                canvas.line(at, y, at + box.height, y + box.height)
                at += _HATCH
            canvas.restoreState()
        if box.edge:
            canvas.rect(box.x, y, box.width, box.height, stroke=1, fill=0)

    def _label(self, canvas: Canvas, label: Label) -> None:
        font = BOLD if label.bold else REGULAR
        text = label.text
        if label.most and text_width(text, font, label.size) > label.most:
            while text and text_width(f"{text}…", font, label.size) > label.most:
                text = text[:-1]
            text = f"{text.rstrip()}…"
        canvas.setFillColor(black)
        x = label.x - text_width(text, font, label.size) / 2 if label.centred else label.x
        draw(canvas, x, self._drawing.height - label.y, text, font, label.size)


class _Shown(Flowable):  # type: ignore[misc]
    """A row of pictures, each with a line below it."""

    def __init__(self, pictures: tuple[Picture, ...], room: float) -> None:
        super().__init__()
        self._pictures = pictures
        self._each = (room - GAP * (IN_A_ROW - 1)) / IN_A_ROW
        self._tall = max(self._each * min(1.0, one.height / one.width) for one in pictures)
        self.width, self.height = room, self._tall + 20

    def draw(self) -> None:
        for number, one in enumerate(self._pictures):
            x = number * (self._each + GAP)
            scale = min(self._each / one.width, self._tall / one.height)
            width, height = one.width * scale, one.height * scale
            image = ImageReader(io.BytesIO(one.jpeg))
            self.canv.drawImage(image, x + (self._each - width) / 2, 20, width, height)
            text = one.caption
            while text and text_width(text, REGULAR, 8.5) > self._each:
                text = text[:-1]
            draw(self.canv, x, 9, text, REGULAR, 8.5)


def _style(
    size: float, *, bold: bool = False, right: bool = False, before: float = 0, after: float = 0
) -> ParagraphStyle:
    return ParagraphStyle(
        "s",
        fontName=BOLD if bold else REGULAR,
        fontSize=size,
        leading=size * 1.25,
        spaceBefore=before,
        spaceAfter=after,
        alignment=TA_RIGHT if right else 0,
        splitLongWords=1,
    )


def _paragraph(text: str, style: ParagraphStyle) -> Paragraph:
    if breaks_anywhere(text):
        style = ParagraphStyle(style.name, parent=style, wordWrap="CJK")
    return Paragraph(marked(text), style)
