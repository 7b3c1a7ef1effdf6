"""The command ``anglebook``: headless words go to the commands, everything else opens the window.

``anglebook [FILE.anglebook | FOLDER | files]``
"""

import os
import sys
from collections.abc import Sequence
from pathlib import Path

from app.model.storage.home import give_home
from app.model.storage.log_file import begin_log

GONE = "The folder that you are in was removed. Go to another one (cd), and try again."
USAGE = """usage: anglebook [SHOOT.anglebook | FOLDER | CLIPS ...]
       anglebook COMMAND ...      (see: anglebook place --help)
       anglebook --version

Without a command the window opens, with the shoot or the clips given.
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the window or a headless command; gives the exit status."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    give_home()
    begin_log()
    if _folder_is_gone():
        if arguments and not all(map(os.path.isabs, arguments)):
            print(f"anglebook: {GONE}", file=sys.stderr)
            return 1
        os.chdir(os.sep)
    if arguments and not arguments[0].startswith("-") and _is_command(arguments[0]):
        from app.cli import commands

        return commands.main(arguments)
    if arguments and arguments[0] in ("-h", "--help"):
        print(USAGE, end="")
        return 0
    if arguments == ["--version"]:
        from app.engine.self_check import version_of

        print(f"anglebook {version_of('anglebook')}")
        return 0
    if arguments and arguments[0] == "--":
        del arguments[0]  # behind it names may begin with a dash
    elif unknown := [one for one in arguments if one.startswith("-")]:
        print(f"anglebook: There is no option {unknown[0]}.\n\n{USAGE}", end="", file=sys.stderr)
        return 2
    return _window([Path(argument) for argument in arguments])


def _folder_is_gone() -> bool:
    """Whether the folder that the program was started in is there no more."""
    try:
        os.getcwd()  # noqa: PTH109  (nothing but this is asked)
    except OSError:
        return True
    return False


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
    from app.window.frame.unexpected import catch_unexpected
    from app.window.handoff.hand_over import hand_over

    application = QApplication(sys.argv[:1])
    application.setApplicationName("Anglebook")
    application.setDesktopFileName("anglebook")
    application.setStyle("Fusion")
    settings = QSettings("Anglebook", "Anglebook")
    Preferences(settings).take_effect(application)
    window = MainWindow(tasks, hand_over, settings)
    catch_unexpected(window.theme, window, window.safe_copy.write)
    window.show()
    window.safe_copy.offer_unsaved()
    if paths:
        window.take_in([path.absolute() for path in paths])
    return application.exec()


if __name__ == "__main__":
    sys.exit(main())
