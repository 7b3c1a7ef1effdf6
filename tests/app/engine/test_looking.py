"""Clips looked at: answers, trouble with one file, what is kept from run to run, stopping."""

import multiprocessing
import shutil
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import app.engine.kept_traces
import app.engine.looking as looking
from app.engine import tasks
from app.engine.answer_cache import LOOKING
from app.engine.kept_traces import KeptTraces
from app.model.document.identity import media_ref
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.model.seen import Seen
from app.model.storage.cache import Cache
from audio.errors import Stopped
from audio.pictures.sampling import pictures_of, stamps_of
from audio.pictures.trace import trace_of
from tests.app.random_shoots import clip, shoot, take
from tests.audio.media_files import Recipe, make, noise
from tests.test_arrows import ROOT, imports, sources

RATE = Fraction(25)


@pytest.fixture(autouse=True)
def no_process_left() -> Any:
    yield
    assert multiprocessing.active_children() == []


def shown(path: Path, number: int = 1, **more: Any) -> Clip:
    """A clip of 2 s as it was placed."""
    facts = Clip(f"clip-{number}", media_ref(path), "angle-1", 2.0, RATE, verdict=Verdict.PLACED)
    return replace(facts, **more)


def looked(*clips: Clip, **more: Any) -> dict[str, Seen]:
    """What came of looking, by file name, in this process."""
    found: dict[str, Seen] = {}

    def answered(one: Seen) -> None:
        assert one.media.path not in {seen.media.path for seen in found.values()}
        found[Path(one.media.path).name] = one

    told = {"answered": answered, "workers": 0} | more
    tasks.look_at_clips(SongView("Evening", None, (), clips), **told)
    return found


