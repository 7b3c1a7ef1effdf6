"""Plan with the made-up shoot in it, without the window around it."""

from collections.abc import Iterator

import pytest
from pytestqt.qtbot import QtBot
from shiboken6 import delete

from app.model.document.change import NOTHING
from app.window.jobs import Jobs
from app.window.plan.plan_place import PlanPlace
from app.window.session import Session
from tests.app.window.answers import Answers
from tests.app.window.made_up import MadeUpTasks, make_shoot
from tests.app.window.plan.made_plan import plan_place


@pytest.fixture
def session() -> Session:
    made = Session()
    made.find_out(lambda _: (make_shoot(), ~NOTHING), "test")
    return made


@pytest.fixture
def jobs() -> Iterator[Jobs]:
    made = Jobs()
    yield made
    made.close()
    delete(made)  # and with it the timer that thins out what is told


@pytest.fixture
def place(qtbot: QtBot, session: Session, tasks: MadeUpTasks, jobs: Jobs, answers: Answers) -> PlanPlace:
    made = plan_place(session, tasks, jobs, answers)
    qtbot.addWidget(made)
    made.resize(1100, 660)
    made.show()
    made.catch_up()
    return made
