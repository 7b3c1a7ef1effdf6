"""Shows a file's folder in the program that the system has for folders."""

from pathlib import Path

from PySide6.QtCore import QUrl
from PySide6.QtGui import QDesktopServices


def show_folder(folder: Path) -> str:
    """Open a folder; gives a sentence where that cannot be, else nothing."""
    if not folder.is_dir():
        return f"The folder {folder} is not there. Connect its disk, or find the moved files (Ctrl+M)."
    if not QDesktopServices.openUrl(QUrl.fromLocalFile(str(folder))):
        return f"This system has no program to show folders. The folder is {folder}."
    return ""