@pytest.fixture
def eyes(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the files whose pictures were read."""
    read: list[str] = []

    def seen(path: Path, *, stop: Callable[[], bool]) -> Any:
        read.append(path.name)
        return pictures_of(path, stop=stop)

    monkeypatch.setattr(looking, "pictures_of", seen)
    return read


def test_each_clip_with_pictures_is_answered_once_in_processes(tmp_path: Path) -> None:
    first = make(tmp_path / "a.mov", Recipe())
    second = make(tmp_path / "b.mov", Recipe(rotation=90))
    bad = tmp_path / "bad.mov"
    bad.write_bytes(first.read_bytes()[:900])
    sound = make(tmp_path / "s.wav", Recipe(tracks=[noise(2.0)], picture_s=0))
    told: dict[str, list[float]] = {}
    found = looked(
        shown(first),
        shown(bad, 2),
        shown(second, 3),
        shown(sound, 4, frame_rate=None),
        workers=2,
        progress=lambda path, fraction: told.setdefault(path.name, []).append(fraction),
    )
    assert set(found) == {"a.mov", "bad.mov", "b.mov"}
    assert found["bad.mov"].trouble.endswith("copy it again from the card.")
    for name in ("a.mov", "b.mov"):
        assert found[name].trouble == ""
        assert found[name].media == media_ref(tmp_path / name)
        assert {one.name: one.value for one in found[name].measures}["level"] == pytest.approx(0.37, abs=0.1)
        assert told[name] == sorted(told[name])
        assert told[name][-1] == 1.0
    # Pictures of another shape are another set-up.
    assert found["a.mov"].group != found["b.mov"].group
    assert all(found[name].group.startswith("view-") for name in ("a.mov", "b.mov"))


def test_a_file_read_only_as_sound_so_far_is_tried(tmp_path: Path) -> None:
    sound = make(tmp_path / "s.wav", Recipe(tracks=[noise(1.0)], picture_s=0))
    waiting = shown(sound, duration_s=0.0, frame_rate=None, verdict=Verdict.WAITING)
    assert looked(waiting)["s.wav"].trouble == "The file has no picture, only sound."


def test_a_reader_that_crashes_costs_its_own_file_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(path: Path, *, stop: Callable[[], bool]) -> Any:
        if path.name == "a.mov":
            raise ZeroDivisionError("no luck")
        return stamps_of(path, stop=stop)

    monkeypatch.setattr(looking, "stamps_of", broken)
    clips = [shown(make(tmp_path / f"{name}.mov", Recipe()), n) for n, name in enumerate("ab")]
    found = looked(*clips)
    assert "ZeroDivisionError: no luck" in found["a.mov"].trouble
    assert found["b.mov"].measures


def test_what_was_seen_is_known_again_wherever_it_lies(tmp_path: Path, eyes: list[str]) -> None:
    first, second = (make(tmp_path / f"{name}.mov", Recipe(size=(64 + n, 48))) for n, name in enumerate("ab"))
    before = looked(shown(first))
    assert eyes == ["a.mov"]
    (tmp_path / "disk").mkdir()
    moved = Path(shutil.move(first, tmp_path / "disk" / "c.mov"))
    after = looked(shown(moved), shown(second, 2))
    assert eyes == ["a.mov", "b.mov"]
    assert after["c.mov"].measures == before["a.mov"].measures
    looked(shown(moved), use_cache=False)
    assert eyes == ["a.mov", "b.mov", "c.mov"]


def test_a_file_that_is_another_one_by_now_is_not_looked_at(tmp_path: Path, eyes: list[str]) -> None:
    path = make(tmp_path / "a.mov", Recipe())
    placed = shown(path)
    make(path, Recipe(picture_s=3.0))
    gone = replace(placed, id="clip-2", media=MediaRef(str(tmp_path / "gone.mov"), 9, "ff"))
    found = looked(placed, gone)
    assert "place it again" in found["a.mov"].trouble
    assert found["gone.mov"].trouble == "The file cannot be opened: No such file or directory."
    assert eyes == []


def test_stopped_work_answers_nothing_and_goes_on_where_it_was(tmp_path: Path, eyes: list[str]) -> None:
    clips = [shown(make(tmp_path / f"{name}.mov", Recipe()), n) for n, name in enumerate("abc")]
    done: list[Path] = []

    def progress(path: Path, fraction: float) -> None:
        if fraction == 1.0:
            done.append(path)

    with pytest.raises(Stopped):
        looked(*clips, stop=lambda: len(done) >= 2, progress=progress, answered=pytest.fail)
    assert set(looked(*clips)) == {"a.mov", "b.mov", "c.mov"}
    assert sorted(eyes) == ["a.mov", "b.mov", "c.mov", "c.mov"] or sorted(eyes) == ["a.mov", "b.mov", "c.mov"]


def test_lost_samples_lie_where_a_take_goes_on_beside_its_line() -> None:
    def parts(leap_s: float, pause_s: float = 0.0) -> Clip:
        first = Take("t1", 0.0, 10.0, 0.0)
        second = Take("t2", 10.0 + pause_s, 20.0, 10.0 + pause_s + leap_s)
        return clip(1, first, second)

    assert looking.lost_samples(parts(0.02)) == (10.0,)
    assert looking.lost_samples(parts(3.0)) == ()  # another take
    assert looking.lost_samples(parts(0.02, pause_s=5.0)) == ()
    assert looking.lost_samples(shoot(clip(1, take("t", 0, 8))).clips[0]) == ()


def test_a_trace_comes_back_as_it_was_and_damage_is_nothing(tmp_path: Path) -> None:
    path = make(tmp_path / "a.mov", Recipe())
    trace = trace_of(pictures_of(path), stamps_of(path))
    store = Cache(tmp_path / "kept")
    assert KeptTraces(store).get(path) is None
    kept = KeptTraces(store)
    assert kept.get(path) is None
    kept.put(path, trace)
    again = KeptTraces(store).get(path)
    assert again is not None
    for name, array in trace.arrays().items():
        np.testing.assert_array_equal(again.arrays()[name], array)
        assert again.arrays()[name].dtype == array.dtype
    [entry] = (tmp_path / "kept").iterdir()
    entry.write_bytes(entry.read_bytes()[:-9])
    assert KeptTraces(store).get(path) is None


def test_a_file_that_changed_meanwhile_is_not_kept(tmp_path: Path) -> None:
    path = make(tmp_path / "a.mov", Recipe())
    trace = trace_of(pictures_of(path), stamps_of(path))
    kept = KeptTraces(Cache(tmp_path / "kept"))
    assert kept.get(path) is None
    make(path, Recipe(picture_s=3.0))
    kept.put(path, trace)
    assert not (tmp_path / "kept").exists()


def reached(*begin: str) -> set[str]:
    """All modules of ours that these import, whatever way."""
    ours, found, left = sources(), set[str](), list(begin)
    while left:
        module = left.pop()
        if module in found or module not in ours:
            continue
        found.add(module)
        names = imports(ours[module].read_text(encoding="utf-8"), module)
        left += [name for name in names if name in ours] + [name.rpartition(".")[0] for name in names]
    return found


def test_traces_hang_on_all_code_that_makes_them_and_on_no_other() -> None:
    here = ROOT / "audio"
    counted = {path for pattern in app.engine.kept_traces.SOURCES for path in here.glob(pattern)}
    assert all(any(here.glob(pattern)) for pattern in app.engine.kept_traces.SOURCES)
    making = reached("audio.pictures.sampling", "audio.pictures.trace")
    needed = {sources()[one] for one in making if one.startswith("audio.pictures.")}
    assert needed <= counted
    assert not [path for path in counted - needed if path.parent.name == "pictures"]


def test_what_is_heard_hangs_on_no_code_that_only_looks() -> None:
    hearing = reached("app.engine.placing", "app.engine.mapping")
    left_out = {name for name, path in sources().items() if LOOKING.search(path.as_posix())}
    assert "audio.pictures.trace" in left_out
    assert "app.engine.looking" in left_out
    assert not {one for one in hearing & left_out if one.startswith("audio.")}
    assert "app.engine.looking" not in hearing
