"""What a recording is of each song, from what each reference gave by itself."""

from collections.abc import Callable, Mapping, Sequence

from audio.placement.align import Hearing
from audio.placement.answer import Placement
from audio.placement.verdicts import clip_answer
from audio.references.composite import Composite
from audio.references.contests import Court, clusters, decided, without_chance
from audio.references.one_song import one_song
from audio.references.reference import Reference, Told, told
from audio.references.witnesses import Witness, heeded


def settled(
    hearing: Callable[[], Hearing],
    placements: Mapping[str, Placement],
    references: Sequence[Reference],
    composite_of: Callable[[tuple[str, ...]], Composite],
    stop: Callable[[], bool],
    witnesses: Callable[[], Sequence[Witness]] = tuple,
) -> dict[str, Placement]:
    """The answer on a recording for each song, by the songs' keys. Raises Stopped.

    Takes found on playback files are told in song time, and a stretch that several songs claim goes to the
    one that it is, or is in doubt for all of them.

    Parameters
    ----------
    hearing : callable
        Gives the recording; asked only where songs claim one stretch.
    placements : mapping
        By reference, each as it is by itself.
    witnesses : callable
        Gives what pictures tell of which song runs; asked only where songs claim one stretch.
    """
    by_key = {one.key: one for one in references}
    names = {one.key: one.name for one in references if one.is_song}
    all_ = [
        one
        for reference in references
        for take in placements[reference.key].takes
        for one in told(take, reference, names)
        if one.song in names
    ]
    all_ = without_chance(all_)
    each: list[Told] = []
    for song in names:
        each += one_song([one for one in all_ if one.song == song], by_key)
    by_sound = decided(each, Court(hearing, by_key, names, composite_of, stop))
    contested = any(len({one.song for one in cluster}) > 1 for cluster in clusters(each))
    each = heeded(by_sound, each, witnesses(), names) if contested else by_sound
    return {song: _answer([one for one in each if one.song == song], placements, song) for song in names}


def _answer(takes: Sequence[Told], placements: Mapping[str, Placement], song: str) -> Placement:
    if not takes:
        return clip_answer((), placements[song].channel)
    longest = max(takes, key=lambda one: one.fit.clip_length_s)
    return clip_answer([one.fit for one in takes], placements[longest.reference].channel)
