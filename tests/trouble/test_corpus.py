"""Some of the damaged files; all of them by ``python -m tests.trouble.corpus``."""

from pathlib import Path

import pytest

from audio.files.media import Sound
from tests.trouble.bad_files import Kind
from tests.trouble.damaged_files import all_kinds, damaged_kinds
from tests.trouble.test_bad_files import read

EVERY = 16
"""One kind of so many is read in each test run."""
SOME = [kind for number, kind in enumerate(all_kinds()) if number % EVERY == 0]


def test_there_are_hundreds_of_kinds() -> None:
    names = [kind.name for kind in all_kinds()]
    assert len(names) == len(set(names)) >= 300
    assert {name for name, _ in damaged_kinds()} <= set(names), "each has been recorded"


@pytest.mark.parametrize("kind", SOME, ids=[kind.name for kind in SOME])
def test_a_damaged_file_is_read_or_refused_as_recorded(kind: Kind, tmp_path: Path) -> None:
    path = kind.make(tmp_path)
    before = path.read_bytes()
    found = read(path)
    assert isinstance(found, Sound) is kind.readable, found
    said = " ".join(found.warnings) if isinstance(found, Sound) else found
    assert kind.says in said
    assert "Errno" not in said
    assert path.read_bytes() == before
