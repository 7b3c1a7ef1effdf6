"""The order of a run of tests."""

from pathlib import Path
from types import SimpleNamespace

from tests.longest_first import LONGEST, longest_first


def test_every_file_of_the_list_is_there() -> None:
    there = {path.name for path in Path(__file__).parent.rglob("test_*.py")}
    assert set(LONGEST) <= there


def test_long_files_come_first_and_all_else_keeps_its_order() -> None:
    second, first = f"tests/x/{LONGEST[1]}", f"tests/y/{LONGEST[0]}"
    names = ["a.py::a", f"{second}::b", f"{second}::a", "tests/b.py::z", f"{first}::a", "c.py::a"]
    found = [item.nodeid for item in longest_first([SimpleNamespace(nodeid=name) for name in names])]
    assert found == [names[n] for n in (4, 1, 2, 0, 3, 5)]
