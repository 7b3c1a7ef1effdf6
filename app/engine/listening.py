"""What the window asks of the engine to let a person listen: sounds read from files, and what mixes them.

Nothing here knows of the window; nothing is loaded before somebody listens.
"""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from app.model.on_song import Clip, Take

if TYPE_CHECKING:
    from audio.files.channels import AnyFloats as AnyFloats
    from audio.play.clicks import ClickPlayback as ClickPlayback
    from audio.play.playback import Line as Line
    from audio.play.playback import Mix
    from audio.play.playback import Pieces as Pieces
    from audio.play.sound_piece import Piece
    from audio.play.sound_piece import SourceChannel as SourceChannel

START_DB, LEAST_DB, MOST_DB = -20.0, -60.0, 0.0
"""Volume in dB under full scale, as in audio/play/playback.py: quiet to begin with; the lowest is silence."""
LEAST_GAIN_DB, MOST_GAIN_DB = -12.0, 24.0
"""How far a take's sound is turned down or up to be as loud as the song."""
CHOOSING_S = 10.0
"""A take's microphone is chosen by as much of its middle."""


def pieces() -> "Pieces":
    """Room for pieces of takes."""
    from audio.play.playback import Pieces

    return Pieces()


def playback(pieces: "Pieces") -> "ClickPlayback":
    """Something that mixes song, take and clicks into blocks of sound."""
    from audio.play.clicks import ClickPlayback

    return ClickPlayback(pieces)


def mix(name: str) -> "Mix":
    """What is heard, by its name: SONG, TAKE, EARS, MIXED."""
    from audio.play.playback import Mix

    return Mix[name]


def song_sound(
    path: Path, *, stop: Callable[[], bool], progress: Callable[[float], None]
) -> "tuple[AnyFloats, float]":
    """The whole song, shape (2, n), as it is played, and its level in dBFS (RMS). Raises AudioError."""
    import numpy as np

    from audio.play.playback import RATE
    from audio.play.stereo import read_stereo

    samples = read_stereo(path, RATE, stop=stop, progress=progress)
    # By blocks: a song of ten minutes is a quarter of a gigabyte.
    squares = sum(
        float(np.square(samples[:, at : at + RATE], dtype=np.float64).sum())
        for at in range(0, samples.shape[1], RATE)
    )
    return samples, 10 * float(np.log10(max(squares / samples.size, 1e-20)))


def voice(path: Path, take: Take) -> "SourceChannel":
    """The microphone of a take that is listened to. Raises AudioError."""
    from audio.play.sound_piece import choose_channel

    middle_s = (take.clip_start_s + take.clip_end_s) / 2
    start_s = max(take.clip_start_s, middle_s - CHOOSING_S / 2)
    return choose_channel(path, start_s, min(take.clip_end_s, middle_s + CHOOSING_S / 2))


def line(clip: Clip, take: Take, voice: "SourceChannel", song_dbfs: float | None) -> "Line":
    """Where a take is heard, about as loud as the song if that can be heard."""
    from audio.play.playback import Line

    wanted_db = 0.0 if song_dbfs is None else song_dbfs - voice.level_dbfs
    gain_db = min(max(wanted_db, LEAST_GAIN_DB), MOST_GAIN_DB)
    return Line(
        key=f"{clip.media.size_bytes}-{clip.media.digest}-{voice.track}-{voice.channel}",
        clip_start_s=take.clip_start_s,
        clip_end_s=take.clip_end_s,
        song_start_s=take.song_start_s,
        speed=take.speed,
        gain=10 ** (gain_db / 20),
    )


def piece(path: Path, voice: "SourceChannel", number: int) -> "Piece":
    """A piece of a clip by its number. Raises AudioError."""
    from audio.play.playback import PIECE_S, RATE
    from audio.play.sound_piece import read_piece

    return read_piece(path, voice, number * PIECE_S, (number + 1) * PIECE_S, RATE)
