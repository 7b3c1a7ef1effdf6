"""A sheet as one HTML page that needs nothing beside it: no links, no scripts, pictures within."""

import base64
from html import escape

from app.handoff.outcome import plain
from app.handoff.sheets.sheet import TICK_BOX, Block, Drawing, Heading, Paper, Pictures, Rows, Sheet, Text

WIDTH = 1000

_STYLE = """
@page { size: SIZE; margin: 14mm; }
body { font: 10.5pt/1.35 "Source Sans Pro", "Helvetica Neue", Arial, sans-serif; color: #000;
  background: #fff; max-width: 190mm; margin: 0 auto; padding: 6mm; }
@media print { body { padding: 0; max-width: none; } }
h1 { font-size: 20pt; margin: 0; } h1 + p { margin: 0 0 6mm; }
h2 { font-size: 13pt; margin: 6mm 0 2mm; break-after: avoid; }
p { margin: 0 0 2mm; } p.small { font-size: 9pt; }
table { width: 100%; border-collapse: collapse; table-layout: fixed; font-size: 9.5pt; }
thead { display: table-header-group; }
th, td { text-align: left; vertical-align: top; padding: 1mm 1.5mm; border-bottom: 0.3mm solid #999;
  overflow-wrap: anywhere; }
th { border-bottom: 0.5mm solid #000; } .right { text-align: right; }
tr { break-inside: avoid; }
.tick { display: inline-block; width: 3.4mm; height: 3.4mm; border: 0.35mm solid #000; }
svg { width: 100%; height: auto; display: block; }
.pictures { display: flex; flex-wrap: wrap; gap: 3mm; }
figure { margin: 0; width: calc((100% - 6mm) / 3); break-inside: avoid; font-size: 8.5pt; }
figure img { width: 100%; display: block; }
"""


def to_html(sheet: Sheet, paper: Paper) -> bytes:
    """The page, in UTF-8; all that people typed is escaped."""
    style = _STYLE.replace("SIZE", "A4" if paper is Paper.A4 else "letter")
    body = "\n".join(_block(block) for block in sheet.blocks)
    text = (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"<title>{_text(sheet.title)}</title>\n<style>{style}</style>\n</head>\n<body>\n"
        f"<h1>{_text(sheet.title)}</h1>\n<p>{_text(sheet.subtitle)}</p>\n{body}\n</body>\n</html>\n"
    )
    return text.encode("utf-8")


def _block(block: Block) -> str:
    match block:
        case Heading():
            return f"<h2>{_text(block.text)}</h2>"
        case Text():
            return (
                f'<p class="small">{_text(block.text)}</p>' if block.small else f"<p>{_text(block.text)}</p>"
            )
        case Rows():
            return _table(block)
        case Drawing():
            return _drawing(block)
        case Pictures():
            return _pictures(block)


def _table(block: Rows) -> str:
    widths = "".join(f'<col style="width: {column.share * 100:.2f}%">' for column in block.columns)
    sides = [' class="right"' if column.right else "" for column in block.columns]
    head = "".join(
        f"<th{side}>{_text(column.title)}</th>" for side, column in zip(sides, block.columns, strict=True)
    )
    rows = "\n".join(
        "<tr>"
        + "".join(f"<td{side}>{_cell(text)}</td>" for side, text in zip(sides, row, strict=True))
        + "</tr>"
        for row in block.rows
    )
    return (
        f"<table>\n<colgroup>{widths}</colgroup>\n<thead><tr>{head}</tr></thead>\n"
        f"<tbody>\n{rows}\n</tbody>\n</table>"
    )


def _cell(text: str) -> str:
    if text == TICK_BOX:
        return '<span class="tick" role="img" aria-label="to tick off"></span>'
    return "<br>".join(_text(line) for line in text.split("\n"))


def _drawing(block: Drawing) -> str:
    parts = []
    for box in block.boxes:
        fill = "url(#hatch)" if box.hatched else f"rgb({round(box.grey * 100)}%,{round(box.grey * 100)}%,"
        fill = fill if box.hatched else f"{fill}{round(box.grey * 100)}%)"
        edge = ' stroke="#000" stroke-width="0.8"' if box.edge else ""
        parts.append(
            f'<rect x="{box.x:.2f}" y="{box.y:.2f}" width="{box.width:.2f}" height="{box.height:.2f}" '
            f'fill="{fill}"{edge}/>'
        )
    for label in block.labels:
        anchor = ' text-anchor="middle"' if label.centred else ""
        weight = ' font-weight="bold"' if label.bold else ""
        text = _text(shortened(label.text, label.size, label.most))
        where = f'x="{label.x:.2f}" y="{label.y:.2f}" font-size="{label.size:.2f}"'
        parts.append(f"<text {where}{anchor}{weight}>{text}</text>")
    hatch = (
        '<defs><pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><rect width="7" height="7" fill="#fff"/>'
        '<line x1="0" y1="0" x2="0" y2="7" stroke="#000" stroke-width="1.6"/></pattern></defs>'
    )
    return (
        f'<svg viewBox="0 0 {WIDTH} {block.height:.2f}" role="img" aria-label="{_text(block.spoken)}" '
        f'font-family="inherit">{hatch}{"".join(parts)}</svg>'
    )


def _pictures(block: Pictures) -> str:
    figures = []
    for one in block.pictures:
        data = base64.b64encode(one.jpeg).decode("ascii")
        figures.append(
            f'<figure><img src="data:image/jpeg;base64,{data}" alt="{_text(one.caption)}">'
            f"<figcaption>{_text(one.caption)}</figcaption></figure>"
        )
    return f'<div class="pictures">{"".join(figures)}</div>'


def shortened(text: str, size: float, most: float) -> str:
    """A text that is at most so wide, by the width of a usual letter; with dots where it was cut.

    >>> shortened("Accordion close", 10.0, 40.0)
    'Accord…'
    """
    room = int(most / (0.55 * size)) if most else len(text)
    return text if len(text) <= room else f"{text[: max(1, room - 1)].rstrip()}…"


def _text(text: str) -> str:
    return escape(plain(text), quote=True)
