"""Stamped copies: every packet as it was, the timecode as wanted, by our reader and by the media library."""

import hashlib
import os
import struct
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from typing import Any

import av
import opentimelineio as otio
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pymediainfo import MediaInfo
from timecode import Timecode

from audio.copies import changes as copying
from audio.copies.iso_stamp import counts
from audio.copies.stamping import is_stamped, label, prepare, stamp_copy
from audio.copies.timecode_track import Stamp
from audio.errors import AudioError, CannotStamp, Stopped
from audio.files.boxes import box, boxes
from audio.files.media import probe, read_sound
from tests.audio.media_files import Recipe, low_noise, make, noise

NTSC = Fraction(30000, 1001)
PAL = Fraction(25)
RATES = tuple(
    Fraction(text) for text in ("24000/1001", "24", "25", "30000/1001", "30", "48", "50", "60000/1001", "60")
)
HOUR = noise(2.0)


def packets(path: Path) -> dict[tuple[str, int], tuple[int, str]]:
    """Of every stream but the timecode's: how many packets, and a hash of their bytes and times."""
    with av.open(str(path), options={"advanced_editlist": "0"}) as media:
        seals: dict[tuple[str, int], tuple[int, Any]] = {}
        for packet in media.demux():
            if packet.size == 0:
                continue
            key = (packet.stream.type, packet.stream.index)
            if "timecode" in packet.stream.metadata and packet.stream.type == "data":
                continue
            count, seal = seals.get(key, (0, hashlib.sha256()))
            seals[key] = (count + 1, seal)
            seal.update(bytes(packet))
            seal.update(repr((packet.pts, packet.dts, packet.duration, packet.is_keyframe)).encode())
    return {key: (count, seal.hexdigest()) for key, (count, seal) in seals.items()}


def timecodes(path: Path) -> set[str]:
    """Every timecode that the media library finds in a file."""
    with av.open(str(path)) as media:
        tags = [media.metadata, *(stream.metadata for stream in media.streams)]
    return {tag["timecode"] for tag in tags if "timecode" in tag}


def sample(path: Path) -> int:
    """The count in the timecode track, read by the media library."""
    with av.open(str(path)) as media:
        (track,) = (one for one in media.streams if one.type == "data" and "timecode" in one.metadata)
        return int.from_bytes(bytes(next(media.demux(track))), "big")


RECIPES = {
    "with a timecode.mov": Recipe([HOUR], timecode="10:00:00:00"),
    "without one.mov": Recipe([HOUR]),
    "drop.mp4": Recipe([HOUR], sound_codec="aac", timecode="10:00:00;02", frame_rate=NTSC),
    "moov last.mp4": Recipe([HOUR], sound_codec="aac"),
    "moov first.mp4": Recipe([HOUR], sound_codec="aac", options={"movflags": "faststart"}),
    "turned.mp4": Recipe([HOUR], sound_codec="aac", rotation=90),
    "pixels.mov": Recipe([HOUR], pixel_shape=Fraction(4, 3)),
    "three tracks.mov": Recipe([HOUR, noise(2, seed=2), noise(2, seed=3)]),
    "sound late.mov": Recipe([HOUR], sound_delay_s=Fraction(1, 2)),
    "b frames.mp4": Recipe([HOUR], picture_codec="libx264", b_frames=2, sound_codec="aac"),
    "tags.mov": Recipe(
        [HOUR],
        metadata={"make": "Quayle", "com.example.lens": "35 mm", "title": "Grüße"},
        options={"movflags": "use_metadata_tags"},
    ),
    "silent.mp4": Recipe(),
    "half.mov": Recipe([HOUR], frame_rate=Fraction(24000, 1001), picture_codec="mjpeg"),
    "fast.mp4": Recipe([HOUR], frame_rate=Fraction(50), sound_codec="aac"),
}


