"""The actions of the whole window and the menu bar made of them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMainWindow

from app.session import Session
from app.views.theme import Scheme

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
    save: Callable[[], object]
    save_as: Callable[[], object]
    choose_song: Callable[[], None]
    add_clips: Callable[[], None]
    add_folder: Callable[[], None]
    stop: Callable[[], None]
    close: Callable[[], object]
    go: Callable[[int], None]
    scheme: Callable[[Scheme], None]
    keys: Callable[[], None]
    about: Callable[[], None]
    here: Callable[[], Sequence[QAction]]
    """The actions of the place one is at, for the Edit menu."""


class Menus:
    """Makes the actions, and keeps Undo and Redo telling what they would do."""

    def __init__(self, window: QMainWindow, session: Session, deeds: Deeds) -> None:
        self._window, self._session, self._here = window, session, deeds.here
        key = QKeySequence.StandardKey
        self.new = self._make("&New", key.New, "Begin an empty shoot", deeds.new)
        self.open = self._make("&Open…", key.Open, "Open a shoot", deeds.open)
        self.save = self._make("&Save", key.Save, "Save the shoot", deeds.save)
        self.save_as = self._make(
            "Save &As…", "Ctrl+Shift+S", "Save the shoot under another name", deeds.save_as
        )
        self.song = self._make(
            "&Choose Song…", "Ctrl+Shift+O", "Choose the recording everybody played to", deeds.choose_song
        )
        self.clips = self._make("Add C&lips…", "Ctrl+I", "Add clips to the shoot", deeds.add_clips)
        self.folder = self._make(
            "Add &Folder…", "Ctrl+Shift+I", "Add all clips of a folder", deeds.add_folder
        )
        self.stop = self._make("S&top", "Ctrl+T", "Stop what is being done; answers so far stay", deeds.stop)
        self.close = self._make("&Quit", "Ctrl+Q", "Close the window", deeds.close)
        self.close.setMenuRole(QAction.MenuRole.QuitRole)
        self.undo = self._make("&Undo", key.Undo, "Take back the last step", session.undo)
        self.redo = self._make("&Redo", "Ctrl+Shift+Z", "Do again what was taken back", session.redo)
        self.keys = self._make("&Keys", "F1", "List the keys", deeds.keys)
        self.about = self._make("&About Anglebook", "", "What this program is", deeds.about)
        self.about.setMenuRole(QAction.MenuRole.AboutRole)
        self.places = self._choices(
            [(name, f"Ctrl+{n}", tip) for n, (name, tip) in enumerate(PLACES, 1)], deeds.go
        )
        self.schemes = self._choices(
            [(name, keys, "Colours of the window") for _, name, keys in SCHEMES],
            lambda n: deeds.scheme(SCHEMES[n][0]),
        )
        self._bar()
        session.changed.connect(self.refresh)
        self.refresh()

    def refresh(self, *_: object) -> None:
        """Tell in the menu what would be undone and redone."""
        for action, verb, label in (
            (self.undo, "&Undo", self._session.undo_label),
            (self.redo, "&Redo", self._session.redo_label),
        ):
            action.setText(f"{verb} {label}" if label else verb)
            action.setEnabled(label is not None)

    def _fill_edit(self) -> None:
        self._edit.clear()
        self._edit.addActions([self.undo, self.redo])
        self._edit.addSeparator()
        self._edit.addActions([action for action in self._here() if action.isVisible()])

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

    def _bar(self) -> None:
        bar = self._window.menuBar()
        menu = bar.addMenu("&File")
        menu.addActions([self.new, self.open])
        menu.addSeparator()
        menu.addActions([self.save, self.save_as])
        menu.addSeparator()
        menu.addActions([self.song, self.clips, self.folder, self.stop])
        menu.addSeparator()
        menu.addAction(self.close)
        self._edit = bar.addMenu("&Edit")
        self._edit.aboutToShow.connect(self._fill_edit)
        self._fill_edit()
        view = bar.addMenu("&View")
        view.addActions(self.places)
        view.addSeparator()
        view.addActions(self.schemes)
        bar.addMenu("&Help").addActions([self.keys, self.about])
