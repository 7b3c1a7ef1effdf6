"""A bad file costs one clip: it is told in a sentence, in bounded memory, and no other clip moves."""

import multiprocessing
import os
import signal
import sys
import time
from pathlib import Path

import pytest

from app.engine import tasks
from app.engine.probing import look
from app.engine.worker_process import MOST_BYTES, behave
from app.model.answers import Answer
from app.model.document.verdict import Verdict
from app.model.reasons import sentence
from audio.errors import AudioError
from audio.files.media import Sound, read_sound
from tests.audio.engine_songs import camera_file, song_file
from tests.trouble.bad_files import KINDS, Kind

every_kind = pytest.mark.parametrize("kind", KINDS, ids=[kind.name for kind in KINDS])


def read(path: Path) -> Sound | str:
    """The sound of a file, or the sentence of its trouble."""
    looked = look(path)
    if looked.info is None:
        return looked.trouble
    try:
        return read_sound(path)
    except AudioError as error:
        return str(error)


@every_kind
def test_each_is_told_by_itself(kind: Kind, tmp_path: Path) -> None:
    found = read(kind.make(tmp_path))
    if kind.readable:
        assert isinstance(found, Sound), found
        assert kind.says in " ".join(found.warnings)
        assert found.samples.nbytes < 1_000_000
    else:
        assert isinstance(found, str)
        assert kind.says in found
        assert found.endswith(".")
        assert "Errno" not in found


def test_all_together_cost_the_good_clip_nothing(tmp_path: Path) -> None:
    song = tasks.song_from_file(song_file(tmp_path / "song.wav"))
    good = camera_file(tmp_path / "good.mov", (12.0, 10.0))
    paths = [good]
    for number, kind in enumerate(KINDS):
        folder = tmp_path / str(number)
        folder.mkdir()
        paths.append(kind.make(folder))
    answers: dict[Path, Answer] = {}

    def answered(answer: Answer) -> None:
        answers[Path(answer.media.path)] = answer

    tasks.place_clips([song], paths, answered=answered, use_cache=False)
    assert set(answers) == set(paths)
    assert answers[good].verdict is Verdict.PLACED
    assert answers[good].takes[0].line.song_time(0.0) == pytest.approx(12.0, abs=0.0001)
    for kind, path in zip(KINDS, paths[1:], strict=True):
        one = answers[path]
        told = " ".join([sentence(one.reason), *one.warnings])
        assert kind.says in told, kind.name
        assert one.verdict is (Verdict.NO_SONG if kind.readable else Verdict.UNREADABLE), kind.name


def _taking_too_much() -> None:
    behave()
    try:
        bytearray(MOST_BYTES + 100_000_000)
    except MemoryError:
        os._exit(7)
    os._exit(0)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="only Linux counts it")
def test_a_worker_cannot_take_all_memory() -> None:
    process = multiprocessing.get_context("spawn").Process(target=_taking_too_much)
    process.start()
    process.join(30)
    assert process.exitcode == 7


def _waiting(pipe: "multiprocessing.connection.Connection") -> None:
    behave()
    pipe.send(os.getpid())
    time.sleep(600)


def _parent(pipe: "multiprocessing.connection.Connection") -> None:
    multiprocessing.get_context("spawn").Process(target=_waiting, args=(pipe,)).start()
    time.sleep(600)


def test_a_worker_ends_with_a_parent_that_was_killed() -> None:
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe(duplex=False)
    parent = context.Process(target=_parent, args=(theirs,))
    parent.start()
    worker = ours.recv()
    os.kill(parent.pid or 0, signal.SIGKILL)
    parent.join()
    for _ in range(300):
        if not _runs(worker):
            return
        time.sleep(0.1)
    os.kill(worker, signal.SIGKILL)
    pytest.fail("the worker lives on")


def _runs(pid: int) -> bool:
    """Whether a process is there and not only waiting to be counted as ended."""
    try:
        return Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rsplit(") ", 1)[1][0] != "Z"
    except OSError:
        return False
