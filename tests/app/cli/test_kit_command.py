"""The command ``kit``: files that are what the list says, known to the shoot, whatever is asked."""

import csv
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile
from wavinfo import WavInfoReader

from app.cli import commands
from app.engine import tasks
from app.model.document.identity import media_ref
from app.model.document.shoot import Shoot
from app.model.document.song import Section, Song, SongMap
from app.model.document.store import load, save
from app.model.edits.shoot_edits import set_song
from audio.kit.ltc_reader import timecode_in

RATE = 48_000


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    """A shoot with a song of twelve seconds, a bar every two, in two sections; an impulse opens each bar."""
    rng = np.random.default_rng(3)
    samples = rng.standard_normal((12 * RATE, 2)) * 0.01
    for bar in range(6):
        samples[2 * bar * RATE] = 0.5
    soundfile.write(tmp_path / "reel.wav", samples, RATE, subtype="PCM_24")
    song_map = SongMap(
        tempo_bpm=120.0,
        beats_s=tuple(0.5 * n for n in range(24)),
        bars_s=tuple(2.0 * n for n in range(6)),
        sections=(Section("A", "Verse", 0.0, 6.0), Section("B", "Run", 6.0, 12.0)),
    )
    shoot, _ = set_song(Shoot("Evening"), Song(media_ref(tmp_path / "reel.wav"), 12.0, song_map))
    save(shoot, tmp_path / "evening.anglebook")
    return tmp_path / "evening.anglebook"


def test_files_are_what_the_list_says(saved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Time reference read by wavinfo of the registry."""
    to = saved.parent / "set"
    asked = ["--from", "B", "--lead-in", "1", "--speed", "1", "--speed", "60:24000/1001", "--pop"]
    more = ["--timecode", "--fps", "24000/1001"]
    assert commands.main(["kit", str(saved), "--to", str(to), *asked, *more]) == 0
    assert "4 playback files" in capsys.readouterr().out
    rows = list(csv.DictReader((to / "Playback list.csv").read_text("utf-8").splitlines()))
    shoot = load(saved)
    assert [Path(one.media.path).name for one in shoot.playbacks] == [row["file"] for row in rows]
    assert len({one.id for one in shoot.playbacks}) == 4
    assert [row["speed"] for row in rows] == ["1", "1", "1001/400", "1001/400"]
    for row, playback in zip(rows, shoot.playbacks, strict=True):
        sound, rate = soundfile.read(to / row["file"], always_2d=True)
        assert rate == RATE
        assert playback.duration_s == pytest.approx(len(sound) / RATE)
        assert playback.made
        (piece,) = playback.pieces
        # Each bar's impulse lies where the piece says.
        for bar_s in np.arange(0.0, 12.0, 2.0):
            at_s = piece.line.clip_time(bar_s)
            if piece.start_s + 0.1 < at_s < piece.end_s - 0.1:
                near = np.abs(sound[round(at_s * RATE) - 2400 : round(at_s * RATE) + 2400, 0])
                assert np.argmax(near) - 2400 in (-1, 0, 1)
        # Timecode on the right tells where in the file one is.
        (run,) = timecode_in(sound[:, 1].astype(np.float32), RATE)
        code = playback.timecode
        assert code is not None
        hour_s = float(Fraction(int(code.label[:2]) * 3600 * 24) / code.frame_rate)
        file_s = run.frames / float(code.frame_rate) - hour_s + code.at_s
        assert np.abs(file_s - run.clip_s).max() < 1e-4
        reference = WavInfoReader(str(to / row["file"])).bext.time_reference
        assert reference / RATE == pytest.approx(hour_s - code.at_s, abs=1 / RATE)
    # At the song's own speed labels tell song time, from whichever section it starts.
    assert shoot.playbacks[0].timecode is not None
    assert shoot.playbacks[0].timecode.label == "01:00:00:00"
    assert shoot.playbacks[1].timecode is not None
    assert shoot.playbacks[1].timecode.label == "01:00:00:00"
    hours = [one.timecode.label[:2] for one in shoot.playbacks[2:] if one.timecode]
    assert hours == ["10", "11"]


def test_made_again_nothing_is_written_over(saved: Path) -> None:
    to = saved.parent / "set"
    for count in (1, 2):
        assert commands.main(["kit", str(saved), "--to", str(to)]) == 0
        assert len(list(to.glob("*.wav"))) == count
        # The same file twice is one to the shoot, which knows where the newer lies.
        [known] = load(saved).playbacks
        assert known.media.path == str(max(to.glob("*.wav"), key=lambda path: path.stat().st_mtime_ns))


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (["--speed", "fast"], "not a speed"),
        (["--speed", "9"], "between 0.25 and 4"),
        (["--from", "Z"], "has no section Z. It has A, B"),
        (["--fps", "x"], "not a frame rate"),
        (["--count-in", "99"], "at most 32"),
    ],
)
def test_wrong_use_is_told(
    saved: Path, asked: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert commands.main(["kit", str(saved), "--to", str(saved.parent / "set"), *asked]) == 2
    assert told in capsys.readouterr().err
    assert load(saved).playbacks == ()


def test_nothing_is_written_among_clips(saved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from app.model.edits.shoot_edits import add_clips

    card = saved.parent / "card"
    card.mkdir()
    (card / "a.mov").write_bytes(b"x")
    save(add_clips(load(saved), [media_ref(card / "a.mov")])[0], saved)
    assert commands.main(["kit", str(saved), "--to", str(card)]) == 2
    assert "there are clips" in capsys.readouterr().err
    assert [path.name for path in card.iterdir()] == ["a.mov"]


def test_a_song_without_bars_has_no_count_in(saved: Path) -> None:
    shoot = load(saved)
    (song,) = shoot.songs
    save(replace(shoot, songs=(replace(song, map=SongMap()),)), saved)
    assert commands.main(["kit", str(saved), "--to", str(saved.parent / "set")]) == 0
    (one,) = load(saved).playbacks
    assert one.note == "whole song"


def test_files_of_a_further_song_are_known_under_its_own_id(
    saved: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rng = np.random.default_rng(4)
    soundfile.write(saved.parent / "air.wav", rng.standard_normal((4 * RATE, 2)) * 0.01, RATE)
    air = Song(media_ref(saved.parent / "air.wav"), 4.0, SongMap(), id="song-2")
    save(replace(load(saved), songs=(*load(saved).songs, air)), saved)
    to = saved.parent / "set"
    assert commands.main(["kit", str(saved), "--to", str(to), "--song", "air"]) == 0
    # Made of the song alone, it has another id; the shoot keeps its own.
    monkeypatch.setattr(tasks, "song_from_file", lambda *_, **__: replace(air, id="song-1"))
    assert commands.main(["kit", str(saved.parent / "air.wav"), "--to", str(to), "--shoot", str(saved)]) == 0
    known = load(saved).playbacks
    assert {piece.song_id for one in known for piece in one.pieces} == {"song-2"}
    assert known[0].note.startswith("whole song")
