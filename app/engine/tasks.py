"""What the commands and the window ask of the engine: files and values in, frozen values out.

The signal libraries are loaded by what needs them: when every answer is known from an earlier run, nothing
does.
"""

import os
from collections.abc import Callable, Sequence
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from app.engine.answer_cache import Kept
from app.engine.checking import proofs, settle, song_loudness
from app.engine.finding_clips import find_clips
from app.engine.finding_pieces import known_pieces, master_pieces, playback_from_file, playback_pieces
from app.engine.in_subprocess import run_in_subprocess
from app.engine.kit_making import make_files
from app.engine.placing import Placing
from app.engine.self_check import about_this_computer
from app.model.answers import Answer
from app.model.document.identity import media_ref
from app.model.document.looks import Match
from app.model.document.playback_file import PlaybackFile
from app.model.document.song import Song, SongMap
from app.model.on_song import SongView
from app.model.seen import Seen
from app.model.storage import cache_space
from app.model.storage.cache import Cache, user_cache
from app.model.wrong_song import Shared
from audio.errors import AudioError, Stopped
from audio.rate import ENGINE_RATE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from app.engine.side_by_side import SideBySide

__all__ = [
    "about_this_computer",
    "cache_trouble",
    "find_clips",
    "known_pieces",
    "look_at_clips",
    "make_files",
    "map_again",
    "master_pieces",
    "match_takes",
    "never",
    "pictures",
    "place_clips",
    "playback_from_file",
    "playback_pieces",
    "proofs",
    "settle",
    "shared_sound",
    "side_by_side",
    "song_from_file",
    "song_loudness",
    "song_peaks",
    "tagged_transfer",
    "transfer_functions",
    "trouble",
]

MAP_RATE = 22050
"""Samples a second at which the song is mapped."""


def trouble(path: Path) -> str:
    """Why a file cannot be opened as a clip, in a sentence; empty where it can."""
    from app.engine.probing import look

    return look(path).trouble


def never() -> bool:
    """Tell that nobody wants to stop."""
    return False


def song_from_file(
    path: Path,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = lambda fraction: None,
    use_cache: bool = True,
    in_subprocess: bool = False,
) -> Song:
    """Read a song and map it: tempo, beats, bars, sections.

    A song that did not change since an earlier run is not read again as long as ``use_cache`` allows it; see
    `app.engine.answer_cache`. ``in_subprocess`` reads it in a process of its own, so that no window is held
    up.

    Raises
    ------
    AudioError
        Unreadable, NoSound, BadSignal (silence) or Stopped; the text is a sentence.
    """
    path = _absolute(path)
    kept = _kept(path)
    known = kept.song() if use_cache else None
    if known is not None:
        progress(1.0)
        return known
    if in_subprocess:
        work = partial(song_from_file, path, use_cache=use_cache)
        return run_in_subprocess(work, stop=stop, progress=progress)
    from app.engine.mapping import whole_map
    from audio.files.media import read_song

    samples = read_song(path, MAP_RATE, stop=stop, progress=lambda f: progress(0.1 * f))
    song_map = whole_map(samples, MAP_RATE, stop=stop, progress=lambda f: progress(0.1 + 0.9 * f))
    song = Song(media_ref(path), len(samples) / MAP_RATE, song_map)
    kept.keep_song(song)
    kept.tidy()
    return song


def map_again(
    song: Song,
    from_s: float,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = lambda fraction: None,
    in_subprocess: bool = False,
) -> SongMap:
    """Look at a song again from a moment on; what a person fixed in its map is told to the engine.

    The answer is what was found from there on: `app.model.song_map.map_again.with_rest` joins it to the map.
    ``in_subprocess`` as in `song_from_file`. Raises AudioError.
    """
    if in_subprocess:
        return run_in_subprocess(partial(map_again, song, from_s), stop=stop, progress=progress)
    from app.engine.mapping import map_from
    from audio.files.media import read_song

    path = Path(song.media.path)
    samples = read_song(path, MAP_RATE, stop=stop, progress=lambda f: progress(0.1 * f))
    return map_from(
        samples, MAP_RATE, song.map, from_s, stop=stop, progress=lambda f: progress(0.1 + 0.9 * f)
    )


def place_clips(
    songs: Sequence[Song],
    paths: Sequence[Path],
    *,
    playbacks: Sequence[PlaybackFile] = (),
    beside: Sequence[Answer] = (),
    stop: Callable[[], bool] = never,
    progress: Callable[[Path, float], None] = lambda path, fraction: None,
    comparing: Callable[[int, int], None] = lambda done, whole: None,
    answered: Callable[[Answer], None],
    workers: int | None = None,
    use_cache: bool = True,
) -> None:
    """Place clips on songs; ``answered`` gets, for each song, the answer on each clip as it is done, on the
    calling thread.

    A clip is held against all songs and all playback files; what is found on one of these is told in song
    time. Where several songs claim a stretch, they are weighed against each other (`audio.references`). With
    one song and no playback file, that is all that is heard.

    Files that continue one another are placed as the one recording they are. Trouble with a file is that
    clip's verdict and reason; it never stops the others. Recordings that did not change since they were
    placed on a song are not held against it again as long as ``use_cache`` allows it; see
    `app.engine.answer_cache`.

    When all are heard they are compared (see `audio.shoot.consistency`), and ``answered`` gets those whose
    answers change once more. Clips ``beside`` those to be placed, of the same shoot and placed before, are
    compared with them as far as they are known from then; ``answered`` gets those whose answers are not what
    they were. ``comparing`` is told how many questions there are for which clips must be heard again, and how
    many of them are answered.

    Raises
    ------
    AudioError
        A song or playback file cannot be read, or Stopped; what was answered before then holds.
    """
    paths = list(dict.fromkeys(map(_absolute, paths)))
    before = [answer for answer in beside if Path(answer.media.path) not in paths]
    placing = Placing(
        songs=songs,
        playbacks=playbacks,
        store=_store(),
        stop=stop,
        progress=progress,
        comparing=comparing,
        answered=answered,
        workers=workers,
        use_cache=use_cache,
    )
    placing.place(paths, before)


