"""Colours, sizes and fonts of the window: ink on paper, light or dark.

One warm colour is kept for what wants attention. The colours of the angles start from the set of Okabe and
Ito (Color Universal Design, 2008): blue, yellow, bluish green, reddish purple, black as a grey, sky blue; not
its oranges, which would read as the warm colour, but a violet and a green in their place. Their lightness was
spread until they stand out from both papers, and eyes without red- or green-sensitive cones tell them from
each other and from the warm colour. Colour only repeats what a name, a glyph or a word already says.
"""

from dataclasses import dataclass
from enum import StrEnum

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication

from app.model.coverage.staves import COLOURS, colour_number
from app.model.document.angle import Angle


class Scheme(StrEnum):
    """Which colours the window shows."""

    SYSTEM = "system"
    LIGHT = "light"
    DARK = "dark"


@dataclass(frozen=True, slots=True)
class Colours:
    """One scheme's colours, as ``#rrggbb``."""

    paper: str
    panel: str
    """What lies on the paper: side panels, tables, fields."""
    ink: str
    dim: str
    """Small print: still readable, at least 4.5 to 1."""
    rule: str
    """Hairlines, bar lines, hatching."""
    edge: str
    """Edges of controls: at least 3 to 1 on the paper."""
    warm: str
    """What wants attention, and the mark of the place one is in."""
    chosen: str
    """Ground of a chosen row or bar."""
    angles: tuple[str, ...]
    """One for each of `COLOURS`; none is near the warm one."""


LIGHT = Colours(
    paper="#f6f3ea",
    panel="#fcfaf5",
    ink="#22262b",
    dim="#625d54",
    rule="#d5cdb9",
    edge="#8a8474",
    warm="#a93c16",
    chosen="#e9e2cf",
    angles=("#1784cd", "#948c01", "#004b3d", "#bc2e8d", "#6e34b9", "#82827e", "#2f4d63", "#518640"),
)
DARK = Colours(
    paper="#1f2023",
    panel="#28292d",
    ink="#eeeae0",
    dim="#aaa599",
    rule="#47474a",
    edge="#84827c",
    warm="#f58a60",
    chosen="#3a3a3f",
    angles=("#2f86d2", "#bcae10", "#2fdc9c", "#e0489a", "#8a6ff0", "#e0dfda", "#74c6f2", "#5f9a3c"),
)

SMALL, TEXT, LARGE, HEADING = 0.86, 1.0, 1.25, 1.5
"""Font sizes relative to the system's, so that everything follows the system's text scale."""


class Theme(QObject):
    """The scheme in force; told to every widget that paints by itself."""

    changed = Signal()

    def __init__(self, scheme: Scheme = Scheme.SYSTEM, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.scheme = scheme
        self.colours = LIGHT
        self._pick()
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._on_system_changed)

    def choose(self, scheme: Scheme) -> None:
        """Show light, dark, or what the system shows."""
        self.scheme = scheme
        self._on_system_changed()

    @property
    def dark(self) -> bool:
        """Whether the dark colours are shown."""
        return self.colours is DARK

    def colour(self, name: str) -> QColor:
        """A colour by its field name in `Colours`."""
        return QColor(getattr(self.colours, name))

    def mixed(self, over: QColor, share: float, ground: str = "paper") -> QColor:
        """That share of a colour laid over a ground colour."""
        under = self.colour(ground)
        return QColor(
            *(
                round(u + (o - u) * share)
                for u, o in zip(under.getRgb()[:3], over.getRgb()[:3], strict=True)  # type: ignore[index]
            )
        )

    def angle_colour(self, angle: Angle) -> QColor:
        """The colour of an angle, which it keeps as long as it lives."""
        return QColor(self.colours.angles[colour_number(angle.id) % COLOURS])

    def font(self, size: float = TEXT, *, bold: bool = False, italic: bool = False) -> QFont:
        """The system's font at a relative size."""
        font = QFont(QApplication.font())
        font.setPointSizeF(font.pointSizeF() * size)
        font.setBold(bold)
        font.setItalic(italic)
        return font

    def em(self, size: float = TEXT) -> float:
        """Height of a line of text in logical pixels: the measure of all distances."""
        return QFontMetricsF(self.font(size)).height()

    def _on_system_changed(self) -> None:
        self._pick()
        self.changed.emit()

    def _pick(self) -> None:
        if self.scheme is Scheme.SYSTEM:
            dark = QGuiApplication.styleHints().colorScheme() is Qt.ColorScheme.Dark
        else:
            dark = self.scheme is Scheme.DARK
        self.colours = DARK if dark else LIGHT
        app = QApplication.instance()
        if isinstance(app, QApplication):
            app.setPalette(_palette(self.colours))


def _palette(colours: Colours) -> QPalette:
    palette = QPalette()
    role = QPalette.ColorRole
    for name, roles in {
        "paper": (role.Window, role.Button, role.AlternateBase),
        "panel": (role.Base, role.ToolTipBase, role.Light, role.Midlight),
        "ink": (role.WindowText, role.Text, role.ButtonText, role.ToolTipText, role.HighlightedText),
        "dim": (role.PlaceholderText,),
        "edge": (role.Mid, role.Dark, role.Shadow),
        "chosen": (role.Highlight,),
        "warm": (role.Link, role.LinkVisited, role.Accent),
    }.items():
        for one in roles:
            palette.setColor(one, QColor(getattr(colours, name)))
    disabled = QPalette.ColorGroup.Disabled
    for one in (role.WindowText, role.Text, role.ButtonText, role.HighlightedText):
        palette.setColor(disabled, one, QColor(colours.edge))
    return palette