@pytest.mark.parametrize("name", RECIPES)
def test_a_copy_is_the_clip_with_another_timecode(name: str, tmp_path: Path) -> None:
    recipe = RECIPES[name]
    source, target = make(tmp_path / name, recipe), tmp_path / "copy.part"
    before = source.read_bytes()
    drop = recipe.frame_rate == NTSC
    stamp = Stamp(3600 * round(recipe.frame_rate) - 77, recipe.frame_rate, drop)
    steps: list[float] = []
    stamp_copy(source, target, stamp, progress=steps.append)
    assert source.read_bytes() == before
    assert packets(target) == packets(source)
    assert timecodes(target) == {label(stamp)}
    assert probe(target).start_timecode == label(stamp)
    assert sample(target) == stamp.frame
    assert counts(target) == [stamp.frame]
    assert is_stamped(target)
    assert not is_stamped(source)
    assert steps[-1] == 1.0
    assert steps == sorted(steps)
    assert target.stat().st_mtime_ns == source.stat().st_mtime_ns
    # Everything else the file says of itself.
    with av.open(str(source)) as one, av.open(str(target)) as two:
        assert two.metadata == one.metadata
        assert two.duration == one.duration
        for old, new in zip(one.streams, two.streams, strict=False):
            others = {key: value for key, value in old.metadata.items() if key != "timecode"}
            assert {key: value for key, value in new.metadata.items() if key != "timecode"} == others
            assert (new.type, new.time_base, new.start_time, new.duration, new.frames) == (
                *(old.type, old.time_base, old.start_time, old.duration),
                old.frames,
            )
            assert new.disposition == old.disposition
        first = [next(media.decode(video=0)) for media in (one, two)]
        assert first[0].rotation == first[1].rotation == recipe.rotation
    facts = [probe(path) for path in (source, target)]
    assert (facts[0].width, facts[0].height, facts[0].duration_s) == (
        *(facts[1].width, facts[1].height),
        facts[1].duration_s,
    )


def test_media_data_are_the_very_bytes(tmp_path: Path) -> None:
    source = make(tmp_path / "a.mp4", RECIPES["moov first.mp4"])
    target = tmp_path / "b.mp4"
    stamp_copy(source, target, Stamp(90000, PAL))
    old, new = source.read_bytes(), target.read_bytes()
    differing = [n for n in range(len(old)) if old[n] != new[n]]
    at = old.index(b"moov")
    assert differing == [at, at + 1, at + 2, at + 3]
    assert new[at : at + 4] == b"free"
    kinds = [one.kind for one in boxes(BytesIO(new), 0, len(new))]
    assert kinds == [b"ftyp", b"free", b"free", b"mdat", b"mdat", b"moov", b"free"]


def test_an_existing_timecode_costs_a_few_bytes(tmp_path: Path) -> None:
    source = make(tmp_path / "a.mov", RECIPES["with a timecode.mov"])
    changes = prepare(source, Stamp(90000, PAL))
    assert sum(len(data) for _, data in changes.patches) <= 32
    assert len(changes.tail) < 64


def test_a_copy_can_be_stamped_again(tmp_path: Path) -> None:
    source = make(tmp_path / "a.mp4", RECIPES["moov last.mp4"])
    stamp_copy(source, tmp_path / "b.mp4", Stamp(90000, PAL))
    stamp_copy(tmp_path / "b.mp4", tmp_path / "c.mp4", Stamp(1, PAL))
    assert timecodes(tmp_path / "c.mp4") == {"00:00:00:01"}
    assert packets(tmp_path / "c.mp4") == packets(source)


def test_a_picture_that_starts_late_keeps_its_first_frames_label(tmp_path: Path) -> None:
    """The track counts from the start of the movie; the first picture comes 0.4 s, ten frames, later."""
    source = make(tmp_path / "a.mov", Recipe([HOUR], picture_delay_s=Fraction(2, 5)))
    stamp_copy(source, tmp_path / "b.mov", Stamp(90000, PAL))
    assert timecodes(tmp_path / "b.mov") == {"00:59:59:15"}
    assert probe(tmp_path / "b.mov").start_timecode == "01:00:00:00"


