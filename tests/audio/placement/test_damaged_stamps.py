"""Where time stamps are damaged the sound may fit, but pictures may lie elsewhere: the take is in doubt."""

from dataclasses import replace

import pytest

from audio.placement.answer import PlaceVerdict
from audio.placement.reason_codes import ReasonCode
from tests.audio.engine_songs import placed, run, sound


@pytest.mark.parametrize(("damaged_s", "doubtful"), [(None, False), (4.0, True), (60.0, False)])
def test_a_take_that_runs_past_a_damaged_stamp_is_in_doubt(damaged_s: float | None, doubtful: bool) -> None:
    (take,) = placed(replace(sound(run(12.0, 10.0)), damaged_s=damaged_s)).takes
    assert (take.verdict is PlaceVerdict.DOUBTFUL) == doubtful
    assert (take.reason is not None and take.reason.code is ReasonCode.DAMAGED_STAMPS) == doubtful
