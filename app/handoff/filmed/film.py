"""The proof film: one MP4 with all angles as tiles in sync with the song, or one angle beside its own sound.

It is for the band, and for a last look before the edit. It is written to a temporary file beside its place,
read back, compared with the plan and swapped in. A tile shows a clip's proxy where there is one with enough
lines, because that is quicker; otherwise the clip itself.
"""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from app.engine.watching import Proxies
from app.handoff.filmed.film_plan import Film, FilmPlan, FilmSound, bars_s, plan
from app.handoff.filmed.film_sound import FilmSounds
from app.handoff.filmed.film_takes import Seen
from app.handoff.outcome import HandoffError, HandoffReport, HandoffStopped, Progress, Stop, plain
from app.handoff.sources import source_trouble
from app.model.document.song import Song
from app.model.guarding import guard_of
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans, song_sections
from app.model.storage.files import make_whole
from app.model.timebase import rate_words

if TYPE_CHECKING:
    from audio.filming.proof_film import ProofFilm
    from audio.filming.tiles import Showing

__all__ = ["Film", "FilmPlan", "FilmSound", "bars_s", "is_ours", "plan", "write"]


def write(
    shoot: SongView,
    path: Path,
    film: Film,
    *,
    stop: Stop,
    progress: Progress,
) -> HandoffReport:
    """Make the film, read it back and compare. Raises HandoffError, HandoffStopped."""
    from audio.errors import AudioError, Stopped
    from audio.filming.film_check import check_film
    from audio.filming.proof_film import make_proof_film

    planned = _only_heard(plan(shoot, film), path.name)
    song = shoot.song
    assert song is not None
    trouble = source_trouble(song.media)
    if trouble is not None:
        raise HandoffError(f"{path.name} could not be made. The song: {trouble}.")
    heard = planned.rows[0].seen if planned.sound is FilmSound.EARS else ()
    troubles: dict[str, str] = {}

    def make(neighbour: Path) -> None:
        sounds = FilmSounds(song, heard, planned.from_s, stop=stop)
        wanted = to_engine(song, planned, Proxies(), shoot.name)
        troubles.update(make_proof_film(neighbour, wanted, sounds, stop=stop, progress=progress))
        troubles.update(sounds.troubles)
        wrong = check_film(neighbour, wanted, *sounds.loudest(planned.seconds))
        if wrong:
            raise HandoffError(f"{path.name} does not read back: {wrong}. It was not written.")

    try:
        make_whole(path, make, guard_of(shoot))
    except Stopped as error:
        raise HandoffStopped("The film was stopped; nothing half-written is left.") from error
    except AudioError as error:
        raise HandoffError(f"{path.name} could not be made: {error}") from error
    except OSError as error:
        why = error.strerror or error
        raise HandoffError(f"{path.name} could not be written: {why}. Choose another folder.") from error
    half_s = float(1 / (2 * planned.rate))
    lines = [
        *planned.lines,
        f"Read back: {planned.frames} frames at {rate_words(planned.rate)} fps, sound in sync.",
        f"Pictures are up to half a film frame ({half_s * 1000:.0f} ms) early or late.",
        *(f"{plain(name)}: {why}" for name, why in sorted(troubles.items())),
    ]
    return HandoffReport(path=path, lines=tuple(lines), takes=planned.takes, worst_sub_frame_offset_s=half_s)


def _only_heard(planned: FilmPlan, name: str) -> FilmPlan:
    """The plan without files that are not what was heard; of one that is gone its tile tells."""
    seen = {one.clip.media for row in planned.rows for one in row.seen}
    troubles = {media: source_trouble(media) for media in seen if Path(media.path).is_file()}
    bad = {media: why for media, why in troubles.items() if why is not None}
    rows = tuple(
        replace(row, seen=tuple(one for one in row.seen if one.clip.media not in bad)) for row in planned.rows
    )
    if bad and not any(row.seen for row in rows):
        raise HandoffError(f"{name} could not be made. Every clip: {next(iter(bad.values()))}.")
    lines = [f"{plain(Path(media.path).name)}: not shown, because {why}." for media, why in bad.items()]
    return replace(planned, rows=rows, lines=(*planned.lines, *sorted(lines)))


def is_ours(path: Path) -> bool:
    """Whether a file is a proof film of an earlier hand-off, which may be replaced."""
    from audio.filming.film_check import is_proof_film

    return is_proof_film(path)


def to_engine(song: Song, planned: FilmPlan, proxies: Proxies, name: str = "") -> "ProofFilm":
    """The film as the engine takes it."""
    from audio.filming.film_foot import Stretch
    from audio.filming.proof_film import ProofFilm
    from audio.filming.tiles import TilePlan, grid

    box = grid(len(planned.rows), planned.width, planned.height)[0]
    return ProofFilm(
        angles=tuple(
            TilePlan(
                plain(row.angle.name),
                tuple(_showing(seen, proxies, box.width, box.height) for seen in row.seen),
            )
            for row in planned.rows
        ),
        sections=tuple(
            Stretch(start_s=one.start_s, end_s=one.end_s, words=one.name, letter=one.letter)
            for one in song_sections(song)
        ),
        bars=tuple(
            Stretch(start_s=bar.start_s, end_s=bar.end_s, words=f"bar {bar.number}")
            for bar in bar_spans(song)
        )
        if song.map.bars_s
        else (),
        from_s=planned.from_s,
        frames=planned.frames,
        rate=planned.rate,
        width=planned.width,
        height=planned.height,
        title=plain(name),
    )


def _showing(seen: Seen, proxies: Proxies, width: int, height: int) -> "Showing":
    """A take in a tile of at most so many pixels."""
    from audio.files.proxies import LINES
    from audio.filming.tiles import Showing

    clip, path = seen.clip, None
    if clip.frame_rate is not None:
        sides = max(1, clip.width), max(1, clip.height)
        lines = min(sides) * min(width / sides[0], height / sides[1])
        found = proxies.find(clip.media) if lines <= LINES else None
        path = found or Path(clip.media.path)
    return Showing(
        song_start_s=seen.start_s,
        song_end_s=seen.end_s,
        path=path,
        name=seen.name,
        clip_start_s=seen.take.clip_time(seen.start_s),
        speed=seen.take.speed,
    )
