"""The table of what can be done in the whole window; the menu bar is made of it."""

import sys
from collections.abc import Sequence
from functools import partial
from typing import Protocol

from PySide6.QtGui import QAction, QKeySequence

from app.window.clips.moved_media import MovedMedia
from app.window.clips.watched_folder import WatchedFolder
from app.window.frame.shoot_file import ShootFile
from app.window.frame.side_windows import SideWindows
from app.window.master.earlier_masters import EarlierMasters
from app.window.master.replace_song import ReplaceSong
from app.window.parts import words
from app.window.parts.actions import Action, Line
from app.window.parts.recent import Recent
from app.window.parts.theme import Scheme, Theme
from app.window.session import Session
from app.window.work.background_look import BackgroundLook
from app.window.work.running import Running
from app.window.work.work import Work

PLACES = (
    ("Clips", "The song, your files, and the result for each"),
    ("Song", "Tempo, bars and sections of the song"),
    ("Plan", "Who must be seen where, and what is still missing"),
    ("Check", "Takes in doubt: choose a place and confirm it"),
    ("Score", "Which takes cover which bar"),
    ("Hand-off", "Write the files for your editing program"),
)
SCHEMES = (
    (Scheme.SYSTEM, "Follow &System", "Ctrl+Alt+0"),
    (Scheme.LIGHT, "&Light", "Ctrl+Alt+1"),
    (Scheme.DARK, "&Dark", "Ctrl+Alt+2"),
)
FILE, EDIT, VIEW, PLAY, HELP = MENUS = ("&File", "&Edit", "&View", "&Play", "&Help")
PLACE_NAMES = tuple(f"place {number}" for number in range(1, len(PLACES) + 1))
"""By these the actions of the table that go to the places are asked for."""
KEY = QKeySequence.StandardKey
ROLE = QAction.MenuRole


class Window(Protocol):
    """What the window does by itself."""

    has_sample: bool
    """Whether a sample shoot came along."""

    @property
    def place_number(self) -> int:
        """The place one is at, counted from 0."""
        ...

    def go(self, index: int) -> None: ...

    def choose_scheme(self, scheme: Scheme) -> None: ...

    def open_sample(self) -> None: ...

    def name_angles(self) -> None: ...

    def step_song(self, by: int) -> None: ...

    def offer_recent(self) -> None: ...

    def list_keys(self) -> None: ...

    def close(self) -> bool: ...


