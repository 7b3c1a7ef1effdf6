"""Several songs handed off: each into a folder of its own, none under another's name."""

from dataclasses import replace
from pathlib import Path

import opentimelineio as otio
import pytest

from app.handoff.choices import DEFAULT, Choices
from app.handoff.each_song import Part, parts_of, preview_parts, write_parts
from app.handoff.outcome import HandoffError, HandoffStopped
from app.handoff.song_folders import LONGEST_BYTES, files_called
from app.model.document.masters import EarlierMaster, MasterPiece
from app.model.document.media_ref import MediaRef
from app.model.on_song import SongView
from tests.app.random_shoots import clip, shoot, take, waltz


def on(number: int, path: str, start_s: float) -> SongView:
    """An evening as it stands on one of its songs: one take."""
    song = replace(waltz(), media=MediaRef(path, 1000, str(number)), id=f"song-{number}")
    return shoot(clip(1, take(f"t{number}", start_s, start_s + 8.0)), song=song)


VIEWS = [on(1, "/day/Reel.wav", 0.0), on(2, "/day/Air.wav", 4.0), on(3, "/rough/air.wav", 8.0)]
FILES = [
    *("Reel/Evening - Reel.otio", "Reel/Evening - Reel.csv"),
    *("day-Air/Evening - day-Air.otio", "day-Air/Evening - day-Air.csv"),
    *("rough-air/Evening - rough-air.otio", "rough-air/Evening - rough-air.csv"),
]


def parts() -> tuple[Part, ...]:
    return parts_of("Evening", VIEWS)


def written(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def test_each_song_has_its_folder_and_its_names(tmp_path: Path) -> None:
    assert [one.name for one in preview_parts(parts()).planned] == FILES
    told: list[tuple[str, str]] = []
    along: list[float] = []
    done = write_parts(
        parts(), tmp_path, doing=lambda song, word: told.append((song, word)), progress=along.append
    )
    assert written(tmp_path) == sorted(FILES)
    assert (done.files, done.troubles, done.left) == (6, (), ())
    assert told == [(song, word) for song in ("Reel", "day/Air", "rough/air") for word in ("otio", "takes")]
    assert along == sorted(along)
    assert along[-1] == pytest.approx(1.0)
    starts = {}
    for path in tmp_path.rglob("*.otio"):
        timeline = otio.adapters.read_from_file(str(path))
        (found,) = [one for one in timeline.tracks[0] if isinstance(one, otio.schema.Clip)]
        starts[timeline.name] = found.range_in_parent().start_time.to_seconds()
    assert starts == {"Evening - Reel": 0.0, "Evening - day-Air": 4.0, "Evening - rough-air": 8.0}


def test_one_song_alone_keeps_its_names_and_goes_into_the_folder_itself(tmp_path: Path) -> None:
    one = parts_of("Evening", VIEWS, ["song-2"])
    write_parts(one, tmp_path)
    assert written(tmp_path) == ["Evening - day-Air.csv", "Evening - day-Air.otio"]
    # Beside it, the hand-off of another song replaces nothing.
    write_parts(parts_of("Evening", VIEWS, ["song-3"]), tmp_path)
    assert len(written(tmp_path)) == 4
    # Where all are handed off there, those are told as of an earlier hand-off.
    done = write_parts(parts(), tmp_path)
    assert len(done.left) == 4
    assert len(written(tmp_path)) == 10
    two = parts_of("Evening", VIEWS, ["song-1", "song-2"])
    assert [part.folder for part in two] == ["Reel", "day-Air"]
    assert parts_of("Evening", VIEWS[:1])[0] == Part(replace(VIEWS[0], name="Evening"))


def test_what_only_one_song_has_to_tell_is_no_trouble_of_the_others(tmp_path: Path) -> None:
    song = VIEWS[0].song
    assert song is not None
    earlier = EarlierMaster(song.id, song.media, 60.0, "2026-01-01T00:00:00Z", (MasterPiece(0.0, 60.0, 1.0),))
    some = parts_of("Evening", [replace(VIEWS[0], masters=(earlier,)), *VIEWS[1:]])
    choices = replace(DEFAULT, what=frozenset(("takes", "moved")))
    assert preview_parts(some, choices).troubles == ()
    assert write_parts(some, tmp_path, choices).troubles == ()
    moved = [name for name in written(tmp_path) if name.endswith(" moved.csv")]
    assert moved == ["Reel/Evening - Reel moved.csv"]


def test_nothing_is_written_where_one_song_may_not_be(tmp_path: Path) -> None:
    write_parts(parts(), tmp_path)
    for name in FILES[:4]:
        (tmp_path / name).unlink()
    with pytest.raises(HandoffError, match=r"rough-air/Evening - rough-air\.otio is already there"):
        write_parts(parts(), tmp_path)
    assert written(tmp_path) == sorted(FILES[4:])
    write_parts(parts(), tmp_path, replace=True)
    assert written(tmp_path) == sorted(FILES)
    (tmp_path / FILES[4]).write_text("mine")
    (tmp_path / FILES[0]).unlink()
    with pytest.raises(HandoffError, match="is not a hand-off file"):
        write_parts(parts(), tmp_path, replace=True)
    assert FILES[0] not in written(tmp_path)


def test_stopping_ends_it_for_all_songs(tmp_path: Path) -> None:
    begun: list[str] = []
    with pytest.raises(HandoffStopped):
        write_parts(
            parts(),
            tmp_path,
            doing=lambda song, word: begun.append(song),
            stop=lambda: len(begun) == 3,
        )
    assert written(tmp_path) == sorted(FILES[:3])


def test_a_trouble_names_its_song_and_stops_no_other(tmp_path: Path) -> None:
    lists = replace(DEFAULT, what=frozenset(("edl",)))
    some = (parts()[0], replace(parts()[1], shoot=SongView("Evening - day-Air")), parts()[2])
    seen = preview_parts(some, lists)
    assert len(seen.troubles) == 1
    assert seen.troubles[0].startswith("day/Air: ")
    done = write_parts(some, tmp_path, lists)
    assert done.troubles == seen.troubles
    assert [path.parent.name for path in sorted(tmp_path.rglob("*.edl"))] == ["Reel", "rough-air"]
    for choices in (Choices(what=frozenset()), replace(DEFAULT, start="noon")):
        with pytest.raises(HandoffError):
            preview_parts(some, choices)


def test_long_names_stay_apart() -> None:
    names = files_called("Evening" * 60, ["Air " * 60 + "one", "Air " * 60 + "two", "Reel"])
    assert len({name.casefold() for name in names}) == 3
    assert all(len(name) <= 2 * LONGEST_BYTES + 5 for name in names)
    assert names[2].endswith("- Reel")
