"""The registry: every format has names of its own, and knows its own files and no others."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from app.cli import commands
from app.handoff.all import preview, write_all
from app.handoff.choices import DEFAULT
from app.handoff.format import Format, Group
from app.handoff.outcome import HandoffError
from app.handoff.registry import BY_WORD, FORMATS, chosen, is_ours
from app.model.document.masters import EarlierMaster, MasterPiece
from app.model.document.media_ref import MediaRef
from tests.app.random_shoots import clip, compared, shoot, take

ROOT = Path(__file__).parents[3]
LAST = EarlierMaster(
    "song-1", MediaRef("/songs/mix 1.wav", 1, "mix 1"), 60.0, "", (MasterPiece(0.0, 60.0, 2.0),)
)
VALUE = replace(compared(shoot(clip(1, take("t", 0, 9)), clip(2, take("u", 0, 9)))), masters=(LAST,))
QUICK = [one for one in FORMATS if not one.reads_clips]


def test_every_name_is_given_once() -> None:
    words = [word for one in FORMATS for word in one.command_words or (one.word,)]
    names = [one.name for one in FORMATS]
    assert len(set(words)) == len(words)
    assert len(BY_WORD) == len(set(names)) == len(FORMATS)
    assert {one.group for one in FORMATS} == set(Group)
    assert DEFAULT.what <= set(BY_WORD)


def test_the_help_of_the_command_tells_every_format(capsys: pytest.CaptureFixture[str]) -> None:
    assert commands.main(["handoff", "--help"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    for one in FORMATS:
        assert f"{' or '.join(one.command_words) or one.word} ({one.help})" in told


@pytest.mark.parametrize("one", QUICK, ids=lambda one: one.word)
def test_a_format_knows_the_files_it_wrote(one: Format, tmp_path: Path) -> None:
    done = write_all(VALUE, tmp_path, replace(DEFAULT, what=frozenset((one.word,))))
    assert done.troubles == ()
    assert len(done.reports) == len(list(tmp_path.iterdir())) > 0
    for report in done.reports:
        assert [other.word for other in FORMATS if other.is_ours(report.path)] == [one.word]


def test_what_is_no_file_of_ours_is_known_as_that(tmp_path: Path) -> None:
    for name in (
        "x.otio",
        "x.otioz",
        "x.otiod",
        "x.edl",
        "x.ccc",
        "x.csv",
        "x.tsv",
        "x.json",
        "x.mp4",
        "x",
        "x stamped",
    ):
        (tmp_path / name).write_bytes(b"clip,angle\r\n")
        assert not is_ours(tmp_path / name), name
        assert not is_ours(tmp_path / f"none {name}"), name


def test_words_without_a_format_choose_nothing() -> None:
    choices = replace(DEFAULT, what=frozenset(("holograms",)))
    assert chosen(choices) == ()
    with pytest.raises(HandoffError, match="No format is chosen"):
        preview(VALUE, choices)


def test_the_registry_loads_no_library_that_loads_slowly() -> None:
    program = (
        "import sys, app.handoff.registry\n"
        "print([name for name in ('opentimelineio', 'numpy', 'av', 'scipy') if name in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
    )
    assert done.stdout.strip() == "[]", done.stderr
