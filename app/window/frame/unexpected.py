"""An error that nobody expected: the shoot's changes are written aside, and one page has a report to copy."""

import logging
import platform
import sys
import traceback
from collections.abc import Callable
from types import TracebackType

from PySide6.QtCore import QtMsgType, qInstallMessageHandler, qVersion
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QPlainTextEdit, QVBoxLayout, QWidget

from app.model.storage.log_file import log_path
from app.window.frame.about_window import version_words
from app.window.parts.text_label import TextLabel
from app.window.parts.theme import Theme

TITLE = "Something went wrong"
SENTENCE = (
    "Something went wrong that nobody expected. Your shoot is still open, and your unsaved changes were "
    "written aside. Save it under another name, then start Anglebook again."
)
LEVELS = {
    QtMsgType.QtWarningMsg: logging.WARNING,
    QtMsgType.QtCriticalMsg: logging.ERROR,
    QtMsgType.QtFatalMsg: logging.CRITICAL,
}


class UnexpectedWindow(QDialog):
    """Says that something went wrong, and has a report to copy."""

    def __init__(self, theme: Theme, report: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(TITLE)
        em = round(theme.em())
        box = QVBoxLayout(self)
        box.setContentsMargins(em, em, em, em)
        box.addWidget(TextLabel(theme, SENTENCE))
        self.report = QPlainTextEdit(report)
        self.report.setReadOnly(True)
        self.report.setAccessibleName("Report")
        self.report.setToolTip("What went wrong, for whoever helps; nothing is sent on its own")
        box.addWidget(self.report, 1)
        buttons = QDialogButtonBox()
        self.copy = buttons.addButton("Copy Report", QDialogButtonBox.ButtonRole.ActionRole)
        self.copy.setToolTip("Copy the report, to paste it into a message (Ctrl+Shift+C)")
        self.copy.setShortcut("Ctrl+Shift+C")
        self.copy.clicked.connect(self._copy)
        close = buttons.addButton("Close", QDialogButtonBox.ButtonRole.RejectRole)
        close.setToolTip("Go on (Esc)")
        buttons.rejected.connect(self.reject)
        box.addWidget(buttons)
        self.resize(em * 44, em * 26)

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(self.report.toPlainText())


class Unexpected:
    """Takes errors that reach nobody else; while its page is open, further ones only go to the log."""

    def __init__(self, theme: Theme, window: QWidget, keep: Callable[[], None]) -> None:
        """``keep`` writes the shoot's changes aside."""
        self._theme, self._window, self._keep = theme, window, keep
        self.page: UnexpectedWindow | None = None

    def __call__(self, kind: type[BaseException], error: BaseException, where: TracebackType | None) -> None:
        """Take an error, as `sys.excepthook` does."""
        if issubclass(kind, KeyboardInterrupt):
            sys.__excepthook__(kind, error, where)
            return
        logging.getLogger(__name__).error("nobody expected", exc_info=(kind, error, where))
        try:
            self._keep()
        except Exception as second:  # what went wrong may be just that
            logging.getLogger(__name__).error("the changes could not be written aside", exc_info=second)
        if self.page is not None:
            return
        self.page = UnexpectedWindow(self._theme, report_of(kind, error, where), self._window)
        self.page.finished.connect(self._closed)
        self.page.open()

    def _closed(self) -> None:
        page, self.page = self.page, None
        if page is not None:
            page.deleteLater()


def report_of(kind: type[BaseException], error: BaseException, where: TracebackType | None) -> str:
    """What whoever helps must know."""
    lines = [
        version_words(),
        f"Python {platform.python_version()}, Qt {qVersion()}, {platform.platform()}",
        f"Log: {log_path()}",
        "",
        *traceback.format_exception(kind, error, where),
    ]
    return "\n".join(line.rstrip("\n") for line in lines)


def catch_unexpected(theme: Theme, window: QWidget, keep: Callable[[], None]) -> Unexpected:
    """From now on errors are told on a page, and what the toolkit says goes to the log."""
    caught = Unexpected(theme, window, keep)
    sys.excepthook = caught
    qInstallMessageHandler(_to_log)
    return caught


def _to_log(kind: QtMsgType, context: object, message: str) -> None:
    logging.getLogger("qt").log(LEVELS.get(kind, logging.INFO), "%s", message)
