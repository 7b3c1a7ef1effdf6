"""Check with the made-up shoot in it."""

import pytest

from app.window.check.check_place import CheckPlace
from app.window.frame.main_window import MainWindow


@pytest.fixture
def check(shoot_window: MainWindow) -> CheckPlace:
    """Check, with the take in doubt chosen."""
    shoot_window.go(3)
    shoot_window.check.catch_up()
    return shoot_window.check