@pytest.mark.parametrize("name", [*RECIPES, "d10.mxf"])
def test_a_reader_of_another_house_finds_the_timecode(name: str, tmp_path: Path) -> None:
    """MediaInfo reads MOV, MP4 and MXF by code of its own, and is stricter than the media library."""
    recipe = RECIPES.get(name, Recipe([HOUR], picture_codec="mpeg2video"))
    source, target = make(tmp_path / name, recipe), tmp_path / f"copy of {name}"
    stamp = Stamp(3600 * round(recipe.frame_rate) - 77, recipe.frame_rate, recipe.frame_rate == NTSC)
    stamp_copy(source, target, stamp)
    found, before = (
        [
            (one.time_code_of_first_frame, Fraction(one.frame_rate))
            for one in MediaInfo.parse(str(path)).other_tracks
            if one.type == "Time code"
        ]
        for path in (target, source)
    )
    assert found[0][0] == label(stamp)
    assert float(found[0][1]) == pytest.approx(float(recipe.frame_rate), abs=0.001)
    # In MXF, material and file; the third is a counter inside the frames, which stays.
    assert found[2:] == before[2:]
    assert {one for one, _ in found[:2]} == {label(stamp)}
    tracks = [
        sorted((one.track_type, one.format, one.stream_size) for one in MediaInfo.parse(str(path)).tracks[1:])
        for path in (source, target)
    ]
    assert [one for one in tracks[1] if one[0] != "Other"] == [one for one in tracks[0] if one[0] != "Other"]


@pytest.mark.parametrize("name", ["moov first.mp4", "turned.mp4", "three tracks.mov", "b frames.mp4"])
def test_what_describes_the_media_is_copied_byte_for_byte(name: str, tmp_path: Path) -> None:
    """So colours, pixel shapes, turned pictures, edit lists and languages survive, known here or not."""
    source = make(tmp_path / name, RECIPES[name])
    stamp_copy(source, tmp_path / "copy", Stamp(90000, PAL))
    old, new = source.read_bytes(), (tmp_path / "copy").read_bytes()

    def track_boxes(data: bytes) -> list[list[bytes]]:
        movies = [one for one in boxes(BytesIO(data), 0, len(data)) if one.kind == b"moov"]
        tracks = [one for one in boxes(BytesIO(data), movies[0].start, movies[0].end) if one.kind == b"trak"]
        return [
            [
                data[part.at : part.end]
                for part in boxes(BytesIO(data), one.start, one.end)
                if part.kind != b"tref"
            ]
            for one in tracks
        ]

    assert track_boxes(new)[: len(track_boxes(old))] == track_boxes(old)
    assert len(track_boxes(new)) == len(track_boxes(old)) + 1


def test_other_tracks_and_references_are_kept(tmp_path: Path) -> None:
    """Tracks and boxes that nobody here knows, also behind the media of the picture's track."""
    source = make(tmp_path / "a.mp4", RECIPES["moov last.mp4"])
    data = source.read_bytes()
    (movie,) = (one for one in boxes(BytesIO(data), 0, len(data)) if one.kind == b"moov")
    inside = list(boxes(BytesIO(data), movie.start, movie.end))
    picture = next(one for one in inside if one.kind == b"trak")
    extra = box(b"tref", box(b"cdsc", struct.pack(">I", 2)), box(b"tmcd", struct.pack(">I", 9)))
    strange = box(b"udta", b"made by hand")
    track = box(b"trak", data[picture.start : picture.end], extra, strange)
    moov = data[movie.start : picture.at] + track + data[picture.end : movie.end] + box(b"xtra", b"?")
    source.write_bytes(data[: movie.at] + box(b"moov", moov))
    target = tmp_path / "b.mp4"
    stamp_copy(source, target, Stamp(90000, PAL))
    new = target.read_bytes()
    tail = new[len(source.read_bytes()) :]
    assert tail.count(strange) == tail.count(box(b"cdsc", struct.pack(">I", 2))) == 1
    assert box(b"xtra", b"?") in tail
    assert box(b"tmcd", struct.pack(">I", 9)) not in tail
    assert packets(target) == packets(source)
    assert timecodes(target) == {"01:00:00:00"}