def window_actions(
    window: Window,
    session: Session,
    theme: Theme,
    shoot_file: ShootFile,
    recent: Recent,
    running: Running,
    work: Work,
    watch: WatchedFolder,
    moved: MovedMedia,
    side: SideWindows,
    look: BackgroundLook,
    replacing: ReplaceSong,
    earlier: EarlierMasters,
) -> Sequence[Line]:
    """What can be done wherever one is. A line is a section of its menu."""

    def is_at(number: int) -> bool:
        return window.place_number == number

    def is_shown(scheme: Scheme) -> bool:
        return theme.scheme is scheme

    def find_words() -> str:
        gone = len(moved.gone)
        return f"Find {words.count(gone, '&Moved File')}…" if gone else "Find &Moved Files…"

    def verb(word: str, label: str | None) -> str:
        return f"{word} {label}" if label else word

    return (
        Line(
            "",
            Action("&New", KEY.New, "Start an empty shoot", shoot_file.new, name="new", menu=FILE),
            Action("&Open…", KEY.Open, "Open a shoot", shoot_file.open, name="open", menu=FILE),
            Action(
                "Open &Recent…",
                "Ctrl+Shift+R",
                "Open one of your recent shoots",
                window.offer_recent,
                name="recent",
                menu=FILE,
                enabled=lambda: bool(recent.paths),
            ),
        ),
        Line(
            "",
            Action("&Save", KEY.Save, "Save the shoot", shoot_file.save, name="save", menu=FILE),
            Action(
                "Save &As…",
                "Ctrl+Shift+S",
                "Save the shoot under another name",
                shoot_file.save_as,
                name="save as",
                menu=FILE,
            ),
        ),
        Line(
            "",
            Action(
                "&Choose Song…",
                "Ctrl+Shift+O",
                "Choose the recording that everybody played to",
                work.choose_song,
                name="song",
                menu=FILE,
            ),
            Action(
                "Add Song…",
                "Ctrl+Alt+O",
                "Add one more song to the shoot: each clip finds its own",
                work.add_song,
                name="add song",
                menu=FILE,
                enabled=lambda: bool(session.songs),
            ),
            Action(
                "Replace the Son&g…",
                "Ctrl+Alt+R",
                "A new master has come: see what became of what, and carry everything over to it",
                replacing.choose,
                name="replace song",
                menu=FILE,
                enabled=lambda: bool(session.songs),
            ),
            Action(
                lambda: f"Remove {session.view.song.called}" if session.view.song else "Remove Song",
                "Ctrl+Alt+Backspace",
                "Take the song in hand out of the shoot, with all that was found and planned for it",
                work.remove_song,
                name="remove song",
                menu=FILE,
                shown=lambda: len(session.songs) > 1,
            ),
            Action(
                "Add C&lips…", "Ctrl+I", "Add clips to the shoot", work.add_clips, name="clips", menu=FILE
            ),
            Action(
                "Add &Folder…",
                "Ctrl+Shift+I",
                "Add all clips of a folder",
                work.add_folder,
                name="folder",
                menu=FILE,
            ),
            Action(
                lambda: "&Watch a Folder…" if watch.folder is None else "Stop &Watching",
                "Ctrl+Shift+W",
                "Watch a folder: clips you copy into it are added and placed automatically",
                watch.choose,
                name="watch",
                menu=FILE,
            ),
            Action(
                find_words,
                "Ctrl+M",
                "Search a folder for files that were moved",
                moved.find,
                name="find",
                menu=FILE,
                shown=lambda: bool(moved.gone),
            ),
            Action(
                "Loo&k at Pictures",
                "Ctrl+Shift+K",
                lambda: (
                    look.why_not or "Look for faults and set-ups in all clips' pictures (Ctrl+T stops it)"
                ),
                look.look_again,
                name="look",
                menu=FILE,
                enabled=lambda: not look.why_not,
                repeats=False,
            ),
            Action(
                "S&top",
                "Ctrl+T",
                "Stop the running work; results so far are kept",
                running.stop,
                name="stop",
                menu=FILE,
            ),
        ),
        Line(
            "",
            Action(
                "E&xit" if sys.platform == "win32" else "&Quit",
                "Ctrl+Q",
                "Close the window",
                window.close,
                name="close",
                menu=FILE,
                role=ROLE.QuitRole,
            ),
        ),
        Line(
            "",
            Action(
                lambda: verb("&Undo", session.undo_label),
                KEY.Undo,
                "Undo the last step",
                session.undo,
                name="undo",
                menu=EDIT,
                enabled=lambda: session.undo_label is not None,
            ),
            Action(
                lambda: verb("&Redo", session.redo_label),
                "Ctrl+Shift+Z",
                "Redo the step you undid",
                session.redo,
                name="redo",
                menu=EDIT,
                enabled=lambda: session.redo_label is not None,
            ),
        ),
        Line(
            "",
            Action(
                "&Name Angles…",
                "Ctrl+Shift+N",
                "Name what each camera shows, all angles on one page",
                window.name_angles,
                name="name angles",
                menu=EDIT,
                enabled=lambda: bool(session.shoot.clips),
            ),
        ),
        Line(
            "",
            Action(
                "&Preferences…",
                "Ctrl+,",
                "Colours, text size, folders",
                side.preferences,
                name="preferences",
                menu=EDIT,
                role=ROLE.PreferencesRole,
            ),
        ),
        Line(
            "",
            Action(
                "Quick &Guide",
                "Shift+F1",
                "How it works, from the song to the hand-off",
                side.how,
                name="how",
                menu=HELP,
            ),
            Action(
                "The &Day of the Shoot",
                "Ctrl+F1",
                "What to do on the day, so that every clip can be placed",
                side.day,
                name="day",
                menu=HELP,
            ),
            Action(
                "&Keyboard Shortcuts",
                "F1",
                "List all keyboard shortcuts",
                window.list_keys,
                name="keys",
                menu=HELP,
            ),
            Action(
                "Open Sample S&hoot",
                "Ctrl+Alt+S",
                "Open the sample shoot that comes with Anglebook",
                window.open_sample,
                name="sample",
                menu=HELP,
                shown=lambda: window.has_sample,
            ),
            Action(
                "&About Anglebook",
                "Ctrl+Shift+F1",
                "Version and licence",
                side.about,
                name="about",
                menu=HELP,
                role=ROLE.AboutRole,
            ),
        ),
        Line(
            "",
            *(
                Action(
                    text,
                    f"Ctrl+{number + 1}",
                    tip,
                    partial(window.go, number),
                    name=PLACE_NAMES[number],
                    menu=VIEW,
                    checked=partial(is_at, number),
                    one_of="places",
                )
                for number, (text, tip) in enumerate(PLACES)
            ),
        ),
        Line(
            "",
            *(
                Action(
                    text,
                    key,
                    "Song, Plan, Check, Score and Hand-off show one song at a time",
                    partial(window.step_song, by),
                    name=text,
                    menu=VIEW,
                    shown=lambda: len(session.songs) > 1,
                )
                for text, key, by in (("Next Song", "Ctrl+PgDown", 1), ("Previous Song", "Ctrl+PgUp", -1))
            ),
            Action(
                "Earlier &Masters…",
                "Ctrl+Alt+M",
                "What became of the song's earlier masters, and what has no place on the new one",
                earlier.open,
                name="earlier masters",
                menu=VIEW,
                shown=lambda: bool(session.view.masters),
            ),
        ),
        Line(
            "",
            *(
                Action(
                    text,
                    key,
                    "Colours of the window",
                    partial(window.choose_scheme, scheme),
                    name=scheme.value,
                    menu=VIEW,
                    checked=partial(is_shown, scheme),
                    one_of="schemes",
                )
                for scheme, text, key in SCHEMES
            ),
        ),
    )
