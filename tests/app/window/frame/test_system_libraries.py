"""A machine that lacks what the window needs: what is missing and what to do is said, and nothing crashes."""

import subprocess
import sys
from collections.abc import Callable, Collection
from pathlib import Path

import pytest

from app.window.frame import system_libraries
from app.window.frame.system_libraries import NO_DISPLAY, PACKAGES, window_trouble

ROOT = Path(__file__).parents[4]
GONE = "cannot open shared object file: No such file or directory"


@pytest.fixture(autouse=True)
def debian(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(system_libraries, "_apt", lambda: True)
    monkeypatch.setattr(sys, "platform", "linux")


@pytest.fixture
def plugins(tmp_path: Path) -> Path:
    """A folder as Qt has it."""
    (tmp_path / "platforms").mkdir()
    for name in ("libqxcb.so", "libqwayland.so"):
        (tmp_path / "platforms" / name).touch()
    return tmp_path


def loader(hidden: Collection[str]) -> Callable[[str], object]:
    """Loads everything but some libraries, and the plug-ins as long as none of theirs is missing."""

    def load(name: str) -> object:
        theirs = {"libqxcb.so": "libxcb", "libqwayland.so": "libwayland"}.get(Path(name).name)
        for one in hidden:
            if one == name or (theirs is not None and one.startswith(theirs)):
                raise OSError(f"{one}: {GONE}")
        return object()

    return load


def trouble(plugins: Path, hidden: Collection[str] = (), *, answers: bool = True, **environ: str) -> str:
    return window_trouble(
        import_qt=lambda: plugins, load=loader(hidden), answers=lambda load: answers, environ=environ
    )


def test_a_machine_that_has_everything_is_let_in(plugins: Path) -> None:
    assert trouble(plugins, DISPLAY=":0") == ""
    assert trouble(plugins, QT_QPA_PLATFORM="offscreen") == ""


def test_every_library_that_is_missing_is_named_with_its_package(plugins: Path) -> None:
    told = trouble(plugins, ["libxcb-cursor.so.0", "libxcb-icccm.so.4"], DISPLAY=":0")
    assert "lacks libxcb-cursor.so.0 and libxcb-icccm.so.4." in told
    assert "\n    sudo apt-get install --no-install-recommends libxcb-cursor0 libxcb-icccm4\n" in told


def test_a_library_that_nobody_knows_is_named_too(plugins: Path) -> None:
    told = trouble(plugins, ["libxcb-novel.so.7"], DISPLAY=":0")
    assert "lacks libxcb-novel.so.7." in told
    assert "Install the package that has libxcb-novel.so.7." in told
    assert "apt-get" not in told


def test_other_systems_are_told_the_library(plugins: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(system_libraries, "_apt", lambda: False)
    told = trouble(plugins, ["libxcb-cursor.so.0"], DISPLAY=":0")
    assert "that has libxcb-cursor.so.0 (on Debian and Ubuntu: libxcb-cursor0)" in told
    assert "apt-get" not in told


def test_what_qt_itself_lacks_is_named(plugins: Path) -> None:
    def import_qt() -> Path:
        raise ImportError(f"libEGL.so.1: {GONE}")

    told = window_trouble(import_qt=import_qt, load=loader(["libEGL.so.1", "libGL.so.1"]), environ={})
    assert "install --no-install-recommends libgl1 libegl1" in told


def test_any_other_error_of_loading_is_told_as_it_is(plugins: Path) -> None:
    def import_qt() -> Path:
        raise ImportError("No module named 'PySide6'")

    assert window_trouble(import_qt=import_qt, environ={}) == (
        "The window cannot open: No module named 'PySide6'."
    )


def test_no_display_and_one_that_does_not_answer(plugins: Path) -> None:
    assert trouble(plugins) == NO_DISPLAY
    assert "the display :7 does not answer" in trouble(plugins, answers=False, DISPLAY=":7")
    # Elsewhere Qt has no X to ask.
    assert trouble(plugins, answers=False, QT_QPA_PLATFORM="offscreen") == ""


def test_one_way_onto_the_screen_is_enough(plugins: Path) -> None:
    both = {"WAYLAND_DISPLAY": "wayland-0", "DISPLAY": ":0"}
    assert trouble(plugins, ["libwayland-cursor.so.0"], **both) == ""
    assert trouble(plugins, ["libxcb-cursor.so.0"], **both) == ""
    told = trouble(plugins, ["libwayland-cursor.so.0"], WAYLAND_DISPLAY="wayland-0")
    assert "libwayland-cursor0" in told


def test_the_readme_names_packages_that_are_known_here() -> None:
    """What README has a person install and what the program asks for are the same packages."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    lines = [line for line in readme.splitlines() if line.startswith("apt-get install")]
    asked = {package for line in lines[:2] for package in line.split()[3:]}
    assert asked <= set(PACKAGES.values())


HIDING = f"""
import ctypes, sys
class Hiding(ctypes.CDLL):
    def __init__(self, name, *rest, **more):
        if name and (name.endswith("libqxcb.so") or "libxcb-cursor" in name):
            raise OSError("libxcb-cursor.so.0: {GONE}")
        super().__init__(name, *rest, **more)
ctypes.CDLL = Hiding
class Lacking:
    def find_spec(self, name, path=None, target=None):
        if name == "PySide6.QtGui" and LACKING:
            raise ImportError("libEGL.so.1: {GONE}")
sys.meta_path.insert(0, Lacking())
from app.__main__ import main
sys.exit(main([]))
"""


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere no plug-in is looked at")
@pytest.mark.parametrize(
    ("lacking", "environ", "said"),
    [
        (False, {"DISPLAY": ":0"}, "lacks libxcb-cursor.so.0"),
        (True, {"DISPLAY": ":0"}, "lacks libEGL.so.1"),
        (False, {}, "there is no display here"),
    ],
)
def test_the_program_ends_with_the_sentence_alone(
    lacking: bool, environ: dict[str, str], said: str, tmp_path: Path
) -> None:
    """In a process of its own: the toolkit never comes to its own message, nor to ending the process."""
    done = subprocess.run(
        [sys.executable, "-c", f"LACKING = {lacking}\n{HIDING}"],
        cwd=ROOT,
        env={"PATH": "/usr/bin:/bin", "HOME": str(tmp_path), **environ},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert said in done.stderr
    assert done.stderr.startswith("The window cannot open: ")
    assert "qt.qpa" not in done.stderr
    assert "Traceback" not in done.stderr
