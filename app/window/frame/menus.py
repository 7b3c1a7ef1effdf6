"""The actions of the whole window and the menu bar made of them."""

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu

from app.window.frame.edit_groups import group_of
from app.window.parts.recent import Recent
from app.window.parts.theme import Scheme
from app.window.session import Session

PLACES = (
    ("Clips", "The song, the files, and what each turned out to be"),
    ("Song", "Tempo, bars and sections of the song"),
    ("Check", "Takes in doubt: choose and confirm"),
    ("Score", "Which takes cover which bar"),
    ("Hand-off", "Write it out for the editing program"),
)
SCHEMES = (
    (Scheme.SYSTEM, "By &System", "Ctrl+Alt+0"),
    (Scheme.LIGHT, "&Light", "Ctrl+Alt+1"),
    (Scheme.DARK, "&Dark", "Ctrl+Alt+2"),
)


@dataclass(frozen=True, slots=True)
class Deeds:
    """What the menu entries do."""

    new: Callable[[], None]
    open: Callable[[], None]
    open_recent: Callable[[Path], None]
    save: Callable[[], object]
    save_as: Callable[[], object]
    choose_song: Callable[[], None]
    add_clips: Callable[[], None]
    add_folder: Callable[[], None]
    watch: Callable[[], None]
    stop: Callable[[], None]
    close: Callable[[], object]
    go: Callable[[int], None]
    scheme: Callable[[Scheme], None]
    preferences: Callable[[], None]
    how: Callable[[], None]
    keys: Callable[[], None]
    sample: Callable[[], None]
    about: Callable[[], None]
    play: Sequence[QAction]
    """The actions of playing, for a menu of their own."""
    here: Callable[[], tuple[str, Sequence[QAction]]]
    """The title and the actions of the place one is at, for the Edit menu."""


