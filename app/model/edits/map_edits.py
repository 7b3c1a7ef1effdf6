"""Edits of the song's map; see `app.model.document.change` for what all edits share.

They change the map and nothing else: no placement moves with it.
"""

from collections.abc import Sequence
from dataclasses import replace

from app.model.document.change import Change
from app.model.document.shoot import Shoot
from app.model.document.song import Song, SongMap
from app.model.edits.shoot_edits import set_map
from app.model.song_map import map_beats, map_sections, single_beats
from app.model.song_map.bar_spans import song_sections
from app.model.song_map.map_again import with_rest
from app.model.song_map.map_reach import beyond, reaching
from app.model.song_map.map_sections import Snap

Edited = tuple[Shoot, Change]
NO_SONG = "There is no song yet. Choose it first (Ctrl+Shift+O)."


def downbeat_here(shoot: Shoot, song_s: float, *, onward: bool = False, in_time: bool = False) -> Edited:
    """The beat nearest to a moment begins its bar; see `map_beats.downbeat_here`.

    Before the first beat and past the last, beats are laid as far as the moment (``in_time``: see
    `map_reach.reaching`). Past the last, the bar lines that were found stay.
    """
    song_map = _map(shoot)
    reached = reaching(song_map, song_s, _song(shoot).duration_s, in_time=in_time)
    onward = onward or beyond(song_map, song_s) > 0
    return set_map(shoot, map_beats.downbeat_here(reached, song_s, onward=onward))


def bar_one_here(shoot: Shoot, song_s: float, *, in_time: bool = False) -> Edited:
    """The beat nearest to a moment begins bar 1; beats are laid to it where it is before the first beat."""
    reached = reaching(_map(shoot), song_s, _song(shoot).duration_s, in_time=in_time)
    return set_map(shoot, map_beats.bar_one_here(reached, song_s))


def add_beat(shoot: Shoot, song_s: float) -> Edited:
    """Another beat at a moment."""
    return set_map(shoot, single_beats.beat_added(_map(shoot), song_s, _song(shoot).duration_s))


def move_beat(shoot: Shoot, from_s: float, to_s: float) -> Edited:
    """The beat nearest to a moment lies elsewhere."""
    return set_map(shoot, single_beats.beat_moved(_map(shoot), from_s, to_s, _song(shoot).duration_s))


def remove_beat(shoot: Shoot, song_s: float) -> Edited:
    """The beat nearest to a moment is none."""
    return set_map(shoot, single_beats.beat_removed(_map(shoot), song_s))


def set_metre(shoot: Shoot, song_s: float, beats: int) -> Edited:
    """So many beats to a bar from the bar a moment lies in."""
    return set_map(shoot, map_beats.metre_from_here(_map(shoot), song_s, beats))


def half_tempo(shoot: Shoot, from_s: float | None = None) -> Edited:
    """Half the tempo, from the bar a moment lies in or all along."""
    return set_map(shoot, map_beats.half_tempo(_map(shoot), from_s))


def double_tempo(shoot: Shoot, from_s: float | None = None) -> Edited:
    """Twice the tempo, from the bar a moment lies in or all along."""
    return set_map(shoot, map_beats.double_tempo(_map(shoot), from_s))


def nudge(shoot: Shoot, by_s: float) -> Edited:
    """All beats that much later."""
    return set_map(shoot, map_beats.nudged(_map(shoot), by_s))


def half_a_beat_on(shoot: Shoot) -> Edited:
    """All beats half a beat later."""
    return set_map(shoot, map_beats.half_a_beat_on(_map(shoot)))


def tap(shoot: Shoot, taps_s: Sequence[float]) -> Edited:
    """Beats as they were tapped."""
    return set_map(shoot, map_beats.tapped(_map(shoot), taps_s, _song(shoot).duration_s))


def move_edge(shoot: Shoot, index: int, song_s: float, snap: Snap = Snap.FREE) -> Edited:
    """A section begins at the bar line or beat nearest to a moment, or just there."""
    song_map = _map(shoot)
    return set_map(
        shoot, map_sections.edge_moved(song_map, index, map_sections.snapped(song_map, song_s, snap))
    )


def step_edge(shoot: Shoot, index: int, snap: Snap, by: int) -> Edited:
    """A section begins a bar or a beat later or earlier."""
    song_map = _map(shoot)
    start_s = song_map.sections[index].start_s if index < len(song_map.sections) else 0.0
    return set_map(
        shoot, map_sections.edge_moved(song_map, index, map_sections.stepped(song_map, start_s, snap, by))
    )


def split(shoot: Shoot, song_s: float, snap: Snap = Snap.FREE) -> Edited:
    """Another section begins at the bar line or beat nearest to a moment, or just there."""
    song_map = _map(shoot)
    return set_map(shoot, map_sections.split(song_map, map_sections.snapped(song_map, song_s, snap)))


def join(shoot: Shoot, index: int) -> Edited:
    """A section and the one before it are one."""
    return set_map(shoot, map_sections.joined(_map(shoot), index))


def rename(shoot: Shoot, index: int, name: str) -> Edited:
    """Name a section."""
    return set_map(shoot, map_sections.renamed(_map(shoot), index, name))


def set_letter(shoot: Shoot, index: int, letter: str) -> Edited:
    """Give a section another letter."""
    return set_map(shoot, map_sections.lettered(_map(shoot), index, letter))


def letter_again(shoot: Shoot) -> Edited:
    """Letter all sections in the order of the song."""
    return set_map(shoot, map_sections.lettered_again(_map(shoot)))


def take_rest(shoot: Shoot, found: SongMap, from_s: float) -> Edited:
    """Take over a new look at the song from a moment on; what a person fixed stays."""
    return set_map(shoot, with_rest(_map(shoot), found, from_s))


def _song(shoot: Shoot) -> Song:
    song = shoot.song()
    if song is None:
        raise ValueError(NO_SONG)
    return song


def _map(shoot: Shoot) -> SongMap:
    """The song's map, with one section at least."""
    song = _song(shoot)
    return replace(song.map, sections=song_sections(song))
