"""What is handed off and how, as boxes to tick and lists to choose from."""

from collections.abc import Mapping, Sequence
from enum import StrEnum

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QGridLayout,
    QLineEdit,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app.handoff.choices import DEFAULT, Choices, Conform, Doubtful, Drift, FilmWish, Form, Scheme
from app.handoff.format import without_key
from app.handoff.formats import conformed_format, film_format, first_pass_format, string_out_format
from app.handoff.layout import timeline_rate
from app.model.coverage.coverage import coverage
from app.model.on_song import SongView
from app.model.timebase import TIMECODE_RATES, rate_words
from app.window.handoff.format_guide import FormatGuide
from app.window.handoff.sequence_choices import SequenceChoices
from app.window.parts import theme as looks
from app.window.parts.drop_down import DropDown
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.parts.tick_box import TickBox

TABLE_FORMS = ((Form.CSV, "Commas (.csv)"), (Form.TSV, "Tabs (.tsv)"))
SCHEMES = ((Scheme.ANGLE, "One track per angle"), (Scheme.TAKE, "One track per take"))
DOUBTS = ((Doubtful.APART, "On disabled tracks"), (Doubtful.NONE, "Leave out"))
DRIFTS = ((Drift.LEAVE, "Leave and report"), (Drift.RESEAT, "Cut at sections"))
CONFORMS = ((Conform.LINE, "Clock drift"), (Conform.LAG, "Also a moving camera"))
RATES = tuple(sorted(TIMECODE_RATES))
LEAST_EM = 20
"""Least width, in heights of a line of text."""
SHORTEST = 12
"""Letters a list shows at least of what is chosen."""
SIZES = ((640, 360), (1280, 720), (1920, 1080), (3840, 2160))


FIRST_PASS = "first pass"
"""Stands among the film's angles for the first pass; no angle has that id."""
FILMED = ("All angles", "First pass")


class _Held(QWidget):
    """What is scrolled. Its height follows from its width alone; the least height of a wrapped text is that
    of a narrower one, and would be scrolled through empty."""

    def minimumSizeHint(self) -> QSize:
        return QSize(super().minimumSizeHint().width(), 0)


