"""Copies of the clips whose start timecode is their place in the song, for syncing by timecode.

Nothing is re-encoded: a copy is the clip with another timecode. The song's first sample has the start
timecode that was chosen. A clip with several takes in different places gets a whole copy for each, named
after and stamped for that take, because one timecode cannot be right for two. Sound-only clips, and the song,
become Broadcast Wave files with a time reference in samples. Timecode runs at one speed, so it cannot carry
drift or another speed than the song's; a note on each copy gives the amount.
"""

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

from app.handoff.choices import DEFAULT
from app.handoff.copied.copies import Copy, Plan, Which, why_left_out, write_copies
from app.handoff.copied.copies import is_ours as _all_ours
from app.handoff.copied.stamped_sound import Setting, number, numbers, sound, sounds
from app.handoff.copied.stamps import OTHER_DAY, PictureStamp, begin_at, picture_stamp
from app.handoff.layout import DRIFT_MATTERS_FRAMES, clip_names, take_name, timeline_rate
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
from app.model.document.verdict import verdict_word
from app.model.on_song import Clip, SongView, Take
from app.model.timebase import DROP_FRAME_RATES, TIMECODE_RATES, rate_text, rate_words
from audio.errors import AudioError

_PROOF = "Every copy was read back and compared with its clip byte for byte; only the timecode differs."


def plan(shoot: SongView, which: Which, start: str = DEFAULT.start, *, rate: Fraction | None = None) -> Plan:
    """What would be written; reads the headers of the clips.

    ``start`` is the timecode of the song's first sample, with a semicolon for drop-frame at the rates that
    have it. ``rate`` is the timeline's, by which sound files are stamped; None for that of most clips.
    Raises HandoffError without a song, or for a start that is no timecode.
    """
    if shoot.song is None:
        raise HandoffError("There is no song yet, so there is no timecode to write. Choose the song first.")
    rate = rate or timeline_rate(shoot)
    begin_at(start, rate if rate in TIMECODE_RATES else Fraction(25))
    setting = Setting(start=start, rate=rate, names=FreeNames(), clips=clip_names(shoot.clips))
    copies: list[Copy] = []
    cannot: list[str] = []
    for one in _all(shoot, shoot.song, which, setting):
        if isinstance(one, str):
            cannot.append(one)
        else:
            copies.append(one)
    return Plan(tuple(copies), tuple(cannot), tuple(_notes(shoot, which, start, rate)))


def write(
    shoot: SongView,
    folder: Path,
    which: Which,
    start: str = DEFAULT.start,
    *,
    rate: Fraction | None = None,
    stop: Stop = never,
    progress: Progress = no_progress,
) -> HandoffReport:
    """Write the copies and verify each. Raises HandoffError, HandoffStopped.

    Copies of an earlier hand-off are replaced. Another file in the way, or too little room, stops everything
    before anything is written.
    """
    planned = plan(shoot, which, start, rate=rate)
    return write_copies(shoot, folder, planned, is_ours, stop, progress, _PROOF)


def is_ours(path: Path) -> bool:
    """Whether a file is such a copy, or a folder holds nothing but such copies."""
    return _all_ours(path, _is_copy)


def _is_copy(path: Path) -> bool:
    from audio.copies.broadcast_extension import is_signed
    from audio.copies.stamping import is_stamped

    return is_signed(path) if path.suffix == ".wav" else is_stamped(path)


def _all(shoot: SongView, song: Song, which: Which, setting: Setting) -> Iterator[Copy | str]:
    yield sound(setting, song.media, Fraction(0))
    for clip in shoot.clips:
        takes = [take for take in clip.takes if which(clip, take)]
        name = plain(setting.clips[clip.id])
        for take in clip.takes:
            if take not in takes:
                yield f"{plain(take_name(clip, take, name))}: no copy, because {why_left_out(take)}."
        if not takes:
            if not clip.takes:
                yield f"{name}: no copy ({verdict_word(clip.verdict)})."
            continue
        trouble = source_trouble(clip.media)
        if trouble is not None:
            yield f"{name}: no copy, because {trouble}."
        elif clip.frame_rate is None:
            yield from sounds(setting, clip, takes)
        else:
            yield from _pictures(setting, clip, takes)


