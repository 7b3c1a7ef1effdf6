"""What can be done at a place, told in one table: menus, buttons, the page of keys and its search read it."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from PySide6.QtGui import QAction, QActionGroup, QKeySequence, Qt
from PySide6.QtWidgets import QWidget

Key = str | QKeySequence.StandardKey
"""A key as Qt spells it, or one that each system has of its own."""
Said = str | Callable[[], str]
"""Words, or what gives them where they follow what one is at."""
ARROWS = {"Left": "←", "Right": "→", "Up": "↑", "Down": "↓"}
SIGNS = {**ARROWS, "PgUp": "↑", "PgDown": "↓", "-": "−", "Return": "Enter", "Escape": "Esc"}
"""Keys whose sign or name on the page is another than Qt's."""


@dataclass(frozen=True, slots=True)
class Action:
    """A row of the table."""

    text: Said
    """Its name on screen."""
    keys: Key | tuple[Key, ...]
    """The one that is shown comes first."""
    tip: Said
    """Its tooltip, without the key, which is added."""
    run: Callable[[], object]
    name: str = ""
    """By which a layout asks for it; empty where none does."""
    menu: str = ""
    """The menu it stands in, or the one below Edit; empty for Edit itself."""
    enabled: Callable[[], bool] | None = None
    """Whether it can be used; None where that is always so, or told by its place."""
    shown: Callable[[], bool] | None = None
    """Whether it is offered at all; None where that is always so."""
    checked: Callable[[], bool] | None = None
    """Whether it has its tick; None where it has none."""
    one_of: str = ""
    """Of the actions with this word one has its tick."""
    repeats: bool = True
    """Whether a key that is held does it again and again."""
    context: Qt.ShortcutContext | None = None
    """Where its key is heard; None where all keys of the table are."""
    role: QAction.MenuRole | None = None


class Line:
    """A line of the page of keys: what it says, and the actions whose keys it tells of."""

    def __init__(self, text: str, *actions: Action, keys: Sequence[str] = ()) -> None:
        """``text`` is empty where each action has a line of its own, which says its name; ``keys`` are those
        that a control deals with by itself, without an action."""
        self.text, self.actions, self.keys = text, actions, tuple(keys)


class KeyLine(NamedTuple):
    """A line as it is shown."""

    keys: str
    text: str
    more: str = ""
    """Other words by which it is found."""


class ActionTable:
    """Makes the actions of a table for a widget, and keeps what they say true."""

    def __init__(
        self,
        owner: QWidget,
        lines: Iterable[Line],
        context: Qt.ShortcutContext = Qt.ShortcutContext.WidgetWithChildrenShortcut,
    ) -> None:
        """``context`` is where its keys are heard."""
        self._owner, self._context = owner, context
        self._groups: dict[str, QActionGroup] = {}
        self._lines = [(line, [(row, self._make(row)) for row in line.actions]) for line in lines]
        self._rows = [one for _, made in self._lines for one in made]
        self._named = {row.name: made for row, made in self._rows if row.name}
        self.refresh()

    def __getitem__(self, name: str) -> QAction:
        """The action of that name."""
        return self._named[name]

    def several(self, *names: str) -> list[QAction]:
        """The actions of these names."""
        return [self._named[name] for name in names]

    def sections(self, menu: str) -> list[list[QAction]]:
        """The actions of a menu, those of one line together."""
        found = [[made for row, made in line if row.menu == menu] for _, line in self._lines]
        return [section for section in found if section]

    @property
    def entries(self) -> list[tuple[str, QAction]]:
        """All actions, each after the name of the menu it stands in."""
        return [(row.menu, made) for row, made in self._rows]

    @property
    def page(self) -> list[KeyLine]:
        """The lines for the page of keys."""
        found = []
        for line, rows in self._lines:
            actions = [made for _, made in rows]
            if line.text:
                keys = [*line.keys, *(action.shortcut().toString() for action in actions)]
                found.append(KeyLine(keys_shown(keys), line.text, " ".join(map(_words, actions))))
                continue
            own = [KeyLine(one.shortcut().toString(), _bare(one.text()), one.toolTip()) for one in actions]
            found += [one for one in own if one.keys]
        return found

    def refresh(self) -> None:
        """Have names, tips and what can be used follow what one is at."""
        for row, made in self._rows:
            _fit(row, made)

    def _make(self, row: Action) -> QAction:
        made = QAction(self._owner)
        keys = row.keys if isinstance(row.keys, tuple) else (row.keys,)
        made.setShortcuts([QKeySequence(key) for key in keys])
        made.setShortcutContext(self._context if row.context is None else row.context)
        made.setAutoRepeat(row.repeats)
        made.setCheckable(row.checked is not None)
        if row.role is not None:
            made.setMenuRole(row.role)
        if row.one_of:
            if row.one_of not in self._groups:
                self._groups[row.one_of] = QActionGroup(self._owner)
            self._groups[row.one_of].addAction(made)
        made.triggered.connect(lambda: self._run(row))
        self._owner.addAction(made)
        return made

    def _run(self, row: Action) -> None:
        row.run()
        if row.checked is not None:
            self.refresh()  # Qt has changed the tick by itself, whatever came of it


def _fit(row: Action, made: QAction) -> None:
    made.setText(_said(row.text))
    key = made.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
    made.setToolTip(f"{_said(row.tip)} ({key})" if key else _said(row.tip))
    if row.enabled is not None:
        made.setEnabled(row.enabled())
    if row.shown is not None:
        made.setVisible(row.shown())
    if row.checked is not None:
        made.setChecked(row.checked())


def keys_shown(keys: Sequence[str]) -> str:
    """Keys that do the same kind of thing, as the page tells them.

    >>> keys_shown(["Shift+Left", "Shift+Right"]), keys_shown(["PgUp", "PgDown"]), keys_shown(["+", "-", "0"])
    ('Shift+← →', 'Page ↑ ↓', '+ − 0')
    >>> keys_shown(["Ctrl+Return"]), keys_shown(["1", "2", "3"]), keys_shown(["Shift+H", "Shift+D"])
    ('Ctrl+Enter', '1–3', 'Shift+H Shift+D')
    """
    parts = [_parted(key) for key in keys]
    if len(parts) > 2 and len({held for held, _ in parts}) == 1 and all(key.isdecimal() for _, key in parts):
        numbers = [int(key) for _, key in parts]
        if numbers == list(range(numbers[0], numbers[-1] + 1)):
            return f"{parts[0][0]}{numbers[0]}–{numbers[-1]}"
    found: list[str] = []
    before = None
    for held, key in parts:
        page = "Page " if key in ("PgUp", "PgDown") else ""
        # Of several arrows only the first tells what is held with them.
        again = before == held + page and key in (*ARROWS, "PgUp", "PgDown")
        found.append(SIGNS.get(key, key) if again else f"{page}{held}{SIGNS.get(key, key)}")
        before = held + page
    return " ".join(found)


def _parted(key: str) -> tuple[str, str]:
    """What is held, with its plus, and the key itself, which may be a plus."""
    held = key[:-1].rpartition("+")[0]
    return (f"{held}+", key[len(held) + 1 :]) if held else ("", key)


def _said(words: Said) -> str:
    return words if isinstance(words, str) else words()


def _bare(text: str) -> str:
    return text.replace("&", "")


def _words(action: QAction) -> str:
    return _bare(f"{action.text()} {action.toolTip()}")
