"""What is handed over and how, as boxes to tick and lists to choose from."""

from collections.abc import Sequence
from enum import StrEnum

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QLineEdit,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.handoff.choices import DEFAULT, Choices, Doubtful, Drift, FilmWish, Form, Scheme
from app.handoff.format import Format, Group
from app.handoff.formats import film_format
from app.handoff.layout import timeline_rate
from app.handoff.registry import FORMATS
from app.model.coverage.coverage import coverage
from app.model.on_song import SongView
from app.model.timebase import TIMECODE_RATES, rate_words
from app.window.parts.drop_down import DropDown
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.parts.tick_box import TickBox

TABLE_FORMS = ((Form.CSV, "Commas (.csv)"), (Form.TSV, "Tabs (.tsv)"))
SCHEMES = ((Scheme.ANGLE, "A track an angle"), (Scheme.TAKE, "A track a take"))
DOUBTS = ((Doubtful.APART, "Apart, switched off"), (Doubtful.NONE, "Left out"))
DRIFTS = ((Drift.LEAVE, "Leave and tell"), (Drift.RESEAT, "Cut, set anew at sections"))
RATES = tuple(sorted(TIMECODE_RATES))
SIZES = ((640, 360), (1280, 720), (1920, 1080), (3840, 2160))


class HandoffChoices(QScrollArea):
    """Shows choices; emits ``changed`` when a person changes them."""

    changed = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._filling = False
        self._angles: tuple[str, ...] = ("",)
        self._bars: tuple[tuple[int, int] | None, ...] = (None,)
        self._labels: dict[QWidget, TextLabel] = {}
        em = round(theme.em())
        held = QWidget()
        box = QVBoxLayout(held)
        box.setContentsMargins(0, 0, em // 2, 0)
        box.setSpacing(round(em * 0.25))
        self.boxes: dict[str, TickBox] = {}
        """By the word of the format."""
        for group in Group:
            box.addWidget(TextLabel(theme, group.value, bold=True, wrap=False))
            for one in FORMATS:
                if one.group is group:
                    box.addWidget(self._tick(one))
            box.addSpacing(em // 3)
        box.addWidget(TextLabel(theme, "How", bold=True, wrap=False))
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(em // 2)
        self._grid.setVerticalSpacing(round(em * 0.3))
        self._grid.setColumnStretch(1, 1)
        box.addLayout(self._grid)
        box.addStretch(1)
        self._add_fields()
        self.setWidget(held)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)
        self.show_shoot(SongView())
        self.show_choices(DEFAULT)

    def sizeHint(self) -> QSize:
        """As wide as what it holds, and its scroll bar."""
        held = self.widget()
        assert held is not None
        wide = held.sizeHint().width() + self.verticalScrollBar().sizeHint().width()
        return QSize(wide, super().sizeHint().height())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self.widget() and event.type() == QEvent.Type.LayoutRequest:
            self.updateGeometry()  # what it holds is wider now, or less wide
        return super().eventFilter(watched, event)

    def minimumSizeHint(self) -> QSize:
        return QSize(self.sizeHint().width(), round(self._theme.em() * 10))

    @property
    def choices(self) -> Choices:
        """What is chosen now."""
        width, height = SIZES[self.film_size.currentIndex()]
        return Choices(
            what=frozenset(word for word, box in self.boxes.items() if box.isChecked()),
            form=TABLE_FORMS[self.form.currentIndex()][0],
            rate=(None, *RATES)[self.rate.currentIndex()],
            start=self.start.text().strip(),
            scheme=SCHEMES[self.scheme.currentIndex()][0],
            doubtful=DOUBTS[self.doubtful.currentIndex()][0],
            drift=DRIFTS[self.drift.currentIndex()][0],
            film=FilmWish(
                width=width,
                height=height,
                angle_id=self._angles[self.film_angle.currentIndex()],
                bars=self._bars[self.film_bars.currentIndex()],
            ),
        )

    def show_choices(self, choices: Choices) -> None:
        """Show choices, without telling of a change."""
        self._filling = True
        for word, box in self.boxes.items():
            box.setChecked(word in choices.what)
        self.rate.setCurrentIndex(RATES.index(choices.rate) + 1 if choices.rate in RATES else 0)
        self.start.setText(choices.start)
        self.scheme.setCurrentIndex(_index(SCHEMES, choices.scheme))
        self.doubtful.setCurrentIndex(_index(DOUBTS, choices.doubtful))
        self.drift.setCurrentIndex(_index(DRIFTS, choices.drift))
        self.form.setCurrentIndex(_index(TABLE_FORMS, choices.form))
        size = (choices.film.width, choices.film.height)
        self.film_size.setCurrentIndex(SIZES.index(size) if size in SIZES else SIZES.index((1280, 720)))
        self._show_film()
        self._filling = False

    def show_shoot(self, shoot: SongView) -> None:
        """Offer what this shoot has: its usual rate, its angles, its sections."""
        self._filling = True
        self.rate.setItemText(0, f"{rate_words(timeline_rate(shoot))}, as most clips")
        shown = [
            angle for angle in shoot.angles if any(c.angle_id == angle.id and c.takes for c in shoot.clips)
        ]
        self._angles = ("", *(angle.id for angle in shown))
        _refill(self.film_angle, ["All angles", *(angle.name for angle in shown)])
        parts = [part for part in coverage(shoot) if part.bars]
        self._bars = (None, *((part.bars[0].bar.number, part.bars[-1].bar.number) for part in parts))
        names = [f"{part.section.letter} {part.section.name}".strip() for part in parts]
        _refill(self.film_bars, ["Whole song", *names])
        self._filling = False

    def _add_fields(self) -> None:
        self.rate = self._list(
            "Frame fre&quency", "Frames a second of the timeline", ["", *map(rate_words, RATES)]
        )
        self.start = QLineEdit()
        self.start.setAcceptDrops(False)  # files dropped anywhere belong to the window
        self.start.textChanged.connect(self._tell)
        self._field(
            "So&ng starts at", "Timecode of the song's start; 01:00:00;00 counts drop-frame", self.start
        )
        self.scheme = self._list("La&y out", "How takes are laid on tracks", _texts(SCHEMES))
        self.doubtful = self._list(
            "Takes in dou&bt", "On tracks of their own that are off, or left out", _texts(DOUBTS)
        )
        self.drift = self._list(
            "Clocks r&unning apart",
            "A take that drifts by more than a quarter of a frame: left whole, or cut where sections begin",
            _texts(DRIFTS),
        )
        self.form = self._list("&Write tables with", "Form of all tables", _texts(TABLE_FORMS))
        sizes = [f"{width} × {height}" for width, height in SIZES]
        self.film_size = self._list("Film si&ze", "Pixels of the proof film", sizes)
        self.film_angle = self._list(
            "Film's an&gles", "All angles with the song, or one angle: song left, take right", ["All angles"]
        )
        self.film_bars = self._list("Film's e&xcerpt", "The whole song, or a section of it", ["Whole song"])

    def _tick(self, one: Format) -> TickBox:
        box = TickBox(self._theme, one.label)
        box.setAccessibleName(one.name)
        box.setToolTip(f"{one.tooltip} (Alt+{_letter(one.label)})" if "&" in one.label else one.tooltip)
        box.toggled.connect(self._tell)
        self.boxes[one.word] = box
        return box

    def _list(self, text: str, tip: str, entries: Sequence[str]) -> DropDown:
        field = DropDown(self._theme)
        field.addItems(list(entries))
        field.currentIndexChanged.connect(self._tell)
        self._field(text, tip, field)
        return field

    def _field(self, text: str, tip: str, field: QWidget) -> None:
        field.setAccessibleName(text.replace("&", ""))
        field.setToolTip(f"{tip} (Alt+{_letter(text)})")
        label = TextLabel(self._theme, text, role="dim", wrap=False)
        label.setBuddy(field)
        row = self._grid.rowCount()
        self._grid.addWidget(label, row, 0)
        self._grid.addWidget(field, row, 1)
        self._labels[field] = label

    def _tell(self) -> None:
        if not self._filling:
            self._show_film()
            self.changed.emit()

    def _show_film(self) -> None:
        for field in (self.film_size, self.film_angle, self.film_bars):
            for one in (field, self._labels[field]):
                one.setVisible(self.boxes[film_format.FORMAT.word].isChecked())


def _letter(text: str) -> str:
    return text[text.index("&") + 1].upper()


def _index(entries: Sequence[tuple[StrEnum, str]], word: StrEnum) -> int:
    return [one for one, _ in entries].index(word)


def _texts(entries: Sequence[tuple[StrEnum, str]]) -> list[str]:
    return [text for _, text in entries]


def _refill(field: DropDown, entries: list[str]) -> None:
    """New entries; the one chosen stays chosen where it is still there, at its number."""
    if [field.itemText(n) for n in range(field.count())] == entries:
        return
    before = field.currentText()
    field.clear()
    field.addItems(entries)
    field.setCurrentIndex(max(0, field.findText(before)))
