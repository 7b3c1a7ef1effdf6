"""How the commands speak to a terminal, a pipe that is closed, a disk that is full."""

import os
import sys
from pathlib import Path

import pytest

from app.cli.output import answer, tell


def test_who_closes_the_pipe_has_read_enough(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    with os.fdopen(writer, "w") as closed:
        monkeypatch.setattr(sys, "stdout", closed)
        assert answer("all of it") == 0
    assert capsys.readouterr().err == ""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="Linux has a device that is always full.")
def test_an_answer_that_finds_no_room_is_told(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with Path("/dev/full").open("w") as full:
        monkeypatch.setattr(sys, "stdout", full)
        assert answer("all of it") == 1
    assert "could not be printed: No space left" in capsys.readouterr().err


def test_what_a_terminal_cannot_show_is_printed_all_the_same(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    with (tmp_path / "out").open("w", encoding="ascii") as narrow:
        monkeypatch.setattr(sys, "stdout", narrow)
        assert answer("● placed") == 0
    assert (tmp_path / "out").read_text("ascii") == "? placed\n"


def test_a_name_stays_on_its_line_and_orders_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    tell("1 of 1  new\nline\x1b[2J\udcff.mov: placed")
    assert capsys.readouterr().err == "1 of 1  new�line�[2J�.mov: placed\n"


def test_nobody_has_to_listen(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setattr(sys, "stderr", None)
    monkeypatch.setattr(sys, "stdout", sys.__stdout__)
    tell("Reading…")
    monkeypatch.setattr(sys, "stdout", None)
    assert answer("all of it") == 0
    assert capsys.readouterr() == ("", "")
