"""Slots, late answers, stopping, progress, and on which thread callbacks run."""

import hashlib
import threading
import time
from collections.abc import Iterator

import pytest
from PySide6.QtCore import QObject, QTimer
from pytestqt.qtbot import QtBot

from app.window.jobs import Jobs, Ticket, sentence


@pytest.fixture
def jobs(qapp: QObject) -> Iterator[Jobs]:
    made = Jobs()
    yield made
    made.close()


def fail(error: Exception) -> None:
    raise AssertionError(f"unexpected: {error}") from error


def test_done_runs_on_the_thread_of_the_window(qtbot: QtBot, jobs: Jobs) -> None:
    seen: list[object] = []
    worker: list[int] = []

    def work(ticket: Ticket) -> int:
        worker.append(threading.get_ident())
        return 42

    jobs.start("a", work, lambda result: seen.append((result, threading.get_ident())), fail)
    assert jobs.busy("a")
    qtbot.waitUntil(lambda: not jobs.busy("a"))
    assert seen == [(42, threading.get_ident())]
    assert worker != [threading.get_ident()]


def test_failed_gets_the_error(qtbot: QtBot, jobs: Jobs) -> None:
    errors: list[Exception] = []

    def work(ticket: Ticket) -> None:
        raise FileNotFoundError(2, "No such file or directory", "a.wav")

    jobs.start("a", work, lambda result: fail(AssertionError("done")), errors.append)
    qtbot.waitUntil(lambda: bool(errors))
    assert sentence(errors[0]) == "a.wav: No such file or directory."


def test_newer_job_replaces_the_older_and_late_answers_are_dropped(qtbot: QtBot, jobs: Jobs) -> None:
    gate = threading.Event()
    stopped: list[bool] = []
    heard: list[str] = []

    def old(ticket: Ticket) -> str:
        gate.wait(10)
        stopped.append(ticket.stop())
        ticket.report("late report")
        return "late result"

    jobs.start("a", old, heard.append, fail, report=heard.append)
    jobs.start("a", lambda ticket: "new", heard.append, fail)
    qtbot.waitUntil(lambda: heard == ["new"])
    gate.set()
    qtbot.waitUntil(lambda: bool(stopped))
    qtbot.wait(20)
    assert heard == ["new"]
    assert stopped == [True]


def test_stop_ends_the_job_and_keeps_what_was_reported(qtbot: QtBot, jobs: Jobs) -> None:
    reports: list[int] = []
    ends: list[str] = []

    def work(ticket: Ticket) -> str:
        ticket.report(1)
        while not ticket.stop():
            time.sleep(0.001)
        raise RuntimeError("the engine says it was stopped")

    jobs.start(
        "a",
        work,
        lambda _: ends.append("done"),
        fail,
        stopped=lambda: ends.append("stopped"),
        report=reports.append,
    )
    qtbot.waitUntil(lambda: reports == [1])
    jobs.stop("a")
    qtbot.waitUntil(lambda: bool(ends))
    assert ends == ["stopped"]
    assert not jobs.busy("a")


def test_progress_arrives_newest_last_without_a_queue(qtbot: QtBot, jobs: Jobs) -> None:
    heard: list[float] = []
    done: list[None] = []

    def work(ticket: Ticket) -> None:
        for n in range(10_000):
            ticket.progress(n / 10_000)
        ticket.progress(1.0, "end")

    jobs.start("a", work, done.append, fail, progress=lambda fraction, words: heard.append(fraction))
    qtbot.waitUntil(lambda: bool(done))
    assert heard[-1] == 1.0
    assert heard == sorted(heard)
    assert len(heard) < 10_000


def test_close_stops_every_job_waits_for_its_end_and_delivers_nothing(qtbot: QtBot) -> None:
    jobs = Jobs()
    ended: list[str] = []
    heard: list[object] = []

    def work(ticket: Ticket) -> str:
        while not ticket.stop():
            time.sleep(0.001)
        ended.append(ticket.slot)
        return "late"

    for slot in ("a", "b"):
        jobs.start(slot, work, heard.append, fail)
    jobs.close()
    assert sorted(ended) == ["a", "b"]
    qtbot.wait(20)
    assert heard == []
    jobs.start("c", work, heard.append, fail)
    assert not jobs.busy("c")


def test_the_window_stays_alive_while_a_job_computes(qtbot: QtBot, jobs: Jobs) -> None:
    """The job ends only after the window's 10 ms timer ticked 30 times: on its own thread it never would."""
    ticks: list[int] = []
    enough = threading.Event()

    def tick() -> None:
        ticks.append(1)
        if len(ticks) >= 30:
            enough.set()

    def work(ticket: Ticket) -> str:
        rounds = 0
        while not enough.is_set() and not ticket.stop():
            hashlib.pbkdf2_hmac(
                "sha256", b"clip", b"song", 20_000
            )  # computes without holding the interpreter
            rounds += 1
            ticket.progress(min(1.0, rounds / 100))
        return "computed"

    timer = QTimer()
    timer.setInterval(10)
    timer.timeout.connect(tick)
    timer.start()
    results: list[str] = []
    jobs.start("busy", work, results.append, fail)
    qtbot.waitUntil(lambda: bool(results), timeout=20_000)
    timer.stop()
    assert len(ticks) >= 30


def test_an_unexpected_error_is_logged_and_said_in_a_sentence(
    qtbot: QtBot, jobs: Jobs, caplog: pytest.LogCaptureFixture
) -> None:
    errors: list[Exception] = []
    jobs.start("a", lambda ticket: 1 // 0, lambda _: None, errors.append)
    qtbot.waitUntil(lambda: bool(errors))
    assert "unexpected" in sentence(errors[0])
    assert "job a failed" in caplog.text
