"""Stamped copies of the sample shoot, and whatever can stand in their way."""

import errno
import os
import shutil
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import av
import numpy as np
import opentimelineio as otio
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st
from wavinfo import WavInfoReader

from app.handoff.copied import copies, stamped
from app.handoff.leftovers import leftovers
from app.handoff.names import FreeNames, copy_name
from app.handoff.outcome import HandoffError, HandoffReport, HandoffStopped, Planned
from app.model.document.identity import media_ref
from app.model.document.media_ref import MediaRef
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from tests.app.random_shoots import RATES
from tests.app.sample_takes import sample_takes
from tests.audio.copies.test_stamping import packets, timecodes
from tests.audio.media_files import Recipe, make, noise
from tests.test_sample_media import CLIPS, FLASHES, MEDIA, SONG, flash_times

PAL, FILM, NTSC = Fraction(25), Fraction(24000, 1001), Fraction(30000, 1001)


def every(clip: Clip, take: Take) -> bool:
    return True


def never() -> bool:
    return False


def ignore(fraction: float) -> None:
    return None


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> HandoffReport:
    folder = tmp_path_factory.mktemp("stamped") / "to" / "edit"
    return stamped.write(sample_takes(), folder, every, stop=never, progress=ignore)


def start_of(path: Path) -> str:
    with av.open(str(path)) as media:
        return str(media.streams.video[0].metadata["timecode"])


def test_every_clip_with_a_take_has_its_copy(written: HandoffReport) -> None:
    names = {path.name for path in written.path.iterdir()}
    assert names == {
        *(f"{name}.MP4" for name in ("Q0041", "B0003", "B0004", "P0230", "P0231")),
        *(f"{name}.MOV" for name in ("T0112", "T0113", "G0017", "G0018", "G0021")),
        *("O0009 take 1.MP4", "O0009 take 2.MP4", "P0232.MP4", "R0005.wav", "song.wav"),
    }
    assert written.takes == 14
    assert sum("no copy (no song)." in line for line in written.lines) == 3
    assert 0 < written.worst_sub_frame_offset_s <= 0.5 / 24 * 1.001


@pytest.mark.parametrize("file", [name for name, one in CLIPS.items() if one["takes"] and one["fps"]])
def test_all_packets_are_the_clips(file: str, written: HandoffReport) -> None:
    stem, suffix = Path(file).stem, Path(file).suffix
    for number in range(len(CLIPS[file]["takes"])):
        more = f" take {number + 1}" if len(CLIPS[file]["takes"]) > 1 else ""
        assert packets(written.path / f"{stem}{more}{suffix}") == packets(MEDIA / file)


@pytest.mark.parametrize("file", FLASHES)
def test_the_flash_is_on_the_beat_at_the_stamped_timecode(file: str, written: HandoffReport) -> None:
    """The copy is asked: its frames are numbered by the timecode that opentime reads, and the lamp goes on
    within half a frame of the beat, but for the rest below a frame that the report tells, and drift."""
    truth = CLIPS[file]
    rate = Fraction(truth["fps"])
    beats = np.array(SONG["beats_s"])
    several = len(truth["takes"]) > 1
    flashes = None
    for number, take in enumerate(truth["takes"]):
        more = f" take {number + 1}" if several else ""
        name = f"{Path(file).stem}{more}{Path(file).suffix}"
        label = start_of(written.path / name)
        first = otio.opentime.from_timecode(label, float(rate)).value
        hour = otio.opentime.from_timecode("01:00:00:00", float(rate)).value
        (line,) = (line for line in written.lines if line.startswith(f"{name}: starts at {label}"))
        words = line.split("sub-frame offset ")[1].split()
        rest_s = float(words[0]) / 1000 * (1 if words[-1] == "early)." else -1)
        if flashes is None:  # copies of one clip hold the same pictures, see above
            flashes = flash_times({**truth, "file": str(written.path / name)})
        mine = flashes[(flashes > take["clip_start_s"]) & (flashes < take["clip_end_s"])]
        assert len(mine) > 20
        half_s = 0.5 / float(rate)
        for flash in mine:
            shown_s = float((first - hour) / rate) + flash
            nearest = beats[np.abs(beats - shown_s).argmin()]
            assert abs(shown_s - nearest) <= 2 * half_s
            drift_s = (take["speed"] - 1) * (flash - take["clip_start_s"])
            assert abs(shown_s + rest_s + drift_s - nearest) <= half_s + 0.0002


