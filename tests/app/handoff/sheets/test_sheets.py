"""Sheets read back: PDF by the ``pypdf`` package, HTML by the standard library's parser."""

import io
from dataclasses import replace
from html.parser import HTMLParser

import pypdf
import pytest
from PIL import Image

from app.handoff.sheets.contents import CAUTIONS, Kind, clock, sheet_of
from app.handoff.sheets.sheet import TICK_BOX, Column, Drawing, Paper, Picture, Rows, Sheet, Text
from app.handoff.sheets.writing import sheet_bytes
from app.model.document.angle import Angle
from app.model.document.marks import FaultReason, Mark, MarkKind
from app.model.document.plan import Need, Passage, Plan, SetUp
from app.model.document.song import LyricLine, Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView
from tests.app.random_shoots import clip, media, shoot, take

NASTY = "Fiddle <b>&amp;</b> \"Zoë\" 'x'"
SIZES = {Paper.A4: (210 / 25.4 * 72, 297 / 25.4 * 72), Paper.LETTER: (612, 792)}
every_kind = pytest.mark.parametrize("kind", list(Kind))


def long_shoot(sections: int) -> SongView:
    """A song of so many sections of eight bars of 2 s, five angles, twelve clips and a plan."""
    names = ("Intro", "Verse", "Chorus", "Fiddle break", "Bridge after the long instrumental")
    parts = tuple(
        Section(f"S{n}", names[n % 5], n * 16.0, (n + 1) * 16.0, id=f"section-{n}") for n in range(sections)
    )
    bars = tuple(2.0 * n for n in range(sections * 8))
    words = tuple(LyricLine(f"words of line {n}", n * 16.0 + 1) for n in range(sections))
    duration_s = sections * 16.0
    song = Song(media("/shoot/Larkspur Waltz.wav"), duration_s, SongMap(90.0, (), bars, parts), lyrics=words)
    angles = (
        Angle("angle-1", "Balcony", True, ("whole band",)),
        Angle("angle-2", NASTY, False, ("fiddle",)),
        Angle("angle-3", "Drums"),
    )
    fault = Mark("m", "clip-0", MarkKind.FAULT, 4.0, 8.0, FaultReason.FOCUS)
    clips = tuple(
        clip(
            n,
            take(
                f"t{n}",
                n * duration_s / 20,
                n * duration_s / 20 + duration_s / 3,
                verdict=Verdict.DOUBTFUL if n == 7 else Verdict.PLACED,
            ),
            angle=f"angle-{n % 3 + 1}",
            marks=(replace(fault, clip_id=f"clip-{n}"),) if n % 4 == 0 else (),
        )
        for n in range(12)
    )
    needs = (
        Need("n1", "song-1", Passage(section_id="section-1"), "fiddle", note="the run"),
        Need("n2", "song-1", Passage(), "trumpet"),
    )
    set_ups = (SetUp("s1", "song-1", "Balcony"), SetUp("s2", "song-1", NASTY, note="low <light>"))
    return replace(shoot(*clips, angles=angles, song=song), plan=Plan(needs, set_ups))


def picture(_: Clip, clip_s: float) -> Picture:
    file = io.BytesIO()
    Image.new("L", (64, 36), 90).save(file, "JPEG")
    assert clip_s > 0
    return Picture(file.getvalue(), 64, 36, "")


def made(kind: Kind, sections: int = 3) -> Sheet:
    return sheet_of(long_shoot(sections), kind, picture)


def squeezed(text: str) -> str:
    return "".join(text.split())


@pytest.mark.parametrize("paper", list(Paper))
@pytest.mark.parametrize("sections", [3, 30])
@every_kind
def test_a_pdf_holds_all_of_it_within_its_pages(kind: Kind, sections: int, paper: Paper) -> None:
    sheet = made(kind, sections)
    reader = pypdf.PdfReader(io.BytesIO(sheet_bytes(sheet, ".pdf", paper)))
    outside = []
    for page in reader.pages:
        assert [float(page.mediabox.width), float(page.mediabox.height)] == pytest.approx(SIZES[paper])

        def look(text: str, *matrices: object) -> None:
            cm, tm = matrices[0], matrices[1]
            if text.strip():
                x = tm[4] * cm[0] + cm[4]  # type: ignore[index]
                y = tm[5] * cm[3] + cm[5]  # type: ignore[index]
                if not (20 <= x <= SIZES[paper][0] - 20 and 20 <= y <= SIZES[paper][1] - 20):
                    outside.append((text, x, y))

        page.extract_text(visitor_text=look)
    assert not outside
    text = squeezed(" ".join(page.extract_text() for page in reader.pages))
    for words in told(sheet):
        assert squeezed(words) in text
    assert all(len(page.extract_text().split()) > 12 for page in reader.pages), "no page is nearly empty"


