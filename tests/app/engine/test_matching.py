"""Takes compared with the reference: drawn clips of one set-up whose cameras were set differently."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from app.engine import matching, tasks
from app.engine.side_by_side import matched_picture
from app.model.document.decisions import Reference
from app.model.document.identity import media_ref
from app.model.document.looks import Match
from app.model.document.marks import Mark, MarkKind
from app.model.document.media_ref import MediaRef
from app.model.document.song import Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from audio.errors import Stopped
from tests.quality.scene_files import encode
from tests.quality.scenes import Camera, pictures, random_camera, random_place
from tests.quality.scenes import Take as Shot

RATE = Fraction(10)
PLACE = random_place(11)
CAMERA = replace(
    random_camera(np.random.default_rng(5), PLACE, "half", side=0), noise=0.004, transfer="bt709"
)
SONG = Song(
    MediaRef("/none/song.wav", 1, "00"), 60.0, SongMap(bars_s=tuple(float(n) for n in range(0, 60, 2)))
)
OVER = replace(CAMERA, stops=CAMERA.stops + 1.3)
COOL = replace(CAMERA, warm=CAMERA.warm - 0.7)


def filmed(path: Path, camera: Camera) -> Path:
    return encode(path, pictures(Shot(PLACE, camera, PLACE.light), 12.0, RATE, 96, 160), RATE)


def placed(number: int, path: Path, song_start_s: float) -> Clip:
    takes = (Take(f"clip-{number}-take-1", 0.0, 12.0, song_start_s),)
    return Clip(f"clip-{number}", media_ref(path), "angle-1", 12.0, RATE, takes=takes, verdict=Verdict.PLACED)


@pytest.fixture(scope="module")
def view(tmp_path_factory: pytest.TempPathFactory) -> SongView:
    folder = tmp_path_factory.mktemp("clips")
    clips = (
        placed(1, filmed(folder / "plain.mp4", CAMERA), 4.0),
        placed(2, filmed(folder / "over.mp4", OVER), 4.0),
        placed(3, filmed(folder / "cool.mp4", COOL), 40.0),
    )
    return SongView("Evening", SONG, (), clips, reference=Reference("clip-1", 0.0, 12.0))


def test_every_take_is_told_how_far_it_sits_from_the_reference(view: SongView) -> None:
    over, cool = tasks.match_takes(view, workers=0)
    assert (over.clip_id, over.reference_clip_id, over.transfer) == ("clip-2", "clip-1", "bt709")
    assert over.stops == pytest.approx(1.3, abs=0.1)
    assert over.warm == pytest.approx(0.0, abs=0.1)
    assert abs(over.stops_after) < 0.1
    assert cool.warm == pytest.approx(-0.7, abs=0.1)
    assert abs(cool.warm_after) < 0.07
    # It runs elsewhere in the song: other moments were compared.
    assert "little in common" in cool.doubts
    assert "little in common" not in over.doubts
    assert "unknown transfer" not in over.doubts


def test_what_did_not_change_is_not_read_again(view: SongView, monkeypatch: pytest.MonkeyPatch) -> None:
    first = tasks.match_takes(view, workers=0)

    def never(*_: object, **__: object) -> object:
        raise AssertionError("read again")

    monkeypatch.setattr(matching, "pictures_at", never)
    assert tasks.match_takes(view, workers=0) == first
    # A fault over some of the moments moves the others: that is another question.
    mark = Mark("mark-1", "clip-2", MarkKind.FAULT, 0.0, 3.0)
    clips = tuple(replace(c, marks=(mark,)) if c.id == "clip-2" else c for c in view.clips)
    told: list[str] = []
    found = tasks.match_takes(
        replace(view, clips=clips), workers=0, troubled=lambda path, words: told.append(words)
    )
    assert [one.clip_id for one in found] == ["clip-3"]
    assert "read again" in told[0]


def test_power_and_saturation_are_found_for_takes_that_are_set_so(view: SongView) -> None:
    def wanting(clip: Clip) -> Clip:
        (take,) = clip.takes
        settings = replace(take.settings, power=True, saturation=True)
        return replace(clip, takes=(replace(take, settings=settings),))

    clips = tuple(wanting(clip) if clip.id == "clip-2" else clip for clip in view.clips)
    over, cool = tasks.match_takes(replace(view, clips=clips), workers=0)
    assert (set(cool.power), cool.saturation) == ({1.0}, 1.0)
    assert set(over.power) != {1.0}
    assert over.saturation != 1.0


def test_what_a_file_says_of_its_transfer_function(view: SongView) -> None:
    assert tasks.tagged_transfer(Path(view.clips[0].media.path)) == "bt709"
    assert dict(tasks.transfer_functions())["bt709"] == "BT.709"


def test_a_person_knows_the_transfer_function(view: SongView) -> None:
    def said(clip: Clip, word: str) -> Clip:
        (take,) = clip.takes
        return replace(clip, takes=(replace(take, settings=replace(take.settings, transfer=word)),))

    told = replace(view, clips=tuple(said(clip, "slog3") for clip in view.clips))
    over = tasks.match_takes(told, workers=0)[0]
    assert over.transfer == "slog3"
    # The same values mean far more light there: S-Log3 spreads a stop over fewer of them.
    assert over.stops > 2.5


def test_a_file_that_cannot_be_read_stops_no_other(view: SongView, tmp_path: Path) -> None:
    broken = tmp_path / "broken.mp4"
    broken.write_bytes(b"no film")
    told: dict[str, str] = {}
    more = replace(view, clips=(*view.clips, placed(9, broken, 4.0)))
    found = tasks.match_takes(more, workers=0, troubled=lambda path, words: told.update({path.name: words}))
    assert [one.clip_id for one in found] == ["clip-2", "clip-3"]
    assert list(told) == ["broken.mp4"]


def test_it_can_be_stopped_and_needs_a_reference(view: SongView) -> None:
    assert tasks.match_takes(replace(view, reference=None)) == ()
    with pytest.raises(Stopped):
        tasks.match_takes(view, workers=0, stop=lambda: True, use_cache=False)


def test_worker_processes_find_the_same(view: SongView) -> None:
    here = tasks.match_takes(view, workers=0, use_cache=False)
    assert tasks.match_takes(view, workers=2, use_cache=False) == here


def test_a_preview_shows_the_match() -> None:
    one = (1.0, 1.0, 1.0)
    match = Match("c", 0, 1, "r", 0, 1, (0.5, 1.0, 1.0), (0.0, 0.1, 0.0), one, 1.0, *[0.0] * 6)
    shown = matched_picture(np.full((2, 2, 3), 100, np.uint8), match)
    assert shown[0, 0].tolist() == [50, 126, 100]
