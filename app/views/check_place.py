"""The place Check: takes in doubt, what else they could be, and a person's decision."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QScrollArea,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from app.model import decisions
from app.model.change import Change
from app.model.shoot import Clip, SongMap, Take
from app.session import Session
from app.views import theme as looks
from app.views import words
from app.views.buttons import ActionButton
from app.views.empty_page import EmptyPage
from app.views.fit_row import FitRow
from app.views.ink import Ink
from app.views.picture_box import PictureBox
from app.views.pictures import Pictures
from app.views.place import Place
from app.views.player import Player
from app.views.theme import Theme

MOMENTS = (("at its start", 0.0), ("half-way", 0.5), ("at its end", 1.0))


class CheckPlace(Place):
    """One doubt after the other."""

    title = "Check"

    def __init__(
        self,
        session: Session,
        theme: Theme,
        pictures: Pictures,
        parent: QWidget | None = None,
        *,
        player: Player | None = None,
    ) -> None:
        super().__init__(session, theme, parent)
        self._player = player
        self._open: tuple[tuple[Clip, Take], ...] = ()
        self.fits: list[FitRow] = []
        self._confirm = self.action(
            "Confirm This Place", "Return", "The take lies at the marked place", self.decide
        )
        self._refuse = self.action(
            "Not This Song", "N", "The song does not run in this clip at all", self.refuse
        )
        self._skip = self.action("Skip", "J", "Leave it in doubt and go to the next", self.skip)
        em = round(theme.em())
        self.list = QListWidget()
        self.list.setFixedWidth(round(em * 17))
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setWordWrap(True)
        self.list.setSpacing(2)
        self.list.setAccessibleName("Takes in doubt")
        self.list.setToolTip("Takes in doubt; ↑ and ↓ go from one to the next")
        self.list.currentRowChanged.connect(self._show_take)
        self._name = Ink(theme, size=looks.HEADING, bold=True)
        self._line = Ink(theme, size=looks.SMALL, role="dim")
        self._reason = Ink(theme, role="warm")
        self._pictures = [PictureBox(theme, pictures, theme.em() * 17) for _ in MOMENTS]
        self._moments = [Ink(theme, size=looks.SMALL, role="dim") for _ in MOMENTS]
        self._fit_box = QVBoxLayout()
        self._fit_box.setSpacing(2)
        self._arrange(em)

    def keys(self) -> list[tuple[str, str]]:
        return [
            ("↑ ↓", "from doubt to doubt"),
            ("1 … 9", "mark one of the places"),
            ("Enter", "the take lies at the marked place"),
            ("N", "not this song"),
            ("J", "skip to the next"),
        ]

    def take_focus(self) -> None:
        self.list.setFocus()

    def refresh(self, change: Change) -> None:
        row = max(0, self.list.currentRow())
        before = self._open[row][1].id if row < len(self._open) else ""
        shoot = self.session.shoot
        self._open = words.open_takes(shoot)
        self.list.blockSignals(True)
        self.list.clear()
        for clip, take in self._open:
            name = shoot.angle(clip.angle_id).name
            item = QListWidgetItem(f"{name}\n{words.take_name(clip, take)}\n?  {_short(take)}")
            self.list.addItem(item)
        ids = [take.id for _, take in self._open]
        row = ids.index(before) if before in ids else min(row, len(ids) - 1)
        self.list.setCurrentRow(row)
        self.list.blockSignals(False)
        self._stack.setCurrentIndex(1 if self._open else 0)
        some = any(clip.takes for clip in shoot.clips)
        self._empty.lines[0].setText("Every take has its place." if some else "No take has been placed yet.")
        self._show_take(row)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        em = self.theme.em()
        room = self.width() - self.list.width() - 6 * em
        for picture in self._pictures:
            picture.set_width(min(max(room / len(MOMENTS) - em, 6 * em), 34 * em))

    def decide(self) -> None:
        """Take the marked place as the right one."""
        if self._current() is None:
            return
        _, take = self._open[self.list.currentRow()]
        index = next((n for n, row in enumerate(self.fits) if row.isChecked()), 0)
        shoot = self.session.shoot
        if index == 0:
            self.session.apply("Confirm Take", decisions.confirm_take(shoot, take.id), "check")
        else:
            self.session.apply("Choose Place", decisions.choose_rival(shoot, take.id, index - 1), "check")

    def refuse(self) -> None:
        """Say that the song does not run in the clip."""
        clip = self._current()
        if clip is not None:
            result = decisions.set_verdict_no_song(self.session.shoot, clip.id)
            self.session.apply("Not This Song", result, "check")

    def skip(self) -> None:
        """Go to the next doubt."""
        if self._open:
            self.list.setCurrentRow((self.list.currentRow() + 1) % len(self._open))

    def _current(self) -> Clip | None:
        row = self.list.currentRow()
        return self._open[row][0] if 0 <= row < len(self._open) else None

    def _arrange(self, em: int) -> None:
        left = QVBoxLayout()
        left.setContentsMargins(em, em, 0, em)
        left.addWidget(Ink(self.theme, "To look at", size=looks.LARGE, bold=True))
        left.addWidget(
            Ink(self.theme, "takes in doubt, in the order of the clips", size=looks.SMALL, role="dim")
        )
        left.addWidget(self.list, 1)
        sheet = QWidget()
        box = QVBoxLayout(sheet)
        box.setContentsMargins(em, em, em, em)
        box.setSpacing(em // 2)
        for line in (self._name, self._line, self._reason):
            box.addWidget(line)
        row = QHBoxLayout()
        row.setSpacing(em)
        for picture, moment in zip(self._pictures, self._moments, strict=True):
            column = QVBoxLayout()
            column.addWidget(picture)
            column.addWidget(moment)
            row.addLayout(column)
        row.addStretch(1)
        box.addLayout(row)
        box.addSpacing(em // 2)
        box.addWidget(Ink(self.theme, "Where it could be", size=looks.LARGE, bold=True))
        box.addLayout(self._fit_box)
        buttons = QHBoxLayout()
        buttons.setSpacing(em)
        buttons.addWidget(ActionButton(self._confirm, main=True))
        buttons.addWidget(ActionButton(self._refuse))
        buttons.addWidget(ActionButton(self._skip))
        buttons.addStretch(1)
        box.addSpacing(em // 2)
        box.addLayout(buttons)
        box.addStretch(1)
        scroll = QScrollArea()
        scroll.setWidget(sheet)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        page = QWidget()
        whole = QHBoxLayout(page)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addLayout(left)
        whole.addWidget(scroll, 1)
        lines = (
            "No take has been placed yet.",
            "A take comes here when it is weak, or fits in several places of the song.",
            "Then you choose where it belongs.",
        )
        self._empty = EmptyPage(self.theme, "Nothing is in doubt", lines)
        self._stack = QStackedLayout(self)
        self._stack.addWidget(self._empty)
        self._stack.addWidget(page)

    def _show_take(self, row: int) -> None:
        for old in self.fits:
            old.hide()
            old.deleteLater()
        self.fits = []
        if not 0 <= row < len(self._open):
            return
        clip, take = self._open[row]
        shoot = self.session.shoot
        song_map = shoot.song.map if shoot.song else SongMap()
        self._name.setText(shoot.angle(clip.angle_id).name)
        length = words.song_time(take.clip_end_s - take.clip_start_s, 1)
        self._line.setText(
            f"{words.take_name(clip, take)} · {length} long · {words.take_place(song_map, take)}"
        )
        self._reason.setText(take.reason or clip.reason or "The place is not sure.")
        last = clip.duration_s
        for (said, share), picture, moment in zip(MOMENTS, self._pictures, self._moments, strict=True):
            clip_s = take.clip_start_s + share * (min(take.clip_end_s, last) - take.clip_start_s)
            picture.show_moment(clip, clip_s)
            moment.setText(f"{said}, {words.song_time(clip_s, 1)} in the clip")
        places = [(take.song_start_s, "where it lies now", 1.0)]
        places += [(r.song_start_s, words.rival_strength(r), r.strength) for r in take.rivals[:8]]
        strongest = max(strength for _, _, strength in places)
        for number, (song_s, note, strength) in enumerate(places, 1):
            place = f"{words.place_in_song(song_map, song_s)} · {words.song_time(song_s)}"
            fit = FitRow(self.theme, number, place, note, strength / strongest)
            self._fit_box.addWidget(fit)
            self.fits.append(fit)
        self.fits[0].setChecked(True)


def _short(take: Take) -> str:
    if take.rivals:
        return f"{words.count(len(take.rivals) + 1, 'place')} fit"
    return "weak"
