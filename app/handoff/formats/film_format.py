"""The proof film."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from app.handoff.choices import Choices
from app.handoff.format import Format, Group
from app.handoff.formats import sequence_names
from app.handoff.layout import song_frames, timeline_rate
from app.handoff.names import safe_name
from app.handoff.outcome import HandoffReport, Planned, Progress, Stop
from app.handoff.sequences.names_of import first_pass_name
from app.model.on_song import SongView

if TYPE_CHECKING:
    from app.handoff.filmed.film_plan import Film

SUFFIX = ".mp4"


def _plan(shoot: SongView, choices: Choices) -> Iterator[Planned]:
    from app.handoff.filmed import film_plan

    # Its size is known once it is written.
    yield Planned(_name(shoot, choices), 0, film_plan.plan(shoot, _film(shoot, choices)).lines)


def _write(
    shoot: SongView, folder: Path, choices: Choices, stop: Stop, progress: Progress
) -> Iterator[HandoffReport]:
    from app.handoff.filmed import film

    yield film.write(
        shoot, folder / _name(shoot, choices), _film(shoot, choices), stop=stop, progress=progress
    )


def _is_ours(path: Path) -> bool:
    if path.suffix != SUFFIX or not path.is_file():
        return False
    from app.handoff.filmed import film

    return film.is_ours(path)


def _name(shoot: SongView, choices: Choices) -> str:
    name = safe_name(shoot.name)
    if choices.film.first_pass:
        name = sequence_names.stem(shoot.name, first_pass_name(choices))
    return f"{name}{SUFFIX}"


def _film(shoot: SongView, choices: Choices) -> "Film":
    from app.handoff.filmed.film_plan import MOST_RATE, Film, FilmSound, bars_s
    from app.handoff.sequences.chosen_pass import chosen_pass

    wish = choices.film
    from_s, to_s = (0.0, None) if wish.bars is None else bars_s(shoot, *wish.bars)
    cut = None
    if wish.first_pass:
        rate = choices.rate or timeline_rate(shoot)
        cut = chosen_pass(shoot, choices.first_pass, rate)
        if to_s is None and shoot.song is not None:
            to_s = float(song_frames(shoot.song, rate) / rate)  # as long as its timeline
    ears = wish.angle_id and cut is None
    return Film(
        angle_ids=(wish.angle_id,) if ears else (),
        cut=cut,
        from_s=from_s,
        to_s=to_s,
        width=wish.width,
        height=wish.height,
        rate=choices.rate if choices.rate is None or choices.rate <= MOST_RATE else None,
        sound=FilmSound.EARS if ears else FilmSound.SONG,
    )


FORMAT = Format(
    word="film",
    help="proof film",
    group=Group.MEDIA,
    label="Proof f&ilm",
    needs="You want something to show the band",
    gives="All angles, or the first pass, in one picture, in sync with the song.",
    reads_clips=True,
    plan=_plan,
    write=_write,
    is_ours=_is_ours,
)
