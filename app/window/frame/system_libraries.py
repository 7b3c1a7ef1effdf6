"""What the window needs of the system, looked for before the toolkit ends the program by itself.

Nothing of Qt is imported here at the top: importing it is what may fail.
"""

import ctypes
import os
import platform
import re
import sys
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

TOOLKIT = {
    "libGL.so.1": "libgl1",
    "libEGL.so.1": "libegl1",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libfontconfig.so.1": "libfontconfig1",
    "libfreetype.so.6": "libfreetype6",
    "libX11.so.6": "libx11-6",
    "libglib-2.0.so.0": "libglib2.0-0",
    "libdbus-1.so.3": "libdbus-1-3",
}
"""Libraries of the system that Qt itself loads, and the packages of Debian and Ubuntu that bring them."""
X11 = {
    "libX11-xcb.so.1": "libx11-xcb1",
    "libxcb.so.1": "libxcb1",
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-image.so.0": "libxcb-image0",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-randr.so.0": "libxcb-randr0",
    "libxcb-render.so.0": "libxcb-render0",
    "libxcb-render-util.so.0": "libxcb-render-util0",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libxcb-shm.so.0": "libxcb-shm0",
    "libxcb-sync.so.1": "libxcb-sync1",
    "libxcb-util.so.1": "libxcb-util1",
    "libxcb-xfixes.so.0": "libxcb-xfixes0",
    "libxcb-xkb.so.1": "libxcb-xkb1",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
}
"""The same of Qt's plug-in for X."""
WAYLAND = {
    "libwayland-client.so.0": "libwayland-client0",
    "libwayland-cursor.so.0": "libwayland-cursor0",
    "libwayland-egl.so.1": "libwayland-egl1",
}
"""The same of Qt's plug-in for Wayland."""
PACKAGES = TOOLKIT | X11 | WAYLAND
PLUGINS = {"xcb": ("libqxcb.so", X11), "wayland": ("libqwayland.so", WAYLAND)}
"""For each of Qt's platforms that a desktop has: the plug-in's file, and what it loads."""
LIBRARY = re.compile(r"(lib[\w.+-]+\.so[\d.]*): (?:cannot open|file too short)")
"""How the loader names a library that is not there; the first words are those of the GNU C library."""
ELSEWHERE = (
    "Start Anglebook on the desktop, or over ssh with “ssh -X”. "
    "The commands work without a display: see “anglebook place --help”."
)
NO_DISPLAY = f"The window cannot open: there is no display here.\n{ELSEWHERE}"

Load = Callable[[str], object]
"""Loads a library by its name or path; raises OSError."""


def window_trouble(
    *,
    import_qt: Callable[[], Path] | None = None,
    load: Load = ctypes.CDLL,
    answers: Callable[[Load], bool] | None = None,
    environ: Mapping[str, str] = os.environ,
) -> str:
    """Why the window cannot open, and what to do; empty where it can.

    ``import_qt`` imports Qt and gives the folder of its plug-ins, ``load`` loads a library, ``answers`` tells
    whether the X display answers; each as this system does it unless told.
    """
    try:
        plugins = (import_qt or _import_qt)()
    except ImportError as error:
        found = _missing(error, TOOLKIT, load)
        return missing_words(found, _apt()) if found else f"The window cannot open: {error}."
    if not sys.platform.startswith("linux"):
        return ""
    wanted = _platforms(environ)
    if not wanted:
        return NO_DISPLAY
    troubles = [_plugin_trouble(plugins, name, load) for name in wanted]
    if all(troubles):
        return troubles[-1]  # X comes last: it is what nearly every desktop can do
    if wanted == ["xcb"] and not (answers or _x_answers)(load):
        return (
            f"The window cannot open: the display {environ.get('DISPLAY', '')} does not answer.\n{ELSEWHERE}"
        )
    return ""


