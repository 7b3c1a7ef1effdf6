"""Sound files stamped with their place in the song: Broadcast Wave with a time reference to the sample."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path, PurePath

from app.handoff.copied.copies import Copy
from app.handoff.copied.stamps import OTHER_DAY, sound_on_other_day, sound_stamp
from app.handoff.layout import DRIFT_MATTERS_FRAMES
from app.handoff.names import FreeNames, copy_name
from app.handoff.outcome import Planned, Progress, Stop, plain, why
from app.handoff.sources import source_trouble
from app.model.document.media_ref import MediaRef
from app.model.on_song import Clip, Take
from app.model.speeds import late_frames, nominal_speed
from app.model.timebase import rate_text
from audio.errors import AudioError

_HEADER_BYTES = 2048
"""Room for the header of a sound file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What all files of one hand-off have in common."""

    start: str
    """Timecode of the song's first sample."""
    rate: Fraction
    """Frames per second of the timeline; the start timecode of sound counts at this rate."""
    names: FreeNames
    clips: Mapping[str, str]
    """Names of clips by id; clips with the same file name have different names here."""

    def origin(self, clip: Clip) -> Iterator[str]:
        """Which clip it is a copy of, where its name does not say."""
        if self.clips[clip.id] != PurePath(clip.media.path).name:
            yield f"a copy of {plain(self.clips[clip.id])}."


def sounds(setting: Setting, clip: Clip, takes: Sequence[Take]) -> Iterator[Copy | str]:
    """The Broadcast Wave files of a sound-only clip: one for each place that its takes ask for."""
    places: dict[Fraction, list[Take]] = {}
    for take in takes:
        # As for pictures: the take's beginning goes to its place, and what is before it counts as it runs.
        places.setdefault(Fraction(take.song_start_s) - Fraction(take.clip_start_s), []).append(take)
    for song_s, held in places.items():
        more = numbers(clip, held) if len(places) > 1 else ""
        lines = [*setting.origin(clip), *(line for take in held for line in _take_lines(take, setting.rate))]
        yield sound(setting, clip.media, song_s, setting.clips[clip.id], more, lines, len(held))


def _take_lines(take: Take, rate: Fraction) -> Iterator[str]:
    speed = nominal_speed(take.speed)
    if speed.nominal != 1:
        yield (
            f"plays at speed {rate_text(speed.nominal)} against the song, which a time reference cannot "
            "carry: only the start of the take is in place."
        )
    late_s = late_frames(take.speed, take.clip_end_s - take.clip_start_s, Fraction(1))
    if abs(late_s) * rate >= DRIFT_MATTERS_FRAMES:
        late = "late" if late_s > 0 else "early"
        yield f"drifts {abs(late_s) * 1000:.1f} ms {late} by the end of the take."


def sound(
    setting: Setting,
    media: MediaRef,
    song_s: Fraction,
    called: str = "",
    more: str = "",
    lines: Sequence[str] = (),
    takes: int = 0,
) -> Copy | str:
    """A Broadcast Wave file of a sound that starts at a song time, or the reason why there is none.

    ``called`` is its name in the shoot, which is unique. Without takes it is the song itself.
    """
    from audio.copies.broadcast_extension import Facts
    from audio.copies.broadcast_wave import stamp_sound
    from audio.copies.wave_chunks import is_wave
    from audio.files.media import probe

    own = plain(PurePath(media.path).name)
    trouble = source_trouble(media)
    if trouble is not None:
        return f"{own}: no copy, because {trouble}."
    source = Path(media.path)
    try:
        info = probe(source)
        wave = is_wave(source)
        origin = datetime.fromtimestamp(source.stat().st_mtime, UTC)
    except (AudioError, OSError) as error:
        return f"{own}: no copy. {why(error)}"
    if not info.sound_rate:
        return f"{own}: no copy, because its sound has an unknown encoding."
    reference = sound_stamp(song_s, info.sound_rate, setting.start, setting.rate)
    facts = Facts(
        time_reference=reference,
        description=f"{own}; the song starts at {setting.start}",
        date=origin.strftime("%Y-%m-%d"),
        time=origin.strftime("%H:%M:%S"),
    )

    def make(target: Path, stop: Stop, progress: Progress) -> None:
        stamp_sound(source, target, facts, stop=stop, progress=progress)

    name = copy_name(setting.names, called or PurePath(media.path).name, more, ".wav")
    notes = [f"{'' if takes else 'the song, '}first sample {reference} samples after midnight, exact."]
    if not wave:
        kind = source.suffix.lstrip(".").upper()
        notes.append(f"decoded from {kind}, because only WAV holds a time reference.")
    if sound_on_other_day(song_s, setting.start, setting.rate):
        notes.append(OTHER_DAY)
    # Decoded, as two channels of floats; what is known of the header does not tell more.
    size = media.size_bytes if wave else round(info.duration_s * info.sound_rate) * 8
    return Copy(
        planned=Planned(name, _HEADER_BYTES + size, tuple(f"{name}: {line}" for line in (*notes, *lines))),
        takes=takes,
        sub_frame_offset_s=0.5 / info.sound_rate,
        make=make,
    )


def numbers(clip: Clip, takes: Sequence[Take]) -> str:
    """The part of a file name that says which takes of the clip this copy is for."""
    return " take " + "+".join(str(number(clip, take)) for take in takes)


def number(clip: Clip, take: Take) -> int:
    """Number of a take within its clip, from 1."""
    return [other.id for other in clip.takes].index(take.id) + 1
