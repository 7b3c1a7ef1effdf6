"""The place Song: what was found out about the recording everybody played to."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHBoxLayout,
    QHeaderView,
    QStackedLayout,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from app.model.change import Change
from app.model.coverage import bar_spans, song_sections
from app.model.shoot import Section, Song
from app.session import Session
from app.views import theme as looks
from app.views import words
from app.views.buttons import ActionButton
from app.views.empty_page import EmptyPage
from app.views.ink import Ink
from app.views.place import Place
from app.views.theme import Theme

HEADS = ("Letter", "Section", "Bars", "From", "To", "Length")


class SongPlace(Place):
    """Tempo, bars and sections."""

    title = "Song"

    def __init__(
        self, session: Session, theme: Theme, choose_song: QAction, parent: QWidget | None = None
    ) -> None:
        super().__init__(session, theme, parent)
        em = round(theme.em())
        self._name = Ink(theme, size=looks.HEADING, bold=True)
        self._figures = Ink(theme, size=looks.TEXT, role="dim")
        self._table = QTableWidget(0, len(HEADS))
        self._table.setHorizontalHeaderLabels(HEADS)
        self._table.setAccessibleName("Sections")
        self._table.setToolTip("The sections of the song with their rehearsal letters")
        self._table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self._table.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self._table.setTabKeyNavigation(False)
        self._table.setShowGrid(False)
        self._table.setFrameShape(QFrame.Shape.NoFrame)
        self._table.verticalHeader().hide()
        self._table.verticalHeader().setDefaultSectionSize(round(em * 2.1))
        self._table.horizontalHeader().setDefaultAlignment(Qt.AlignmentFlag.AlignLeft)
        self._table.horizontalHeader().setSectionResizeMode(1, QHeaderView.ResizeMode.Stretch)
        page = QWidget()
        box = QVBoxLayout(page)
        box.setContentsMargins(em, em, em, em)
        head = QHBoxLayout()
        text = QVBoxLayout()
        text.addWidget(self._name)
        text.addWidget(self._figures)
        head.addLayout(text, 1)
        head.addWidget(ActionButton(choose_song), 0, Qt.AlignmentFlag.AlignTop)
        box.addLayout(head)
        box.addSpacing(em // 2)
        self._table.setMaximumWidth(em * 70)
        box.addWidget(self._table, 1)
        lines = (
            "Drop the song anywhere in this window, or choose it.",
            "It is the recording everybody played to; all clips are placed on it.",
            "Its beats, bars and sections are found when it is read.",
        )
        self._stack = QStackedLayout(self)
        self._stack.addWidget(EmptyPage(theme, "No song yet", lines, [ActionButton(choose_song)]))
        self._stack.addWidget(page)

    @property
    def text(self) -> str:
        """The figures as one line."""
        return self._figures.text()

    def take_focus(self) -> None:
        self._table.setFocus()

    def refresh(self, change: Change) -> None:
        song = self.session.shoot.song
        self._stack.setCurrentIndex(0 if song is None else 1)
        if song is None:
            return
        self._name.setText(song.media.path.replace("\\", "/").rpartition("/")[2])
        self._figures.setText(_figures(song))
        sections = song_sections(song)
        self._table.setRowCount(len(sections))
        for row, section in enumerate(sections):
            for column, text in enumerate(_cells(song, section)):
                self._table.setItem(row, column, QTableWidgetItem(text))


def _figures(song: Song) -> str:
    found = song.map
    parts = [words.song_time(song.duration_s, 1)]
    if found.tempo_bpm is None:
        parts.append("no steady tempo found")
    else:
        parts.append(f"{found.tempo_bpm:.1f} beats a minute")
    if found.bars_s:
        parts.append(words.count(len(found.bars_s), "bar"))
        if len(found.beats_s) >= len(found.bars_s):
            inside = sum(beat >= found.bars_s[0] - 0.01 for beat in found.beats_s)
            parts.append(f"about {round(inside / len(found.bars_s))} beats a bar")
    else:
        parts.append("no bars found; the score counts by sections")
    parts.append(words.count(len(song_sections(song)), "section"))
    return " · ".join(parts)


def _cells(song: Song, section: Section) -> tuple[str, ...]:
    bars = ""
    if song.map.bars_s:
        inside = [
            b.number for b in bar_spans(song) if section.start_s <= (b.start_s + b.end_s) / 2 < section.end_s
        ]
        bars = f"{inside[0]}–{inside[-1]}" if inside[1:] else str(inside[0]) if inside else "none"
    return (
        section.letter,
        section.name,
        bars,
        words.song_time(section.start_s, 1),
        words.song_time(section.end_s, 1),
        words.song_time(section.end_s - section.start_s, 1),
    )