def test_a_track_of_data_that_nobody_knows_is_kept(tmp_path: Path) -> None:
    """What cameras write of their own beside sound and picture: here a sound track that calls itself so."""
    source = make(tmp_path / "a.mov", Recipe([HOUR, noise(2.0, seed=2)]))
    data = source.read_bytes()
    at = data.rindex(b"mhlrsoun")
    data = data[: at + 4] + b"meta" + data[at + 8 :]
    entry = data.rindex(b"sowt")
    source.write_bytes(data[:entry] + b"abcd" + data[entry + 4 :])
    stamp_copy(source, tmp_path / "b.mov", Stamp(90000, PAL))
    assert [kind for kind, _ in packets(source)].count("data") == 1
    assert packets(tmp_path / "b.mov") == packets(source)
    assert timecodes(tmp_path / "b.mov") == {"01:00:00:00"}


def test_a_last_box_without_a_size_is_closed(tmp_path: Path) -> None:
    source = make(tmp_path / "a.mp4", RECIPES["moov first.mp4"])
    data = bytearray(source.read_bytes())
    last = list(boxes(BytesIO(data), 0, len(data)))[-1]
    data[last.at : last.at + 4] = bytes(4)
    source.write_bytes(data)
    stamp_copy(source, tmp_path / "b.mp4", Stamp(90000, PAL))
    assert timecodes(tmp_path / "b.mp4") == {"01:00:00:00"}
    assert packets(tmp_path / "b.mp4") == packets(source)


def test_a_long_header_of_the_table_is_understood(tmp_path: Path) -> None:
    source = make(tmp_path / "a.mov", RECIPES["with a timecode.mov"])
    data = source.read_bytes()
    (movie,) = (one for one in boxes(BytesIO(data), 0, len(data)) if one.kind == b"moov")
    assert movie.end == len(data)
    long = struct.pack(">I4sQ", 1, b"moov", movie.end - movie.start + 16)
    source.write_bytes(data[: movie.at] + long + data[movie.start :])
    stamp_copy(source, tmp_path / "b.mov", Stamp(90000, PAL))
    assert timecodes(tmp_path / "b.mov") == {"01:00:00:00"}


def test_a_count_in_pairs_becomes_one_for_every_picture(tmp_path: Path) -> None:
    """Cameras at 50 pictures a second often count 25; the copy counts each, for a take lies on a picture."""
    source = make(tmp_path / "a.mov", Recipe([HOUR], frame_rate=Fraction(50), timecode="10:00:00:00"))
    data = bytearray(source.read_bytes())
    # The sample description: size, kind, 16 bytes, then ticks a second, ticks a frame, frames a second.
    entry = data.rindex(struct.pack(">4s6xH", b"tmcd", 1)) - 4
    assert data[entry + 32] == 50
    data[entry + 24 : entry + 33] = struct.pack(">IIB", 25, 1, 25)
    source.write_bytes(data)
    stamp_copy(source, tmp_path / "b.mov", Stamp(180_033, Fraction(50)))
    assert timecodes(tmp_path / "b.mov") == {"01:00:00:33"}
    assert packets(tmp_path / "b.mov") == packets(source)


def test_beyond_four_gigabytes_places_are_told_in_64_bits(tmp_path: Path) -> None:
    """A file with a hole of 5 GB; the copy is made of the changes without filling the hole."""
    source, target = make(tmp_path / "a.mp4", RECIPES["moov first.mp4"]), tmp_path / "b.mp4"
    data = source.read_bytes()
    hole = 5_000_000_000
    with source.open("ab") as file:
        file.write(struct.pack(">I4sQ", 1, b"free", hole))
    os.truncate(source, len(data) + hole)
    changes = prepare(source, Stamp(90000, PAL))
    assert b"co64" in changes.tail
    target.write_bytes(data + struct.pack(">I4sQ", 1, b"free", hole))
    os.truncate(target, len(data) + hole)
    with target.open("rb+") as file:
        for at, put in changes.patches:
            file.seek(at)
            file.write(put)
        file.seek(0, 2)
        file.write(changes.tail)
    assert timecodes(target) == {"01:00:00:00"}
    assert sample(target) == 90000
    assert packets(target) == packets(source)


