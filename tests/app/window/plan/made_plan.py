"""Plan alone, as tests of it use it."""

from PySide6.QtGui import QAction

from app.window.jobs import Jobs
from app.window.parts.large_type import LargeType
from app.window.parts.theme import Scheme, Theme
from app.window.plan.plan_place import PlanPlace
from app.window.playing.player import Player
from app.window.session import Session
from app.window.slate.slate import Slate
from app.window.work.running import Running
from tests.app.window.answers import Answers
from tests.app.window.made_playing import MadeUpDevice
from tests.app.window.made_up import MadeUpTasks


def plan_place(session: Session, tasks: MadeUpTasks, jobs: Jobs, answers: Answers) -> PlanPlace:
    """Plan with a player whose clock stands still."""
    theme = Theme(Scheme.LIGHT)
    large = LargeType(session, theme)
    player = Player(session, tasks, jobs, session, out=MadeUpDevice())
    slate = Slate(session, player, out=MadeUpDevice())
    slate.setParent(session)
    return PlanPlace(
        session,
        theme,
        tasks,
        Running(jobs, jobs),
        answers,
        QAction("Choose Song…"),
        large,
        slate,
        player=player,
    )
