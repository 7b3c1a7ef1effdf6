"""Pieces of a clip's sound are where they are in the whole, and only the best channel is played."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from audio.errors import NoSound, Unreadable
from audio.files.media import read_song, read_sound
from audio.play.interpolation import read_at
from audio.play.sound_piece import choose_channel, read_piece
from audio.play.stereo import read_stereo
from tests.audio.media_files import Recipe, low_noise, make

RATE = 48_000
CLIPS: dict[str, tuple[str, dict[str, object]]] = {
    "MOV": ("clip.mov", {}),
    "MOV, sound later": ("clip.mov", {"sound_delay_s": Fraction(1, 2)}),
    "MP4, AAC, picture later": ("clip.mp4", {"sound_codec": "aac", "picture_delay_s": Fraction(3, 10)}),
    "MP4, 44.1 kHz": ("clip.mp4", {"sound_codec": "aac", "sound_rate": 44_100}),
    "TS": ("clip.ts", {"picture_codec": "libx264", "b_frames": 2, "sound_codec": "aac"}),
    "MXF": ("clip.mxf", {"picture_codec": "mpeg2video"}),
    "WAV": ("clip.wav", {"picture_s": 0.0}),
    "FLAC": ("clip.flac", {"picture_s": 0.0, "sound_codec": "flac"}),
}


@pytest.mark.parametrize("name", CLIPS)
def test_a_piece_is_where_it_is_in_the_whole(name: str, tmp_path: Path) -> None:
    file, facts = CLIPS[name]
    rate = int(facts.get("sound_rate", RATE))  # type: ignore[call-overload]
    recipe: dict[str, object] = {"tracks": [low_noise(9.0, rate)], "picture_s": 9.0}
    path = make(tmp_path / file, Recipe(**(recipe | facts)))  # type: ignore[arg-type]
    whole = read_sound(path, RATE)
    voice = choose_channel(path, 3.0, 6.0)
    for start_s, end_s in ((0.0, 2.0), (4.0, 6.0), (6.5, 12.0)):
        piece = read_piece(path, voice, start_s, end_s, RATE)
        assert piece.start_s <= max(start_s, whole.start_s)
        # Each is on a grid of its own: the whole is read off where the samples of the piece lie.
        first_s = max(piece.start_s, whole.start_s, 0.0) + 0.05
        last_s = min(piece.start_s + len(piece.samples) / RATE, 9.0) - 0.05
        assert last_s - first_s > 1.4
        moments = np.arange(first_s, last_s, 1 / RATE)
        mine = read_at(piece.samples, (moments - piece.start_s) * RATE)
        want = read_at(whole.samples[0], (moments - whole.start_s) * RATE)
        np.testing.assert_allclose(mine, want, atol=2e-3)


def test_the_best_channel_is_heard(tmp_path: Path) -> None:
    silent, loud = np.zeros(4 * RATE, np.float32), low_noise(4.0, RATE)
    path = make(tmp_path / "clip.mov", Recipe(tracks=[silent, np.stack([loud * 0.01, loud])], picture_s=4.0))
    voice = choose_channel(path, 0.0, 4.0)
    assert (voice.track, voice.channel) == (1, 1)
    assert voice.level_dbfs == pytest.approx(20 * np.log10(loud.std()), abs=0.2)
    piece = read_piece(path, voice, 1.0, 2.0, RATE)
    at = round(piece.start_s * RATE)
    np.testing.assert_allclose(piece.samples[:1000], loud[at : at + 1000], atol=1e-3)


def test_where_there_is_nothing_to_hear(tmp_path: Path) -> None:
    mute = make(tmp_path / "mute.mov", Recipe())
    with pytest.raises(NoSound, match="no sound"):
        choose_channel(mute, 0.0, 1.0)
    with pytest.raises(Unreadable, match="not there"):
        choose_channel(tmp_path / "gone.mov", 0.0, 1.0)
    path = make(tmp_path / "clip.mov", Recipe(tracks=[low_noise(2.0)]))
    assert len(read_piece(path, choose_channel(path, 0, 2), 500.0, 508.0, RATE).samples) == 0


@pytest.mark.parametrize(
    ("suffix", "codec", "rate"),
    [("wav", "pcm_s16le", 48_000), ("flac", "flac", 44_100), ("aiff", "pcm_s16be", 44_100)],
)
def test_the_song_listened_to_is_the_song_placed_on(
    tmp_path: Path, suffix: str, codec: str, rate: int
) -> None:
    """Two libraries read it; to the sample they must agree where it begins."""
    pair = np.stack([low_noise(3.0, rate), low_noise(3.0, rate, seed=5)])
    recipe = Recipe(tracks=[pair], picture_s=0.0, sound_codec=codec, sound_rate=rate)
    agree(make(tmp_path / f"song.{suffix}", recipe))


def test_the_sample_song_listened_to_is_the_one_placed_on() -> None:
    agree(Path(__file__).parents[3] / "sample_media" / "song.ogg")


def agree(path: Path) -> None:
    """Fail where what is listened to is not what clips are placed on."""
    played, placed = read_stereo(path, RATE).mean(axis=0), read_song(path, RATE)
    length = min(len(played), len(placed))
    assert abs(len(played) - len(placed)) <= 2
    np.testing.assert_allclose(played[2000 : length - 2000], placed[2000 : length - 2000], atol=2e-3)


def test_the_song_in_two_channels(tmp_path: Path) -> None:
    left, right = low_noise(2.0), low_noise(2.0, seed=5)
    path = make(tmp_path / "song.wav", Recipe(tracks=[np.stack([left, right])], picture_s=0.0))
    np.testing.assert_allclose(read_stereo(path, RATE), np.stack([left, right]), atol=1e-4)
    path = make(tmp_path / "mono.wav", Recipe(tracks=[left], picture_s=0.0))
    np.testing.assert_allclose(read_stereo(path, RATE), np.stack([left, left]), atol=1e-4)
    path = make(tmp_path / "silent.wav", Recipe(tracks=[left * 0], picture_s=0.0))
    with pytest.raises(NoSound, match="silent"):
        read_stereo(path, RATE)