@pytest.mark.parametrize(
    ("rate", "stamp", "wanted"),
    [
        (PAL, Stamp(90000 - 30, PAL), "00:59:58:20"),
        (NTSC, Stamp(107_891, NTSC, True), "00:59:59;29"),
        (NTSC, Stamp(-1, NTSC), "23:59:59:29"),
    ],
)
@pytest.mark.parametrize("had", ["10:00:00:00", None])
def test_mxf_is_stamped_in_its_header(
    rate: Fraction, stamp: Stamp, wanted: str, had: str | None, tmp_path: Path
) -> None:
    recipe = Recipe([HOUR], frame_rate=rate, picture_codec="mpeg2video", timecode=had)
    source, target = make(tmp_path / "a.mxf", recipe), tmp_path / "b.mxf"
    stamp_copy(source, target, stamp)
    assert packets(target) == packets(source)
    assert timecodes(target) == {wanted}
    assert is_stamped(target)
    assert not is_stamped(source)
    assert target.stat().st_size == source.stat().st_size


def test_mxf_that_counts_at_another_rate_is_refused(tmp_path: Path) -> None:
    source = make(tmp_path / "a.mxf", Recipe([HOUR], picture_codec="mpeg2video"))
    with pytest.raises(CannotStamp, match="another rate"):
        prepare(source, Stamp(180_000, Fraction(50)))


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(at=st.integers(0, 3000), junk=st.binary(min_size=1, max_size=12))
def test_damaged_mxf_ends_in_a_sentence(at: int, junk: bytes, mxf: Path, tmp_path: Path) -> None:
    source, target = tmp_path / "a.mxf", tmp_path / "b.mxf"
    target.unlink(missing_ok=True)
    data = mxf.read_bytes()
    source.write_bytes(data[:at] + junk + data[at + len(junk) :])
    try:
        stamp_copy(source, target, Stamp(90000, PAL))
    except AudioError:
        return
    assert probe(target).start_timecode == "01:00:00:00"


@pytest.fixture(scope="module")
def mxf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small MXF file."""
    recipe = Recipe([noise(0.2)], picture_s=0.2, picture_codec="mpeg2video", timecode="10:00:00:00")
    return make(tmp_path_factory.mktemp("mxf") / "a.mxf", recipe)


@pytest.mark.parametrize(
    ("name", "recipe", "why"),
    [
        ("a.mkv", Recipe([HOUR]), "no place for a start timecode in Matroska"),
        ("a.avi", Recipe([HOUR]), "in AVI"),
        ("a.ts", Recipe([HOUR], sound_codec="aac", picture_codec="mpeg2video"), "in a transport stream"),
        (
            "a.mp4",
            Recipe([HOUR], sound_codec="aac", options={"movflags": "frag_keyframe+empty_moov"}),
            "fragments",
        ),
        ("a.wav", Recipe([HOUR], picture_s=0), "no picture"),
    ],
)
def test_what_cannot_be_stamped_is_told(name: str, recipe: Recipe, why: str, tmp_path: Path) -> None:
    source = make(tmp_path / name, recipe)
    with pytest.raises(CannotStamp, match=why):
        stamp_copy(source, tmp_path / "copy", Stamp(90000, PAL))
    assert not (tmp_path / "copy").exists()


def test_a_cut_file_is_refused(tmp_path: Path) -> None:
    source = make(tmp_path / "a.mp4", RECIPES["moov first.mp4"])
    source.write_bytes(source.read_bytes()[:-1000])
    with pytest.raises(CannotStamp, match="not complete"):
        prepare(source, Stamp(90000, PAL))


@pytest.fixture(scope="module")
def timed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file with a timecode track."""
    return make(tmp_path_factory.mktemp("timed") / "a.mov", RECIPES["with a timecode.mov"])


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(at=st.integers(0, 400), junk=st.binary(min_size=1, max_size=8))
def test_damaged_tables_end_in_a_sentence(at: int, junk: bytes, timed: Path, tmp_path: Path) -> None:
    """Whatever stands in the timecode's table, there is a copy that is right, or an error of ours."""
    source, target = tmp_path / "a.mov", tmp_path / "b.mov"
    target.unlink(missing_ok=True)
    data = timed.read_bytes()
    begin = data.rindex(b"tmcd") - 400 + at
    source.write_bytes(data[:begin] + junk + data[begin + len(junk) :])
    try:
        stamp_copy(source, target, Stamp(90000, PAL))
    except AudioError:
        return
    assert probe(target).start_timecode == "01:00:00:00"


