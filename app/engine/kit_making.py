"""Playback files written: planned to the sample, made, put onto disk as Broadcast Wave, and told."""

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from app.model.document.identity import media_ref
from app.model.document.playback_file import PlaybackFile, PlaybackTimecode
from app.model.document.song import Song
from app.model.kit.made_file import MadeFile
from app.model.kit.planned import RATE, Planned
from app.model.kit.timecode_number import timecode_number
from app.model.storage.files import make_whole
from app.model.storage.guard import Guard
from app.model.timebase import frame_number, timecode

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_DAY_S = 86_400
_STEP = 1 << 16


def make_files(
    song: Song,
    wanted: Sequence[tuple[Planned, Path]],
    guard: Guard,
    *,
    loudness_lufs: float | None = None,
    stop: Callable[[], bool] = lambda: False,
    progress: Callable[[float], None] = lambda fraction: None,
) -> Iterator[MadeFile]:
    """Make each planned file at its path, one after the other; what is whole stays when it is stopped.

    With timecode the song is on the left channel, both its sides together, and timecode on the right.
    Raises AudioError, Stopped among them, and OSError, MayNotWrite among them.
    """
    from audio.kit.playback_sound import Recipe, playback_sound
    from audio.play.stereo import read_stereo

    whole = len(wanted) + 1
    stereo = read_stereo(Path(song.media.path), RATE, stop=stop, progress=lambda part: progress(part / whole))
    samples = _full_scale(stereo)
    for number, (plan, path) in enumerate(wanted, 1):
        guard.check(path)
        recipe = Recipe(
            length=plan.length,
            song_from=plan.song_from,
            song_to=plan.song_to,
            song_at=plan.song_at,
            speed=plan.speed,
            pitch_kept=plan.pitch_kept,
            clicks=[(click.sample, click.accent) for click in plan.clicks],
            pop=plan.pop,
        )
        made = playback_sound(samples, RATE, recipe, loudness_lufs=loudness_lufs, stop=stop)
        sound = made.sound
        if plan.timecode is not None:
            sound = _beside_timecode(sound, plan.timecode, plan.length / RATE)
        _write(path, sound, plan, song, guard, stop)
        playback = PlaybackFile(
            id="",
            media=media_ref(path),
            duration_s=plan.length / RATE,
            pieces=(plan.piece,),
            pitch_kept=plan.pitch_kept,
            made=True,
            note=plan.what,
            timecode=plan.timecode,
        )
        progress((number + 1) / whole)
        yield MadeFile(plan, playback, made.loudness_lufs, made.true_peak_db, made.gain_db)


def _full_scale(stereo: "NDArray[np.generic]") -> "NDArray[np.float32]":
    """Shape (2, n) of floats or 16-bit floats as (n, 2) of float32."""
    import numpy as np

    return np.ascontiguousarray(stereo.T, dtype=np.float32)


def _beside_timecode(
    sound: "NDArray[np.float32]", code: PlaybackTimecode, duration_s: float
) -> "NDArray[np.float32]":
    """The song on the left, linear timecode on the right."""
    import numpy as np

    from audio.kit.ltc_sound import ltc_sound
    from audio.kit.ltc_words import Label

    rate = code.frame_rate
    first = frame_number(code.label, rate)
    before = int(Fraction(code.at_s) * rate) + 1
    count = int(Fraction(len(sound), RATE) * rate) + 2
    labels = []
    for number in range(first - before, first - before + count):
        text = timecode(number % (_DAY_S * round(rate)), rate)
        hours, minutes, seconds, frames = (int(text[at : at + 2]) for at in (0, 3, 6, 9))
        labels.append(Label(hours, minutes, seconds, frames))
    begin_s = code.at_s - float(before / rate)
    user = timecode_number(code, duration_s)
    code_sound = ltc_sound(labels, rate, rate=RATE, begin_s=begin_s, length=len(sound), user=user)
    return np.stack([sound.mean(axis=1), code_sound], axis=1).astype(np.float32)


def _write(
    path: Path,
    sound: "NDArray[np.float32]",
    plan: Planned,
    song: Song,
    guard: Guard,
    stop: Callable[[], bool],
) -> None:
    import numpy as np

    from audio.copies.broadcast_extension import Facts
    from audio.copies.broadcast_wave import write_wave
    from audio.copies.whole_sound import Coding

    reference = round(plan.label_at_start * RATE) % (_DAY_S * RATE)
    facts = Facts(reference, f"Playback: {plan.name}", "", "")

    def blocks() -> "Iterator[NDArray[np.int32]]":
        for at in range(0, len(sound), _STEP):
            part = np.clip(sound[at : at + _STEP].astype(np.float64), -1.0, 1.0 - 2.0**-23)
            yield np.round(part * 2.0**23).astype(np.int32) << 8

    def make(neighbour: Path) -> None:
        write_wave(
            neighbour,
            blocks(),
            facts,
            rate=RATE,
            channels=2,
            frames=len(sound),
            coding=Coding.PCM_24,
            words="playback file",
            stop=stop,
        )

    make_whole(path, make, guard)
