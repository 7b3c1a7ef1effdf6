"""What a person set once and for all: colours, size of text, where to keep the cache."""

import os
from pathlib import Path

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication

from app.model.storage.cache import CHOSEN
from app.window.parts.theme import Scheme

TEXT_SIZES = (100, 115, 130, 150)
"""Percent of the system's size of text."""


class Preferences:
    """Reads and writes the settings; knows what they mean."""

    def __init__(self, settings: QSettings) -> None:
        self._settings = settings

    @property
    def scheme(self) -> Scheme:
        """Colours of the window."""
        try:
            return Scheme(str(self._settings.value("window/colours", Scheme.SYSTEM.value)))
        except ValueError:
            return Scheme.SYSTEM

    def set_scheme(self, scheme: Scheme) -> None:
        """Keep the colours."""
        self._settings.setValue("window/colours", scheme.value)

    @property
    def text_size(self) -> int:
        """Percent of the system's size of text."""
        kept = str(self._settings.value("window/text size", TEXT_SIZES[0]))
        return int(kept) if kept.isdecimal() and int(kept) in TEXT_SIZES else TEXT_SIZES[0]

    def set_text_size(self, percent: int) -> None:
        """Keep the size of text; it holds from the next start on."""
        self._settings.setValue("window/text size", percent)

    @property
    def cache_folder(self) -> Path | None:
        """The folder chosen for the cache; None for the system's own."""
        kept = str(self._settings.value("cache/folder", "") or "")
        return Path(kept) if kept and Path(kept).is_absolute() else None

    def set_cache_folder(self, folder: Path | None) -> None:
        """Keep the folder; it holds from the next start on."""
        self._settings.setValue("cache/folder", str(folder.absolute()) if folder is not None else "")

    @property
    def keeps_handoff_folder(self) -> bool:
        """Whether the folder that a shoot was handed over to last is offered again."""
        return str(self._settings.value("hand-off/keep", "yes")) != "no"

    def keep_handoff_folder(self, on: bool) -> None:
        """Offer the folder a shoot was handed over to last, or always the one beside the shoot."""
        self._settings.setValue("hand-off/keep", "yes" if on else "no")

    @property
    def looks_at_pictures(self) -> bool:
        """Whether clips are looked at once they have been placed."""
        return str(self._settings.value("pictures/look", "yes")) != "no"

    def look_at_pictures(self, on: bool) -> None:
        """Look at clips once they have been placed, or not."""
        self._settings.setValue("pictures/look", "yes" if on else "no")

    def take_effect(self, application: QApplication) -> None:
        """Set what must be set before there is a window: the size of text, and the folder of the cache."""
        font = application.font()
        if self.text_size != TEXT_SIZES[0] and font.pointSizeF() > 0:
            font.setPointSizeF(font.pointSizeF() * self.text_size / 100)
            application.setFont(font)
        if self.cache_folder is not None:
            os.environ.setdefault(CHOSEN, str(self.cache_folder))
