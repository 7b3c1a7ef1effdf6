"""Hand-offs into a folder: names any system takes, ours replaced when asked, others' left alone."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.handoff.all import earlier, preview, write_all
from app.handoff.choices import DEFAULT, Choices, Drift
from app.handoff.event_list import edl_file
from app.handoff.names import FreeNames, safe_name
from app.handoff.outcome import HandoffError, HandoffStopped
from app.handoff.registry import FORMATS
from app.handoff.tables import table_text
from app.handoff.timeline import otio_file
from app.model.document.angle import Angle
from app.model.document.identity import media_ref
from app.model.on_song import SongView, on_song
from tests.app.handoff.large_shoot import large_shoot
from tests.app.random_shoots import any_shoots, clip, shoot, take

VALUE = shoot(clip(1, take("t", 0, 9)))
LISTS = frozenset(("otio", "edl", "takes", "sections", "coverage", "report"))
EVERYTHING = replace(DEFAULT, what=LISTS | {"otioz", "otiod"})
FILES = [
    "Evening - Fiddle.edl",
    "Evening - sources.csv",
    "Evening coverage.csv",
    "Evening sections.csv",
    "Evening.csv",
    "Evening.json",
    "Evening.otio",
    "Evening.otiod",
    "Evening.otioz",
]


def listing(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def bytes_in(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def test_all_files_are_written_and_replaced_with_the_same_bytes(tmp_path: Path) -> None:
    folder = tmp_path / "to" / "edit"
    done = write_all(VALUE, folder, EVERYTHING)
    assert done.troubles == ()
    assert sorted(report.path.name for report in done.reports) == listing(folder) == FILES
    first = bytes_in(folder)
    write_all(VALUE, folder, EVERYTHING, replace=True)
    assert listing(folder) == FILES
    assert bytes_in(folder) == first
    assert otio.adapters.read_from_file(str(folder / "Evening.otio")).name == "Evening"


def test_unless_told_otherwise_a_timeline_and_a_table(tmp_path: Path) -> None:
    write_all(VALUE, tmp_path)
    assert listing(tmp_path) == ["Evening.csv", "Evening.otio"]


def test_the_preview_tells_names_and_sizes_and_writes_nothing(tmp_path: Path) -> None:
    seen = preview(VALUE, EVERYTHING)
    assert listing(tmp_path) == []
    done = write_all(VALUE, tmp_path, EVERYTHING)
    assert [one.name for one in seen.planned] == [report.path.name for report in done.reports]
    for one in seen.planned:
        path = tmp_path / one.name
        files = [path] if path.is_file() else [p for p in path.rglob("*") if p.is_file()]
        size = sum(p.stat().st_size for p in files)
        headers = 400 if path.suffix == ".otioz" else 0
        assert one.size_bytes <= size <= one.size_bytes + headers, one.name


def test_an_earlier_hand_off_is_not_replaced_unasked(tmp_path: Path) -> None:
    write_all(VALUE, tmp_path, EVERYTHING)
    (tmp_path / "Evening.otio").unlink()
    before = bytes_in(tmp_path)
    with pytest.raises(HandoffError, match="already there, from an earlier hand-off"):
        write_all(VALUE, tmp_path, EVERYTHING)
    assert bytes_in(tmp_path) == before
    assert sorted(earlier(tmp_path, preview(VALUE, EVERYTHING).planned)) == sorted(
        {*FILES} - {"Evening.otio"}
    )


@pytest.mark.parametrize("name", FILES)
@pytest.mark.parametrize(
    "content", [b"", b"something else", b"[]", b'{"metadata": 3}', b"\xff\x00", b"\r\n\r\n"]
)
def test_a_file_that_is_not_ours_is_left_alone(name: str, content: bytes, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(content)
    with pytest.raises(HandoffError, match=f"{name} is already there and is not a hand-off file"):
        write_all(VALUE, tmp_path, EVERYTHING, replace=True)
    assert (tmp_path / name).read_bytes() == content
    assert len(list(tmp_path.iterdir())) == 1


@pytest.mark.parametrize("name", FILES)
def test_a_folder_or_a_link_of_that_name_is_left_alone(name: str, tmp_path: Path) -> None:
    (tmp_path / name).mkdir()
    with pytest.raises(HandoffError, match="is already there"):
        write_all(VALUE, tmp_path, EVERYTHING, replace=True)
    (tmp_path / name).rmdir()
    (tmp_path / name).symlink_to(tmp_path / "nowhere")
    with pytest.raises(HandoffError, match="is already there"):
        write_all(VALUE, tmp_path, EVERYTHING, replace=True)
    assert not (tmp_path / "nowhere").exists()


def test_a_file_in_the_way_of_the_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(HandoffError, match="could not be created"):
        write_all(VALUE, tmp_path / "file")


def test_trouble_with_one_file_does_not_stop_the_rest(tmp_path: Path) -> None:
    choices = replace(EVERYTHING, rate=Fraction(100))
    done = write_all(VALUE, tmp_path, choices)
    assert len(done.troubles) == 1
    assert "no timecode at 100" in done.troubles[0]
    assert listing(tmp_path) == [name for name in FILES if not name.startswith("Evening - ")]
    assert preview(VALUE, choices).troubles == done.troubles
    done = write_all(SongView("Evening"), tmp_path / "b", EVERYTHING)
    assert len(done.troubles) == 1, "four files, one reason"
    assert listing(tmp_path / "b") == [
        "Evening coverage.csv",
        "Evening sections.csv",
        "Evening.csv",
        "Evening.json",
    ]


def test_what_a_format_did_not_foresee_ends_that_format_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unforeseen(*_: object) -> None:
        raise UnicodeEncodeError("utf-8", "s\udcf6ng", 1, 2, "surrogates not allowed")

    monkeypatch.setattr(otio_file, "write", unforeseen)
    done = write_all(VALUE, tmp_path)
    assert listing(tmp_path) == ["Evening.csv"]
    assert "(otio)" in done.troubles[0]


def test_lists_written_before_one_that_fails_are_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path, *_: object) -> None:
        raise OSError(28, "No space left on device", str(path))

    monkeypatch.setattr(table_text, "write_whole", full)
    wrote: list[str] = []
    done = write_all(
        VALUE,
        tmp_path,
        replace(DEFAULT, what=frozenset({"edl"})),
        wrote=lambda report: wrote.append(report.path.name),
    )
    assert wrote == [report.path.name for report in done.reports] == listing(tmp_path)
    assert wrote == ["Evening - Fiddle.edl"]
    assert "No space left" in done.troubles[0]


def test_lists_of_an_earlier_hand_off_that_are_no_longer_true_are_named(tmp_path: Path) -> None:
    choices = replace(DEFAULT, what=frozenset({"edl"}))
    write_all(VALUE, tmp_path, choices)
    (tmp_path / "Evening - notes.edl").write_text("somebody's own")
    renamed = replace(VALUE, angles=(Angle("angle-1", "Violin"),))
    done = write_all(renamed, tmp_path, choices, replace=True)
    assert done.troubles == ()
    assert done.left == ("Evening - Fiddle.edl",)
    assert "Evening - Fiddle.edl" in listing(tmp_path)
    assert write_all(VALUE, tmp_path / "b", choices).left == ()


def test_files_that_are_only_told_and_not_there_are_named(tmp_path: Path) -> None:
    here = tmp_path / "here.mov"
    here.write_bytes(b"12")
    grown = replace(media_ref(here), size_bytes=1)
    value = shoot(clip(1, take("t", 0, 9)), clip(2, take("u", 9, 12), media=grown))
    for one in preview(value, replace(DEFAULT, what=frozenset({"otio", "edl", "takes"}))).planned:
        if one.name != "Evening - Fiddle.edl":
            told = "\n".join(one.lines)
            assert "waltz.wav: the file is missing. Connect its disk" in told, one.name
            assert "clip_01.mov: the file is missing" in told, one.name
            assert "here.mov: the file has changed since it was read" in told, one.name


def test_choices_that_lead_to_nothing_are_told(tmp_path: Path) -> None:
    with pytest.raises(HandoffError, match="No format is chosen"):
        write_all(VALUE, tmp_path, replace(DEFAULT, what=frozenset()))
    with pytest.raises(HandoffError, match="start timecode"):
        write_all(VALUE, tmp_path, replace(DEFAULT, start="01:00:00;00"))
    assert listing(tmp_path) == []


def test_stopping_between_files_leaves_whole_ones(tmp_path: Path) -> None:
    asked = 0

    def stop() -> bool:
        nonlocal asked
        asked += 1
        return asked > 2

    with pytest.raises(HandoffStopped):
        write_all(VALUE, tmp_path, replace(DEFAULT, what=LISTS), stop=stop)
    assert listing(tmp_path) == ["Evening - Fiddle.edl", "Evening - sources.csv", "Evening.otio"]


def test_progress_runs_to_its_end(tmp_path: Path) -> None:
    told: list[float] = []
    begun: list[str] = []
    write_all(VALUE, tmp_path, EVERYTHING, progress=told.append, doing=begun.append)
    assert begun == [one.word for one in FORMATS if one.word in EVERYTHING.what]
    assert told == sorted(told)
    assert told[-1] == pytest.approx(1.0)
    assert [round(one, 2) for one in told[:2]] == [0.01, 0.48]  # a bundle takes longer than a timeline


@pytest.mark.parametrize(
    ("name", "safe"),
    [
        ("../../etc/passwd", "etc-passwd"),
        ("..", "shoot"),
        ("", "shoot"),
        ("C:\\x", "C--x"),
        ("CON", "CON_"),
        ("com1.take", "com1.take_"),
        ("Abend\x00\n\u202eneu", "Abend---neu"),
        ("Übung. ", "Übung"),
        ("U\u0308bung", "Übung"),
        (".hidden", "hidden"),
        ("ä" * 300, "ä" * 100),
    ],
)
def test_names_are_made_safe(name: str, safe: str) -> None:
    assert safe_name(name) == safe


@given(st.text(st.characters()), st.integers(8, 200))
def test_no_name_leaves_the_folder(name: str, longest: int) -> None:
    safe = safe_name(name, longest)
    assert Path(safe).name == safe
    assert safe not in ("", ".", "..")
    assert not safe.startswith(".")
    assert len(safe.encode("utf-8")) <= longest + 1


@given(st.lists(st.sampled_from(("a", "A", "a 2", "b")), max_size=12))
def test_no_name_is_given_twice(stems: list[str]) -> None:
    names = FreeNames()
    given_names = [names.free(stem, ".x").casefold() for stem in stems]
    assert len(set(given_names)) == len(stems)


@pytest.mark.parametrize(
    "name", ["../a/\udcffb", "..", "x" * 200, "🎻 „nah“ \"q\" 'q'", "nul", "ä\u0308" * 99]
)
def test_a_name_of_any_kind_stays_in_the_folder(name: str, tmp_path: Path) -> None:
    value = shoot(
        clip(1, take("t", 0, 9)),
        clip(2, take("u", 0, 9), angle="angle-2"),
        clip(3, take("v", 0, 9), angle="angle-3"),
        angles=(Angle("angle-1", name), Angle("angle-2", name.upper()), Angle("angle-3", name)),
    )
    done = write_all(replace(value, name=name), tmp_path / "in", EVERYTHING)
    assert done.troubles == ()
    assert listing(tmp_path) == ["in"]
    assert len(listing(tmp_path / "in")) == len(done.reports) == len(FILES) + 2
    assert all(report.path.parent == tmp_path / "in" for report in done.reports)


def test_an_evening_of_sixty_clips_of_mixed_rates(tmp_path: Path) -> None:
    """Every take is in the timeline and in the lists, at the same frame."""
    value = large_shoot(60)
    choices = Choices(what=LISTS, drift=Drift.RESEAT, start="00:59:50:00")
    done = write_all(value, tmp_path, choices)
    assert done.troubles == ()
    timeline = otio.adapters.read_from_file(str(tmp_path / "Large.otio"))
    in_timeline = sorted(
        (
            item.metadata["anglebook"]["reel"],
            round(span.start_time.to_seconds() * 25) + 59 * 60 * 25 + 50 * 25,
        )
        for track in timeline.tracks
        for item, span in track.range_of_all_children().items()
        if item.schema_name() == "Clip" and "anglebook" in item.metadata
    )
    in_lists = []
    for path in tmp_path.glob("*.edl"):
        for line in path.read_text("ascii").splitlines():
            if line[:3].isdecimal():
                source, label = line.split()[1], line.split()[6]
                hours, minutes, seconds, frames = (int(part) for part in label.split(":"))
                in_lists.append((source, ((hours * 60 + minutes) * 60 + seconds) * 25 + frames))
    assert sorted(in_lists) == in_timeline
    assert len(in_timeline) > len(value.clips)
    assert otio_file.plan(value, "x", choices).size_bytes == (tmp_path / "Large.otio").stat().st_size
    assert {one.name for one in edl_file.plan(value, "Large", choices)} <= set(listing(tmp_path))


def test_clips_are_only_read(tmp_path: Path) -> None:
    (tmp_path / "card").mkdir()
    for name in ("song.wav", "card/a.mov"):
        (tmp_path / name).write_bytes(name.encode() * 99)
    one = clip(1, take("t", 0, 9), media=media_ref(tmp_path / "card" / "a.mov"))
    value = shoot(one)
    assert value.song is not None
    value = replace(value, song=replace(value.song, media=media_ref(tmp_path / "song.wav")))
    media = [tmp_path / "song.wav", tmp_path / "card" / "a.mov"]
    before = [(p.read_bytes(), p.stat().st_mtime_ns) for p in media]
    write_all(value, tmp_path / "out", EVERYTHING)
    assert listing(tmp_path) == ["card", "out", "song.wav"]
    assert listing(tmp_path / "card") == ["a.mov"]
    assert [(p.read_bytes(), p.stat().st_mtime_ns) for p in media] == before


def test_nothing_is_written_beside_clips(tmp_path: Path) -> None:
    (tmp_path / "card").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "card")
    (tmp_path / "card" / "a.mov").write_bytes(b"x" * 99)
    value = shoot(clip(1, take("t", 0, 9), media=media_ref(tmp_path / "card" / "a.mov")))
    (tmp_path / "card" / "below").mkdir()
    for folder in ("card", "link", "card/../card", "card/below", "link/below/further", "card/new"):
        with pytest.raises(HandoffError, match="nothing is written beside clips") as told:
            write_all(value, tmp_path / folder)
        assert f"such as {tmp_path / Path(folder).name}" in str(told.value) or folder in ("card", "link")
    assert listing(tmp_path / "card") == ["a.mov", "below"]
    assert listing(tmp_path / "card" / "below") == []


def within(seconds: float) -> float:
    """A length that a file can have."""
    return min(abs(seconds), 4000.0)


@settings(max_examples=30)
@given(value=any_shoots().map(on_song), drift=st.sampled_from(Drift))
def test_any_document_gives_files_or_sentences(
    value: SongView, drift: Drift, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Takes anywhere, maps in disorder, names of any kind: written and compared, or told why not."""
    clips = tuple(replace(one, duration_s=within(one.duration_s)) for one in value.clips)
    value = replace(value, clips=clips)
    if value.song is not None:
        bars = tuple(sorted({within(one) for one in value.song.map.bars_s}))
        song_map = replace(value.song.map, bars_s=bars)
        value = replace(
            value, song=replace(value.song, duration_s=within(value.song.duration_s), map=song_map)
        )
    done = write_all(value, tmp_path_factory.mktemp("any"), Choices(what=LISTS, drift=drift))
    assert all("no song yet" in trouble for trouble in done.troubles)
    assert bool(done.troubles) == (value.song is None)