def missing_words(libraries: Iterable[str], apt: bool) -> str:
    """Which libraries are missing, in sentences, and how to get them; ``apt``: this system has that command.

    >>> print(missing_words(["libEGL.so.1", "libxcb-cursor.so.0"], apt=True))
    The window cannot open: this system lacks libEGL.so.1 and libxcb-cursor.so.0.
    This command installs what is missing:
    <BLANKLINE>
        sudo apt-get install --no-install-recommends libegl1 libxcb-cursor0
    <BLANKLINE>
    The commands still work: see “anglebook place --help”.
    >>> missing_words(["libEGL.so.1"], apt=False).splitlines()[1]
    'Install the package that has libEGL.so.1 (on Debian and Ubuntu: libegl1).'
    """
    names = list(libraries)
    listed = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
    known = [PACKAGES[name] for name in names if name in PACKAGES]
    lines = [f"The window cannot open: this system lacks {listed}."]
    if apt and len(known) == len(names):
        command = f"sudo apt-get install --no-install-recommends {' '.join(known)}"
        lines += ["This command installs what is missing:", "", f"    {command}", ""]
    else:
        there = f" (on Debian and Ubuntu: {' '.join(known)})" if known else ""
        which = f"package that has {names[0]}" if len(names) == 1 else "packages that have these libraries"
        lines.append(f"Install the {which}{there}.")
    return "\n".join([*lines, "The commands still work: see “anglebook place --help”."])


def _import_qt() -> Path:
    """Import what the window is made of; gives the folder of Qt's plug-ins. Raises ImportError."""
    from PySide6 import QtGui, QtWidgets  # noqa: F401
    from PySide6.QtCore import QLibraryInfo

    return Path(QLibraryInfo.path(QLibraryInfo.LibraryPath.PluginsPath))


def _platforms(environ: Mapping[str, str]) -> list[str]:
    """Qt's platforms that may be taken here, as Qt chooses them; none where there is no display.

    >>> _platforms({"DISPLAY": ":0"}), _platforms({"QT_QPA_PLATFORM": "offscreen"}), _platforms({})
    (['xcb'], ['offscreen'], [])
    >>> _platforms({"WAYLAND_DISPLAY": "wayland-0", "DISPLAY": ":0"})
    ['wayland', 'xcb']
    """
    chosen = environ.get("QT_QPA_PLATFORM", "")
    if chosen:
        return [one.partition(":")[0].partition("-")[0] for one in chosen.split(";")]
    wayland = environ.get("WAYLAND_DISPLAY") or environ.get("XDG_SESSION_TYPE") == "wayland"
    return [*(["wayland"] if wayland else []), *(["xcb"] if environ.get("DISPLAY") else [])]


def _plugin_trouble(plugins: Path, name: str, load: Load) -> str:
    """Why a platform of Qt cannot be taken; empty where it can, or nothing is known of it here."""
    file, libraries = PLUGINS.get(name, ("", {}))
    path = plugins / "platforms" / file
    if not file or not path.is_file():
        return ""
    try:
        load(str(path))
    except OSError as error:
        found = _missing(error, libraries, load)
        return missing_words(found, _apt()) if found else f"The window cannot open: {error}."
    return ""


def _missing(error: Exception, libraries: Iterable[str], load: Load) -> list[str]:
    """All libraries that are missing where loading one ended in an error that tells the first of them."""
    told = LIBRARY.findall(str(error))
    if not told:
        return []
    return [*dict.fromkeys([*(name for name in libraries if not _loads(name, load)), *told])]


def _loads(name: str, load: Load) -> bool:
    try:
        load(name)
    except OSError:
        return False
    return True


def _apt() -> bool:
    """Whether this is Debian, Ubuntu, or made from them."""
    try:
        about = platform.freedesktop_os_release()
    except OSError:
        return False
    return bool({"debian", "ubuntu"} & {about.get("ID", ""), *about.get("ID_LIKE", "").split()})


def _x_answers(load: Load) -> bool:
    """Whether the X display lets a program in."""
    try:
        xcb = load("libxcb.so.1")
    except OSError:
        return True  # Qt has another way then
    assert isinstance(xcb, ctypes.CDLL)
    xcb.xcb_connect.restype = ctypes.c_void_p
    xcb.xcb_connection_has_error.argtypes = xcb.xcb_disconnect.argtypes = [ctypes.c_void_p]
    connection = xcb.xcb_connect(None, None)
    if xcb.xcb_connection_has_error(connection):
        xcb.xcb_disconnect(connection)
        return False
    # Kept open as long as the program runs: a server that loses its last program starts over, and would turn
    # Qt away in the meantime.
    return True
