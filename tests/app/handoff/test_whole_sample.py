"""Everything of the sample shoot into one folder, read by readers from outside; its clips are only read."""

import json
import shutil
from dataclasses import replace
from pathlib import Path

import av
import edl
import opentimelineio as otio
import pytest
import soundfile

from app.engine import tasks
from app.handoff.all import earlier, preview, write_all
from app.handoff.choices import DEFAULT, FilmWish
from app.handoff.outcome import HandoffError, HandoffStopped
from app.handoff.registry import BY_WORD, FORMATS
from app.model.document.masters import EarlierMaster, MasterPiece
from app.model.document.song import SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import SongView
from tests.app.random_shoots import compared
from tests.app.sample_takes import sample_takes

EVERYTHING = replace(DEFAULT, what=frozenset(BY_WORD), film=FilmWish(width=320, height=180, bars=(3, 6)))


@pytest.fixture(scope="module")
def short() -> SongView:
    """The song and three of the sample's clips: pictures, sound only, and one without the song."""
    value = sample_takes()
    pictures = next(c for c in value.clips if c.frame_rate and c.takes)
    sound = next(c for c in value.clips if c.frame_rate is None and c.takes)
    bare = next(c for c in value.clips if not c.takes and c.verdict is not Verdict.UNREADABLE)
    assert value.song is not None
    bars = SongMap(bars_s=tuple(2.0 * n for n in range(50)))
    song = replace(value.song, map=bars)
    earlier = EarlierMaster(song.id, song.media, 60.0, "2026-01-01T00:00:00Z", (MasterPiece(0.0, 60.0, 1.0),))
    return compared(replace(value, clips=(pictures, sound, bare), song=song, masters=(earlier,)))


@pytest.fixture(scope="module")
def folder(short: SongView, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """All of it, written once."""
    where = tmp_path_factory.mktemp("whole")
    paths = [Path(c.media.path) for c in short.clips]
    before = [(p.read_bytes(), p.stat().st_mtime_ns) for p in paths]
    done = write_all(short, where, EVERYTHING)
    assert done.troubles == ()
    assert {report.path.name for report in done.reports} == {path.name for path in where.iterdir()}
    assert [(p.read_bytes(), p.stat().st_mtime_ns) for p in paths] == before
    return where


def test_every_kind_is_there_and_foretold(short: SongView, folder: Path) -> None:
    planned = preview(short, EVERYTHING)
    assert planned.troubles == ()
    assert {one.name for one in planned.planned} == {path.name for path in folder.iterdir()}
    assert {path.suffix for path in folder.iterdir()} >= {
        ".otio", ".otioz", ".otiod", ".edl", ".csv", ".json", ".mp4", ".ccc",
    }  # fmt: skip
    assert set(earlier(folder, planned.planned)) == {path.name for path in folder.iterdir()}


def test_each_is_known_by_one_format_alone(folder: Path) -> None:
    known = {path.name: [one.word for one in FORMATS if one.is_ours(path)] for path in folder.iterdir()}
    assert {name: words for name, words in known.items() if len(words) != 1} == {}
    assert {words[0] for words in known.values()} == set(BY_WORD)


def test_readers_from_outside_read_them(short: SongView, folder: Path) -> None:
    for suffix in ("otio", "otioz", "otiod"):
        timeline = otio.adapters.read_from_file(str(folder / f"Ferry.{suffix}"))
        assert len(list(timeline.find_clips())) == 1 + sum(len(c.takes) for c in short.clips)
    for path in folder.glob("*.edl"):
        assert len(edl.Parser("30").parse(path.read_text("ascii").splitlines()).events) >= 1
    assert len(json.loads((folder / "Ferry.json").read_text("utf-8"))["clips"]) == 3
    with av.open(str(folder / "Ferry.mp4")) as film:
        picture = film.streams.video[0]
        assert (picture.width, float(picture.duration * picture.time_base)) == (
            320,
            pytest.approx(8.0, abs=0.05),
        )
    assert short.song is not None
    for path in (folder / "Ferry conformed").iterdir():
        assert soundfile.info(path).duration == pytest.approx(short.song.duration_s, abs=1e-4)
    assert len(list((folder / "Ferry stamped").iterdir())) == 3  # the song, pictures, sound


def test_again_it_is_replaced_with_the_same_bytes(short: SongView, folder: Path) -> None:
    def all_bytes() -> dict[str, bytes]:
        return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}

    first = all_bytes()
    with pytest.raises(HandoffError, match="from an earlier hand-off"):
        write_all(short, folder, EVERYTHING)
    write_all(short, folder, EVERYTHING, replace=True)
    assert all_bytes() == first


