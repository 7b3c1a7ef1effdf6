"""The machine around us: no home, no cache, few files, no folder to stand in; each is told in a sentence."""

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtGui import QGuiApplication
from pytestqt.qtbot import QtBot

from app import __main__
from app.cli import commands, place_command
from app.cli.output import words_of
from app.cli.system_trouble import FEW_FILES, FEW_PROCESSES, FULL, NO_MEMORY, sentence_of
from app.engine import compiling
from app.model.storage import cache_space, home, log_file
from app.model.storage.cache import Cache, user_cache
from app.model.storage.user_state import user_state
from app.window.frame.unexpected import Unexpected
from app.window.parts.theme import Theme

ROOT = Path(__file__).parents[2]
NOBODY = "import pwd\ndef nobody(uid): raise KeyError(uid)\npwd.getpwuid = nobody\n"
"""Read by every Python that finds it: then no user has a name."""


def run(code: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run Python code in a process of its own, with this environment alone."""
    told = {"PATH": os.environ["PATH"], "QT_QPA_PLATFORM": "offscreen", **environment}
    told["PYTHONPATH"] = os.pathsep.join([str(ROOT), told.get("PYTHONPATH", "")]).rstrip(os.pathsep)
    return subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, env=told, cwd=ROOT
    )


def test_a_user_without_home_and_name_has_a_folder_for_the_time_being(tmp_path: Path) -> None:
    (tmp_path / "sitecustomize.py").write_text(NOBODY)
    code = "import sys\nfrom app.__main__ import main\nsys.exit(main(['cache']))"
    done = run(code, PYTHONPATH=str(tmp_path), TMPDIR=str(tmp_path))
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith(f"0.0 MB in {tmp_path}{os.sep}anglebook-")


def test_a_folder_that_somebody_else_put_there_is_not_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_home() -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.setattr(Path, "home", no_home)
    monkeypatch.setattr(home.tempfile, "gettempdir", lambda: str(tmp_path))
    ours = home.home_or_stand_in()
    assert ours.parent == tmp_path
    assert user_cache({}, "linux") == ours / ".cache" / "anglebook"
    assert user_state({}, "linux") == ours / ".local" / "state" / "anglebook"
    ours.chmod(0o777)
    assert home.home_or_stand_in() == home.NOWHERE


def test_a_cache_that_cannot_be_written_is_told_and_not_used(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("no folder")
    cache = Cache(tmp_path / "file" / "answers")
    cache.put("a", {"value": 1})
    assert cache.get("a") is None
    trouble = cache_space.trouble(tmp_path / "file" / "answers")
    assert trouble.endswith("Not a directory. Everything is read again next time.")
    assert cache_space.trouble(tmp_path / "new") == ""


def test_the_cache_is_cleared_and_kept_small_by_a_command(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    folder = tmp_path / "anglebook" / "proxies"
    folder.mkdir(parents=True)
    for number in range(5):
        (folder / f"{number}.mov").write_bytes(bytes(1_000_000))
        os.utime(folder / f"{number}.mov", (number, number))
    (tmp_path / "anglebook" / "theirs.txt").write_text("not ours")
    assert commands.main(["cache", "--most", "0.002"]) == 0
    assert capsys.readouterr().out.startswith("3.0 MB removed; 2.0 MB in ")
    assert sorted(path.name for path in folder.iterdir()) == ["3.mov", "4.mov"], "the longest unused go"
    assert commands.main(["cache", "--clear"]) == 0
    assert list(folder.iterdir()) == []
    assert (tmp_path / "anglebook" / "theirs.txt").exists()
    assert commands.main(["cache", "--clear", "--most", "1"]) == 2


@pytest.mark.parametrize("arguments", [["--bogus"], ["-x", "clip.mov"], ["clip.mov", "--fresh"]])
def test_an_unknown_option_opens_no_window(
    arguments: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(__main__, "_window", lambda paths: pytest.fail("a window"))
    assert __main__.main(arguments) == 2
    assert capsys.readouterr().err.startswith("anglebook: There is no option -")


def test_behind_two_dashes_a_name_may_begin_with_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(__main__, "_window", lambda paths: len(paths))
    assert __main__.main(["--", "-odd.mov", "--odder.mov"]) == 2


def test_a_working_folder_that_was_removed_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "gone").mkdir()
    monkeypatch.chdir(tmp_path / "gone")
    (tmp_path / "gone").rmdir()
    for arguments in (["place", "song.wav", "clips"], ["clip.mov"]):
        assert __main__.main(arguments) == 1
        assert "The folder that you are in was removed." in capsys.readouterr().err


@pytest.mark.parametrize(
    ("error", "says"),
    [
        (OSError(errno.EMFILE, "Too many open files"), FEW_FILES),
        (BlockingIOError(errno.EAGAIN, "Resource temporarily unavailable"), FEW_PROCESSES),
        (RuntimeError("can't start new thread"), FEW_PROCESSES),
        (MemoryError(), NO_MEMORY),
        (OSError(errno.ENOSPC, "No space left on device", "x"), FULL),
        (OSError(errno.EIO, "Input/output error", "/card/a.mov"), "/card/a.mov: Input/output error."),
        (ZeroDivisionError("division by zero"), "nobody expected (ZeroDivisionError)"),
    ],
)
def test_what_ends_a_command_is_a_sentence(
    error: Exception, says: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def ends(options: object) -> int:
        raise error

    monkeypatch.setattr(place_command, "run", ends)
    assert commands.main(["place", "song.wav", "clips"]) == 1
    told = capsys.readouterr().err
    assert says in told
    assert "Errno" not in told
    assert "Traceback" not in told
    assert sentence_of(error).endswith(".")
    assert "Errno" not in words_of(error)


def test_what_libraries_warn_of_goes_to_the_log(tmp_path: Path) -> None:
    code = (
        "import sys, warnings, logging\n"
        "from app.__main__ import main\n"
        "assert main(['--version']) == 0\n"
        "warnings.warn('an old habit')\n"
        "logging.getLogger('library').error('odd')\n"
    )
    done = run(code, XDG_STATE_HOME=str(tmp_path), HOME=str(tmp_path))
    assert (done.returncode, done.stderr) == (0, "")
    said = (tmp_path / "anglebook" / "logs" / "anglebook.log").read_text()
    assert "an old habit" in said
    assert "ERROR library: odd" in said


def test_a_log_that_grew_large_is_begun_anew(tmp_path: Path) -> None:
    path = tmp_path / "anglebook" / "logs" / log_file.NAME
    path.parent.mkdir(parents=True)
    path.write_bytes(b"x" * (log_file.MOST_BYTES + 1))
    code = "from app.model.storage.log_file import begin_log\nbegin_log()"
    assert run(code, XDG_STATE_HOME=str(tmp_path), HOME=str(tmp_path)).returncode == 0
    assert path.stat().st_size < 1000
    assert path.with_name(f"{log_file.NAME}.1").stat().st_size > log_file.MOST_BYTES


def test_what_is_compiled_goes_where_it_may_be_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(compiling.FOLDER, "")
    monkeypatch.delenv(compiling.FOLDER)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(compiling, "_beside_library", lambda: tmp_path / "library" / "__pycache__")
    (tmp_path / "library").mkdir()
    compiling._choose_folder()
    assert compiling.FOLDER not in os.environ
    monkeypatch.setattr(compiling, "_beside_library", lambda: Path(os.devnull, "__pycache__"))
    compiling._choose_folder()
    assert os.environ[compiling.FOLDER] == str(tmp_path / "anglebook" / "compiled")


def test_doctor_tells_what_to_send(capsys: pytest.CaptureFixture[str]) -> None:
    status = commands.main(["doctor"])
    told = capsys.readouterr().out
    for heading in ("versions", "codecs", "cache", "limits", "screen and sound", "what is wrong"):
        assert f"\n{heading}\n" in f"\n{told}"
    assert "numpy: " in told
    assert "window: opens (offscreen)" in told
    assert status == ("nothing that could be found" not in told)


def test_an_unexpected_error_shows_one_page_and_keeps_the_shoot(qtbot: QtBot, theme: Theme) -> None:
    from PySide6.QtWidgets import QWidget

    window, kept = QWidget(), []
    qtbot.addWidget(window)
    caught = Unexpected(theme, window, lambda: kept.append(True))
    for name in ("first", "second"):
        try:
            raise ZeroDivisionError(name)
        except ZeroDivisionError as error:
            caught(type(error), error, error.__traceback__)
    assert kept == [True, True]
    page = caught.page
    assert page is not None
    page.copy.click()
    report = QGuiApplication.clipboard().text()
    assert "ZeroDivisionError: first" in report
    assert "second" not in report
    assert "Anglebook" in report
    page.reject()
    assert caught.page is None


@pytest.fixture
def theme(qapp: object) -> Theme:
    return Theme()
