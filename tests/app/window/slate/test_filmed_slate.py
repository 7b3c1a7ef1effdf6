"""The page as it is painted, filmed at 120 frames a second without sound, is placed by its pictures."""

from fractions import Fraction
from pathlib import Path

from pytestqt.qtbot import QtBot
from shiboken6 import delete

from app.window.jobs import Jobs
from tests.app.window.slate.slate_stage import Stage, slate_session
from tests.quality.filmed_page import filmed
from tests.quality.slate_camera import Shot

HALF_A_FRAME_S = 0.5 / 24


def test_a_silent_clip_of_it_is_placed_within_half_a_frame_of_the_song(qtbot: QtBot, tmp_path: Path) -> None:
    jobs = Jobs()
    stage = Stage(slate_session(tmp_path), jobs, qtbot.waitUntil)
    shot = Shot(
        camera=Fraction(120),
        file=Fraction(24),
        waits_s=0.1,
        page_s=1.5,
        after_s=0.1,
        blur=1.1,
        tilt=0.2,
        readout=0.8,
        gain=0.5,
        seed=11,
    )
    out = filmed(stage, shot, "slow", tmp_path / "slate.mp4")
    stage.slate.end()
    jobs.close()
    delete(jobs)
    assert out.verdict == "placed"
    assert out.off_s < HALF_A_FRAME_S
