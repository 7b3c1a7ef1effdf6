"""Going about in the score by the keys that go where the keyboard is: arrows, Home and End, Enter, Esc."""

from collections.abc import Sequence

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent

from app.model.coverage.coverage import SectionCoverage
from app.model.coverage.need_bars import SubjectBars, open_starts
from app.window.score.score_canvas import ScoreCanvas

NEXT = {
    Qt.Key.Key_Left: -1,
    Qt.Key.Key_Right: 1,
    Qt.Key.Key_PageUp: -1,
    Qt.Key.Key_PageDown: 1,
    Qt.Key.Key_Up: -1,
    Qt.Key.Key_Down: 1,
}


NAME_FIRST = (
    "No bar is without a take. Name the angles in Clips (Ctrl+Shift+N): then other thin places are found."
)


class ScoreCursor(QObject):
    """Goes from bar to bar, section to section, angle to angle, while the score has the keyboard."""

    play_wanted = Signal()
    """Play from the chosen bar, with the chosen take."""
    escaped = Signal()
    """The range and what is looped are to end."""
    nothing_thin = Signal(str)
    """There is no thin place to go to; in a sentence."""

    def __init__(self, canvas: ScoreCanvas) -> None:
        super().__init__(canvas)
        self._canvas = canvas
        self._sections: Sequence[SectionCoverage] = ()
        self._missing: Sequence[int] = ()
        self._planned = False
        canvas.installEventFilter(self)

    def show_sections(self, sections: Sequence[SectionCoverage], needs: Sequence[SubjectBars] = ()) -> None:
        """Go by these bars and sections from now on."""
        self._sections = sections
        spans = [(one.bars[0].bar.number, one.bars[-1].bar.number) for one in sections if one.bars]
        self._missing, self._planned = open_starts(needs, spans), bool(needs)

    def next_thin(self, step: int = 1) -> None:
        """Go to the next thin place or missing need (with -1: the one before), around the end."""
        thin = [place.first_bar for section in self._sections for place in section.thin]
        starts = sorted({*thin, *self._missing})
        if not starts:
            none = "Nothing is thin, and every need is met." if self._planned else "There is no thin place."
            not_named = any(section.not_named for section in self._sections)
            self.nothing_thin.emit(NAME_FIRST if not_named else none)
            return
        here = self._canvas.chosen.bar or 0
        if step > 0:
            bar = next((n for n in starts if n > here), starts[0])
        else:
            bar = next((n for n in reversed(starts) if n < here), starts[-1])
        self._canvas.choose(bar)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            return self._press(Qt.Key(event.key()), event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier)
        return False

    def _press(self, key: Qt.Key, held: Qt.KeyboardModifier) -> bool:
        """Do what a key asks for; tells whether it asks for anything."""
        extend = held == Qt.KeyboardModifier.ShiftModifier
        bars = [bar.bar.number for section in self._sections for bar in section.bars]
        bar = self._canvas.chosen.bar
        if not bars or bar not in bars or not (extend or held == Qt.KeyboardModifier.NoModifier):
            return False
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and not extend:
            self.play_wanted.emit()
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            index = min(max(bars.index(bar) + NEXT[key], 0), len(bars) - 1)
            self._canvas.choose(bars[index], extend=extend)
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self._canvas.choose(bars[0] if key is Qt.Key.Key_Home else bars[-1], extend=extend)
        elif key in (Qt.Key.Key_PageUp, Qt.Key.Key_PageDown):
            self._go_section(bar, NEXT[key], extend)
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down) and not extend:
            self._go_angle(NEXT[key])
        elif key is Qt.Key.Key_Escape:
            self._canvas.choose(bar)
            self.escaped.emit()
        else:
            return False
        return True

    def _go_section(self, bar: int, step: int, extend: bool) -> None:
        starts = [section.bars[0].bar.number for section in self._sections if section.bars]
        here = max((n for n, start in enumerate(starts) if start <= bar), default=0)
        self._canvas.choose(starts[min(max(here + step, 0), len(starts) - 1)], extend=extend)

    def _go_angle(self, step: int) -> None:
        chosen = self._canvas.chosen
        found = self._canvas.score.find_bar(chosen.bar or 0)
        angles = [stave.angle.id for stave in found[0].staves] if found else []
        if not angles:
            return
        if chosen.angle_id not in angles:
            self._canvas.choose(chosen.bar, angles[0 if step > 0 else -1])
            return
        index = angles.index(chosen.angle_id) + step
        self._canvas.choose(chosen.bar, angles[min(max(index, 0), len(angles) - 1)])
