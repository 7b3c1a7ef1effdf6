"""An over-exposed and a coloured take of the sample come near the one they were made of."""

from pathlib import Path

import pytest

from tests.quality.sample_changed import CHANGES, matched


@pytest.mark.parametrize("change", CHANGES)
def test_a_changed_take_comes_near(change: str, tmp_path: Path) -> None:
    one = matched("fiddle hands/G0021.MOV", change, tmp_path, seconds=4.0)
    assert one.match.stops == pytest.approx(CHANGES[change][1], abs=0.1)
    assert one.near
