"""What the commands and the window ask of the engine: files and values in, frozen values out.

The signal libraries are loaded by what needs them: when every answer is known from an earlier run, nothing
does.
"""

import os
from collections.abc import Callable, Collection, Sequence
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from app.kept import Kept
from app.model.cache import Cache, user_cache
from app.model.identity import media_ref
from app.model.shoot import Clip, Section, Song, SongMap
from audio.companions import is_companion
from audio.errors import BadSignal, Stopped, Unreadable

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from app.looking import Looked

MAP_RATE = 22050
"""Samples a second at which the song is mapped."""


def find_clips(paths: Sequence[Path], *, leave_out: Collection[Path] = ()) -> list[Path]:
    """List the clips among files and in folders and all below them, in the order of their names.

    Files named themselves are taken whatever they are; in folders, hidden companions and files that are no
    media are passed over. Paths come back absolute, each once; ``leave_out`` (the song, known clips) not
    at all.

    Raises
    ------
    Unreadable
        A path is not there, or a folder cannot be read.
    """
    out: dict[Path, None] = {}
    skip = {_absolute(path) for path in leave_out}
    for path in paths:
        if path.is_dir():
            found = sorted(_media_in(path))
        elif os.path.lexists(path):
            found = [path]
        else:
            raise Unreadable(f"{path} is not there. Check the name, or whether the disk is connected.")
        out.update(dict.fromkeys(_absolute(one) for one in found))
    return [path for path in out if path not in skip]


def never() -> bool:
    """Tell that nobody wants to stop."""
    return False


def song_from_file(
    path: Path,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = lambda fraction: None,
    fresh: bool = False,
) -> Song:
    """Read a song and map it: tempo, beats, bars, sections.

    A song that did not change since an earlier run is not read again, unless ``fresh`` says so; see
    `app.kept`.

    Raises
    ------
    AudioError
        Unreadable, NoSound, BadSignal (silence) or Stopped; the text is a sentence.
    """
    path = _absolute(path)
    kept = _kept(path)
    known = None if fresh else kept.song()
    if known is not None:
        progress(1.0)
        return known
    from audio.beats import find_beats
    from audio.media import read_song
    from audio.sections import find_sections

    samples = read_song(path, MAP_RATE, stop=stop, progress=lambda f: progress(0.1 * f))
    beats = find_beats(samples, MAP_RATE, stop=stop, progress=lambda f: progress(0.1 + 0.6 * f))
    spans = find_sections(samples, MAP_RATE, beats, stop=stop, progress=lambda f: progress(0.7 + 0.3 * f))
    song_map = SongMap(
        tempo_bpm=beats.tempo_bpm,
        beats_s=tuple(float(time) for time in beats.beats_s),
        bars_s=tuple(float(time) for time in beats.bars_s),
        sections=tuple(Section(span.letter, span.name, span.start_s, span.end_s) for span in spans),
    )
    song = Song(media_ref(path), len(samples) / MAP_RATE, song_map)
    kept.keep_song(song)
    kept.tidy()
    return song


def place_clips(
    song: Song,
    paths: Sequence[Path],
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[Path, float], None] = lambda path, fraction: None,
    answered: Callable[[Clip], None],
    workers: int | None = None,
    fresh: bool = False,
) -> None:
    """Place clips on a song; ``answered`` gets each clip as it is done, on the calling thread.

    Files that continue one another are placed as the one recording they are. Trouble with a file is that
    clip's verdict and reason; it never stops the others. Recordings that did not change since they were
    placed on this song are not heard again, unless ``fresh`` says so; see `app.kept`.

    Raises
    ------
    AudioError
        The song itself cannot be read, or Stopped.
    """
    kept = _kept(Path(song.media.path))
    paths = list(dict.fromkeys(map(_absolute, paths)))
    looked: dict[Path, Looked] = {}

    def look_at(path: Path) -> "Looked":
        from app.looking import look

        if path not in looked:
            if stop():
                raise Stopped("Stopped.")
            looked[path] = look(path)
            progress(path, 0.0)
        return looked[path]

    left: list[list[Path]] = []
    for recording in _recordings(kept, paths, look_at, fresh=fresh):
        clips = None if fresh else kept.clips(recording)
        if clips is None:
            left.append(recording)
        for clip in clips or ():
            answered(clip)
    groups = [[look_at(path) for path in recording] for recording in left]
    _hear(song, groups, kept, stop=stop, progress=progress, answered=answered, workers=workers)