def test_sound_is_stamped_to_the_sample(written: HandoffReport) -> None:
    """The recorder's file by its take, and the song by itself: 01:00:00:00 at 25 frames a second."""
    song, recorder = (WavInfoReader(str(written.path / name)) for name in ("song.wav", "R0005.wav"))
    assert song.bext.time_reference == 3600 * 44100
    truth = CLIPS["clips/recorder/R0005.WAV"]["takes"][0]
    rate = soundfile.info(MEDIA / "clips/recorder/R0005.WAV").samplerate
    wanted = (3600 + truth["song_start_s"] - truth["clip_start_s"]) * rate
    assert abs(recorder.bext.time_reference - wanted) <= 0.5
    one = soundfile.read(MEDIA / "clips/recorder/R0005.WAV", dtype="int16")[0]
    assert np.array_equal(one, soundfile.read(written.path / "R0005.wav", dtype="int16")[0])
    one = soundfile.read(MEDIA / "song.ogg", dtype="float32")[0]
    assert np.array_equal(one, soundfile.read(written.path / "song.wav", dtype="float32")[0])


def test_a_folder_of_copies_is_known_again(written: HandoffReport, tmp_path: Path) -> None:
    assert stamped.is_ours(written.path)
    assert stamped.is_ours(written.path / "Q0041.MP4")
    assert not stamped.is_ours(MEDIA / "clips/safety/Q0041.MP4")
    assert not stamped.is_ours(MEDIA)
    assert not stamped.is_ours(tmp_path / "nowhere")
    assert stamped.plan(sample_takes(), every).bytes_needed > 50_000_000


def made(tmp_path: Path, names: Sequence[str], **more: Any) -> SongView:
    """A shoot of small files in folders of their own."""
    clips = []
    for number, name in enumerate(names):
        folder = tmp_path / "cards" / str(number)
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / name
        make(path, Recipe([noise(1.0)], picture_s=1.0, format="mov"))
        take = Take(f"t{number}", 0.0, 1.0, 10.0 * number)
        clips.append(
            Clip(
                f"c{number}",
                media_ref(path),
                "a",
                1.0,
                PAL,
                verdict=Verdict.PLACED,
                takes=(take,),
            )
        )
    song = tmp_path / "cards" / "waltz.wav"
    song.parent.mkdir(exist_ok=True)
    soundfile.write(song, noise(2.0), 48000)
    return SongView("Evening", Song(media_ref(song), 2.0), (), tuple(clips))


def test_names_of_all_kinds_stay_apart_and_inside(tmp_path: Path) -> None:
    names = [
        *("take 1.mov", "take 1.mov", "TAKE 1.MOV", "Übung „eins“ 🎻.mov", "aux.mov", "waltz.wav.mov"),
        *('it\'s "here".mov', "a\\b:c?.mov", ".mov", "ä" * 100 + ".mov", "-.mov", "name"),
    ]
    shoot, folder = made(tmp_path, names), tmp_path / "out"
    before = {path: path.read_bytes() for path in (tmp_path / "cards").rglob("*") if path.is_file()}
    for _ in range(2):
        report = stamped.write(shoot, folder, every, stop=never, progress=ignore)
        assert report.takes == len(names)
        kept = sorted(path.name for path in folder.iterdir())
        assert len(kept) == len({name.casefold() for name in kept}) == len(names) + 1
        assert {path: path.read_bytes() for path in before} == before
        assert sorted(path.name for path in tmp_path.iterdir()) == ["cards", "out"]
        written = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert written == {path.name: path.read_bytes() for path in folder.iterdir()}
    for name in ("0 - take 1.mov", "1 - take 1.mov", "2 - TAKE 1.MOV", "aux_.mov"):
        assert name in written


@given(st.lists(st.text(st.characters(exclude_characters="\x00/"), max_size=80), max_size=8))
def test_no_name_leaves_the_folder_or_comes_twice(texts: list[str]) -> None:
    names = FreeNames()
    given_out = [copy_name(names, f"/a/{text}", " take 2", ".wav") for text in texts]
    assert len({name.casefold() for name in given_out}) == len(texts)
    for name in given_out:
        assert Path(name).name == name
        assert len(name.encode("utf-8")) <= 220
        assert not name.startswith(".")
        assert name.split(".")[0].casefold() not in ("con", "prn", "aux", "nul", "com1", "lpt1")


