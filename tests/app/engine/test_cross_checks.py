"""A shoot on files in which clips are compared: who is heard again, what is answered, kept and stopped."""

import json
import shutil
import subprocess
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from app.cli import commands
from app.engine import place_recording, tasks
from app.engine.cross_checks import Inquiry, inquire
from app.engine.placement_json import placement_from_json, placement_to_json
from app.engine.probing import look
from app.engine.worker_pool import WorkerPool
from app.handoff.report_text import table
from app.model.answers import Answer, answers
from app.model.document import store
from app.model.document.decisions import Decision
from app.model.document.identity import media_ref
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.edits.deciding import confirm_take
from app.model.edits.shoot_edits import add_clips, answer_clip
from app.model.on_song import on_song
from app.model.reasons import NO_REASON, sentence
from app.model.storage.json_node import WrongShape
from audio.errors import Stopped, Unreadable
from audio.line import Line
from audio.placement.answer import Placement, PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode
from audio.references.reference import Reference
from audio.shoot.consistency import Doubt
from audio.shoot.run_throughs import Answered
from tests.app.engine.grounds import SONG
from tests.app.engine.test_worker_pool import DeadlyPath
from tests.audio.engine_songs import RATE, camera_file, index, song, song_file
from tests.audio.media_files import Recipe, make
from tests.audio.moments import camera, moment

STYLE = "loops"
TRUE_S, TWIN_S = 15.484, 23.226
"""A passage of ``loops`` and the next, which is the same to the sample (see ``Song.twins``)."""
INTO_S, SHORT_S = 1.3, 5.5
WIDE, CLOSE = "WIDE.MOV", "CLOSE.MOV"
REASON = f"Decided by another clip of the same moment: {WIDE}."


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The song, a camera that ran through all of it, and a pick-up of the same moment by another camera."""
    folder = tmp_path_factory.mktemp("shoot")
    song_file(folder / "song.wav", STYLE)
    of = moment(song(STYLE), 0.0, song(STYLE).seconds, 1)
    for name, wave in (
        (WIDE, camera(of, "cellar-6m", 0.0, song(STYLE).seconds, late_s=0.012, seed=9)),
        (CLOSE, camera(of, "garage-4m", TRUE_S + INTO_S, SHORT_S, seed=5)),
    ):
        track = np.asarray(wave, np.float32)
        make(folder / name, Recipe(tracks=[track], sound_rate=RATE, picture_s=len(track) / RATE))
    return folder


class Evening:
    """What is asked of the engine for the shoot, with a count of the files whose sound is read."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.folder = folder
        self.song = Song(media_ref(folder / "song.wav"), song(STYLE).seconds)
        self.read: list[str] = []
        self.asked: list[tuple[int, int]] = []
        real = place_recording.read_sound

        def read_sound(path: Path, *rest: Any, **more: Any) -> Any:
            self.read.append(path.name)
            return real(path, *rest, **more)

        monkeypatch.setattr(place_recording, "read_sound", read_sound)

    def place(self, *names: str, **more: Any) -> list[Answer]:
        self.read, self.asked = [], []
        answers: list[Answer] = []
        calls = {"workers": 0, "answered": answers.append, "comparing": self.comparing} | more
        try:
            tasks.place_clips([self.song], [self.folder / name for name in names], **calls)
        except Stopped:
            assert "stop" in more
        return answers

    def comparing(self, done: int, whole: int) -> None:
        self.asked.append((done, whole))

    def shoot(self, clips: list[Answer]) -> Shoot:
        made, _ = add_clips(Shoot("evening", (self.song,)), [clip.media for clip in clips])
        for clip in clips:
            made, _ = answer_clip(made, clip)
        return made


@dataclass(frozen=True)
class FirstRun:
    """Both clips placed once, and what was done for it."""

    answers: list[Answer]
    read: list[str]
    asked: list[tuple[int, int]]
    cache: Path


@pytest.fixture(scope="module")
def first_run(files: Path, tmp_path_factory: pytest.TempPathFactory) -> FirstRun:
    cache = tmp_path_factory.mktemp("first") / "cache"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(cache))
        evening = Evening(files, patch)
        placed = evening.place(WIDE, CLOSE)
    return FirstRun(placed, evening.read, evening.asked, cache)


