"""The style sheet of the window's controls: flat, thin edges, the theme's colours."""

from app.window.parts.theme import Colours


def padding(em: float) -> int:
    """Pixels between the edge of a field or cell and its text."""
    return round(em * 0.35)


def style_sheet(colours: Colours, em: float) -> str:
    """The style sheet for a scheme and a height of a line of text."""
    c = colours
    pad, wide, radius = padding(em), round(em * 0.9), round(em * 0.25)
    return f"""
QLabel[role="ink"] {{ color: {c.ink}; }}
QLabel[role="dim"] {{ color: {c.dim}; }}
QLabel[role="warm"] {{ color: {c.warm}; }}
QToolTip {{ color: {c.ink}; background: {c.panel}; border: 1px solid {c.edge}; padding: {pad}px; }}
QPushButton {{ color: {c.ink}; background: transparent; border: 1px solid {c.edge}; border-radius: {radius}px;
    padding: {pad}px {wide}px; }}
QPushButton:hover {{ background: {c.chosen}; }}
QPushButton:focus {{ border: 2px solid {c.ink}; padding: {pad - 1}px {wide - 1}px; }}
QPushButton:pressed {{ background: {c.rule}; }}
QPushButton:disabled {{ color: {c.edge}; border-color: {c.rule}; }}
QPushButton[main="true"] {{ color: {c.paper}; background: {c.ink}; border-color: {c.ink};
    font-weight: bold; }}
QPushButton[main="true"]:focus {{ border: 2px solid {c.edge}; }}
QPushButton[main="true"]:disabled {{ color: {c.paper}; background: {c.edge}; border-color: {c.edge}; }}
QLineEdit, QPlainTextEdit {{ color: {c.ink}; background: {c.panel}; border: 1px solid {c.edge};
    border-radius: {radius}px; padding: {pad}px; selection-background-color: {c.chosen};
    selection-color: {c.ink}; placeholder-text-color: {c.dim}; }}
QLineEdit:focus, QPlainTextEdit:focus {{ border: 1px solid {c.ink}; }}
QComboBox {{ combobox-popup: 0; color: {c.ink}; background: {c.panel}; border: 1px solid {c.edge};
    border-radius: {radius}px; padding: {pad}px {wide}px {pad}px {pad + 3}px; }}
QComboBox:hover {{ background: {c.chosen}; }}
QComboBox:focus {{ border: 2px solid {c.ink}; padding: {pad - 1}px {wide - 1}px {pad - 1}px {pad + 2}px; }}
QComboBox QAbstractItemView {{ color: {c.ink}; background: {c.panel}; border: 1px solid {c.edge};
    selection-background-color: {c.chosen}; selection-color: {c.ink}; outline: 0; }}
QComboBox QAbstractItemView::item {{ padding: {pad}px {pad + 3}px; }}
QComboBox::drop-down {{ border: 0; width: {round(em * 1.2)}px; }}
QLabel[role]:disabled {{ color: {c.edge}; }}
QLineEdit:disabled, QComboBox:disabled {{ color: {c.edge}; background: {c.paper}; border-color: {c.rule}; }}
QTableView QLineEdit {{ border-radius: 0; padding: 0 {pad}px; }}
QTableView, QListWidget {{ color: {c.ink}; background: {c.panel}; alternate-background-color: {c.paper};
    selection-background-color: {c.chosen}; selection-color: {c.ink}; outline: 0; }}
QTableView::item {{ padding: {pad}px; border-bottom: 1px solid {c.rule}; }}
QTableView::item:selected, QListWidget::item:selected {{ background: {c.chosen}; color: {c.ink}; }}
QListWidget {{ background: {c.paper}; }}
#namingClips {{ border: 1px solid {c.rule}; border-radius: {radius}px; }}
#namingClips:focus {{ border: 1px solid {c.ink}; }}
QListWidget::item {{ padding: {pad}px {wide}px; border-left: 4px solid transparent; }}
QListWidget::item:selected {{ border-left: 4px solid {c.ink}; }}
QHeaderView, QTableCornerButton::section {{ background: {c.paper}; border: 0; }}
QHeaderView::section {{ color: {c.dim}; background: {c.paper}; border: 0; border-bottom: 1px solid {c.edge};
    padding: {pad}px {pad + 3}px; }}
QSlider::groove:horizontal {{ height: 3px; background: {c.edge}; border-radius: 1px; }}
QSlider::handle:horizontal {{ width: {round(em * 0.55)}px; margin: -{round(em * 0.35)}px 0;
    background: {c.ink}; border: 2px solid {c.paper}; border-radius: {radius}px; }}
QSlider::handle:horizontal:focus {{ border-color: {c.ink}; background: {c.paper}; }}
QSlider::handle:horizontal:disabled {{ background: {c.edge}; }}
QProgressBar {{ background: {c.rule}; border: 0; border-radius: 3px; }}
QProgressBar::chunk {{ background: {c.ink}; border-radius: 3px; }}
QScrollBar:vertical {{ background: transparent; width: {round(em * 0.8)}px; margin: 0; }}
QScrollBar:horizontal {{ background: transparent; height: {round(em * 0.8)}px; margin: 0; }}
QScrollBar::handle {{ background: {c.edge}; border-radius: {round(em * 0.2)}px; margin: 2px; }}
QScrollBar::handle:vertical {{ min-height: {round(em * 2)}px; }}
QScrollBar::handle:horizontal {{ min-width: {round(em * 2)}px; }}
QScrollBar::handle:hover {{ background: {c.dim}; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
QMenuBar {{ background: {c.paper}; color: {c.ink}; }}
QMenuBar::item {{ padding: {pad}px {wide}px; background: transparent; }}
QMenuBar::item:selected {{ background: {c.chosen}; }}
QMenu {{ background: {c.panel}; color: {c.ink}; border: 1px solid {c.edge}; padding: {pad}px; }}
QMenu::item {{ padding: {pad}px {round(em * 1.6)}px; }}
QMenu::item:selected {{ background: {c.chosen}; }}
QMenu::item:disabled {{ color: {c.edge}; }}
QMenu::separator {{ height: 1px; background: {c.rule}; margin: {pad}px; }}
#sidePanel {{ background: {c.panel}; }}
#floatingNote {{ background: {c.panel}; border: 2px solid {c.ink}; border-radius: {radius}px; }}
"""
