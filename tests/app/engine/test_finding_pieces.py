"""Playback files and masters from files: found, kept, stopped."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from app.engine import finding_pieces, tasks
from app.model.document.identity import media_ref
from app.model.document.song import Song
from audio.errors import AudioError, Stopped
from audio.progress import never, no_progress
from tests.audio.engine_songs import song, song_file
from tests.quality.songs import WORK_RATE, composed

LENGTH_S = 24


def written(path: Path, *parts: np.ndarray) -> Path:
    soundfile.write(path, np.concatenate(parts), WORK_RATE)
    return path


def feed(seed: int) -> np.ndarray:
    return np.asarray(composed("rock", seed, True).room_feed[: LENGTH_S * WORK_RATE])


def songs(folder: Path) -> list[Song]:
    paths = [written(folder / f"song {seed}.wav", feed(seed)) for seed in (1, 101)]
    return [Song(media_ref(path), float(LENGTH_S), id=f"song-{n}") for n, path in enumerate(paths, 1)]


def test_two_songs_on_one_playback_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each has its piece; the second time nothing is read, and ids are those of the shoot as it is now."""
    monkeypatch.setenv("ANGLEBOOK_CACHE", str(tmp_path / "cache"))
    known = songs(tmp_path)
    silence = np.zeros(2 * WORK_RATE, np.float32)
    path = written(tmp_path / "evening.wav", silence, feed(101), silence, feed(1))
    told: list[float] = []
    found = tasks.playback_from_file(known, path, progress=told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert found.media == media_ref(path)
    assert found.duration_s == pytest.approx(2 * LENGTH_S + 4, abs=0.01)
    assert [one.song_id for one in found.pieces] == ["song-2", "song-1"]
    for one, starts_s in zip(found.pieces, (2.0, LENGTH_S + 4.0), strict=True):
        assert one.line.song_time(starts_s + 5) == pytest.approx(5.0, abs=2e-4)
        assert one.end_s - one.start_s == pytest.approx(LENGTH_S, abs=0.5)
    assert (found.pitch_kept, found.note) == (False, "")

    monkeypatch.setattr(finding_pieces, "find_playback", lambda *_, **__: pytest.fail("read again"))
    turned = [Song(known[0].media, known[0].duration_s, id="song-7"), known[1]]
    again = tasks.playback_from_file(turned, path)
    assert [one.song_id for one in again.pieces] == ["song-2", "song-7"]
    assert [one.start_s for one in again.pieces] == [one.start_s for one in found.pieces]


def test_a_pick_up_of_one_of_two_identical_passages_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("ANGLEBOOK_CACHE", str(tmp_path / "cache"))
    loops = song("loops")
    twin = loops.twins[0]
    known = [Song(media_ref(song_file(tmp_path / "loops.wav", "loops")), loops.seconds)]
    first, last = (round(at * WORK_RATE) for at in (twin.first_s, twin.first_s + twin.seconds))
    path = written(tmp_path / "pick-up.wav", loops.room_feed[first:last])
    for _ in range(2):
        found = tasks.playback_from_file(known, path)
        assert found.pieces == ()
        assert found.note == "undecided: fits 2 places in loops equally well"


def test_masters_are_compared_and_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ANGLEBOOK_CACHE", str(tmp_path / "cache"))
    old = written(tmp_path / "old.wav", feed(1))
    new = written(tmp_path / "new.wav", np.zeros(WORK_RATE, np.float32), feed(1))
    [piece] = tasks.master_pieces(old, new, in_subprocess=True)
    assert piece.new_start_s - piece.old_start_s == pytest.approx(1.0, abs=2e-4)
    assert not piece.again
    monkeypatch.setattr(finding_pieces, "find_master_pieces", lambda *_, **__: pytest.fail("read again"))
    assert tasks.master_pieces(old, new) == (piece,)


def test_trouble_and_the_wish_to_stop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("ANGLEBOOK_CACHE", str(tmp_path / "cache"))
    known = songs(tmp_path)
    with pytest.raises(Stopped):
        tasks.playback_from_file(known, Path(known[0].media.path), stop=lambda: True)
    (tmp_path / "text.wav").write_text("no music in here\n" * 99)
    with pytest.raises(AudioError, match=r"[a-z ,:]{15,}.*\.$"):
        tasks.playback_from_file(known, tmp_path / "text.wav")
    for gone in (tmp_path / "gone.wav", tmp_path):
        with pytest.raises(AudioError):
            tasks.playback_from_file(known, gone)
    with pytest.raises(AudioError):
        tasks.master_pieces(tmp_path / "gone.wav", Path(known[0].media.path))


def test_a_file_in_which_nothing_runs_has_no_pieces(tmp_path: Path) -> None:
    hiss = np.random.default_rng(3).standard_normal(8 * WORK_RATE).astype(np.float32) * 0.1
    path = written(tmp_path / "hiss.wav", hiss)
    found = finding_pieces.find_playback(songs(tmp_path)[:1], path, stop=never, progress=no_progress)
    assert found.playback.pieces == ()
