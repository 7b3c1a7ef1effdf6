"""The few things that are set once: colours, size of text, the cache, the hand-off folder."""

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QFrame,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.model.storage import cache_space
from app.model.storage.cache import user_cache
from app.window.frame.preferences import TEXT_SIZES, Preferences
from app.window.jobs import Jobs, Ticket
from app.window.parts import theme as looks
from app.window.parts.buttons import close_button
from app.window.parts.dialogs import Dialogs
from app.window.parts.drop_down import DropDown
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Scheme, Theme

SLOT = "cache"
COLOURS = ((Scheme.SYSTEM, "Follow System"), (Scheme.LIGHT, "Light"), (Scheme.DARK, "Dark"))
NEXT_START = "Takes effect the next time you start Anglebook."


class PreferencesWindow(QDialog):
    """Every change is kept at once."""

    def __init__(
        self,
        theme: Theme,
        preferences: Preferences,
        jobs: Jobs,
        dialogs: Dialogs,
        choose_scheme: Callable[[Scheme], None],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle("Preferences")
        self._theme, self._preferences, self._jobs, self._dialogs = theme, preferences, jobs, dialogs
        self._cache = user_cache()
        em = round(theme.em())
        shown = QWidget()
        self._box = QVBoxLayout(shown)
        self._box.setContentsMargins(em * 2, em, em * 2, em)
        self._box.setSpacing(em // 2)
        self.colours = DropDown(theme)
        self.colours.addItems([name for _, name in COLOURS])
        self.colours.setCurrentIndex([scheme for scheme, _ in COLOURS].index(theme.scheme))
        self.colours.activated.connect(lambda: choose_scheme(COLOURS[self.colours.currentIndex()][0]))
        self._field("&Colours", self.colours, "Colours of the window")
        self.text = DropDown(theme)
        for percent in TEXT_SIZES:
            self.text.addItem("Same as system" if percent == 100 else f"{percent} %", percent)
        self.text.setCurrentIndex(TEXT_SIZES.index(preferences.text_size))
        self.text.activated.connect(self._on_text_size_activated)
        self._field("&Text size", self.text, "Size of all text in the window")
        self.hint = self._small(NEXT_START)
        self.hint.hide()
        self._cache_rows(em)
        self.keep_folder = QCheckBox("Suggest the &hand-off folder that a shoot used last")
        self.keep_folder.setAccessibleName("Suggest the hand-off folder that a shoot used last")
        self.keep_folder.setToolTip("Otherwise a folder next to the shoot is suggested (Alt+H)")
        self.keep_folder.setChecked(preferences.keeps_handoff_folder)
        self.keep_folder.toggled.connect(preferences.keep_handoff_folder)
        self.look = QCheckBox("Look at &pictures")
        self.look.setAccessibleName("Look at pictures")
        self.look.setToolTip(
            "After clips are placed, look at them in the background for set-ups and faults (Alt+P)"
        )
        self.look.setChecked(preferences.looks_at_pictures)
        self.look.toggled.connect(preferences.look_at_pictures)
        self._heading("Pictures and hand-off")
        self._box.addWidget(self.look)
        self._box.addWidget(self.keep_folder)
        self._box.addStretch(1)
        scroll = QScrollArea()
        scroll.setWidget(shown)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setMinimumWidth(shown.sizeHint().width())
        scroll.setAccessibleName("Preferences")
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, em * 2, em)
        whole.addWidget(scroll, 1)
        whole.addWidget(close_button(self))
        self._measure()
        free = self.screen().availableGeometry().height() - 4 * em
        self.resize(em * 40, min(shown.heightForWidth(em * 38) + em * 5, free))

    def _cache_rows(self, em: int) -> None:
        self._heading("Cache")
        self._small(
            "Results, pictures and proxies, kept so that nothing is worked out twice. Clearing it is safe."
        )
        self.folder = self._small("")
        row = QHBoxLayout()
        row.setSpacing(em // 2)
        self.choose = self._button("Choose &Folder…", "Keep the cache in another folder", self._choose)
        self.system = self._button(
            "&Default Folder", "Keep the cache where the system keeps caches", self._take_system
        )
        self.empty = self._button(
            "C&lear Cache", "Remove everything in the cache; it is rebuilt when needed", self._empty
        )
        for button in (self.choose, self.system, self.empty):
            row.addWidget(button)
        row.addStretch(1)
        self._box.addLayout(row)

    def _heading(self, text: str) -> None:
        self._box.addSpacing(round(self._theme.em()))
        self._box.addWidget(TextLabel(self._theme, text, size=looks.LARGE, bold=True))

    def _small(self, text: str) -> TextLabel:
        line = TextLabel(self._theme, text, role="dim")
        self._box.addWidget(line)
        return line

    def _field(self, name: str, field: QWidget, tip: str) -> None:
        label = TextLabel(self._theme, name, wrap=False)
        label.setBuddy(field)
        key = name[name.index("&") + 1].upper()
        field.setAccessibleName(name.replace("&", ""))
        field.setToolTip(f"{tip} (Alt+{key})")
        row = QHBoxLayout()
        row.addWidget(label, 1)
        row.addWidget(field, 2)
        self._box.addLayout(row)

    def _button(self, text: str, tip: str, run: Callable[[], None]) -> QPushButton:
        button = QPushButton(text)
        button.setAccessibleName(text.replace("&", ""))
        button.setToolTip(f"{tip} (Alt+{text[text.index('&') + 1].upper()})")
        button.setAutoDefault(False)
        button.clicked.connect(run)
        return button

    def _on_text_size_activated(self) -> None:
        self._preferences.set_text_size(self.text.currentData())
        self.hint.show()

    def _choose(self) -> None:
        folder = self._dialogs.choose_folder("Folder for the cache")
        if folder is not None:
            self._preferences.set_cache_folder(folder)
            self.folder.setText(f"{folder / 'anglebook'}. {NEXT_START}")

    def _take_system(self) -> None:
        self._preferences.set_cache_folder(None)
        self.folder.setText(f"The default folder. {NEXT_START}")

    def _measure(self) -> None:
        self.folder.setText(f"{self._cache}")
        cache = self._cache
        self._jobs.start(SLOT, lambda ticket: cache_space.size_bytes(cache), self._show_size, lambda e: None)

    def _show_size(self, size: int) -> None:
        self.folder.setText(f"{self._cache}: {_megabytes(size)}")

    def _empty(self) -> None:
        cache = self._cache

        def work(ticket: Ticket) -> tuple[int, int]:
            freed = cache_space.empty(cache, stop=ticket.stop)
            return freed, cache_space.size_bytes(cache)

        def done(answer: tuple[int, int]) -> None:
            freed, left = answer
            self.folder.setText(f"{cache}: {_megabytes(left)}, {_megabytes(freed)} cleared")

        self._jobs.start(SLOT, work, done, lambda error: self.folder.setText(str(error)))

    def hideEvent(self, event: QHideEvent) -> None:
        self._jobs.abandon(SLOT)  # its answers are for this window
        super().hideEvent(event)


def _megabytes(size: int) -> str:
    """A size as people say it.

    >>> _megabytes(0), _megabytes(1_500_000), _megabytes(2_340_000_000)
    ('empty', '1.5 MB', '2.3 GB')
    """
    if size == 0:
        return "empty"
    return f"{size / 1e9:.1f} GB" if size >= 1e9 else f"{max(size / 1e6, 0.1):.1f} MB"
