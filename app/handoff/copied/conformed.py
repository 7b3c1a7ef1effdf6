"""The sound of each take on the song's clock: WAVE files as long as the song, for a track under each angle.

There is silence before and after the take. Speed and drift are followed to a fraction of a sample; the level
is unchanged. Samples are 32-bit floats at the song's own rate, so nothing clips, and every file has as many
samples as the song. Each is a Broadcast Wave file whose time reference is the song's start, so that it also
syncs by timecode.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path, PurePath

from app.handoff.choices import DEFAULT, Conform
from app.handoff.copied.copies import Copy, Plan, Which, why_left_out, write_copies
from app.handoff.copied.copies import is_ours as _all_ours
from app.handoff.copied.stamped_sound import number
from app.handoff.copied.stamps import begin_at, sound_stamp
from app.handoff.layout import clip_names, take_name, timeline_rate
from app.handoff.names import FreeNames, copy_name
from app.handoff.outcome import (
    HandoffError,
    HandoffReport,
    Planned,
    Progress,
    Stop,
    never,
    no_progress,
    plain,
)
from app.handoff.sources import source_trouble
from app.model.document.song import Song
from app.model.on_song import Clip, SongView, Take
from app.model.timebase import TIMECODE_RATES
from audio.errors import AudioError

_HEADER_BYTES = 1024
_LAG_MATTERS_S = 0.001
"""Lags from here on are reported, seconds."""


def plan(
    shoot: SongView,
    which: Which,
    start: str = DEFAULT.start,
    *,
    rate: Fraction | None = None,
    conform: Conform = DEFAULT.conform,
) -> Plan:
    """What would be written. ``start`` and ``rate`` as for stamped copies.

    Raises HandoffError without a song, or where the song cannot be read.
    """
    from audio.files.media import probe

    song = shoot.song
    if song is None:
        raise HandoffError(
            "There is no song yet, so there is no length to conform to. Choose the song first."
        )
    rate = rate or timeline_rate(shoot)
    begin_at(start, rate if rate in TIMECODE_RATES else Fraction(25))
    try:
        sound_rate = probe(Path(song.media.path)).sound_rate
    except AudioError as error:
        raise HandoffError(f"The song cannot be read. {error}") from error
    if not sound_rate:
        raise HandoffError("The song's sound has an unknown encoding. Use another copy of it.")
    frames = round(Fraction(song.duration_s) * sound_rate)
    reference = sound_stamp(0.0, sound_rate, start, rate)
    copies: list[Copy] = []
    cannot: list[str] = []
    names, called = FreeNames(), _called(shoot.clips)
    for clip in shoot.clips:
        for one in _takes(clip, called[clip.id], which, song):
            if isinstance(one, str):
                cannot.append(one)
            else:
                copies.append(_copy(*one, frames, sound_rate, reference, names, conform))
    note = f"Every file is as long as the song: {frames} samples at {sound_rate} Hz, 32-bit float."
    return Plan(tuple(copies), tuple(cannot), (note,))


def write(
    shoot: SongView,
    folder: Path,
    which: Which,
    start: str = DEFAULT.start,
    *,
    rate: Fraction | None = None,
    conform: Conform = DEFAULT.conform,
    stop: Stop = never,
    progress: Progress = no_progress,
) -> HandoffReport:
    """Write the files and read each back. Raises HandoffError, HandoffStopped.

    Files of an earlier hand-off are replaced. Another file in the way, or too little room, stops everything
    before anything is written.
    """
    planned = plan(shoot, which, start, rate=rate, conform=conform)
    proof = "Every file was read back and holds the expected samples."
    return write_copies(shoot, folder, planned, is_ours, stop, progress, proof)


def is_ours(path: Path) -> bool:
    """Whether a file is such a sound, or a folder holds nothing but such sounds."""
    from audio.copies.broadcast_extension import is_signed

    return _all_ours(path, is_signed)


def _called(clips: Sequence[Clip]) -> dict[str, str]:
    """Names of clips by id; with a folder also where file names differ in the suffix only."""
    called = clip_names(clips)
    paths = {clip.id: PurePath(clip.media.path) for clip in clips}
    often = Counter(path.stem.casefold() for path in paths.values())
    for clip_id, path in paths.items():
        if called[clip_id] == path.name and often[path.stem.casefold()] > 1:
            called[clip_id] = str(PurePath(path.parent.name, path.name))
    return called


def _takes(clip: Clip, called: str, which: Which, song: Song) -> Iterator[tuple[Clip, str, Take] | str]:
    """The takes that get a sound, each with its clip and what that is called; why others get none."""
    takes = [take for take in clip.takes if which(clip, take)]
    silent = _why_silent(clip) if takes else None
    for take in clip.takes:
        if take not in takes:
            yield f"{plain(take_name(clip, take, called))}: no sound, because {why_left_out(take)}."
            continue
        why = silent
        if take.song_end_s <= 0 or take.song_start_s >= song.duration_s:
            why = "it is outside the song."
        if why is not None:
            yield f"{plain(take_name(clip, take, called))}: no sound, because {why}"
        else:
            yield clip, called, take


def _why_silent(clip: Clip) -> str | None:
    """Why a clip has no sound; None where it has."""
    from audio.files.media import probe

    trouble = source_trouble(clip.media)
    if trouble is not None:
        return f"{trouble}."
    try:
        info = probe(Path(clip.media.path))
    except AudioError as error:
        return f"it cannot be read. {error}"
    return None if info.sound_tracks else "it has none."


def _copy(
    clip: Clip,
    called: str,
    take: Take,
    frames: int,
    rate: int,
    reference: int,
    names: FreeNames,
    conform: Conform,
) -> Copy:
    more = f" take {number(clip, take)}" if len(clip.takes) > 1 else ""
    name = copy_name(names, called, f"{more} conformed", ".wav")
    size = _HEADER_BYTES + 4 * frames
    first_s = max(0.0, take.song_start_s)
    lines = [f"{name}: has sound from {first_s:.3f} s to {take.song_end_s:.3f} s of the song."]
    if called != PurePath(clip.media.path).name:
        lines.append(f"{name}: the sound of {plain(called)}.")
    worst_s = max((abs(lag.lag_s) for lag in take.lags), default=0.0)
    follows = conform is Conform.LAG and take.reason.sway is not None
    if follows:
        lines.append(f"{name}: follows the lag of a moving camera, up to {worst_s * 1000:.1f} ms.")
    elif worst_s >= _LAG_MATTERS_S:
        lines.append(f"{name}: measured up to {worst_s * 1000:.1f} ms off its fitted line along the way.")

    def make(target: Path, stop: Stop, progress: Progress) -> None:
        from audio.copies.broadcast_extension import Facts
        from audio.copies.broadcast_wave import write_wave
        from audio.copies.conform_sound import conformed
        from audio.copies.whole_sound import Coding
        from audio.play.playback import Line

        source = Path(clip.media.path)
        line = Line(
            key=clip.id,
            clip_start_s=take.clip_start_s,
            clip_end_s=take.clip_end_s,
            song_start_s=take.song_start_s,
            speed=take.speed,
        )
        lags = [(one.clip_s, one.lag_s) for one in take.lags] if follows else []
        origin = datetime.fromtimestamp(source.stat().st_mtime, UTC)
        write_wave(
            target,
            conformed(source, line, frames, rate, lags, stop=stop),
            Facts(
                time_reference=reference,
                description=f"{plain(PurePath(clip.media.path).name)}; sound on the song's clock",
                date=origin.strftime("%Y-%m-%d"),
                time=origin.strftime("%H:%M:%S"),
            ),
            rate=rate,
            channels=1,
            frames=frames,
            coding=Coding.FLOAT,
            words="conformed to the song",
            stop=stop,
            progress=progress,
        )

    return Copy(planned=Planned(name, size, tuple(lines)), takes=1, sub_frame_offset_s=0.0, make=make)
