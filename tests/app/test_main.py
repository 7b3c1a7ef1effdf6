"""The entry: headless words never load the window; the window opens without the signal libraries."""

import subprocess
import sys
from pathlib import Path

import pytest

from app import __main__
from app.cli import commands

ROOT = Path(__file__).parent.parent.parent
HEAVY = (
    "numpy",
    "scipy",
    "librosa",
    "av",
    "soundfile",
    "opentimelineio",
    "audio.files.media",
    "audio.placement.align",
)


def run(code: str) -> str:
    return subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.strip()


def test_a_command_is_handed_over_without_loading_the_window() -> None:
    code = (
        "import sys, types\n"
        "heard = []\n"
        "commands = types.ModuleType('app.cli.commands')\n"
        "commands.main = lambda argv: heard.append(list(argv)) or 3\n"
        "import app.cli\n"
        "sys.modules['app.cli.commands'] = app.cli.commands = commands\n"
        "from app.__main__ import main\n"
        "status = main(['place', 'song.wav', 'clips'])\n"
        "print(status, heard, any(name.startswith('PySide6') for name in sys.modules))\n"
    )
    assert run(code) == "3 [['place', 'song.wav', 'clips']] False"


def test_opening_the_window_loads_no_signal_library() -> None:
    code = (
        "import sys, app.window.frame.main_window, app.window.handoff.hand_over\n"
        "import app.engine.tasks, app.__main__\n"
        f"print([name for name in {HEAVY!r} if name in sys.modules])\n"
    )
    assert run(code) == "[]"


@pytest.mark.parametrize(
    ("argument", "is_command"),
    [
        *((name, True) for name in commands.COMMANDS),
        ("unknown", True),
        ("waltz.anglebook", False),
        ("./place", False),
        ("there", False),
    ],
)
def test_what_counts_as_a_command(
    argument: str,
    is_command: bool,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    for folder in ("there", *commands.COMMANDS):
        (tmp_path / folder).mkdir()
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(commands, "main", lambda argv: 5)
    # Whoever is about to open a window finds no Qt.
    monkeypatch.setitem(sys.modules, "PySide6.QtCore", None)
    if is_command:
        assert __main__.main([argument]) == 5
    else:
        assert __main__.main([argument]) == 1
        assert "The window cannot open: import of PySide6.QtCore halted" in capsys.readouterr().err


def test_help_tells_how_to_call_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert __main__.main(["--help"]) == 0
    assert "anglebook" in capsys.readouterr().out
