"""The small windows beside the main one: help, preferences, what came of a search."""

from collections.abc import Callable, Sequence

from PySide6.QtWidgets import QDialog, QMainWindow

from app.window.clips.moved_media import Sought
from app.window.clips.sought_window import SoughtWindow
from app.window.frame import shoot_day
from app.window.frame.about_window import AboutWindow
from app.window.frame.how_window import HowWindow
from app.window.frame.keys_window import KeysWindow
from app.window.frame.preferences import Preferences
from app.window.frame.preferences_window import PreferencesWindow
from app.window.jobs import Jobs
from app.window.parts.actions import KeyLine
from app.window.parts.dialogs import Dialogs
from app.window.parts.place import Place
from app.window.parts.theme import Scheme, Theme


class SideWindows:
    """Opens them over the main window; one of each kind at a time."""

    def __init__(
        self,
        window: QMainWindow,
        theme: Theme,
        preferences: Preferences,
        jobs: Jobs,
        dialogs: Dialogs,
        choose_scheme: Callable[[Scheme], None],
    ) -> None:
        self._window, self._theme, self._preferences = window, theme, preferences
        self._jobs, self._dialogs, self._choose_scheme = jobs, dialogs, choose_scheme

    def keys(self, everywhere: Sequence[KeyLine], places: Sequence[Place]) -> None:
        """List the keys: those of the whole window, and of each place that has any."""
        groups = [("Everywhere", everywhere), *((place.title, place.key_lines()) for place in places)]
        self._open(KeysWindow(self._theme, [one for one in groups if one[1]], self._window))

    def how(self) -> None:
        """Show the quick guide."""
        self._open(HowWindow(self._theme, self._window))

    def day(self) -> None:
        """Show what to do on the day of the shoot."""
        self._open(HowWindow(self._theme, self._window, title=shoot_day.TITLE, parts=shoot_day.PARTS))

    def about(self) -> None:
        """Tell what this program is."""
        self._open(AboutWindow(self._theme, self._window))

    def preferences(self) -> None:
        """Open the preferences."""
        made = PreferencesWindow(
            self._theme, self._preferences, self._jobs, self._dialogs, self._choose_scheme, self._window
        )
        self._open(made)

    def sought(self, sought: Sequence[Sought]) -> None:
        """Tell what became of files that were looked for."""
        self._open(SoughtWindow(self._theme, sought, self._window))

    def _open(self, made: QDialog) -> None:
        for other in self._window.findChildren(type(made)):
            if other is not made:
                other.close()
        made.show()
