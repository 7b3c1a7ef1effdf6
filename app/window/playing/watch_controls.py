"""What is chosen over the pictures: one angle or all, the frame guide and how it is drawn."""

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from app.model.framing import SHAPES, Shape
from app.window.parts import theme as looks
from app.window.parts.actions import Action, ActionTable, Line
from app.window.parts.buttons import ActionButton
from app.window.parts.drop_down import DropDown
from app.window.parts.flow_layout import FlowLayout
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme
from app.window.playing.frame_guide import Drawn
from app.window.playing.player import Player
from app.window.playing.watch_tile import Guide

MANY, SHAPE, DRAWN = "watch/many", "watch/guide", "watch/drawn"
NUDGE = 0.02
"""Of the room there is, with every press of a key."""


class WatchControls(QWidget):
    """A row of controls; remembers what was chosen."""

    changed = Signal()
    nudged = Signal(float, float)
    """Move the guide by shares of the room there is."""

    def __init__(self, player: Player, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._player = player
        self.many = player.recall(MANY, "no") == "yes"
        self.drawn = Drawn.LINES if player.recall(DRAWN, "") == Drawn.LINES.value else Drawn.MASK
        self.shapes = DropDown(theme)
        self.shapes.addItem("No frame guide")
        self.shapes.addItems([shape.name for shape in SHAPES])
        self.shapes.setAccessibleName("Frame guide")
        self.shapes.setToolTip("How the picture crops to another aspect ratio (G)")
        self.shapes.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.shapes.setMinimumWidth(round(theme.em() * 4))
        names = [shape.name for shape in SHAPES]
        remembered = player.recall(SHAPE, "")
        self.shapes.setCurrentIndex(names.index(remembered) + 1 if remembered in names else 0)
        self.shapes.currentIndexChanged.connect(self._on_shape_chosen)
        self.action_table = ActionTable(self, self._actions(), Qt.ShortcutContext.WindowShortcut)
        self._crop = TextLabel(theme, size=looks.SMALL, role="dim", wrap=False)
        self._crop.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        # Cut off in a narrow panel rather than widening it.
        self._crop.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._crop.setToolTip("What the crop keeps of the selected take, in pixels of the clip")
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self._spacing = round(theme.em() * 0.25)
        column.setSpacing(self._spacing)
        self._row = FlowLayout(round(theme.em() * 0.4))
        column.addLayout(self._row)
        column.addWidget(self._crop)
        many, drawn = (ActionButton(action) for action in self.action_table.several("many", "drawn"))
        for control in (many, self.shapes, drawn):
            # A click leaves the keyboard where it was, so that Space goes on playing.
            control.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            self._row.addWidget(control)

    def add_buttons(self, buttons: Sequence[QWidget]) -> None:
        """Put further buttons into the row, which goes on in another line where it is narrow."""
        for button in buttons:
            self._row.addWidget(button)

    def height_for(self, width: int) -> int:
        """How high the controls are in a panel so wide."""
        crop = self._crop.sizeHint().height() + self._spacing if not self._crop.isHidden() else 0
        return self._row.heightForWidth(width) + crop

    @property
    def shape(self) -> Shape | None:
        """The shape of the frame guide; None for no guide."""
        index = self.shapes.currentIndex()
        return SHAPES[index - 1] if index > 0 else None

    def show_crop(self, guide: Guide | None) -> None:
        """Say what is left of the chosen take's picture."""
        text = "" if guide is None or self.shape is None else f"{self.shape.name}: {guide.crop.words}"
        self._crop.setText(text)
        self._crop.setVisible(bool(text))
        self._crop.setAccessibleName(text)

    def _actions(self) -> tuple[Line, ...]:
        ways = (("Left", -NUDGE, 0.0), ("Right", NUDGE, 0.0), ("Up", 0.0, -NUDGE), ("Down", 0.0, NUDGE))
        return (
            Line(
                "watch one angle, or all at this moment",
                Action(
                    lambda: "One Angle" if self.many else "All Angles",
                    "Shift+W",
                    "Watch one angle, or all angles that cover this moment",
                    self._toggle_many,
                    name="many",
                ),
            ),
            Line(
                "next frame guide",
                Action(
                    "Next Frame Guide",
                    "G",
                    "Show how the picture crops to another aspect ratio",
                    self._next_shape,
                ),
            ),
            Line(
                "frame guide as a mask or as lines",
                Action(
                    lambda: "Lines" if self.drawn is Drawn.MASK else "Mask",
                    "Shift+G",
                    "Show the frame guide as a mask or as lines",
                    self._toggle_drawn,
                    name="drawn",
                    enabled=lambda: self.shape is not None,
                ),
            ),
            Line(
                "move the frame guide",
                *(
                    Action(
                        f"Move Frame Guide {key}",
                        f"Alt+Shift+{key}",
                        "Move the frame guide",
                        partial(self.nudged.emit, x, y),
                    )
                    for key, x, y in ways
                ),
            ),
        )

    def _toggle_many(self) -> None:
        self.many = not self.many
        self._player.keep(MANY, "yes" if self.many else "no")
        self.action_table.refresh()
        self.changed.emit()

    def _toggle_drawn(self) -> None:
        self.drawn = Drawn.MASK if self.drawn is Drawn.LINES else Drawn.LINES
        self._player.keep(DRAWN, self.drawn.value)
        self.action_table.refresh()
        self.changed.emit()

    def _next_shape(self) -> None:
        self.shapes.setCurrentIndex((self.shapes.currentIndex() + 1) % self.shapes.count())

    def _on_shape_chosen(self, index: int) -> None:
        self._player.keep(SHAPE, SHAPES[index - 1].name if index > 0 else "")
        self.action_table.refresh()
        self.changed.emit()
