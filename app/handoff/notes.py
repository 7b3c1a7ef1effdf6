"""Notes for the person about the takes on a timeline or in a list, one sentence each."""

from collections.abc import Iterable, Mapping
from pathlib import Path

from app.handoff.layout import DRIFT_MATTERS_FRAMES, Layout, Track, clip_names, start_frame, take_name
from app.handoff.outcome import count, plain
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import verdict_word
from app.model.on_song import SongView
from app.model.timebase import rate_text, rate_words


def head_lines(layout: Layout) -> Iterable[str]:
    """Rate, start, how many takes on how many tracks, and the largest sub-frame offset."""
    sure = [track for track in layout.tracks if not track.doubtful]
    unsure = [track for track in layout.tracks if track.doubtful]
    rate = rate_words(layout.rate)
    yield f"Timeline at {rate} fps; the song starts at {layout.choices.start}."
    yield from midnight_lines(layout)
    yield f"{count(_takes(sure), 'take')} on {count(len(sure), 'track')}."
    if unsure:
        takes = count(_takes(unsure), "take")
        yield f"{takes} in doubt on {count(len(unsure), 'disabled track')}; check them first."
    worst_s = worst_sub_frame_offset_s(layout)
    frames = worst_s * float(layout.rate)
    yield f"Largest sub-frame offset: {worst_s * 1000:.1f} ms ({frames:.2f} frame); noted with each take."


def midnight_lines(layout: Layout) -> Iterable[str]:
    """A warning where timecode passes midnight within the song."""
    if layout.over_midnight:
        yield (
            f"Starting at {layout.choices.start}, the takes run past midnight, where timecode starts again "
            "from zero. Not every program copes with that. Choose another start, such as 01:00:00:00."
        )


def take_lines(names: Mapping[str, str], layout: Layout, *, warps: bool = True) -> Iterable[str]:
    """For each take: speed, cuts, drift, and its largest distance from its place.

    ``names`` are the names of clips by id.
    """
    for one, residual_s in layout.residuals:
        name = plain(take_name(one.clip, one.take, names[one.clip.id]))
        if one.nominal != 1 and warps:
            yield f"{name}: plays at speed {rate_text(one.nominal)} through a time warp."
        if one.pieces > 1:
            yield f"{name}: cut into {one.pieces} pieces where sections begin, each set to its nearest frame."
        elif abs(one.late_frames) >= DRIFT_MATTERS_FRAMES:
            which = "late" if one.late_frames > 0 else "early"
            late_s = abs(one.late_frames / float(one.rate))
            late = f"{late_s * 1000:.1f} ms ({late_s * float(layout.rate):.2f} frame) {which}"
            yield f"{name}: drifts {late} by the end; not corrected."
        if one.take.song_start_s < -0.5 / float(one.rate):
            yield f"{name}: starts {-one.take.song_start_s:.2f} s early; used from the start of the song."
        frames = residual_s * float(layout.rate)
        yield f"{name}: at most {residual_s * 1000:.1f} ms ({frames:.2f} frame) off."


def clip_lines(shoot: SongView, layout: Layout) -> Iterable[str]:
    """Clips whose frames cannot be trusted, and takes that are not on the timeline, with the reason."""
    names = clip_names(shoot.clips)
    for clip in shoot.clips:
        name = plain(names[clip.id])
        if clip.takes and clip.variable_frame_rate:
            yield f"{name}: variable frame rate; positions assume its nominal rate and may be frames off."
        if clip.takes and start_frame(clip) is None:
            start = plain(clip.start_timecode or "")
            yield f"{name}: its start timecode {start} is not valid at its frame rate; counted from 0."
        if not clip.takes and not clip.elsewhere:
            yield f"{name}: not on the timeline ({verdict_word(clip.verdict)})."
    others = sum(clip.elsewhere for clip in shoot.clips)
    if others:
        yield f"{count(others, 'clip')} of other songs: not on this timeline."
    end_s = shoot.song.duration_s if shoot.song else 0.0
    for one, _ in layout.residuals:
        if one.take.song_start_s >= end_s:
            name = plain(take_name(one.clip, one.take, names[one.clip.id]))
            yield f"{name}: starts after the end of the song."
    for clip, take, why in layout.left_out:
        yield f"{plain(take_name(clip, take, names[clip.id]))}: not on the timeline, because {why}."


def media_lines(shoot: SongView) -> Iterable[str]:
    """Files that are referred to, not copied, and are missing or have changed since they were heard."""
    names = clip_names(shoot.clips)
    used = [(clip.media, names[clip.id]) for clip in shoot.clips if clip.takes]
    song = [(shoot.song.media, Path(shoot.song.media.path).name)] if shoot.song else []
    for media, name in (*song, *used):
        trouble = media_trouble(media)
        if trouble is not None:
            yield f"{plain(name)}: {trouble}."


def media_trouble(media: MediaRef) -> str | None:
    """Why a file cannot be used; None where it can."""
    try:
        size = Path(media.path).stat().st_size
    except (OSError, ValueError):
        return "the file is missing. Connect its disk, or find it again in Clips"
    if size != media.size_bytes:
        return "the file has changed since it was read. Read it again first"
    return None


def worst_sub_frame_offset_s(layout: Layout) -> float:
    """Largest sub-frame offset of any segment, without its sign; seconds."""
    return max((abs(one.sub_frame_offset_s) for one in layout.segments), default=0.0)


def _takes(tracks: Iterable[Track]) -> int:
    return len({one.take.id for track in tracks for one in track.segments})