@pytest.fixture
def evening(files: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Evening:
    """Nothing is known yet."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return Evening(files, monkeypatch)


@pytest.fixture
def second_run(first_run: FirstRun, evening: Evening, tmp_path: Path) -> Evening:
    """What the first run kept is known."""
    shutil.copytree(first_run.cache, tmp_path / "cache")
    return evening


def names(clips: list[Answer]) -> list[str]:
    return [Path(clip.media.path).name for clip in clips]


def assert_decided(clip: Answer) -> None:
    (take,) = clip.takes
    assert (clip.verdict, clip.reason) == (Verdict.PLACED, NO_REASON)
    assert (take.verdict, sentence(take.reason)) == (Verdict.PLACED, REASON)
    assert take.line.song_time(0.0) == pytest.approx(TRUE_S + INTO_S, abs=0.002)
    assert any(abs(rival.song_start_s - TWIN_S - INTO_S) < 0.02 for rival in take.rivals)


def test_a_pick_up_in_a_repeated_passage_is_decided_by_another_camera(
    evening: Evening, first_run: FirstRun
) -> None:
    wide, alone, decided = first_run.answers
    assert names([wide, alone, decided]) == [WIDE, CLOSE, CLOSE]
    assert (wide.verdict, alone.verdict) == (Verdict.PLACED, Verdict.DOUBTFUL)
    assert_decided(decided)
    assert first_run.read == [WIDE, CLOSE, CLOSE, WIDE]
    assert first_run.asked == [(0, 1), (1, 1)]
    told = table(on_song(evening.shoot([wide, alone, decided])))
    assert REASON in " ".join(told.split())
    assert "2 clips: 2 placed." in told


def test_a_second_run_knows_it_all_and_answers_once(
    second_run: Evening, first_run: FirstRun, monkeypatch: pytest.MonkeyPatch
) -> None:
    wide, _, decided = first_run.answers
    monkeypatch.setattr("app.engine.cross_checks.compared", lambda *_: pytest.fail("clips were compared"))
    monkeypatch.setattr("audio.files.media.read_song", lambda *_, **__: pytest.fail("the song was read"))
    assert second_run.place(WIDE, CLOSE) == [wide, decided]
    assert second_run.place(CLOSE, WIDE) == [decided, wide]
    assert (second_run.read, second_run.asked) == ([], [])


def test_in_processes_it_comes_out_the_same(evening: Evening, first_run: FirstRun) -> None:
    wide, _, decided = first_run.answers
    answers = evening.place(WIDE, CLOSE, workers=2, use_cache=False)
    assert sorted(names(answers)) == [CLOSE, CLOSE, WIDE]
    assert answers[-1] == decided
    assert wide in answers


def test_stopped_while_comparing_the_first_answers_stay(evening: Evening) -> None:
    answers = evening.place(WIDE, CLOSE, stop=lambda: bool(evening.asked))
    assert [clip.verdict for clip in answers] == [Verdict.PLACED, Verdict.DOUBTFUL]
    assert evening.read == [WIDE, CLOSE]
    # The next run takes it up where this one was stopped.
    assert_decided(evening.place(WIDE, CLOSE)[-1])
    assert evening.read == [CLOSE, WIDE]


def test_a_clip_of_before_is_decided_by_one_that_is_added(evening: Evening) -> None:
    alone = evening.place(CLOSE)
    assert [clip.verdict for clip in alone] == [Verdict.DOUBTFUL]
    before = evening.shoot(alone)
    wide, decided = evening.place(WIDE, beside=answers(before))
    assert names([wide, decided]) == [WIDE, CLOSE]
    assert_decided(decided)
    # The other way round, and with nothing to say of the clip of before, nothing is said of it.
    assert names(evening.place(CLOSE, beside=answers(evening.shoot([wide])))) == [CLOSE]


def test_what_a_person_decided_is_left_alone(evening: Evening, first_run: FirstRun) -> None:
    _, alone, decided = first_run.answers
    shoot = evening.shoot([alone])
    shoot, _ = confirm_take(shoot, on_song(shoot).clips[0].takes[0].id, "2031-05-04T18:20:00Z")
    again, _ = answer_clip(shoot, decided)
    seen = on_song(again).clips[0]
    assert seen.takes == on_song(shoot).clips[0].takes
    assert seen.takes[0].decision is Decision.CONFIRMED


def test_a_clip_that_is_gone_meanwhile_keeps_its_answer(
    evening: Evening, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gone(*_: object, **__: object) -> None:
        raise Unreadable("The disk is not connected.")

    def comparing(done: int, whole: int) -> None:
        monkeypatch.setattr(place_recording, "read_sound", gone)

    answers = evening.place(WIDE, CLOSE, comparing=comparing)
    assert [clip.verdict for clip in answers] == [Verdict.PLACED, Verdict.DOUBTFUL]


def test_the_command_compares_new_clips_with_those_of_the_shoot(
    evening: Evening, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    song_path, shoot = str(evening.folder / "song.wav"), tmp_path / "evening.anglebook"
    store.save(evening.shoot(evening.place(CLOSE)), shoot)
    assert commands.main(["place", song_path, str(evening.folder / WIDE), "--shoot", str(shoot)]) == 0
    printed = capsys.readouterr()
    assert "1 of 1  WIDE.MOV: placed" in printed.err
    assert "Comparing 1 clip with others…" in printed.err
    assert "compared with other clips  CLOSE.MOV: placed" in printed.err
    close, wide = answers(store.load(shoot))
    assert names([close, wide]) == [CLOSE, WIDE]
    assert_decided(close)


def test_a_second_run_loads_no_signal_library(second_run: Evening, tmp_path: Path) -> None:
    shoot = tmp_path / "evening.anglebook"
    store.save(second_run.shoot([]), shoot)
    paths = [str(second_run.folder / name) for name in ("song.wav", WIDE, CLOSE)]
    code = (
        "import sys\n"
        "from app.cli import commands\n"
        f"status = commands.main(['place', *{paths!r},"
        f" '--shoot', {str(shoot)!r}])\n"
        "print(status, [name for name in ('numpy', 'scipy', 'av') if name in sys.modules], file=sys.stderr)\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stderr.splitlines()[-1] == "0 []"
    assert [clip.verdict for clip in answers(store.load(shoot))] == [Verdict.PLACED] * 2


def test_where_nothing_is_doubtful_nothing_is_read_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr(
        "app.engine.worker_pool.inquire", lambda *_, **__: pytest.fail("a question was asked")
    )
    made = Song(media_ref(song_file(tmp_path / "song.wav")), song().seconds)
    paths = [camera_file(tmp_path / f"{name}.mov", (at, 12.0)) for name, at in (("a", 5.0), ("b", 9.0))]
    read: list[str] = []
    real = place_recording.read_sound
    monkeypatch.setattr(
        place_recording, "read_sound", lambda path, *r, **m: read.append(path.name) or real(path, *r, **m)
    )
    asked: list[int] = []
    answers: list[Answer] = []
    tasks.place_clips(
        [made], paths, answered=answers.append, comparing=lambda done, whole: asked.append(whole), workers=0
    )
    assert names(answers) == ["a.mov", "b.mov"]
    assert (read, asked) == (["a.mov", "b.mov"], [])


WHY = Reason(ReasonCode.CONTRADICTED, (("clip", "WIDE.MOV"), ("off_s", -12.5)))


def made_up(verdict: PlaceVerdict) -> Placement:
    rivals, lags = (PlaceRival(50.0, 0.8, open=True),), ((2.5, 1e-5, 9.0), (3.5, -1e-5, 8.0))
    fit = TakeFit(Line(2.0, 30.0, 1 + 1e-6), 9.0, 0.001, 1e-6, verdict, WHY, 20.0, rivals, lags)
    return Placement(verdict, WHY, (fit,), 1)


def test_an_answer_comes_back_from_json_as_it_was() -> None:
    for verdict in (PlaceVerdict.DOUBTFUL, PlaceVerdict.PLACED):
        text = json.dumps(placement_to_json(made_up(verdict)))
        assert placement_from_json(json.loads(text)) == made_up(verdict)


@pytest.mark.parametrize(
    "wrong",
    [
        {"verdict": "wonderful"},
        {"takes": 3},
        {"takes": [{}]},
        {"takes": ["x"]},
        {"channel": None},
        {"reason": "faint"},
        {"reason": {"code": "moon phase", "figures": []}},
        {"reason": {"code": "faint"}},
        {"reason": {"code": "faint", "figures": [["off_s", None]]}},
        {"reason": {"code": "faint", "figures": [["off_s"]]}},
    ],
)
def test_an_answer_of_another_shape_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(WrongShape):
        placement_from_json(placement_to_json(made_up(PlaceVerdict.PLACED)) | wrong)


def inquiry(folder: Path, **more: Any) -> Inquiry:
    """A question about the pick-up, with the whole take as its corroborating clip."""
    looked = [look(folder / name) for name in (CLOSE, WIDE)]
    infos = [file.info for file in looked if file.info is not None]
    whole = TakeFit(Line(0.0, 0.0, 1.0), 60.0, 1e-4, 1e-6, PlaceVerdict.PLACED, None, 50.0, (), ())
    clips = [
        Answered(infos[0], replace(made_up(PlaceVerdict.DOUBTFUL), channel=0)),
        Answered(infos[1], Placement(PlaceVerdict.PLACED, None, (whole,), 0)),
    ]
    return replace(Inquiry(Doubt(0, (1,)), clips, [[file] for file in looked], SONG), **more)


def test_whatever_goes_wrong_leaves_the_answer_there_was(
    files: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("division by zero")

    asked = inquiry(files)
    monkeypatch.setattr("app.engine.cross_checks.answer", broken)
    assert inquire(asked, index(STYLE), stop=lambda: False) == asked.clips[0].placement
    assert CLOSE in caplog.text
    with pytest.raises(Stopped):
        inquire(asked, index(STYLE), stop=lambda: True)


def test_a_process_that_dies_of_a_question_leaves_the_answer_there_was(files: Path) -> None:
    asked = inquiry(files)
    deadly = replace(asked.files[0][0], path=DeadlyPath("/card/bad.mov"))
    counted: list[int] = []
    with WorkerPool(
        [Reference(SONG, "song.wav")],
        lambda: {SONG: song(STYLE).master},
        RATE,
        workers=2,
        stop=lambda: False,
        progress=lambda path, fraction: None,
    ) as pool:
        found = pool.ask([replace(asked, files=[[deadly], asked.files[1]])] * 2, counted.append)
    assert found == [asked.clips[0].placement] * 2
    assert counted == [1, 2]
