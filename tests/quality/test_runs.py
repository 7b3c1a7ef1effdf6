"""Runs of the scoreboard: what is in them, that nothing done is lost, that no process stays behind."""

import json
import os
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import pytest

from tests.quality import runs
from tests.quality.judging import Score
from tests.quality.kept_run import changes, save
from tests.quality.kinds import KINDS
from tests.quality.refusals import REFUSALS
from tests.quality.runs import balanced, read, run
from tests.quality.scoreboard import report
from tests.quality.scoring import Spec
from tests.quality.songs import SongKey


def test_a_balanced_run_has_a_third_without_the_song_and_all_kinds_alike() -> None:
    specs = balanced(600, seed=1, song_seed=1, short=False)
    assert len(specs) == len({spec.name for spec in specs}) == 600
    kinds = Counter(spec.kind for spec in specs)
    assert sum(kinds[kind] for kind in REFUSALS) == 200
    assert set(kinds) == {*KINDS, *REFUSALS}
    assert {n for kind, n in kinds.items() if kind in KINDS and not KINDS[kind].long} <= {7, 8}
    assert specs == balanced(600, seed=1, song_seed=1, short=False)
    assert len({spec.key.style for spec in specs}) == 12


def _fake(spec: Spec, baselines: bool = False) -> Score | None:
    if spec.kind == "twin":
        return None
    made = Score(spec.name, spec.key.name, spec.kind, spec.strength, False, takes=1, right=1, take_s=[60.0])
    made.middle_ms, made.worst_ms, made.speed_ppm, made.ends_s = [0.1], [0.2], [1.0], [0.0, 0.0]
    made.within = [True]
    return made


def test_a_run_goes_on_where_it_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = tmp_path / "run.jsonl"
    key = SongKey("pop", 1, short=True)
    specs = [Spec(key, kind, "-", 1) for kind in ("clean", "twin", "drums", "wind")]
    made: list[str] = []
    monkeypatch.setattr(runs, "score", lambda spec, baselines: made.append(spec.kind) or _fake(spec))
    assert [s.kind for s in run(specs[:3], 1, out)] == ["clean", "drums"]
    with out.open("a") as file:
        file.write('{"name": "pop-1-short:wi')  # killed in the middle
    assert [s.kind for s in run(specs, 1, out)] == ["clean", "drums", "wind"]
    assert made == ["clean", "twin", "drums", "wind"]
    assert [s.kind for s in read(out)] == ["clean", "drums", "wind"]
    text = report(read(out))
    assert "WRONG 0 of 3 placed (below 100.00 %)" in text
    assert "3 decidable takes: doubtful 0" in text


def test_a_kept_run_tells_better_and_worse(tmp_path: Path) -> None:
    path = tmp_path / "kept.json"
    key = SongKey("rock", 1, short=True)
    before = [_fake(Spec(key, kind, "-", 1)) for kind in ("clean", "drums", "wind")]
    scores = [one for one in before if one is not None]
    scores[0].right, scores[0].missed = 0, 1
    save(scores, path)
    scores[0].right, scores[0].missed = 1, 0
    scores[1].wrong = 1
    scores[2].worst_ms = [9.0]
    told = changes(scores, path).splitlines()
    assert told[0] == "against the kept run, 3 clips: 1 better, 1 worse"
    assert told[1].endswith("clearly smaller in 0, clearly larger in 1")
    assert "  rock-1-short:clean:-:1: missed -> right" in told[told.index("better:") : told.index("worse:")]
    assert told[-1] == "  rock-1-short:drums:-:1: right -> WRONG"


_PARENT = """
import os, time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from tests.quality.runs import _end_with_parent
if __name__ == "__main__":
    pool = ProcessPoolExecutor(1, get_context("spawn"), _end_with_parent)
    print(pool.submit(os.getpid).result(), flush=True)
    pool.submit(time.sleep, 600).result()
"""


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs a /proc to look at processes")
def test_no_process_outlives_a_killed_run(tmp_path: Path) -> None:
    script = tmp_path / "parent.py"
    script.write_text(_PARENT)
    root = Path(__file__).parents[2]
    with subprocess.Popen(
        [sys.executable, script],
        cwd=root,
        stdout=subprocess.PIPE,
        text=True,
        env=os.environ | {"PYTHONPATH": str(root)},
    ) as parent:
        assert parent.stdout is not None
        child = int(parent.stdout.readline())
        assert _runs(child)
        parent.send_signal(signal.SIGKILL)
    for _ in range(200):
        if not _runs(child):
            return
        time.sleep(0.05)
    os.kill(child, signal.SIGKILL)
    raise AssertionError("a process of the run lives on")


def _runs(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def test_results_are_plain_json(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    out = tmp_path / "run.jsonl"
    monkeypatch.setattr(runs, "score", _fake)
    run([Spec(SongKey("pop", 1, short=True), "clean", "-", 1)], 1, out)
    assert json.loads(out.read_text())["worst_ms"] == [0.2]
