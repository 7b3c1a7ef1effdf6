"""The proof film."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.model.on_song import SongView

if TYPE_CHECKING:
    from app.handoff.filmed.film_plan import Film

SUFFIX = ".mp4"


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    from app.handoff.filmed import film_plan

    # Its size is known once it is written.
    yield Planned(_name(shoot), 0, film_plan.plan(shoot, _film(shoot, choices)).lines)


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    from app.handoff.filmed import film

    yield film.write(shoot, folder / _name(shoot), _film(shoot, choices), stop=stop, progress=progress)


def _is_ours(path: Path) -> bool:
    if path.suffix != SUFFIX or not path.is_file():
        return False
    from app.handoff.filmed import film

    return film.is_ours(path)


def _name(shoot: SongView) -> str:
    return f"{safe_name(shoot.name)}{SUFFIX}"


def _film(shoot: SongView, choices: Choices) -> "Film":
    from app.handoff.filmed.film_plan import MOST_RATE, Film, FilmSound, bars_s

    wish = choices.film
    from_s, to_s = (0.0, None) if wish.bars is None else bars_s(shoot, *wish.bars)
    return Film(
        angle_ids=(wish.angle_id,) if wish.angle_id else (),
        from_s=from_s,
        to_s=to_s,
        width=wish.width,
        height=wish.height,
        rate=choices.rate if choices.rate is None or choices.rate <= MOST_RATE else None,
        sound=FilmSound.EARS if wish.angle_id else FilmSound.SONG,
    )


FORMAT = Format(
    word="film",
    help="proof film",
    group=Group.MEDIA,
    label="Proof f&ilm",
    needs="You want something to show the band",
    gives="All angles in one picture, in sync with the song.",
    reads_clips=True,
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
