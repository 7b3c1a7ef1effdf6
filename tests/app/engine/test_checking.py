"""What Check asks of the engine, on the sample shoot: proofs, settling, loudness, trouble as sentences."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile

from app.engine import checking
from app.engine.checking import Placed
from app.engine.heard_on_file import played_in
from app.model.document.identity import media_ref
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.on_song import Take
from audio.errors import NoSound, Stopped, Unreadable
from audio.placement import proof
from tests.audio.engine_songs import song
from tests.audio.media_files import noise
from tests.quality.song_heaps import playback_of
from tests.quality.songs import WORK_RATE

MEDIA = Path(__file__).resolve().parents[3] / "sample_media"
TRUTH = json.loads((MEDIA / "truth.json").read_text(encoding="utf-8"))


def never() -> bool:
    return False


def no_progress(fraction: float) -> None:
    pass


def placed(name: str = "G0021", off_s: float = 0.0) -> Placed:
    """A take of the sample shoot, so much too late in the song."""
    clip = next(c for c in TRUTH["clips"] if name in c["file"])
    take = clip["takes"][0]
    return Placed(
        MEDIA / "song.ogg",
        MEDIA / clip["file"],
        take["clip_start_s"],
        take["clip_end_s"],
        take["song_start_s"] + off_s,
        take["speed"],
    )


def test_a_take_heard_on_a_playback_file_is_compared_with_that(tmp_path: Path) -> None:
    """A file of the song faster, its pitch kept: with the song the take agrees nowhere."""
    speed, lead_s = 1.25, 2.0
    file, _ = playback_of(song(), speed, "splices", lead_s)
    soundfile.write(tmp_path / "song.wav", song().room_feed, WORK_RATE)
    soundfile.write(tmp_path / "fast.wav", file.room_feed, WORK_RATE)
    heard = file.room_feed[10 * WORK_RATE : 22 * WORK_RATE]
    soundfile.write(tmp_path / "clip.wav", heard + 0.02 * np.std(heard) * noise(12.0, WORK_RATE), WORK_RATE)
    piece = PlaybackPiece("song-1", lead_s, file.seconds, 0.0, speed)
    playback = PlaybackFile("playback-1", media_ref(tmp_path / "fast.wav"), file.seconds, (piece,))
    off_s = 0.01
    take = Take("t", 0.5, 11.5, (10.5 - lead_s) * speed + off_s, speed, playback_id="playback-1")
    played = played_in(take, [playback], "song-1")
    assert played is not None
    files = str(tmp_path / "song.wav"), str(tmp_path / "clip.wav")
    moments = [3.0, 6.0, 9.0]
    found = checking.proofs(Placed.of(*files, take, played), moments, stop=never, progress=no_progress)
    assert [one.song_s for one in found] == pytest.approx([take.song_time(at) for at in moments])
    assert [one.late_s for one in found] == pytest.approx([off_s] * 3, abs=0.0005)
    # The hill of the fit stands where the take belongs: earlier in the song.
    for one in found:
        at = (int(one.fit.argmax()) - (len(one.fit) - 1) / 2) * checking.STEP_S
        assert at == pytest.approx(-off_s, abs=0.002)
    alone = checking.proofs(Placed.of(*files, take), moments, stop=never, progress=no_progress)
    assert min(one.strength for one in found) > 3 * max(one.strength for one in alone)
    fit = checking.settle(Placed.of(*files, take, played), stop=never, progress=no_progress)
    assert fit is not None
    assert fit.song_start_s == pytest.approx(take.song_start_s - off_s, abs=0.0005)
    assert fit.speed == pytest.approx(speed, abs=1e-4)
    assert played_in(replace(take, playback_id=""), [playback], "song-1") is None
    assert played_in(take, [playback], "song-2") is None


def test_the_window_reckons_with_the_lengths_of_the_engine() -> None:
    assert (checking.SHOWN_S, checking.SLIDE_S, checking.STEP_S) == (
        proof.SHOWN_S,
        proof.SLIDE_S,
        proof.STEP_S,
    )


def test_proofs_tell_the_lag_and_the_clip_is_read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    one = placed(off_s=0.02)
    moments = [one.clip_start_s + share * (one.clip_end_s - one.clip_start_s) for share in (0.0, 0.5, 1.0)]
    far: list[float] = []
    found = checking.proofs(one, moments, stop=never, progress=far.append)
    assert [p.clip_s for p in found] == moments
    for told in found:
        assert told.late_s == pytest.approx(0.02, abs=0.0005)
    assert far[-1] == 1.0
    assert far == sorted(far)

    def no_reading(*_: object, **__: object) -> None:
        raise AssertionError("the sound is kept")

    monkeypatch.setattr("audio.play.sound_piece.read_piece", no_reading)
    monkeypatch.setattr("audio.files.media.read_song", no_reading)
    other = checking.proofs(
        replace(one, song_start_s=one.song_start_s + 9.3), moments, stop=never, progress=no_progress
    )
    assert [p.late_s for p in other] == [None, None, None]


def test_settling_reads_the_clip_and_finds_the_place() -> None:
    one = placed("P0231", -0.21)
    fit = checking.settle(one, stop=never, progress=no_progress)
    assert fit is not None
    assert fit.song_start_s == pytest.approx(one.song_start_s + 0.21, abs=0.0005)
    assert checking.settle(placed("P0231", 6.0), stop=never, progress=no_progress) is None


def test_trouble_is_a_sentence(tmp_path: Path) -> None:
    silent = replace(placed(), clip=MEDIA / "clips" / "cutaways" / "S0001.MP4")
    lost = replace(placed(), clip=tmp_path / "gone.mov")
    with pytest.raises(NoSound, match="no sound"):
        checking.settle(silent, stop=never, progress=no_progress)
    for ask in (
        lambda one: checking.proofs(one, [1.0], stop=never, progress=no_progress),
        lambda one: checking.settle(one, stop=never, progress=no_progress),
    ):
        with pytest.raises(Unreadable, match="not there"):
            ask(lost)


def test_of_a_clip_without_sound_the_song_is_shown_alone() -> None:
    silent = replace(placed(), clip=MEDIA / "clips" / "cutaways" / "S0001.MP4")
    moments = [silent.clip_start_s + 1.0, silent.clip_start_s + 2.0]
    found = checking.proofs(silent, moments, stop=never, progress=no_progress)
    assert [one.clip_s for one in found] == moments
    with_sound = checking.proofs(placed(), moments, stop=never, progress=no_progress)
    for one, other in zip(found, with_sound, strict=True):
        assert one.silent
        assert one.late_s is None
        assert not one.take.any()
        assert one.song.max() == pytest.approx(1.0, abs=0.01)
        assert (one.song.shape, one.take.shape, one.fit.shape) == (
            other.song.shape,
            other.take.shape,
            other.fit.shape,
        )
        assert one.song_s == other.song_s


def test_looking_can_be_stopped() -> None:
    with pytest.raises(Stopped):
        checking.proofs(placed(), [1.0], stop=lambda: True, progress=no_progress)


def test_loudness_of_a_stretch_is_silent_before_the_song() -> None:
    loud = checking.song_loudness(MEDIA / "song.ogg", -4.0, 4.0, 80)
    assert loud.shape == (80,)
    assert not loud[:40].any()
    assert loud.max() == pytest.approx(1.0)
