"""Placing asks the pictures of clips without sound once all others are placed, and keeps what they tell."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from app.engine import tasks
from app.engine.by_sight import Heard, SeriesOf
from app.model.answers import Answer
from app.model.document.findings import TakePlacement
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.reasons import Reason
from tests.app.engine.test_tasks import a_song
from tests.audio.engine_songs import camera_file, song
from tests.audio.media_files import Recipe, make

TAKE = TakePlacement(0.0, 1.0, 7.0, verdict=Verdict.DOUBTFUL, reason=Reason("by motion"))


class Eyes:
    """Stands in for looking: answers every silent clip, and counts what it was asked."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.asked: list[tuple[list[str], int]] = []

        def by_sight(
            silent: Sequence[Answer],
            placed: Sequence[Answer],
            heard: Callable[[], Heard],
            series_of: SeriesOf,
        ) -> dict[Path, Answer]:
            seen = series_of([Path(one.media.path) for one in silent])
            assert heard().length_s == pytest.approx(song().seconds, abs=0.01)
            self.asked.append((sorted(path.name for path in seen), sum(bool(one.takes) for one in placed)))
            return {
                Path(one.media.path): replace(one, verdict=Verdict.DOUBTFUL, takes=(TAKE,)) for one in silent
            }

        monkeypatch.setattr("app.engine.by_sight.by_sight", by_sight)

    def since(self) -> list[tuple[list[str], int]]:
        asked, self.asked = self.asked, []
        return asked


@pytest.fixture
def eyes(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Eyes:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return Eyes(monkeypatch)


def place(made: Song, paths: list[Path], beside: Sequence[Answer] = ()) -> dict[str, Answer]:
    answers: list[Answer] = []
    tasks.place_clips([made], paths, beside=beside, answered=answers.append, workers=0)
    return {Path(clip.media.path).name: clip for clip in answers}


def test_silent_clips_are_looked_at_when_the_others_are_placed_and_once(
    tmp_path: Path, eyes: Eyes, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = a_song(tmp_path / "song.wav")
    quiet = make(tmp_path / "quiet.mov", Recipe(picture_s=1.0))
    one = camera_file(tmp_path / "one.mov", (20.0, 9.0))
    first = place(made, [quiet, one])
    assert eyes.since() == [(["quiet.mov"], 1)]
    assert (first["quiet.mov"].verdict, first["quiet.mov"].takes) == (Verdict.DOUBTFUL, (TAKE,))
    # Nothing new: neither looked at nor the song read.
    with monkeypatch.context() as context:
        context.setattr("audio.files.media.read_song", lambda *_, **__: pytest.fail("the song was read"))
        assert place(made, [quiet, one]) == first
    assert eyes.since() == []
    # Another clip may show what the silent one does; its own pictures are not read again.
    two = camera_file(tmp_path / "two.mov", (40.0, 9.0))
    with monkeypatch.context() as context:
        context.setattr("app.engine.worker_pool.series_of", lambda *_, **__: pytest.fail("it was read"))
        place(made, [two], beside=list(first.values()))
    assert eyes.since() == [(["quiet.mov"], 2)]


def test_a_shoot_without_silent_clips_looks_at_none(tmp_path: Path, eyes: Eyes) -> None:
    made = a_song(tmp_path / "song.wav")
    place(made, [camera_file(tmp_path / "one.mov", (20.0, 9.0))])
    assert eyes.since() == []
