"""The places where a take could be: those that fit as well first, the others apart below them."""

from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QScrollArea, QVBoxLayout, QWidget

from app.model.check_queue import fitting
from app.model.document.song import SongMap
from app.model.on_song import Take
from app.window.check import check_words
from app.window.check.fit_row import FitRow
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

CURRENT = "current place"
COMPUTED = "found automatically"
OTHERS = "Other places, less likely"
LEAST_ROWS, SEEN_ROWS = 3, 6
"""Rows that are seen at once in any window, and where there is room."""


class PlacesList(QWidget):
    """A heading with the number of places that fit, and a row for each place."""

    wanted = Signal(object)
    """A place is to be looked at: the number of a rival, or None for where the take lies."""
    filled = Signal()
    """Other places are listed."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme = theme
        self._gap = round(theme.em() * 0.3)
        self.rows: list[FitRow] = []
        """In the order in which they are shown."""
        self._places: list[int | None] = []
        """Of each row the rival."""
        self.heading = TextLabel(theme, bold=True)
        self._held = QWidget()
        self._column = QVBoxLayout(self._held)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(1)
        self._scroll = QScrollArea()
        self._scroll.setWidget(self._held)
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(self._gap)
        box.addWidget(self.heading)
        box.addWidget(self._scroll, 100)
        box.addStretch(1)

    def show_take(self, take: Take | None, song_map: SongMap, preview: int | None) -> None:
        """List the places of a take, with one of its rivals looked at (None: where the take lies)."""
        self._clear()
        self.heading.setText("" if take is None else check_words.places(take))
        if take is not None:
            fit = fitting(take)
            others = [number for number in range(len(take.rivals)) if number not in fit]
            strongest = max([1.0, *(rival.strength for rival in take.rivals)])
            add = partial(self._add, take, song_map, strongest)
            for number in (None, *fit):
                add(number)
            if others:
                self._column.addWidget(self._subheading(OTHERS))
            for number in others:
                add(number)
        self._column.addStretch(1)
        # Said outright: the scroll area learns of new rows only when it is laid out again.
        high = self._height_of()
        self._held.setMinimumHeight(high)
        self._scroll.setMinimumHeight(self._height_of(LEAST_ROWS))
        self._scroll.setMaximumHeight(max(high, 1))
        for row, place in zip(self.rows, self._places, strict=True):
            row.setChecked(place == preview)
            row.toggled.connect(partial(self._on_toggled, row, place))
        self.filled.emit()

    @property
    def viewport(self) -> QWidget:
        """What the rows are seen through."""
        return self._scroll.viewport()

    @property
    def wanted_height(self) -> int:
        """Height with which enough places are seen at once."""
        rows = self._height_of(SEEN_ROWS)
        return self.heading.heightForWidth(max(1, self.width())) + self._gap + rows

    def row_number(self, place: int | None) -> int:
        """The number under which a rival (None: where the take lies) is listed, from 1."""
        return self._places.index(place) + 1

    def _add(self, take: Take, song_map: SongMap, strongest: float, number: int | None) -> None:
        if number is None:
            song_s, note, strength = take.song_start_s, CURRENT, 1.0
        else:
            rival = take.rivals[number]
            song_s, strength = rival.song_start_s, rival.strength
            note = COMPUTED if rival.computed else words.rival_strength(rival)
        place, time = words.place_in_song(song_map, song_s), words.song_time(song_s)
        row = FitRow(self._theme, len(self.rows) + 1, place, time, note, strength / strongest)
        self.rows.append(row)
        self._places.append(number)
        self._column.addWidget(row)

    def _subheading(self, text: str) -> TextLabel:
        label = TextLabel(self._theme, text, size=looks.SMALL, role="dim")
        label.setContentsMargins(0, round(self._theme.em() * 0.3), 0, 0)
        return label

    def _height_of(self, most: int | None = None) -> int:
        """Height of so many rows (None: of all) with what stands between them."""
        high = rows = 0
        for number in range(self._column.count()):
            item = self._column.itemAt(number)
            widget = None if item is None else item.widget()
            if widget is None or rows == most:
                break
            high += widget.sizeHint().height() + self._column.spacing()
            rows += isinstance(widget, FitRow)
        return high

    def _clear(self) -> None:
        self.rows, self._places = [], []
        while self._column.count():
            item = self._column.takeAt(0)
            old = item.widget() if item is not None else None
            if old is not None:
                old.hide()
                old.deleteLater()

    def _on_toggled(self, row: FitRow, place: int | None, on: bool) -> None:
        if on:
            self._scroll.ensureWidgetVisible(row, 0, 0)
            self.wanted.emit(place)
