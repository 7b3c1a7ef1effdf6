"""A shoot with several songs: through which of them each clip runs, and what came of it on all together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from app.model.all_songs import on_all_songs
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, on_song
from app.model.song_names import song_names


@dataclass(frozen=True, slots=True)
class Standing:
    """A clip on one of the songs that run through it."""

    song: Song
    called: str
    """What the song is called beside the others."""
    clip: Clip


def views_of(shoot: Shoot) -> tuple[SongView, ...]:
    """The shoot as it stands on each song, in the order of its songs; on none where it has none."""
    views = tuple(on_song(shoot, song.id) for song in shoot.songs) or (on_song(shoot),)
    if len(views) < 2:
        return views
    have = {clip.id for view in views for clip in view.clips if clip.takes}
    return tuple(
        replace(
            view,
            clips=tuple(
                replace(clip, elsewhere=True) if clip.id in have and not clip.takes else clip
                for clip in view.clips
            ),
        )
        for view in views
    )


def standings(views: Sequence[SongView]) -> Mapping[str, tuple[Standing, ...]]:
    """For each clip by its id the songs that run through it, in the order of the clip."""
    found: dict[str, list[Standing]] = {}
    names = song_names([view.song for view in views if view.song is not None])
    for view in views:
        for clip in view.clips:
            if clip.takes and view.song is not None:
                found.setdefault(clip.id, []).append(Standing(view.song, names[view.song.id], clip))
    return {
        clip_id: tuple(sorted(several, key=lambda one: one.clip.takes[0].clip_start_s))
        for clip_id, several in found.items()
    }


def song_of_take(views: Sequence[SongView], take_id: str) -> Song | None:
    """The song that a take lies on; None where there is no such take."""
    for view in views:
        if any(take.id == take_id for clip in view.clips for take in clip.takes):
            return view.song
    return None


def everywhere(views: Sequence[SongView], here: SongView) -> SongView:
    """The view of the song in hand, but each clip as it stands on its own song, with one verdict over all.

    A clip's own song is the one in hand if that runs through it, else the one with most takes. A clip waits
    as long as any song was not compared.
    """
    if len(views) < 2:
        return here
    on = standings(views)
    waiting = {clip.id for view in views for clip in view.clips if clip.verdict is Verdict.WAITING}
    return replace(here, clips=tuple(_own(clip, on.get(clip.id, ()), waiting) for clip in here.clips))


def _own(clip: Clip, songs: Sequence[Standing], waiting: set[str]) -> Clip:
    if not songs:
        return replace(clip, verdict=Verdict.WAITING) if clip.id in waiting else clip
    own = clip if clip.takes else max(songs, key=lambda one: len(one.clip.takes)).clip
    if clip.id in waiting:
        return replace(own, verdict=Verdict.WAITING)
    verdict, reason = on_all_songs([one.clip for one in songs])
    return replace(own, verdict=verdict, reason=reason)