def _pictures(setting: Setting, clip: Clip, takes: list[Take]) -> Iterator[Copy | str]:
    from audio.copies.stamping import prepare, stamp_copy
    from audio.copies.timecode_track import Stamp

    name = plain(setting.clips[clip.id])
    places: dict[int, list[tuple[Take, PictureStamp]]] = {}
    for take in takes:
        stamp = picture_stamp(clip, take, setting.start)
        if isinstance(stamp, str):
            yield f"{name}: no copy, because {stamp}."
            return
        places.setdefault(stamp.frame, []).append((take, stamp))
    for held in places.values():
        stamp = held[0][1]
        source = Path(clip.media.path)
        wanted = Stamp(stamp.frame, stamp.begin.rate, stamp.begin.drop_frame)
        try:
            changes = prepare(source, wanted)
        except AudioError as error:
            yield f"{name}: no copy. {error}"
            return
        more = numbers(clip, [take for take, _ in held]) if len(places) > 1 else ""
        copy = copy_name(setting.names, setting.clips[clip.id], more)
        lines = [f"{copy}: {line}" for line in setting.origin(clip)]
        lines += [line for take, one in held for line in _picture_lines(copy, clip, take, one, len(held))]
        if changes.note:
            lines.append(f"{copy}: {changes.note}")

        def make(
            target: Path, stop: Stop, progress: Progress, source: Path = source, wanted: Stamp = wanted
        ) -> None:
            stamp_copy(source, target, wanted, stop=stop, progress=progress)

        yield Copy(
            planned=Planned(copy, clip.media.size_bytes + len(changes.tail), tuple(lines)),
            takes=len(held),
            sub_frame_offset_s=max(abs(one.sub_frame_offset_s) for _, one in held),
            make=make,
        )


def _picture_lines(name: str, clip: Clip, take: Take, stamp: PictureStamp, held: int) -> Iterator[str]:
    rate, offset_s = float(stamp.begin.rate), stamp.sub_frame_offset_s
    which = f" (take {number(clip, take)})" if held > 1 else ""
    early = "early" if offset_s > 0 else "late"
    yield (
        f"{name}{which}: starts at {stamp.label}; sub-frame offset {abs(offset_s) * 1000:.1f} ms "
        f"({abs(offset_s * rate):.2f} frame {early})."
    )
    if stamp.other_day:
        yield f"{name}{which}: {OTHER_DAY}"
    if stamp.nominal != 1:
        yield (
            f"{name}{which}: plays at speed {rate_text(stamp.nominal)} against the song, which timecode "
            "cannot carry: only the start of the take is in place."
        )
    if abs(stamp.late_frames) >= DRIFT_MATTERS_FRAMES:
        late = "late" if stamp.late_frames > 0 else "early"
        yield (
            f"{name}{which}: drifts {abs(stamp.late_frames):.2f} frame "
            f"({abs(stamp.late_frames) / rate * 1000:.1f} ms) {late} by the end of the take."
        )
    if clip.variable_frame_rate:
        yield f"{name}{which}: variable frame rate, so only its first frame is certain to be in place."


def _notes(shoot: SongView, which: Which, start: str, rate: Fraction) -> Iterator[str]:
    yield f"The song starts at {start}; sound is stamped for {rate_words(rate)} fps."
    rates = {clip.frame_rate for clip in shoot.clips if any(which(clip, take) for take in clip.takes)}
    known = {one for one in (rate, *rates) if one in TIMECODE_RATES}
    slow = {one for one in known if one.denominator == 1001 and not begin_at(start, one).drop_frame}
    if slow and known - slow:
        apart = ", ".join(rate_words(one) for one in sorted(slow))
        yield (
            f"At {apart} fps, a second of timecode lasts 1.001 s; at the other rates of this "
            "shoot it does not. Programs line such clips up differently. The timeline file has them right."
        )
        if slow & DROP_FRAME_RATES:
            yield "With drop-frame timecode (a start such as 01:00:00;00), 29.97 and 59.94 keep to the clock."
