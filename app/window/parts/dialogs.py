"""The questions the window asks; handed to whoever asks them, so that tests can answer."""

from collections.abc import Sequence
from pathlib import Path
from typing import Protocol

from PySide6.QtWidgets import QFileDialog, QInputDialog, QMessageBox, QWidget

from app.window.parts.choice import CANCEL, Choice
from app.window.parts.fields_window import FieldsWindow
from app.window.parts.last_folders import LastFolders
from app.window.session import SUFFIX

CHOOSE_SONG = "Choose the song"
LABELS = ".txt"
RULES = ".json"
SOUND = "*.wav *.flac *.mp3 *.m4a *.aac *.ogg *.opus *.aif *.aiff *.caf *.wma"
VIDEO = "*.mov *.mp4 *.m4v *.mxf *.mts *.m2ts *.avi *.mkv *.webm *.3gp *.mpg *.mpeg *.ts *.wmv"


class Dialogs(Protocol):
    """Every question to the person; None or an empty answer means "leave it"."""

    def choose_song(self, title: str = CHOOSE_SONG) -> Path | None: ...

    def choose_playback(self) -> Path | None: ...

    def choose_clips(self) -> list[Path]: ...

    def choose_folder(self, title: str) -> Path | None: ...

    def choose_shoot(self) -> Path | None: ...

    def choose_save_path(self, name: str) -> Path | None: ...

    def choose_labels(self) -> Path | None: ...

    def choose_labels_path(self, name: str) -> Path | None: ...

    def choose_rules(self) -> Path | None: ...

    def choose_rules_path(self, name: str) -> Path | None: ...

    def choose_sheet_path(self, name: str) -> Path | None: ...

    def keep_changes(self, name: str) -> str:
        """Ask before changes are lost: ``save``, ``discard`` or ``cancel``."""
        ...

    def choose_one(
        self, title: str, question: str, answers: Sequence[str], leave: str = CANCEL
    ) -> int | None: ...

    def ask_text(self, title: str, question: str, text: str) -> str | None: ...

    def ask_texts(
        self, title: str, question: str, fields: Sequence[tuple[str, str]]
    ) -> Sequence[str] | None: ...

    def tell(self, title: str, sentence: str) -> None: ...


class WindowDialogs:
    """The questions as dialogs over a window."""

    def __init__(self, window: QWidget, folders: LastFolders) -> None:
        self._window, self._folders = window, folders

    def choose_song(self, title: str = CHOOSE_SONG) -> Path | None:
        """Ask for the song's file."""
        kinds = f"Sound and video ({SOUND} {VIDEO});;All files (*)"
        name, _ = QFileDialog.getOpenFileName(self._window, title, self._folders.start("song"), kinds)
        return self._kept("song", name)

    def choose_playback(self) -> Path | None:
        """Ask for a file that was played on set."""
        kinds = f"Sound and video ({SOUND} {VIDEO});;All files (*)"
        name, _ = QFileDialog.getOpenFileName(
            self._window, "Add a playback file", self._folders.start("playback"), kinds
        )
        return self._kept("playback", name)

    def choose_clips(self) -> list[Path]:
        """Ask for clips."""
        kinds = f"Video and sound ({VIDEO} {SOUND});;All files (*)"
        names, _ = QFileDialog.getOpenFileNames(
            self._window, "Add clips", self._folders.start("clips"), kinds
        )
        for name in names[:1]:
            self._kept("clips", name)
        return [Path(name) for name in names]

    def choose_folder(self, title: str) -> Path | None:
        """Ask for a folder; what is asked for by another title is another kind of folder."""
        name = QFileDialog.getExistingDirectory(self._window, title, self._folders.start(title))
        if not name:
            return None
        self._folders.keep(title, Path(name))
        return Path(name)

    def choose_shoot(self) -> Path | None:
        """Ask for a shoot file to open."""
        name, _ = QFileDialog.getOpenFileName(
            self._window, "Open a shoot", self._folders.start("shoot"), f"Shoots (*{SUFFIX})"
        )
        return self._kept("shoot", name)

    def choose_save_path(self, name: str) -> Path | None:
        """Ask where to keep the shoot."""
        return self._save_path("Save the shoot", "shoot", name, SUFFIX, f"Shoots (*{SUFFIX})")

    def choose_labels(self) -> Path | None:
        """Ask for a label file to read."""
        name, _ = QFileDialog.getOpenFileName(
            self._window, "Import labels", self._folders.start("labels"), f"Labels (*{LABELS})"
        )
        return self._kept("labels", name)

    def choose_labels_path(self, name: str) -> Path | None:
        """Ask where to write labels."""
        return self._save_path("Export labels", "labels", name, LABELS, f"Labels (*{LABELS})")

    def choose_rules(self) -> Path | None:
        """Ask for a file of rules to read."""
        name, _ = QFileDialog.getOpenFileName(
            self._window, "Import rules", self._folders.start("rules"), f"Rules (*{RULES})"
        )
        return self._kept("rules", name)

    def choose_rules_path(self, name: str) -> Path | None:
        """Ask where to write rules."""
        return self._save_path("Export rules", "rules", name, RULES, f"Rules (*{RULES})")

    def choose_sheet_path(self, name: str) -> Path | None:
        """Ask where to write a sheet."""
        return self._save_path("Save a sheet", "sheets", name, ".pdf", "Sheets (*.pdf *.html)")

    def _kept(self, kind: str, name: str) -> Path | None:
        """The file of that name, its folder kept for the next question; None where none was chosen."""
        if not name:
            return None
        self._folders.keep(kind, Path(name).parent)
        return Path(name)

    def keep_changes(self, name: str) -> str:
        """Ask before changes are lost."""
        box = QMessageBox(self._window)
        box.setWindowTitle("Save changes?")
        box.setText(f"“{name}” has unsaved changes.")
        box.setInformativeText("Save them before you continue?")
        button = QMessageBox.StandardButton
        box.setStandardButtons(button.Save | button.Discard | button.Cancel)
        box.setDefaultButton(button.Save)
        # Not every platform marks a key in "Discard".
        box.button(button.Discard).setText("&Discard")
        return {button.Save: "save", button.Discard: "discard"}.get(button(box.exec()), "cancel")

    def choose_one(
        self, title: str, question: str, answers: Sequence[str], leave: str = CANCEL
    ) -> int | None:
        """Ask for one of several answers; ``leave`` is written on the button that gives none."""
        choice = Choice(title, question, answers, self._window, leave=leave)
        choice.exec()
        choice.deleteLater()
        return choice.chosen

    def ask_text(self, title: str, question: str, text: str) -> str | None:
        """Ask for a line of text."""
        answer, given = QInputDialog.getText(self._window, title, question, text=text)
        return answer if given else None

    def ask_texts(self, title: str, question: str, fields: Sequence[tuple[str, str]]) -> Sequence[str] | None:
        """Ask for several lines of text; ``fields`` are their labels and what is in them to begin with."""
        window = FieldsWindow(title, question, fields, self._window)
        texts = window.texts if window.exec() else None
        window.deleteLater()
        return texts

    def _save_path(self, title: str, kind: str, name: str, suffix: str, kinds: str) -> Path | None:
        dialog = QFileDialog(self._window, title, self._folders.start(kind), kinds)
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix(suffix.removeprefix("."))
        dialog.selectFile(name + suffix)
        if dialog.exec() != QFileDialog.DialogCode.Accepted:
            return None
        return self._kept(kind, dialog.selectedFiles()[0])

    def tell(self, title: str, sentence: str) -> None:
        """Tell something that must not be overlooked."""
        QMessageBox.information(self._window, title, sentence)