@pytest.mark.parametrize("start", ["01:00:00:00", "01:00:00;00", "23:59:59:00", "00:00:00:00"])
def test_clips_of_all_rates_lie_in_their_places(start: str, tmp_path: Path) -> None:
    """Written, then read by the media library and counted by opentime: each take's first whole frame lies
    within half a frame of its song time, before the song and over midnight too."""
    chance = np.random.default_rng(len(start) + ord(start[1]))
    clips = []
    for number, rate in enumerate(RATES):
        # What MPEG-2 in MXF cannot be is left to the others.
        suffix = ("mov", "mp4", "mxf")[number % (3 if rate in (PAL, 2 * PAL, FILM, NTSC) else 2)]
        codec = "mpeg2video" if suffix == "mxf" else "mpeg4"
        recipe = Recipe(picture_s=1.0, frame_rate=rate, picture_codec=codec)
        (tmp_path / "clips").mkdir(exist_ok=True)
        path = make(tmp_path / "clips" / f"clip {number}.{suffix}", recipe)
        begins_s = float(chance.uniform(0, 0.6))
        take = Take(
            f"t{number}", begins_s, 0.9, float(chance.uniform(0, 200 if number % 3 else 0.3)), 1.00002
        )
        clips.append(
            Clip(f"c{number}", media_ref(path), "", 1.0, rate, verdict=Verdict.PLACED, takes=(take,))
        )
    song = made(tmp_path, []).song
    report = stamped.write(
        SongView("", song, (), tuple(clips)), tmp_path / "out", every, start, stop=never, progress=ignore
    )
    assert report.takes == len(RATES)
    for clip in clips:
        path, rate = tmp_path / "out" / Path(clip.media.path).name, float(clip.frame_rate or 0)
        assert packets(path) == packets(Path(clip.media.path))
        (label,) = timecodes(path)
        song_label = start if clip.frame_rate in (NTSC, 2 * NTSC) else start.replace(";", ":")
        assert (";" in label) == (";" in song_label)
        first, zero = (otio.opentime.from_timecode(one, rate).value for one in (label, song_label))
        take = clip.takes[0]
        frame = np.ceil(take.clip_start_s * rate - 0.001)
        day = (2_589_408 * round(rate) // 30) if ";" in label else 86400 * round(rate)
        late = first + frame - zero - take.song_time(frame / rate) * rate
        assert abs((late + day / 2) % day - day / 2) <= 0.501


def test_a_link_to_a_clip_is_never_followed(tmp_path: Path) -> None:
    shoot, folder = made(tmp_path, ["a.mov"]), tmp_path / "out"
    folder.mkdir()
    before = Path(shoot.clips[0].media.path).read_bytes()
    (folder / "a.mov").symlink_to(shoot.clips[0].media.path)
    with pytest.raises(HandoffError, match="it is a link"):
        stamped.write(shoot, folder, every, stop=never, progress=ignore)
    assert Path(shoot.clips[0].media.path).read_bytes() == before


def test_what_is_not_ours_is_left_alone(tmp_path: Path) -> None:
    shoot, folder = made(tmp_path, ["a.mov"]), tmp_path / "out"
    folder.mkdir()
    other = folder / "a.mov"
    for put in (
        lambda: other.write_bytes(b"mine"),
        lambda: shutil.copy(shoot.clips[0].media.path, other),
        lambda: other.mkdir(),
        lambda: other.symlink_to("nowhere"),
    ):
        put()
        with pytest.raises(HandoffError, match=r"a\.mov (is already there|cannot be replaced: it is a link)"):
            stamped.write(shoot, folder, every, stop=never, progress=ignore)
        assert [path.name for path in folder.iterdir()] == ["a.mov"]
        other.rmdir() if other.is_dir() and not other.is_symlink() else other.unlink()


def test_nothing_is_written_beside_clips_or_over_the_song(tmp_path: Path) -> None:
    shoot, folder = made(tmp_path, ["a.mov"]), tmp_path / "out"
    stamped.write(shoot, folder, every, stop=never, progress=ignore)
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    copy = folder / "a.mov"
    clip = replace(shoot.clips[0], media=MediaRef(str(copy), copy.stat().st_size, "00"))
    for place in (folder, tmp_path / "cards" / ".." / "out"):
        with pytest.raises(HandoffError, match="nothing is written beside clips"):
            stamped.write(replace(shoot, clips=(clip,)), place, every, stop=never, progress=ignore)
    with pytest.raises(HandoffError, match=r"waltz\.wav cannot be replaced: it is a clip or a song"):
        stamped.write(shoot, tmp_path / "cards", every, stop=never, progress=ignore)
    assert {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()} == before


def test_room_that_is_given_back_counts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Written once, all goes again into room for the largest file."""
    shoot, folder = made(tmp_path, ["a.mov", "b.mov", "c.mov"]), tmp_path / "out"
    stamped.write(shoot, folder, every, stop=never, progress=ignore)
    sizes = [path.stat().st_size for path in folder.iterdir()]
    for free, fits in ((max(sizes) + 3000, True), (max(sizes) - 3000, False)):
        room = SimpleNamespace(free=16_000_000 + free)
        monkeypatch.setattr(copies.shutil, "disk_usage", lambda path, room=room: room)
        if fits:
            stamped.write(shoot, folder, every, stop=never, progress=ignore)
        else:
            with pytest.raises(HandoffError, match="are free"):
                stamped.write(shoot, folder, every, stop=never, progress=ignore)


def test_one_bad_file_does_not_stop_the_rest(tmp_path: Path) -> None:
    shoot = made(tmp_path, ["gone.mov", "changed.mov", "broken.mov", "good.mov", "odd.mov"])
    Path(shoot.clips[0].media.path).unlink()
    with Path(shoot.clips[1].media.path).open("ab") as file:
        file.write(b"more")
    Path(shoot.clips[2].media.path).write_bytes(bytes(shoot.clips[2].media.size_bytes))
    odd = replace(shoot.clips[4], frame_rate=Fraction(120))
    shoot = replace(shoot, clips=(*shoot.clips[:4], odd))
    report = stamped.write(shoot, tmp_path / "out", every, stop=never, progress=ignore)
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["good.mov", "waltz.wav"]
    for name, words in (
        ("gone", "file is missing"),
        ("changed", "changed since"),
        ("broken", "no copy"),
        ("odd", "no timecode for 120"),
    ):
        assert any(line.startswith(f"{name}.mov: no copy") and words in line for line in report.lines)
    assert report.takes == 1


def test_what_goes_is_chosen_and_what_does_not_is_told(tmp_path: Path) -> None:
    shoot = made(tmp_path, ["a.mov", "b.mov"])
    report = stamped.write(
        shoot, tmp_path / "out", lambda clip, take: clip.id == "c1", stop=never, progress=ignore
    )
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["b.mov", "waltz.wav"]
    assert "a.mov: no copy, because it was not chosen." in report.lines


def test_speed_drift_and_a_varying_rate_are_told(tmp_path: Path) -> None:
    shoot = made(tmp_path, ["a.mov"])
    takes = (
        Take("x", 0.0, 1.0, 5.0, 1.0004),
        Take("y", 0.0, 600.0, 5.0, 1.0004),
        Take("z", 0.2, 1, 9, 1.001),
    )
    shoot = replace(shoot, clips=(replace(shoot.clips[0], takes=takes, variable_frame_rate=True),))
    planned = stamped.plan(shoot, every)
    assert [one.planned.name for one in planned.copies] == ["waltz.wav", "a take 1+2.mov", "a take 3.mov"]
    text = "\n".join(planned.lines)
    assert "(take 2): drifts 6.00 frame (240.0 ms) early by the end" in text
    assert "a take 3.mov: plays at speed 1001/1000 against the song" in text
    assert text.count("variable frame rate") == 3


def test_a_copy_that_goes_over_midnight_is_told(tmp_path: Path) -> None:
    shoot = made(tmp_path, ["a.mov"])
    early = replace(shoot.clips[0], takes=(Take("x", 0.5, 1.0, 0.0),))
    sound = replace(early, id="s", frame_rate=None, media=shoot.song.media if shoot.song else early.media)
    shoot = replace(shoot, clips=(early, sound))
    told = [line for line in stamped.plan(shoot, every, "00:00:00:00").lines if "midnight is" in line]
    assert [line.split(":")[0] for line in told] == ["a.mov", "waltz 2.wav"]
    assert not any("midnight is" in line for line in stamped.plan(shoot, every).lines)


def test_whose_copy_it_is_is_told_of_clips_of_one_name(tmp_path: Path) -> None:
    lines = stamped.plan(made(tmp_path, ["a.mov", "a.mov", "b.mov"]), every).lines
    assert [line for line in lines if "a copy of" in line] == [
        "0 - a.mov: a copy of 0/a.mov.",
        "1 - a.mov: a copy of 1/a.mov.",
    ]


def test_copies_of_an_earlier_hand_off_that_are_no_longer_of_it_are_named(tmp_path: Path) -> None:
    shoot, folder = made(tmp_path, ["a.mov", "b.mov"]), tmp_path / "edit"
    stamped.write(shoot, folder / "x stamped", every)
    (folder / "x stamped" / "notes.txt").write_text("somebody's own")
    for clips, left in ((shoot.clips, ()), (shoot.clips[:1], ("x stamped/b.mov",))):
        inside = stamped.plan(replace(shoot, clips=clips), every).names
        assert leftovers(folder, [Planned("x stamped", 0, (), inside=inside)]) == left
    assert leftovers(folder, [Planned("y stamped", 0, ())]) == ("x stamped",)


def test_mixed_rates_are_told(tmp_path: Path) -> None:
    shoot = made(tmp_path, ["a.mov", "b.mov"])
    film = replace(shoot.clips[1], frame_rate=Fraction(30000, 1001))
    mixed = replace(shoot, clips=(shoot.clips[0], film))
    assert any(
        "At 29.97 fps, a second of timecode lasts 1.001 s" in line
        for line in stamped.plan(mixed, every).lines
    )
    for planned in (stamped.plan(shoot, every), stamped.plan(mixed, every, "01:00:00;00")):
        assert not any("1.001" in line for line in planned.lines)


def test_the_plan_tells_the_bytes(tmp_path: Path) -> None:
    shoot, folder = made(tmp_path, ["a.mov", "b.mov"]), tmp_path / "out"
    planned = stamped.plan(shoot, every)
    stamped.write(shoot, folder, every, stop=never, progress=ignore)
    for one in (copy.planned for copy in planned.copies):
        assert (folder / one.name).stat().st_size <= one.size_bytes
        assert (folder / one.name).stat().st_size > one.size_bytes - 3000
    assert planned.bytes_needed == sum(one.planned.size_bytes for one in planned.copies)


def test_too_little_room_is_told_before(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    shoot = made(tmp_path, ["a.mov"])
    monkeypatch.setattr(copies.shutil, "disk_usage", lambda path: SimpleNamespace(free=16_000_100))
    with pytest.raises(HandoffError, match=r"it needs .*, and only 16\.0 MB are free"):
        stamped.write(shoot, tmp_path / "out", every, stop=never, progress=ignore)
    assert list((tmp_path / "out").iterdir()) == []


def test_a_disk_that_fills_up_leaves_nothing_half_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shoot = made(tmp_path, ["a.mov", "b.mov"])

    def full(*args: object, **more: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr("audio.copies.stamping.copy_changed", full)
    with pytest.raises(HandoffError, match="The disk is full: 1 of 3 files done"):
        stamped.write(shoot, tmp_path / "out", every, stop=never, progress=ignore)
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["waltz.wav"]


@pytest.mark.parametrize("after", [0, 3, 5, 8])
def test_stopping_leaves_nothing_half_written(after: int, tmp_path: Path) -> None:
    shoot, folder = made(tmp_path, ["a.mov", "b.mov"]), tmp_path / "out"
    asked = 0

    def stop() -> bool:
        nonlocal asked
        asked += 1
        return asked > after

    with pytest.raises(HandoffStopped, match="nothing unfinished"):
        stamped.write(shoot, folder, every, stop=stop, progress=ignore)
    whole = {path.name for path in folder.iterdir()}
    assert whole <= {"a.mov", "waltz.wav"}
    for name in whole - {"waltz.wav"}:
        assert start_of(folder / name) == "01:00:00:00"


def test_progress_rises_to_the_end(tmp_path: Path) -> None:
    steps: list[float] = []
    stamped.write(made(tmp_path, ["a.mov"]), tmp_path / "out", every, stop=never, progress=steps.append)
    assert steps == sorted(steps)
    assert steps[-1] == 1.0


def test_without_a_song_or_a_start_there_is_nothing_to_write(tmp_path: Path) -> None:
    shoot = made(tmp_path, ["a.mov"])
    with pytest.raises(HandoffError, match="no song yet"):
        stamped.plan(replace(shoot, song=None), every)
    with pytest.raises(HandoffError, match="start timecode does not fit"):
        stamped.plan(shoot, every, "25:00:00:00")
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(HandoffError, match="could not be created"):
        stamped.write(shoot, tmp_path / "file", every, stop=never, progress=ignore)
