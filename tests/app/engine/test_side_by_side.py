"""Reference and take beside each other: real files, the match previewed, patches in order."""

from fractions import Fraction
from pathlib import Path

import numpy as np

from app.engine import tasks
from app.model.document.looks import Match
from tests.quality.scene_files import encode


def grey(path: Path, level: int) -> Path:
    """A clip of one grey, with a darker half."""
    picture = np.full((96, 160, 3), level, np.uint8)
    picture[:, :80] = level // 2
    return encode(path, [picture] * 10, Fraction(10))


def test_the_match_is_previewed_and_no_file_is_touched(tmp_path: Path) -> None:
    reference, take = grey(tmp_path / "a.mp4", 120), grey(tmp_path / "b.mp4", 60)
    before = take.read_bytes()
    match = Match("b", 0, 1, "a", 0, 1, (2.0,) * 3, (0.0,) * 3, (1.0,) * 3, 1.0, -1.0, 0, 0, 0, 0, 0)
    found = tasks.side_by_side((reference, 0.3), (take, 0.3), match, 48)
    assert [one.shape for one in found.pictures] == [(48, 80, 3)] * 3
    levels = [[round(sum(colour) / 3) for colour in one] for one in found.patches]
    assert all(one == sorted(one) for one in levels), "from shadows to highlights"
    assert abs(levels[0][-1] - 120) < 6
    assert abs(levels[1][-1] - 60) < 6
    assert abs(levels[2][-1] - levels[0][-1]) < 6, "twice as much light on a slope of two"
    assert take.read_bytes() == before
    assert len(tasks.side_by_side((reference, 0.3), None, None, 48).pictures) == 1
