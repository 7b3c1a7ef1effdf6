"""The lines of the score, painted once into pictures of their own.

So scrolling copies them, and the playing position costs a narrow strip. A line is painted anew when its size,
the scheme, or one of its pictures changes.
"""

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtGui import QPainter, QPixmap

from app.model.document.song import SongMap
from app.model.on_song import SongView
from app.window.parts import words
from app.window.parts.clip_pictures import Pictures
from app.window.parts.theme import Theme
from app.window.score.cut_shown import NO_CUT, CutShown
from app.window.score.score_boxes import System
from app.window.score.score_metrics import Metrics
from app.window.score.score_painter import ScorePainter
from app.window.score.score_palette import ScorePalette

SCREENS = 3
"""Lines kept painted, in screens full."""
EDGE = 8
"""What a line may paint above its top and below its bottom."""


@dataclass(slots=True)
class _Painted:
    pixmap: QPixmap
    missing: int
    """Pictures that were not at hand."""

    @property
    def height(self) -> float:
        return self.pixmap.height() / self.pixmap.devicePixelRatio()


class ScoreLines:
    """Paints lines for one screen, and keeps those painted last."""

    def __init__(self, theme: Theme, pictures: Pictures) -> None:
        self._theme, self._pictures = theme, pictures
        self._shoot = SongView()
        self._metrics = Metrics(theme.em())
        self._width, self._height, self._ratio = 0, 0, 1.0
        self._palette: ScorePalette | None = None
        self._painted: OrderedDict[float, _Painted] = OrderedDict()
        self.cut = NO_CUT
        """The first pass that is shown."""

    @property
    def palette(self) -> ScorePalette:
        """Fonts and colours in force."""
        if self._palette is None or self._palette.ratio != self._ratio:
            final = not words.to_be_placed(self._shoot)
            self._palette = ScorePalette(self._theme, self._ratio, final=final)
        return self._palette

    def show_shoot(self, shoot: SongView) -> None:
        """Paint another shoot from now on."""
        self._shoot = shoot
        self.start_over()

    def show_cut(self, cut: CutShown) -> None:
        """Paint another first pass from now on."""
        if cut != self.cut:
            self.cut = cut
            self._painted.clear()

    def fit(self, metrics: Metrics, width: int, height: int) -> None:
        """Paint in other measures, for a viewport of that size (logical pixels)."""
        self._metrics, self._width, self._height = metrics, width, height
        self._painted.clear()

    def start_over(self) -> None:
        """Fonts, colours or sizes are others now."""
        self._palette = None
        self._painted.clear()

    def forget_unfinished(self) -> None:
        """Paint those lines anew that had to do without some picture."""
        for key in [key for key, one in self._painted.items() if one.missing]:
            del self._painted[key]

    def has(self, systems: Sequence[System]) -> bool:
        """Whether a line is painted."""
        return systems[0].top in self._painted

    def painter(self, painter: QPainter, ratio: float) -> ScorePainter:
        """What paints the score with a painter; ``ratio``: device pixels of a logical one."""
        self._ratio = ratio
        song_map = self._shoot.song.map if self._shoot.song else SongMap()
        return ScorePainter(painter, self.palette, self._metrics, self._pictures, song_map, self.cut)

    def picture(self, systems: Sequence[System], ratio: float) -> QPixmap:
        """The picture of the systems that share a line, from `EDGE` above their top on."""
        key = systems[0].top
        painted = self._painted.get(key)
        if painted is not None:
            self._painted.move_to_end(key)
            return painted.pixmap
        height = systems[0].bottom - key + 2 * EDGE
        pixmap = QPixmap(round(self._width * ratio), round(height * ratio))
        pixmap.setDevicePixelRatio(ratio)
        pixmap.fill(self._theme.colour("paper"))
        p = QPainter(pixmap)
        p.translate(0, EDGE - key)
        pen = self.painter(p, ratio)
        pen.line(systems)
        p.end()
        self._painted[key] = _Painted(pixmap, pen.missing)
        most = SCREENS * self._height + height
        while len(self._painted) > 2 and sum(one.height for one in self._painted.values()) > most:
            self._painted.popitem(last=False)
        return pixmap
