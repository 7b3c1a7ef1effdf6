"""The command ``anglebook``: headless words go to the commands, everything else opens the window.

``anglebook [FILE.anglebook | FOLDER | files]``
"""

import sys
from collections.abc import Sequence
from pathlib import Path

USAGE = """usage: anglebook [SHOOT.anglebook | FOLDER | CLIPS ...]
       anglebook COMMAND ...      (see: anglebook place --help)

Without a command the window opens, with the shoot or the clips given.
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the window or a headless command; gives the exit status."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    if arguments and not arguments[0].startswith("-") and _is_command(arguments[0]):
        from app.cli import commands

        return commands.main(arguments)
    if arguments and arguments[0] in ("-h", "--help"):
        print(USAGE, end="")
        return 0
    return _window([Path(argument) for argument in arguments])


def _is_command(word: str) -> bool:
    """A known command, even beside a folder of that name (``./place`` opens it), or a bare word that is no
    file here; the commands say so if they do not know it."""
    path = Path(word)
    if path.name != word or path.suffix:
        return False
    if not path.exists():
        return True
    from app.cli.commands import COMMANDS

    return word in COMMANDS


def _window(paths: Sequence[Path]) -> int:
    from app.window.frame.system_libraries import window_trouble

    trouble = window_trouble()
    if trouble:
        print(trouble, file=sys.stderr)
        return 1
    from PySide6.QtCore import QSettings
    from PySide6.QtWidgets import QApplication

    from app.engine import tasks
    from app.window.frame.main_window import MainWindow
    from app.window.frame.preferences import Preferences
    from app.window.handoff.hand_over import hand_over

    application = QApplication(sys.argv[:1])
    application.setApplicationName("Anglebook")
    application.setDesktopFileName("anglebook")
    application.setStyle("Fusion")
    settings = QSettings("Anglebook", "Anglebook")
    Preferences(settings).take_effect(application)
    window = MainWindow(tasks, hand_over, settings)
    window.show()
    window.safe_copy.offer_unsaved()
    if paths:
        window.take_in([path.absolute() for path in paths])
    return application.exec()


if __name__ == "__main__":
    sys.exit(main())
