"""Kills at random moments, and what was lost: ``python -m tests.trouble.kills --seed 1 --count 200``.

A child process saves, edits, hands off or places, tells what it has finished, and is killed without notice.
Then: is every file under its own name whole, is everything there that was told as finished, and was no clip
changed? Linux and macOS only (it forks).
"""

import argparse
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from app.handoff.all import write_all
from app.model.document import store
from app.model.on_song import on_song
from tests.trouble.bad_shoots import full_shoot
from tests.trouble.corpus import digests
from tests.trouble.test_failing_writes import left

LATEST_S = {"saving": 0.6, "editing": 4.0, "handing off": 2.0, "placing": 20.0}
"""A kill comes at a random moment up to then."""
SHARES = {"saving": 0.5, "handing off": 0.3, "editing": 0.15, "placing": 0.05}
Tell = Callable[[int], None]


def save_on(folder: Path, tell: Tell) -> None:
    """Save a shoot again and again; what is saved is told."""
    shoot, number = full_shoot(), 0
    while True:
        number += 1
        store.save(replace(shoot, name=str(number)), folder / "shoot.anglebook")
        tell(number)


def hand_off_on(folder: Path, tell: Tell) -> None:
    """Write a hand-off over itself again and again."""
    shoot, number = on_song(replace(full_shoot(), playbacks=()), "song-1"), 0
    while True:
        number += 1
        write_all(shoot, folder / "out", replace=True)
        tell(number)


def edit_on(folder: Path, tell: Tell) -> None:
    """Edit a shoot in a window's session, ten times a second; what is edited is told."""
    from PySide6.QtCore import QCoreApplication, QTimer

    from app.model.edits.shoot_edits import set_name
    from app.window.frame.safe_copy import SafeCopy
    from app.window.session import Session
    from tests.app.window.answers import Answers

    application = QCoreApplication([])
    session = Session()
    path = folder / "shoot.anglebook"
    store.save(full_shoot(), path)
    session.open(path, trust=True)
    copy = SafeCopy(session, Answers(), folder / "unsaved")
    timer, numbers = QTimer(), iter(range(1, 10**6))

    def edit() -> None:
        number = next(numbers)
        session.apply("Rename", set_name(session.shoot, str(number)), "test")
        tell(number)

    timer.timeout.connect(edit)
    timer.start(100)
    application.exec()
    copy.close()


def place_on(folder: Path, tell: Tell) -> None:
    """Place the clips of a folder into a shoot, once."""
    os.environ["XDG_CACHE_HOME"] = str(folder / "cache")
    shoot, report = folder / "shoot.anglebook", folder / "r.json"
    argv = ["place", str(folder / "song.wav"), str(folder / "clips"), "--shoot", str(shoot)]
    os.execv(sys.executable, [sys.executable, "-m", "app", *argv, "--report", str(report)])


def killed(act: Callable[[Path, Tell], None], folder: Path, after_s: float) -> int:
    """Have it done in a child, and kill that; gives the last number that it told."""
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        os.setsid()
        nowhere = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(nowhere, stream)
        try:
            act(folder, lambda number: os.write(theirs, f"{number}\n".encode()) and None)  # type: ignore[func-returns-value]
        finally:
            os._exit(0)
    os.close(theirs)
    time.sleep(after_s)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(ours) as told:
        numbers = [int(line) for line in told.read().split()]
    return max(numbers, default=0)


def lost_by_saving(folder: Path, after_s: float) -> str:
    """What is wrong after a kill while saving; empty where nothing is."""
    last = killed(save_on, folder, after_s)
    path = folder / "shoot.anglebook"
    if not path.exists():
        return "saved, and not there" if last else ""
    found = int(store.load(path, trust=True).name)
    return "" if found >= last else f"{last} was saved, {found} is there"


def lost_by_handing_off(folder: Path, after_s: float) -> str:
    """The same while handing off: every file under its own name is a whole one."""
    write_all(on_song(replace(full_shoot(), playbacks=()), "song-1"), folder / "whole")
    killed(hand_off_on, folder, after_s)
    out = folder / "out"
    whole, there = left(folder / "whole"), left(out) if out.exists() else {}
    named = {name: digest for name, digest in there.items() if not Path(name).name.startswith(".")}
    return (
        "" if named.items() <= whole.items() else f"not whole: {sorted(set(named) - set(whole)) or 'changed'}"
    )


def lost_by_editing(folder: Path, after_s: float) -> str:
    """The same while editing; edits of the last seconds may be lost (a safe copy is written every two)."""
    last = killed(edit_on, folder, after_s)
    copies = [path for path in folder.rglob("*.anglebook*") if path.suffix != ".lock" and path.is_file()]
    names = []
    for path in copies:
        try:
            names.append(store.load(path, trust=True).name)
        except store.StoreError as error:
            return f"{path.name}: {error}"
    found = max((int(name) for name in names if name.isdecimal()), default=0)
    lost = last - found
    WORST["edits lost"] = max(WORST.get("edits lost", 0), lost)
    return "" if lost <= 40 else f"{lost} edits of {last} lost"


def lost_by_placing(folder: Path, after_s: float) -> str:
    """The same while placing: what is there is whole, and no clip is changed."""
    from tests.audio.engine_songs import camera_file, song_file

    (folder / "clips").mkdir()
    song_file(folder / "song.wav")
    clips = [camera_file(folder / "clips" / f"{n}.mov", (5.0 + 7 * n, 9.0)) for n in range(3)]
    before = digests(clips)
    killed(place_on, folder, after_s)
    if digests(clips) != before:
        return "a clip was changed"
    path = folder / "shoot.anglebook"
    if path.exists():
        store.load(path, trust=True)
    return ""


WORST: dict[str, int] = {}
TRIED = {
    "saving": lost_by_saving,
    "handing off": lost_by_handing_off,
    "editing": lost_by_editing,
    "placing": lost_by_placing,
}


def main() -> int:
    """Kill; gives the exit status."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=200)
    options = parser.parse_args()
    random, wrong = np.random.default_rng(options.seed), 0
    for name, lost in TRIED.items():
        count, bad = max(1, round(options.count * SHARES[name])), 0
        for number in range(count):
            folder = Path(tempfile.mkdtemp(prefix="kill-"))
            try:
                trouble = lost(folder, float(random.uniform(0.0, LATEST_S[name])))
            except store.StoreError as error:
                trouble = str(error)
            finally:
                shutil.rmtree(folder, ignore_errors=True)
            if trouble:
                bad += 1
                print(f"{name} number {number}: {trouble}")
        print(f"{name}: {count} kills, {bad} with a loss", flush=True)
        wrong += bad
    print(f"{wrong} wrong; {WORST}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
