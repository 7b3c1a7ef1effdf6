"""The menu bar, made of the window's table of actions, and of that of the place one is at below Edit."""

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtGui import QAction
from PySide6.QtWidgets import QMainWindow, QMenu

from app.window.frame.window_actions import EDIT, MENUS
from app.window.parts.actions import ActionTable
from app.window.parts.recent import Recent


class Menus:
    """Fills the menus; those of the place and of the recent shoots change."""

    def __init__(
        self,
        window: QMainWindow,
        tables: Sequence[ActionTable],
        here: Callable[[], ActionTable | None],
        recent: Recent,
        open_recent: Callable[[Path], None],
    ) -> None:
        """``here`` gives the table of the place one is at; None as long as there is none."""
        self._window, self._here = window, here
        self._recent, self._open_recent = recent, open_recent
        self._of_place: list[QAction] = []
        self._below: dict[str, QMenu] = {}
        self.shoots = QMenu("Open Recent", window)
        self.shoots.setToolTipsVisible(True)
        self._add_menus(tables)
        self._fill_recent()
        self._fill_edit()
        recent.changed.connect(self._fill_recent)

    def pop_up_recent(self) -> None:
        """Offer the shoots opened last, below the menu bar; Enter opens the newest at once."""
        below = self._window.menuBar().geometry().bottomLeft()
        self.shoots.popup(self._window.mapToGlobal(below))
        self.shoots.setActiveAction(self.shoots.actions()[0])

    def _add_menus(self, tables: Sequence[ActionTable]) -> None:
        for name in MENUS:
            menu = self._window.menuBar().addMenu(name)
            for number, section in enumerate(one for table in tables for one in table.sections(name)):
                if number:
                    menu.addSeparator()
                if name == EDIT and number == 1:
                    # What can be done at the place stands between two lines.
                    self._edit, self._edit_end = menu, menu.addSeparator()
                menu.addActions(section)
        self._edit.aboutToShow.connect(self._fill_edit)

    def _fill_recent(self) -> None:
        self.shoots.clear()
        for number, path in enumerate(self._recent.paths, 1):
            name = path.stem.replace("&", "&&")
            entry = self.shoots.addAction(f"&{number}  {name}")
            entry.setToolTip(f"Open {path} ({number})")
            entry.triggered.connect(lambda _=False, path=path: self._open_recent(path))
        if self._recent.paths:
            self.shoots.addSeparator()
            clear = self.shoots.addAction("&Clear This List")
            clear.setToolTip("Take all shoots off this list; their files stay (C)")
            clear.triggered.connect(self._recent.clear)

    def _fill_edit(self) -> None:
        """Offer what can be done at the place one is at, between Undo and Preferences."""
        for action in self._of_place:
            self._edit.removeAction(action)
        self._of_place = []
        for menu in self._below.values():
            menu.deleteLater()
        self._below = {}
        table = self._here()
        for name, action in table.entries if table is not None else ():
            if not action.isVisible():
                continue
            if not name:
                self._add_here(action)
                continue
            if name not in self._below:
                self._below[name] = QMenu(name, self._edit)
                self._below[name].menuAction().setToolTip(name.replace("&", ""))
            self._below[name].addAction(action)
        for menu in self._below.values():
            self._add_here(menu.menuAction())

    def _add_here(self, action: QAction) -> None:
        self._edit.insertAction(self._edit_end, action)
        self._of_place.append(action)