def look_at_clips(
    shoot: SongView,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[Path, float], None] = lambda path, fraction: None,
    answered: Callable[[Seen], None],
    workers: int | None = None,
    use_cache: bool = True,
) -> None:
    """Look at the pictures of all clips of a shoot; `answered` gets what came of it, on the calling thread.

    Processes that give way to others look at a few pictures a second (see `audio.pictures.sampling`). When
    all are done, clips are compared: with those of their angle for faults, with all for set-ups. Then each
    is answered once. Trouble with a file is its answer; it never stops the others. Clips that did not change
    since are not looked at again as long as ``use_cache`` allows it. Clips without pictures are left out.

    Raises
    ------
    Stopped
        Nothing was answered; what was looked at is kept.
    """
    from app.engine.looking import look_at

    look_at(shoot, stop=stop, progress=progress, answered=answered, workers=workers, use_cache=use_cache)


def match_takes(
    shoot: SongView,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[Path, float], None] = lambda path, fraction: None,
    troubled: Callable[[Path, str], None] = lambda path, sentence: None,
    workers: int | None = None,
    use_cache: bool = True,
) -> tuple[Match, ...]:
    """How all takes compare with the shoot's reference take, in the order of the shoot; none without one.

    Processes that give way to others look at both in the same bars of the song. Slope and offset are found;
    power and saturation only for takes that are set so. ``troubled`` gets a sentence on a file that
    cannot be looked at; it never stops the others. What did not change since is not read again as long as
    ``use_cache`` allows it. Raises Stopped.
    """
    from app.engine.matching import match_takes as compared

    return compared(
        shoot,
        stop=stop,
        progress=progress,
        troubled=troubled,
        workers=workers,
        use_cache=use_cache,
    )


def side_by_side(
    reference: tuple[Path, float], take: tuple[Path, float] | None, match: Match | None, height: int
) -> "SideBySide":
    """The reference and a take beside each other, so many lines high, the take before and after its match.

    Both are told by file and moment in it (s); no take where only the reference is wanted. Raises Unreadable.
    """
    from app.engine.side_by_side import Moment
    from app.engine.side_by_side import side_by_side as read

    return read(Moment(*reference), None if take is None else Moment(*take), match, height)


def transfer_functions() -> tuple[tuple[str, str], ...]:
    """The transfer functions that are known, the usual ones first: the word of each, and its name."""
    from audio.pictures.transfer import TRANSFERS

    return tuple((one.name, one.title) for one in TRANSFERS)


def tagged_transfer(path: Path) -> str:
    """The word of the transfer function that a clip's tags tell; empty where none. Raises Unreadable."""
    from audio.files.colour_tags import colour_tags
    from audio.pictures.transfer import of_code

    function = of_code(colour_tags(path).transfer)
    return "" if function is None else function.name


def shared_sound(
    paths: Sequence[Path],
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = lambda fraction: None,
    in_subprocess: bool = False,
) -> Shared | None:
    """What clips without the song share among themselves; None where that cannot be told.

    ``in_subprocess`` as in `song_from_file`. Raises Stopped.
    """
    try:
        if in_subprocess:
            return run_in_subprocess(partial(shared_sound, paths), stop=stop, progress=progress)
        from app.engine.sharing import shared_sound as compared

        return compared(paths, stop=stop, progress=progress)
    except Stopped:
        raise
    except AudioError:
        return None


def pictures(path: Path, times: Sequence[float], height: int) -> "list[NDArray[np.uint8]]":
    """The pictures a clip shows at moments (seconds in the clip), each RGB, shape (height, width, 3).

    The file is opened once; rising times are met in one run. Raises Unreadable.
    """
    from audio.files.frame_images import pictures_at

    return pictures_at(path, times, height)


def song_peaks(path: Path, count: int) -> "NDArray[np.float32]":
    """Lowest and highest value of ``count`` equal stretches of the song, shape (count, 2). Raises
    AudioError."""
    import numpy as np

    from audio.files.media import read_song

    samples = read_song(path, ENGINE_RATE)
    edges = np.linspace(0, len(samples), count + 1).astype(int)
    peaks = np.zeros((count, 2), np.float32)
    for number, (low, high) in enumerate(pairwise(edges)):
        if high > low:
            peaks[number] = samples[low:high].min(), samples[low:high].max()
    return peaks


def cache_trouble() -> str:
    """Why nothing that is found out can be kept for the next run, in a sentence; empty where it can."""
    return cache_space.trouble(user_cache())


def _kept(song: Path) -> Kept:
    return Kept(song, _store())


def _store() -> Cache:
    return Cache(user_cache() / "answers")


def _absolute(path: Path) -> Path:
    return Path(os.path.abspath(path))  # noqa: PTH100  (links are not followed)