class Menus:
    """Makes the actions, and keeps Undo and Redo telling what they would do."""

    def __init__(self, window: QMainWindow, session: Session, recent: Recent, deeds: Deeds) -> None:
        self._window, self._session, self._here = window, session, deeds.here
        self._recent, self._open_recent = recent, deeds.open_recent
        key = QKeySequence.StandardKey
        make = self._make
        self.new = make("&New", key.New, "Begin an empty shoot", deeds.new)
        self.open = make("&Open…", key.Open, "Open a shoot", deeds.open)
        self.recent = make("Open &Recent…", "Ctrl+Shift+R", "Choose among recent shoots", self.pop_up)
        self.save = make("&Save", key.Save, "Save the shoot", deeds.save)
        self.save_as = make("Save &As…", "Ctrl+Shift+S", "Save the shoot under another name", deeds.save_as)
        self.song = make(
            "&Choose Song…", "Ctrl+Shift+O", "Choose the recording everybody played to", deeds.choose_song
        )
        self.clips = make("Add C&lips…", "Ctrl+I", "Add clips to the shoot", deeds.add_clips)
        self.folder = make("Add &Folder…", "Ctrl+Shift+I", "Add all clips of a folder", deeds.add_folder)
        self.watch = make(
            "&While We Shoot…",
            "Ctrl+Shift+W",
            "Watch a folder: clips copied to it are taken in and placed by themselves",
            deeds.watch,
        )
        self.stop = make("S&top", "Ctrl+T", "Stop what is being done; answers so far stay", deeds.stop)
        quit_text = "E&xit" if sys.platform == "win32" else "&Quit"
        self.close = make(quit_text, "Ctrl+Q", "Close the window", deeds.close)
        self.close.setMenuRole(QAction.MenuRole.QuitRole)
        self.undo = make("&Undo", key.Undo, "Take back the last step", session.undo)
        self.redo = make("&Redo", "Ctrl+Shift+Z", "Do again what was taken back", session.redo)
        self.preferences = make(
            "&Preferences…", "Ctrl+,", "Colours, size of text, folders", deeds.preferences
        )
        self.preferences.setMenuRole(QAction.MenuRole.PreferencesRole)
        self.how = make("How It &Goes", "Shift+F1", "The way from the song to the hand-off", deeds.how)
        self.keys = make("&Keys", "F1", "List the keys", deeds.keys)
        self.sample = make(
            "Open Sample S&hoot", "Ctrl+Alt+S", "Take in the shoot that came along and place it", deeds.sample
        )
        self.about = make("&About Anglebook", "Ctrl+Shift+F1", "What this program is", deeds.about)
        self.about.setMenuRole(QAction.MenuRole.AboutRole)
        self.places = self._choices(
            [(name, f"Ctrl+{n}", tip) for n, (name, tip) in enumerate(PLACES, 1)], deeds.go
        )
        self.schemes = self._choices(
            [(name, keys, "Colours of the window") for _, name, keys in SCHEMES],
            lambda n: deeds.scheme(SCHEMES[n][0]),
        )
        self._of_place: list[QAction] = []
        self._groups: dict[str, QMenu] = {}
        self._bar(deeds.play)
        session.changed.connect(self.refresh)
        recent.changed.connect(self._fill_recent)
        self.refresh()

    def refresh(self, *_: object) -> None:
        """Tell in the menu what would be undone and redone."""
        for action, verb, label in (
            (self.undo, "&Undo", self._session.undo_label),
            (self.redo, "&Redo", self._session.redo_label),
        ):
            action.setText(f"{verb} {label}" if label else verb)
            action.setEnabled(label is not None)

    def show_watched(self, on: bool) -> None:
        """Tell in the menu whether a folder is watched."""
        self.watch.setText("Stop &Watching" if on else "&While We Shoot…")

    def pop_up(self) -> None:
        """Offer the shoots opened last, below the menu bar."""
        below = self._window.menuBar().geometry().bottomLeft()
        self._shoots.popup(self._window.mapToGlobal(below))

    def _fill_recent(self) -> None:
        self._shoots.clear()
        for number, path in enumerate(self._recent.paths, 1):
            name = path.stem.replace("&", "&&")
            entry = self._shoots.addAction(f"&{number}  {name}")
            entry.setToolTip(f"Open {path} ({number})")
            entry.triggered.connect(lambda _=False, path=path: self._open_recent(path))
        self.recent.setEnabled(bool(self._recent.paths))
        if self._recent.paths:
            self._shoots.addSeparator()
            clear = self._shoots.addAction("&Clear This List")
            clear.setToolTip("Take all shoots off this list; their files stay (C)")
            clear.triggered.connect(self._recent.clear)

    def _fill_edit(self) -> None:
        """Offer what can be done at the place one is at, between Undo and Preferences."""
        for action in self._of_place:
            self._edit.removeAction(action)
        self._of_place = []
        for menu in self._groups.values():
            menu.deleteLater()
        self._groups = {}
        title, actions = self._here()
        for action in actions:
            if not action.isVisible():
                continue
            name = group_of(title, action.shortcut().toString())
            if name is None:
                self._add_here(action)
                continue
            if name not in self._groups:
                self._groups[name] = QMenu(name, self._edit)
                self._groups[name].menuAction().setToolTip(name.replace("&", ""))
            self._groups[name].addAction(action)
        for menu in self._groups.values():
            self._add_here(menu.menuAction())

    def _add_here(self, action: QAction) -> None:
        self._edit.insertAction(self._edit_end, action)
        self._of_place.append(action)

    def _make(
        self, text: str, key: QKeySequence.StandardKey | str, tip: str, deed: Callable[[], object]
    ) -> QAction:
        action = QAction(text, self._window)
        action.setShortcut(QKeySequence(key))
        shown = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
        action.setToolTip(f"{tip} ({shown})" if shown else tip)
        action.triggered.connect(lambda: deed())
        self._window.addAction(action)
        return action

    def _choices(self, entries: list[tuple[str, str, str]], deed: Callable[[int], None]) -> list[QAction]:
        group = QActionGroup(self._window)
        actions = []
        for n, (text, key, tip) in enumerate(entries):
            action = self._make(text, key, tip, lambda n=n: deed(n))  # type: ignore[misc]
            action.setCheckable(True)
            group.addAction(action)
            actions.append(action)
        return actions

    def _bar(self, play: Sequence[QAction]) -> None:
        bar = self._window.menuBar()
        menu = bar.addMenu("&File")
        menu.addActions([self.new, self.open, self.recent])
        self._shoots = QMenu("Open Recent", self._window)
        self._shoots.setToolTipsVisible(True)
        self._fill_recent()
        menu.addSeparator()
        menu.addActions([self.save, self.save_as])
        menu.addSeparator()
        menu.addActions([self.song, self.clips, self.folder, self.watch, self.stop])
        menu.addSeparator()
        menu.addAction(self.close)
        self._edit = bar.addMenu("&Edit")
        self._edit.addActions([self.undo, self.redo])
        self._edit.addSeparator()
        self._edit_end = self._edit.addSeparator()
        self._edit.addAction(self.preferences)
        self._edit.aboutToShow.connect(self._fill_edit)
        self._fill_edit()
        view = bar.addMenu("&View")
        view.addActions(self.places)
        view.addSeparator()
        view.addActions(self.schemes)
        bar.addMenu("&Play").addActions(list(play))
        bar.addMenu("&Help").addActions([self.how, self.keys, self.sample, self.about])
