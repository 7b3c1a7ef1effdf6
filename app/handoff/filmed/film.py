"""The proof film: one MP4 with all angles tiled in step with the song, or one angle with its sound beside it.

For the band, and for the maker's last look before the edit. It is written to a neighbour, read back and held
against what was wanted, and swapped in. A tile is drawn from a clip's proxy where there is one and it has
enough lines, for that is quicker; otherwise from the clip itself.
"""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from app.engine.watching import Proxies
from app.handoff.filmed.film_plan import Film, FilmPlan, FilmSound, bars_s, plan
from app.handoff.filmed.film_sound import FilmSounds
from app.handoff.filmed.film_takes import Seen
from app.handoff.outcome import HandoffError, HandoffReport, plain
from app.model.coverage.coverage import bar_spans, song_sections
from app.model.document.shoot import Song, SongView
from app.model.storage.files import make_whole
from app.model.timebase import rate_words

if TYPE_CHECKING:
    from audio.filming.proof_film import ProofFilm
    from audio.filming.tiles import Showing

__all__ = ["SUFFIX", "Film", "FilmPlan", "FilmSound", "bars_s", "is_ours", "plan", "write"]

SUFFIX = ".mp4"


def write(
    shoot: SongView,
    path: Path,
    film: Film,
    *,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> HandoffReport:
    """Make the film, read it back and compare. Raises HandoffError, and Stopped where ``stop()`` said so."""
    from audio.errors import AudioError, Stopped
    from audio.filming.film_check import check_film
    from audio.filming.proof_film import make_proof_film

    planned = plan(shoot, film)
    song = shoot.song
    assert song is not None
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
        make_whole(path, make)
    except Stopped:
        raise
    except AudioError as error:
        raise HandoffError(f"{path.name} could not be made: {error}") from error
    except OSError as error:
        why = error.strerror or error
        raise HandoffError(f"{path.name} could not be written: {why}. Choose another folder.") from error
    half_s = float(1 / (2 * planned.rate))
    lines = [
        *planned.lines,
        f"Read back: {planned.frames} frames at {rate_words(planned.rate)} per second, sound in step.",
        f"A picture is up to half a frame of the film ({half_s * 1000:.0f} ms) early or late.",
        *(f"{plain(name)}: {why}" for name, why in sorted(troubles.items())),
    ]
    return HandoffReport(path, tuple(lines), planned.takes, half_s)


def is_ours(path: Path) -> bool:
    """Tell whether a file is a proof film of an earlier hand-off, which may be replaced."""
    from audio.filming.film_check import is_proof_film

    return is_proof_film(path)


def to_engine(song: Song, planned: FilmPlan, proxies: Proxies, name: str = "") -> "ProofFilm":
    """The film as the engine takes it."""
    from audio.filming.film_foot import Stretch
    from audio.filming.proof_film import ProofFilm
    from audio.filming.tiles import TilePlan, grid

    box = grid(len(planned.rows), planned.width, planned.height)[0]
    return ProofFilm(
        tuple(
            TilePlan(
                plain(row.angle.name),
                tuple(_showing(seen, proxies, box.width, box.height) for seen in row.seen),
            )
            for row in planned.rows
        ),
        tuple(Stretch(one.start_s, one.end_s, one.name, one.letter) for one in song_sections(song)),
        tuple(Stretch(bar.start_s, bar.end_s, f"bar {bar.number}") for bar in bar_spans(song))
        if song.map.bars_s
        else (),
        planned.from_s,
        planned.frames,
        planned.rate,
        planned.width,
        planned.height,
        plain(name),
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
        seen.start_s,
        seen.end_s,
        path,
        seen.name,
        seen.take.clip_time(seen.start_s),
        seen.take.speed,
    )
