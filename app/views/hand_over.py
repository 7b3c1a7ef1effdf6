"""The hand-off as the window gets it: its libraries are loaded on first use, on the thread that uses them.

Loading them takes longer than the window; it is there before.
"""

from pathlib import Path

from app.handoff.outcome import HandoffReport
from app.model.shoot import Shoot


def hand_over(shoot: Shoot, folder: Path) -> tuple[HandoffReport, ...]:
    """See `app.handoff.all.write_all`."""
    from app.handoff.all import write_all

    return write_all(shoot, folder)