def test_a_film_that_is_not_ours_and_a_file_for_a_folder_are_left_alone(
    short: SongView, tmp_path: Path
) -> None:
    planned = preview(short, EVERYTHING).planned
    for name in ("Ferry.mp4", "Ferry stamped", "Ferry conformed"):
        (tmp_path / name).write_bytes(b"mine")
        with pytest.raises(HandoffError, match="is not a hand-off file"):
            earlier(tmp_path, planned)
        (tmp_path / name).unlink()


@pytest.mark.parametrize("what", ["stamped", "conformed", "film"])
def test_stopping_is_told_as_that(short: SongView, what: str, tmp_path: Path) -> None:
    asked = 0

    def stop() -> bool:
        nonlocal asked
        asked += 1
        return asked > 2

    with pytest.raises(HandoffStopped):
        write_all(short, tmp_path, replace(EVERYTHING, what=frozenset((what,))), stop=stop)
    assert not [path for path in tmp_path.rglob("*") if path.name.endswith(".part")]


def test_takes_in_doubt_have_no_copies(short: SongView) -> None:
    clip = short.clips[0]
    unsure = tuple(replace(one, verdict=Verdict.DOUBTFUL) for one in clip.takes)
    value = replace(short, clips=(replace(clip, takes=unsure), *short.clips[1:]))
    choices = replace(EVERYTHING, what=frozenset(("stamped",)))
    told = "\n".join(preview(value, choices).planned[0].lines)
    assert "no copy, because it is in doubt; check it first" in told


def test_a_film_of_one_angle_is_heard_with_its_takes(short: SongView) -> None:
    angle = short.angle(short.clips[0].angle_id)
    film = FilmWish(width=320, height=180, angle_id=angle.id, bars=(1, 2))
    (planned,) = preview(short, replace(EVERYTHING, what=frozenset(("film",)), film=film)).planned
    assert f"1 angle: {angle.name}." in planned.lines
    nowhere = replace(EVERYTHING, what=frozenset(("film",)), film=FilmWish(bars=(900, 901)))
    assert "The song has no bar 900" in preview(short, nowhere).troubles[0]


def test_a_film_of_the_first_pass_is_made_and_known(short: SongView, tmp_path: Path) -> None:
    film = FilmWish(width=320, height=180, bars=(3, 4), first_pass=True)
    done = write_all(short, tmp_path, replace(EVERYTHING, what=frozenset(("film",)), film=film))
    assert done.troubles == ()
    assert any(line.startswith("first pass: ") for line in done.reports[0].lines)
    (path,) = tmp_path.iterdir()
    assert path.name == "Ferry first pass.mp4"
    assert BY_WORD["film"].is_ours(path)
    with av.open(str(path)) as film_file:
        picture = film_file.streams.video[0]
        assert float(picture.duration * picture.time_base) == pytest.approx(4.0, abs=0.05)


def test_what_was_handed_over_never_comes_back_as_clips(
    short: SongView, folder: Path, tmp_path: Path
) -> None:
    """Copies are known by what is in them or beside them; the clips themselves are clips."""
    assert len([p for p in folder.rglob("*") if p.suffix.lower() in (".mp4", ".mov", ".wav", ".mxf")]) >= 8
    assert tasks.find_clips([folder]) == []
    assert tasks.find_clips([folder / "Ferry.otiod" / "media"]) == []
    clips = [Path(clip.media.path) for clip in short.clips]
    assert tasks.find_clips([path.parent for path in clips], leave_out=[]) != []
    for number, path in enumerate(clips):
        (tmp_path / "bundle.otiod" / "media").mkdir(parents=True, exist_ok=True)
        shutil.copy(path, tmp_path / "bundle.otiod" / "media" / f"{number}{path.suffix}")
    assert len(tasks.find_clips([tmp_path])) == len(clips), "a bundle of somebody else's may be all there is"
    assert tasks.find_clips([next(folder.glob("*.mp4"))]) != [], "a file that is named is taken"
