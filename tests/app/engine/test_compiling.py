"""Only one process compiles at a time; one that waits too long goes on all the same."""

import sys
import threading
from pathlib import Path

import pytest

from app.engine import compiling
from app.model.storage.file_lock import one_at_a_time

NAME = "a_module_to_compile"


@pytest.fixture(autouse=True)
def module(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / f"{NAME}.py").write_text("compiled = True\n")
    monkeypatch.syspath_prepend(tmp_path)
    monkeypatch.setattr(compiling, "COMPILED", (NAME,))
    monkeypatch.delitem(sys.modules, NAME, raising=False)


def test_nothing_is_loaded_while_another_compiles() -> None:
    waiting = threading.Thread(target=compiling.load_compiled)
    with one_at_a_time("compiling", "", 10.0):
        waiting.start()
        waiting.join(0.3)
        assert waiting.is_alive()
        assert NAME not in sys.modules
    waiting.join()
    assert NAME in sys.modules


def test_it_goes_on_where_the_other_does_not_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiling, "PATIENCE_S", 0.0)
    with one_at_a_time("compiling", "", 10.0):
        compiling.load_compiled()
    assert NAME in sys.modules
