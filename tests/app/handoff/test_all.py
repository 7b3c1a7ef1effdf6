"""Hand-offs into a folder: names any system takes, ours replaced, others' left alone."""

from dataclasses import replace
from pathlib import Path

import opentimelineio as otio
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.handoff.all import write_all
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffError
from tests.app.random_shoots import clip, shoot, take

VALUE = shoot(clip(1, take("t", 0, 9)))


def test_all_files_are_written_and_replaced(tmp_path: Path) -> None:
    folder = tmp_path / "to" / "edit"
    for _ in range(2):
        reports = write_all(VALUE, folder)
        assert [report.path for report in reports] == [folder / "Evening.otio", folder / "Evening.csv"]
        assert sorted(path.name for path in folder.iterdir()) == ["Evening.csv", "Evening.otio"]
    assert otio.adapters.read_from_file(str(folder / "Evening.otio")).name == "Evening"


@pytest.mark.parametrize("name", ["Evening.otio", "Evening.csv"])
@pytest.mark.parametrize("content", [b"", b"something else", b"[]", b'{"metadata": 3}', b"\xff\x00"])
def test_a_file_that_is_not_ours_is_left_alone(name: str, content: bytes, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(HandoffError, match=f"{name} is there already and is no hand-off"):
        write_all(VALUE, tmp_path)
    assert (tmp_path / name).read_bytes() == content
    assert len(list(tmp_path.iterdir())) == 1


def test_a_folder_of_that_name_or_a_file_in_the_way_is_told(tmp_path: Path) -> None:
    (tmp_path / "Evening.otio").mkdir()
    with pytest.raises(HandoffError, match="is there already"):
        write_all(VALUE, tmp_path)
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(HandoffError, match="could not be made"):
        write_all(VALUE, tmp_path / "file")


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("../../etc/passwd", "etc-passwd"),
        ("..", "shoot"),
        ("", "shoot"),
        ("C:\\x", "C--x"),
        ("CON", "CON_"),
        ("com1.take", "com1.take_"),
        ("Abend\x00\n\u202eneu", "Abend---neu"),
        ("Übung. ", "Übung"),
        ("U\u0308bung", "Übung"),
        (".hidden", "hidden"),
        ("ä" * 300, "ä" * 100),
    ],
)
def test_names_are_made_safe(name: str, safe: str) -> None:
    assert safe_name(name) == safe


@given(st.text(st.characters()))
def test_no_name_leaves_the_folder(name: str) -> None:
    safe = safe_name(name)
    assert Path(safe).name == safe
    assert safe not in ("", ".", "..")
    assert not safe.startswith(".")
    assert len(safe.encode("utf-8")) <= 201


def test_a_name_of_any_kind_is_written(tmp_path: Path) -> None:
    reports = write_all(replace(VALUE, name="../a/\udcffb"), tmp_path)
    assert [report.path.name for report in reports] == ["a-?b.otio".replace("?", "-"), "a--b.csv"]
    assert len(list(tmp_path.iterdir())) == 2