def told(sheet: Sheet) -> list[str]:
    """Everything a sheet says that is not a drawing's label, which may be shortened."""
    found = [sheet.title, sheet.subtitle]
    for block in sheet.blocks:
        if hasattr(block, "rows"):
            found += [cell for row in block.rows for cell in row if cell not in ("", TICK_BOX)]
        elif hasattr(block, "text"):
            found.append(block.text)
        elif hasattr(block, "pictures"):
            found += [one.caption for one in block.pictures]
    return found


class _Page(HTMLParser):
    """The text of a page, and everything that would be fetched from elsewhere."""

    def __init__(self) -> None:
        super().__init__()
        self.text, self.links, self.tags, self.open = "", [], set(), []  # type: ignore[var-annotated]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        outside = [text for name, text in attrs if name in ("src", "href", "xlink:href")]
        self.links += [text for text in outside if not str(text).startswith("data:")]
        if tag not in ("meta", "br", "col", "img"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


@every_kind
def test_a_page_needs_nothing_beside_it_and_lets_no_markup_in(kind: Kind) -> None:
    sheet = made(kind)
    page = _Page()
    text = sheet_bytes(sheet, ".html", Paper.LETTER).decode("utf-8")
    page.feed(text)
    assert not page.open
    assert page.links == []
    assert "size: letter" in text
    assert not page.tags & {"b", "script", "light", "link", "iframe"}
    for words in told(sheet):
        assert squeezed(words) in squeezed(page.text)


@every_kind
@pytest.mark.parametrize("suffix", [".pdf", ".html"])
def test_the_same_sheet_gives_the_same_bytes(kind: Kind, suffix: str) -> None:
    assert sheet_bytes(made(kind), suffix, Paper.A4) == sheet_bytes(made(kind), suffix, Paper.A4)


def test_the_plan_has_cautions_and_boxes_to_tick() -> None:
    words = told(made(Kind.PLAN))
    assert CAUTIONS in words
    shutters = [block for block in made(Kind.PLAN).blocks if isinstance(block, Rows)][-1]
    assert shutters.rows == (
        ("25 fps", "180° (1/50 s), or 90, 270, 360°", "150° (1/60 s), or 75, 225, 300°"),
    )
    assert any("come before these figures" in one for one in words)
    assert "words of line 0" in words
    tables = [block for block in made(Kind.PLAN).blocks if isinstance(block, Rows)]
    assert [cell for table in tables for row in table.rows for cell in row].count(TICK_BOX) == 2


def test_a_set_up_that_is_done_is_ticked() -> None:
    shown = shoot(clip(1, take("t", 0, 24)))
    sheet = sheet_of(replace(shown, plan=Plan(set_ups=(SetUp("s", "song-1", "Fiddle"),))), Kind.PLAN)
    assert any(row[0] == "✓" for block in sheet.blocks if hasattr(block, "rows") for row in block.rows)


def test_a_set_up_tells_where_the_camera_of_its_angle_stands() -> None:
    shown = long_shoot(3)
    angles = (replace(shown.angles[0], place="front rail", camera="A, 24 mm"), *shown.angles[1:])
    text = "\n".join(told(sheet_of(replace(shown, angles=angles), Kind.PLAN)))
    assert "Balcony\nfront rail, A, 24 mm" in text


def test_the_score_on_paper_shows_ends_exactly_and_each_angle_once() -> None:
    shown = shoot(clip(1, take("t", 6.0, 18.0)))
    (drawing,) = (block for block in sheet_of(shown, Kind.COVERAGE).blocks if isinstance(block, Drawing))
    grey = [box for box in drawing.boxes if 0 < box.grey < 1]
    (box,) = grey
    # 830 parts of the width stand for 24 s.
    assert (box.x - 170) / 830 * 24 == pytest.approx(6.0)
    assert box.width / 830 * 24 == pytest.approx(12.0)
    assert [label.text for label in drawing.labels].count("Fiddle") == 1


def test_the_overview_stays_on_one_page_with_many_angles_and_bars() -> None:
    many = tuple(Angle(f"angle-{n}", f"Angle {n}") for n in range(60))
    for view in (replace(long_shoot(30), angles=many), long_shoot(30), long_shoot(1)):
        (drawing,) = (block for block in sheet_of(view, Kind.COVERAGE).blocks if isinstance(block, Drawing))
        assert drawing.height <= 1200
        assert all(box.x >= 0 and box.x + box.width <= 1000.01 for box in drawing.boxes)
        assert all(box.y >= 0 and box.y + box.height <= drawing.height for box in drawing.boxes)


def test_letters_that_the_font_does_not_have_are_marked() -> None:
    sheet = Sheet("\N{OLD PERSIAN SIGN A} & song", "", ())
    text = pypdf.PdfReader(io.BytesIO(sheet_bytes(sheet, ".pdf", Paper.A4))).pages[0].extract_text()
    assert "? & song" in text


def test_letters_of_east_asia_are_drawn_within_the_page() -> None:
    lines = ("海边的华尔兹 for fiddle", "港のワルツ", "항구의 왈츠, second time")
    long = "夜の港に灯りがともり船はしずかに帰ってくる" * 6
    columns = (Column("Song", 0.3), Column("Lyrics", 0.7))
    sheet = Sheet(lines[0], lines[1], (Rows(columns, ((f"{lines[2]} & <b>", long),)), Text(long)))
    (page,) = pypdf.PdfReader(io.BytesIO(sheet_bytes(sheet, ".pdf", Paper.A4))).pages
    ends = []

    def look(text: str, cm: list[float], tm: list[float], _: object, size: float) -> None:
        # These letters are as wide as they are high.
        east = max(sum(letter > "\u2fff" for letter in line) for line in text.split("\n"))
        ends.append(tm[4] * cm[0] + cm[4] + size * east)

    text = squeezed(page.extract_text(visitor_text=look))
    for line in (*lines, f"{lines[2]} & <b>"):
        assert squeezed(line) in text
    assert text.count(squeezed(long)) == 2
    assert "?" not in text
    assert 500 < max(ends) <= SIZES[Paper.A4][0] - 20


@every_kind
def test_without_a_song_there_is_no_sheet(kind: Kind) -> None:
    with pytest.raises(ValueError, match="no song yet"):
        sheet_of(SongView(), kind)


def test_a_sheet_has_the_shoots_name_and_set_ups_their_bars_and_times() -> None:
    set_ups = (SetUp("s", "song-1", "Crane", ("drums",), Passage(section_id="section-1")),)
    shown = long_shoot(3)
    shown = replace(shown, name="Evening at the Weir", plan=Plan(set_ups=set_ups))
    sheet = sheet_of(shown, Kind.PLAN)
    assert sheet.title == "Plan: Evening at the Weir"
    assert "S1 Verse\nbars 9–16, 0:16 to 0:32" in told(sheet)
    assert sheet_of(replace(shown, name=""), Kind.PLAN).title == "Plan: Larkspur Waltz"


def test_the_plan_sheet_tells_a_minimum_of_bars() -> None:
    needs = (Need("n", "song-1", Passage(), "drums", 1), Need("m", "song-1", Passage(), "bass", 4, 2))
    shown = replace(shoot(clip(1, take("t", 0, 24))), plan=Plan(needs))
    rows = told(sheet_of(shown, Kind.PLAN))
    assert any("drums, at least 1 bar\n" in cell for cell in rows)
    assert any("bass from 2 angles, at least 4 bars" in cell for cell in rows)


def test_the_pick_ups_sheet_asks_for_one_more_angle_and_not_for_one_of_several() -> None:
    shown = replace(
        shoot(clip(1, take("t", 0, 24))), plan=Plan((Need("n", "song-1", Passage(), "any angle", 0, 2),))
    )
    cells = told(sheet_of(shown, Kind.PICK_UPS))
    assert any(cell.startswith("one more angle") for cell in cells)


def test_nothing_missing_is_said() -> None:
    sheet = sheet_of(shoot(clip(1, take("t", 0, 24))), Kind.PICK_UPS)
    assert told(sheet)[-1] == "Nothing is planned yet. Only one angle has bars 1–12."


def test_a_clock() -> None:
    assert [clock(s) for s in (0.0, 59.6, 3599.0, -0.2)] == ["0:00", "1:00", "59:59", "0:00"]


def test_nothing_is_below_nothing() -> None:
    sheet = sheet_of(shoot(clip(1, take("t", -0.0001, 24))), Kind.SYNC)
    assert any("0.000 s to" in words for words in told(sheet))
    assert not any("-0.000" in words for words in told(sheet))
