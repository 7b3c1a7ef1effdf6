"""Recordings side by side in processes: answers, progress, a process that dies, stopping."""

import multiprocessing
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path, PosixPath
from typing import Any

import pytest

from app.engine import workers
from app.engine.place_recording import PlacedAlone
from app.engine.probing import Looked, look
from app.engine.worker_pool import ToHear, WorkerPool
from app.engine.worker_process import THREADS
from app.model.answers import Answer
from app.model.document.verdict import Verdict
from app.model.reasons import Reason
from audio.errors import Stopped
from audio.references.reference import Reference
from tests.app.engine.grounds import SONG
from tests.audio.engine_songs import RATE, camera_file, song

STARTS = (5.0, 22.0, 41.0)


class DeadlyPath(PosixPath):
    """A path that ends whatever process it is sent to, as a broken decoder may."""

    def __reduce__(self) -> tuple[Any, ...]:
        return os._exit, (9,)


class OncePath(PosixPath):
    """A path that ends the first process it is sent to, and leaves ``flag`` behind."""

    __slots__ = ("flag",)
    flag: Path

    def __reduce__(self) -> tuple[Any, ...]:
        there = f"__import__('pathlib').Path({str(self.flag)!r})"
        die = f"({there}.touch(), __import__('os')._exit(9))"
        return eval, (f"__import__('pathlib').Path({str(self)!r}) if {there}.exists() else {die}",)


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> list[Looked]:
    """Three clips of one take each."""
    folder = tmp_path_factory.mktemp("card")
    return [look(camera_file(folder / f"C{start:.0f}.mov", (start, 10.0))) for start in STARTS]


@pytest.fixture(autouse=True)
def no_process_left() -> Any:
    yield
    assert multiprocessing.active_children() == []


def heard(groups: list[list[Looked]], count: int, **more: Any) -> dict[str, Answer]:
    """The answers by file name."""
    found: dict[str, Answer] = {}

    def answered(answer: PlacedAlone) -> None:
        found.update({Path(clip.media.path).name: clip for clip in answer.answers})

    calls = {"stop": lambda: False, "progress": lambda path, fraction: None, "answered": answered} | more
    answered = calls.pop("answered")
    with WorkerPool(
        [Reference(SONG, "song.wav")], lambda: {SONG: song().master}, RATE, workers=count, **calls
    ) as pool:
        pool.hear([ToHear(group) for group in groups], lambda one: answered(one.songs[SONG]))
    return found


def assert_right(found: dict[str, Answer], count: int = len(STARTS)) -> None:
    for start in STARTS[:count]:
        clip = found[f"C{start:.0f}.mov"]
        assert clip.verdict is Verdict.PLACED, clip.reason
        assert clip.takes[0].line.song_time(0.0) == pytest.approx(start, abs=0.0001)


def test_two_processes_answer_as_one_does(files: list[Looked]) -> None:
    progress: dict[str, list[float]] = {}

    def tell(path: Path, fraction: float) -> None:
        progress.setdefault(path.name, []).append(fraction)

    groups = [[file] for file in files]
    alone = heard(groups, 1)
    assert_right(alone)
    assert heard(groups, 2, progress=tell) == alone
    assert set(progress) == {file.path.name for file in files}
    for fractions in progress.values():
        assert fractions == sorted(fractions)
        assert 0 <= fractions[0] <= fractions[-1] <= 1


def test_a_file_that_kills_its_process_is_told_and_the_others_are_answered(files: list[Looked]) -> None:
    """The dying process takes its neighbours' work along: they are heard again."""
    deadly = replace(files[0], path=DeadlyPath("/card/bad.mov"))
    deadly = replace(deadly, media=replace(deadly.media, path="/card/bad.mov"))
    found = heard([[files[0]], [deadly], [files[1]]], 2)
    assert_right(found, 2)
    assert found["bad.mov"].verdict is Verdict.UNREADABLE
    assert found["bad.mov"].reason == Reason("reader broke")
    assert len(found) == 3


def test_a_process_that_dies_once_loses_nothing(files: list[Looked], tmp_path: Path) -> None:
    """As when a system short of memory ends it: the recording is heard again and answered."""
    once = OncePath(files[0].path)
    once.flag = tmp_path / "it died"
    assert_right(heard([[replace(files[0], path=once)], [files[1]]], 2), 2)
    assert once.flag.exists()


@pytest.mark.parametrize("count", [1, 2])
def test_stop_ends_the_processes(files: list[Looked], count: int) -> None:
    progress: list[float] = []
    answers: list[PlacedAlone] = []
    with pytest.raises(Stopped):
        heard(
            [[file] for file in files] * 3,
            count,
            stop=lambda: bool(progress),
            progress=lambda path, fraction: progress.append(fraction),
            answered=answers.append,
        )
    assert len(answers) < 9


@pytest.mark.parametrize("patience_s", [0.0, workers.DEAF_S])
def test_an_accident_of_the_caller_leaves_no_process(
    files: list[Looked], patience_s: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Be the other worker ended because it takes too long to come to its end, as on a busy machine."""
    monkeypatch.setattr(workers, "DEAF_S", patience_s)

    def answered(answer: PlacedAlone) -> None:
        raise RuntimeError("disk full")

    with pytest.raises(RuntimeError, match="disk full"):
        heard([[file] for file in files[:2]], 2, answered=answered)


def test_a_worker_takes_one_thread_of_linear_algebra() -> None:
    told = (
        "import sys, os; import app.engine.workers; from app.engine.worker_process import THREADS, behave; "
        "assert 'numpy' not in sys.modules, 'it would have read them already'; "
        "behave(); print(*{os.environ[name] for name in THREADS})"
    )
    without = {name: value for name, value in os.environ.items() if name not in THREADS}
    done = subprocess.run(
        [sys.executable, "-c", told], env=without, capture_output=True, text=True, check=False
    )
    assert (done.stdout.split(), done.stderr) == (["1"], "")


def test_nothing_to_do() -> None:
    assert heard([], 2) == {}
