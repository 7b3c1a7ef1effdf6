"""All takes by how far they sit from the reference: the list to begin grading with."""

from collections.abc import Collection

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFrame, QVBoxLayout, QWidget

from app.model.match_words import apart_words, distance, distance_after
from app.model.on_song import Clip, SongView, Take, reference_take
from app.window.parts import theme as looks
from app.window.parts import words
from app.window.parts.keyed_list import KeyedList
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

HEADING = "Takes by distance from the reference"


class DistanceList(QWidget):
    """The furthest first; the reference itself last."""

    chosen = Signal(str)
    """A take (by its id) was chosen here."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.ids: tuple[str, ...] = ()
        em = round(theme.em())
        self.list = KeyedList()
        self.list.setFrameShape(QFrame.Shape.NoFrame)
        self.list.setAccessibleName(HEADING)
        self.list.setToolTip("The furthest from the reference first; Up and Down go from one to the next")
        self.list.setWordWrap(False)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.currentRowChanged.connect(self._on_row)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(em // 4)
        self._heading = TextLabel(theme, HEADING, size=looks.SMALL, role="dim")
        box.addWidget(self._heading)
        box.addWidget(self.list, 1)
        self.setMinimumHeight(em * 5)

    def show_shoot(self, shoot: SongView, take_id: str) -> None:
        """List the takes of a shoot, with one of them chosen."""
        found = by_distance(shoot)
        self.ids = tuple(take.id for _, take in found)
        doubts = [set(take.match.doubts) for _, take in found if take.match is not None]
        # What holds for every take is said once: a sign that all rows have tells nothing of any.
        shared = set.intersection(*doubts) if len(doubts) > 1 else set()
        every = f" · ? all: {', '.join(sorted(shared))}" if shared else ""
        self._heading.setText(f"{HEADING}{every}")
        lines = [_line(shoot, clip, take, shared) for clip, take in found]
        self.list.blockSignals(True)
        if lines != [self.list.item(n).text() for n in range(self.list.count())]:
            self.list.clear()
            self.list.addItems(lines)
            for n, line in enumerate(lines):
                self.list.item(n).setToolTip(line)  # what has no room is read here
        self.list.setCurrentRow(self.ids.index(take_id) if take_id in self.ids else -1)
        self.list.blockSignals(False)

    def step(self, by: int) -> None:
        """Go to a neighbour."""
        if self.ids:
            self.list.setCurrentRow(min(max(self.list.currentRow() + by, 0), len(self.ids) - 1))

    def _on_row(self, row: int) -> None:
        if 0 <= row < len(self.ids):
            self.chosen.emit(self.ids[row])


def by_distance(shoot: SongView) -> list[tuple[Clip, Take]]:
    """The takes that were compared, the furthest first; then the reference."""
    takes = [(clip, take) for clip in shoot.clips for take in clip.takes]
    far = {take.id: distance(take.match) for _, take in takes if take.match is not None}
    reference = reference_take(shoot)
    found = [one for one in takes if one[1].id in far and one[1] != reference]
    found.sort(key=lambda one: -far[one[1].id])
    return [*found, *(one for one in takes if one[1] == reference)]


def _line(shoot: SongView, clip: Clip, take: Take, shared: Collection[str]) -> str:
    name = f"{shoot.angle(clip.angle_id).name} · {words.take_name(clip, take)}"
    match = take.match
    if match is None or take == reference_take(shoot):
        return f"reference   {name}"
    told = apart_words(match.stops, match.warm, match.green)
    far = f"{distance(match):.2f} → {distance_after(match):.2f}"
    # The sign of a doubt comes first, where no narrow list leaves it out.
    doubts = [one for one in match.doubts if one not in shared]
    return f"{far}   ? {name} · {told} · {', '.join(doubts)}" if doubts else f"{far}   {name} · {told}"
