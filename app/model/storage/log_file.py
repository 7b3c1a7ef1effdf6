"""The log: what went wrong, for a report; warnings of libraries go there and not to the terminal.

It lies in the platform's place: ``~/Library/Logs/Anglebook`` on macOS, else a folder ``logs`` beside what
this installation remembers. It is no larger than `MOST_BYTES`, and the one before is kept.
"""

import logging
import os
import platform
import sys
import warnings
from collections.abc import Mapping
from pathlib import Path

from app.model.storage.home import home_or_stand_in
from app.model.storage.user_state import user_state

NAME = "anglebook.log"
MOST_BYTES = 1_000_000
"""When a program begins with a larger one, it becomes ``anglebook.log.1``."""
LINES = "%(asctime)s %(process)d %(levelname)s %(name)s: %(message)s"


class _Quiet(logging.FileHandler):
    """Where the log cannot be written nothing is said: it is a convenience."""

    def emit(self, record: logging.LogRecord) -> None:
        try:
            if self.stream is None:  # opened by the first line
                Path(self.baseFilename).parent.mkdir(parents=True, exist_ok=True)
            super().emit(record)
        except OSError:
            return

    def handleError(self, record: logging.LogRecord) -> None:
        """Say nothing."""


def log_path(environment: Mapping[str, str] = os.environ, system: str = sys.platform) -> Path:
    """Where the log is.

    >>> log_path({"XDG_STATE_HOME": "/kept"}, "linux").as_posix()
    '/kept/anglebook/logs/anglebook.log'
    """
    if system == "darwin" and not environment.get("XDG_STATE_HOME"):
        return home_or_stand_in() / "Library" / "Logs" / "Anglebook" / NAME
    return user_state(environment, system) / "logs" / NAME


def begin_log(*, worker: bool = False) -> None:
    """Have this process write to the log, warnings of libraries too; ``worker``: it is not the first one."""
    path = log_path()
    root = logging.getLogger()
    for handler in [one for one in root.handlers if isinstance(one, _Quiet)]:
        root.removeHandler(handler)
        handler.close()
    if not worker:
        _rotate(path)
    handler = _Quiet(path, encoding="utf-8", errors="backslashreplace", delay=True)
    handler.setFormatter(logging.Formatter(LINES))
    handler.setLevel(logging.INFO)
    root.addHandler(handler)
    logging.getLogger("app").setLevel(logging.INFO)
    logging.captureWarnings(True)
    if not sys.warnoptions:
        warnings.simplefilter("default")
    if not worker:
        logging.getLogger("app").info(
            "begun: Python %s on %s", platform.python_version(), platform.platform()
        )


def _rotate(path: Path) -> None:
    try:
        if path.stat().st_size > MOST_BYTES:
            path.replace(path.with_name(f"{NAME}.1"))
    except OSError:
        return