class HandoffChoices(QScrollArea):
    """Shows choices; emits ``changed`` when a person changes them."""

    changed = Signal()

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._filling = True  # until all fields are there
        self._angles: tuple[str, ...] = ("", FIRST_PASS)
        self._bars: tuple[tuple[int, int] | None, ...] = (None,)
        self._labels: dict[QWidget, TextLabel] = {}
        self._columns = 2
        self._wide_needs = 0
        """Width that two columns need, pixels."""
        self._wish = 0
        self._several_songs = False
        em = round(theme.em())
        held = _Held()
        box = QVBoxLayout(held)
        box.setContentsMargins(0, 0, em // 2, 0)
        box.setSpacing(round(em * 0.35))
        box.addWidget(TextLabel(theme, "What your editing program needs", size=looks.LARGE, bold=True))
        self.guide = FormatGuide(theme)
        self.guide.changed.connect(self._tell)
        box.addWidget(self.guide)
        box.addSpacing(em // 4)
        box.addWidget(TextLabel(theme, "Settings", bold=True, wrap=False))
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(em // 2)
        self._grid.setVerticalSpacing(round(em * 0.3))
        box.addLayout(self._grid)
        box.addStretch(1)
        self._add_fields()
        self._arrange(self._columns)
        self.setWidget(held)
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Expanding)
        self.show_shoot(SongView())
        self.show_choices(DEFAULT)

    def wish(self, width: int) -> None:
        """How wide it should be, in pixels, where there is room."""
        self._wish = width
        self.updateGeometry()

    def sizeHint(self) -> QSize:
        return QSize(max(self._wish, self._needs()), super().sizeHint().height())

    def minimumSizeHint(self) -> QSize:
        em = self._theme.em()
        least = round(em * LEAST_EM)
        # In two columns it may still become narrower.
        return QSize(least if self._columns == 2 else max(least, self._needs()), round(em * 10))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self.widget() and event.type() == QEvent.Type.LayoutRequest:
            self._fit()
            self.updateGeometry()  # what it holds is wider now, or less wide
        return super().eventFilter(watched, event)

    @property
    def boxes(self) -> Mapping[str, TickBox]:
        """The box of each format, by its word."""
        return self.guide.boxes

    @property
    def choices(self) -> Choices:
        """What is chosen now."""
        width, height = SIZES[self.film_size.currentIndex()]
        return Choices(
            what=self.guide.chosen(),
            form=TABLE_FORMS[self.form.currentIndex()][0],
            rate=(None, *RATES)[self.rate.currentIndex()],
            start=self.start.text().strip(),
            scheme=SCHEMES[self.scheme.currentIndex()][0],
            doubtful=DOUBTS[self.doubtful.currentIndex()][0],
            drift=DRIFTS[self.drift.currentIndex()][0],
            conform=CONFORMS[self.conform.currentIndex()][0],
            film=FilmWish(
                width=width,
                height=height,
                angle_id="" if self._films_first_pass else self._angles[self.film_angle.currentIndex()],
                bars=None if self._several_songs else self._bars[self.film_bars.currentIndex()],
                first_pass=self._films_first_pass,
            ),
            string_out=self.sequences.string_out,
            first_pass=self.sequences.first_pass,
        )

    @property
    def _films_first_pass(self) -> bool:
        return self._angles[self.film_angle.currentIndex()] == FIRST_PASS

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
        self.conform.setCurrentIndex(_index(CONFORMS, choices.conform))
        self.form.setCurrentIndex(_index(TABLE_FORMS, choices.form))
        size = (choices.film.width, choices.film.height)
        self.film_size.setCurrentIndex(SIZES.index(size) if size in SIZES else SIZES.index((1280, 720)))
        if choices.film.first_pass != self._films_first_pass:
            self.film_angle.setCurrentIndex(self._angles.index(FIRST_PASS if choices.film.first_pass else ""))
        self.sequences.show(choices.string_out, choices.first_pass)
        self._show_fields()
        self._filling = False

    def show_shoot(self, shoot: SongView, beside: Sequence[SongView] = ()) -> None:
        """Offer what this shoot has: its usual rate, its angles, its sections.

        ``beside`` is the shoot on all songs where several of them are handed off.
        """
        self._filling = True
        views = beside or (shoot,)
        self.guide.offer(views)
        self._several_songs = len(views) > 1
        rates = {timeline_rate(view) for view in views if any(clip.takes for clip in view.clips)}
        usual = rate_words(rates.pop() if len(rates) == 1 else timeline_rate(shoot))
        # What is left of several rates.
        self.rate.setItemText(0, "Each song's own" if rates else f"{usual} (most clips)")
        filmed = {clip.angle_id for view in views for clip in view.clips if clip.takes}
        shown = [angle for angle in shoot.angles if angle.id in filmed]
        self._angles = ("", FIRST_PASS, *(angle.id for angle in shown))
        _refill(self.film_angle, [*FILMED, *(angle.name for angle in shown)])
        self.sequences.show_shoot(shoot)
        parts = [part for part in coverage(shoot) if part.bars]
        self._bars = (None, *((part.bars[0].bar.number, part.bars[-1].bar.number) for part in parts))
        names = [f"{part.section.letter} {part.section.name}".strip() for part in parts]
        _refill(self.film_bars, ["Whole song", *names])
        self._show_fields()
        self._filling = False

    def _add_fields(self) -> None:
        self.rate = self._list(
            "Frame r&ate", "Frame rate of the timeline, in frames per second", ["", *map(rate_words, RATES)]
        )
        self.start = QLineEdit()
        self.start.setAcceptDrops(False)  # files dropped anywhere belong to the window
        self.start.textChanged.connect(self._tell)
        self._field(
            "So&ng starts at",
            "Timecode of the start of the song; a semicolon, as in 01:00:00;00, counts drop-frame",
            self.start,
        )
        self.scheme = self._list("Track la&yout", "How takes are laid out on tracks", _texts(SCHEMES))
        self.doubtful = self._list(
            "Takes in do&ubt",
            "Put them on separate tracks that are disabled, or leave them out",
            _texts(DOUBTS),
        )
        self.drift = self._list(
            "Clock d&rift",
            "For takes that drift more than a quarter of a frame: leave them whole and report it, or cut "
            "them where sections begin and set each piece to its nearest frame",
            _texts(DRIFTS),
        )
        self.conform = self._list(
            "Conform to (&9)",
            "Conformed sound follows clock drift; where the camera moved it can follow the changing lag too",
            _texts(CONFORMS),
        )
        self.form = self._list(
            "&Write tables with", "How columns are separated in tables", _texts(TABLE_FORMS)
        )
        self.sequences = SequenceChoices(self._list)
        sizes = [f"{width} × {height}" for width, height in SIZES]
        self.film_size = self._list("Film si&ze", "Size of the proof film in pixels", sizes)
        self.film_angle = self._list(
            "Film an&gles",
            "All angles or the first pass with the song, or one angle with the song on the left and its own "
            "sound on the right",
            FILMED,
        )
        self.film_bars = self._list("Film e&xcerpt", "The whole song, or one section of it", ["Whole song"])

    def _list(self, text: str, tip: str, entries: Sequence[str]) -> DropDown:
        field = DropDown(self._theme)
        field.addItems(list(entries))
        field.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        field.setMinimumContentsLength(SHORTEST)
        field.currentIndexChanged.connect(self._tell)
        self._field(text, tip, field)
        return field

    def _field(self, text: str, tip: str, field: QWidget) -> None:
        field.setAccessibleName(without_key(text))
        field.setToolTip(f"{tip} (Alt+{_letter(text)})")
        label = TextLabel(self._theme, text, role="dim", wrap=False)
        label.setBuddy(field)
        self._labels[field] = label

    def _needs(self) -> int:
        """The least width at which nothing it holds is cut off, as it is arranged now; pixels."""
        held = self.widget()
        return held.minimumSizeHint().width() + self.verticalScrollBar().sizeHint().width() if held else 0

    def _fit(self) -> None:
        """Lay everything out in two columns where the width allows it."""
        if self._columns == 2:
            self._wide_needs = self._needs()
            if self._wide_needs > self.width():
                self._arrange(1)
        elif self.width() >= self._wide_needs:
            self._arrange(2)

    def _arrange(self, columns: int) -> None:
        self._columns = columns
        self.guide.arrange(wide=columns == 2)
        while self._grid.count():
            self._grid.takeAt(0)
        for number, (field, label) in enumerate(self._labels.items()):
            row, column = divmod(number, columns)
            self._grid.addWidget(label, row, 2 * column)
            self._grid.addWidget(field, row, 2 * column + 1)
        for column in (1, 3):
            self._grid.setColumnStretch(column, int(column < 2 * columns))

    def _tell(self) -> None:
        if not self._filling:
            self._show_fields()
            self.changed.emit()

    def _show_fields(self) -> None:
        """Show the settings of string-outs, first passes and films only where they count for something."""
        film, string_out, first_pass, conformed = (
            self.boxes[one.FORMAT.word].isChecked()
            for one in (film_format, string_out_format, first_pass_format, conformed_format)
        )
        shown = {
            self.conform: conformed,
            **dict.fromkeys((self.film_size, self.film_angle), film),
            # Another song has other sections.
            self.film_bars: film and not self._several_songs,
            **dict.fromkeys((self.sequences.about, self.sequences.order), string_out),
            **dict.fromkeys(
                (self.sequences.version, self.sequences.pace), first_pass or (film and self._films_first_pass)
            ),
        }
        for field, visible in shown.items():
            for one in (field, self._labels[field]):
                one.setVisible(visible)


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