def test_stopping_ends_the_copy(tmp_path: Path) -> None:
    source = make(tmp_path / "a.mov", RECIPES["without one.mov"])
    with pytest.raises(Stopped):
        stamp_copy(source, tmp_path / "b.mov", Stamp(90000, PAL), stop=lambda: True)


@pytest.mark.parametrize("inside_the_system", [True, False])
def test_a_copy_that_differs_is_found_out(
    inside_the_system: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source = make(tmp_path / "a.mov", RECIPES["without one.mov"])
    if not inside_the_system:
        monkeypatch.delattr("os.copy_file_range", raising=False)
    stamp_copy(source, tmp_path / "good.mov", Stamp(90000, PAL))
    whole = copying._copy

    def spoilt(old: "object", new: "object", most: int) -> int:
        moved = whole(old, new, most)  # type: ignore[arg-type]
        new.seek(5000)  # type: ignore[attr-defined]
        new.write(b"!")  # type: ignore[attr-defined]
        return moved

    monkeypatch.setattr(copying, "_copy", spoilt)
    with pytest.raises(CannotStamp, match="differs from the clip"):
        stamp_copy(source, tmp_path / "bad.mov", Stamp(90000, PAL))


def test_sound_of_the_copy_lies_where_it_lay(tmp_path: Path) -> None:
    source = make(tmp_path / "a.mp4", Recipe([low_noise(2)], sound_codec="aac", sound_delay_s=Fraction(1, 4)))
    stamp_copy(source, tmp_path / "b.mp4", Stamp(90000, PAL))
    old, new = read_sound(source), read_sound(tmp_path / "b.mp4")
    assert old.start_s == new.start_s
    assert (old.samples == new.samples).all()


@settings(deadline=None)
@given(st.sampled_from(RATES), st.booleans(), st.integers(-3_000_000, 12_000_000))
def test_labels_are_those_of_two_other_libraries(rate: Fraction, drop: bool, frame: int) -> None:
    """opentime (OpenTimelineIO) and `timecode`, over more than a day on both sides."""
    drop = drop and rate in (NTSC, 2 * NTSC)
    stamp = Stamp(frame, rate, drop)
    written = label(stamp)
    # opentime knows no 48, and at 29.97 and 59.94 always begins again after a drop-frame day.
    if rate != 48 and (rate not in (NTSC, 2 * NTSC) or stamp.count() < Stamp(0, rate, True).day):
        time = otio.opentime.RationalTime(stamp.count(), float(rate))
        assert otio.opentime.to_timecode(time, float(rate), drop) == written
    names = {NTSC: "29.97", 2 * NTSC: "59.94", Fraction(24000, 1001): "23.976"}
    other = Timecode(names.get(rate, str(rate)), frames=stamp.count() + 1, force_non_drop_frame=not drop)
    assert str(other) == written


def test_a_day_is_as_long_as_published() -> None:
    """2 589 408 frames: 24 h of drop-frame labels at 29.97 (from the rule of SMPTE ST 12-1)."""
    assert Stamp(0, NTSC, True).day == 2_589_408
    assert Stamp(0, 2 * NTSC, True).day == 5_178_816
    assert label(Stamp(-1, NTSC, True)) == "23:59:59;29"