def _recordings(
    kept: Kept, paths: Sequence[Path], look_at: Callable[[Path], "Looked"], *, fresh: bool
) -> list[list[Path]]:
    """Sort files into recordings; each that cannot be read stands by itself."""
    known = None if fresh else kept.recordings(paths)
    if known is not None:
        sorted_in = {path for recording in known for path in recording}
        others = [path for path in paths if path not in sorted_in]
        # What could not be read before may be readable now, and belong to a recording.
        if all(look_at(path).info is None for path in others):
            return known + [[path] for path in others]
    from audio.recordings import continues

    infos = [info for path in paths if (info := look_at(path).info) is not None]
    recordings = [[infos[number].path for number in group] for group in continues(infos)]
    kept.keep_recordings(paths, recordings)
    return recordings + [[path] for path in paths if look_at(path).info is None]


def _hear(
    song: Song,
    groups: Sequence[Sequence["Looked"]],
    kept: Kept,
    *,
    stop: Callable[[], bool],
    progress: Callable[[Path, float], None],
    answered: Callable[[Clip], None],
    workers: int | None,
) -> None:
    """Hear recordings that are not known yet, and keep what was heard."""
    hopeless = [file for group in groups for file in group if len(group) == 1 and file.info is None]
    for file in hopeless:
        from app.looking import told

        answered(told(file))
    groups = [group for group in groups if group[0] not in hopeless]
    if not groups:
        return
    from app.hearing import RATE
    from app.workers import hear_all
    from audio.media import read_song

    samples = read_song(Path(song.media.path), RATE, stop=stop)
    if not samples.any():
        raise BadSignal("The song is silent: choose another file.")

    def heard(clips: list[Clip]) -> None:
        kept.keep_clips([Path(clip.media.path) for clip in clips], clips)
        for clip in clips:
            answered(clip)

    try:
        hear_all(samples, RATE, groups, workers=workers, stop=stop, progress=progress, answered=heard)
    finally:
        kept.tidy()


def picture(path: Path, clip_s: float, height: int) -> "NDArray[np.uint8]":
    """The picture a clip shows at a moment: RGB, shape (height, width, 3). Raises Unreadable."""
    from audio.pictures import picture_at

    return picture_at(path, clip_s, height)


def song_peaks(path: Path, count: int) -> "NDArray[np.float32]":
    """Lowest and highest value of ``count`` equal stretches of the song, shape (count, 2). Raises
    AudioError."""
    import numpy as np

    from app.hearing import RATE
    from audio.media import read_song

    samples = read_song(path, RATE)
    edges = np.linspace(0, len(samples), count + 1).astype(int)
    peaks = np.zeros((count, 2), np.float32)
    for number, (low, high) in enumerate(pairwise(edges)):
        if high > low:
            peaks[number] = samples[low:high].min(), samples[low:high].max()
    return peaks


def _kept(song: Path) -> Kept:
    return Kept(song, Cache(user_cache() / "answers"))


def _media_in(folder: Path) -> list[Path]:
    def refuse(error: OSError) -> None:
        raise Unreadable(f"The folder {error.filename} cannot be read: {error.strerror}.")

    found = []
    for base, folders, files in os.walk(folder, onerror=refuse):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        found += [Path(base, name) for name in files if not is_companion(Path(base, name))]
    return found


def _absolute(path: Path) -> Path:
    return Path(os.path.abspath(path))  # noqa: PTH100  (links are not followed)
