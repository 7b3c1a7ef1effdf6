"""Clips without usable sound and without a slate, placed by light and motion; see `audio.pictures`.

Light is held against that of placed clips; motion against the song. What comes of motion is a list of places
to look at, always in doubt.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from app.model.answers import Answer
from app.model.clip_verdict import of_takes
from app.model.document.clip import FileFacts
from app.model.document.findings import Rival, TakePlacement
from app.model.document.verdict import Verdict
from app.model.reasons import Reason

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from audio.pictures.flashes import LightGuesses, Lit
    from audio.pictures.motion import Floats, Guess
    from audio.pictures.silent_series import SilentSeries

MOST_PIXELS = 1e11
"""Pixels of all frames of a clip up to which it is looked at: half an hour of high definition."""
MOST_BESIDE = 8
"""Placed clips whose light is looked at, and …"""
MOST_PIXELS_BESIDE = 3e10
"""… how much of each at most: ten minutes of high definition."""
LIGHT_S = 0.04
MOTION_S = 0.15
"""How well light and motion tell a place, if it is the right one (s)."""

SeriesOf = Callable[[Sequence[Path]], "Mapping[Path, SilentSeries]"]
"""Looks at files; those whose pictures cannot be read are left out."""


@dataclass(frozen=True, slots=True)
class Heard:
    """The song as sight needs it."""

    accents: "Floats"
    length_s: float


def is_silent(answer: Answer) -> bool:
    """Whether the answer is on a clip with pictures whose sound tells nothing, and which shows no slate."""
    told = answer.verdict is Verdict.NO_SONG and answer.reason.code == "words" and not answer.takes
    return told and _pixels(answer.facts) > 0


def by_sight(
    silent: Sequence[Answer], placed: Sequence[Answer], song: Callable[[], Heard], series_of: SeriesOf
) -> dict[Path, Answer]:
    """The answers on clips without sound, by their paths, as far as their pictures tell where they run.

    ``placed`` are the other clips of the shoot. Raises what ``song`` and ``series_of`` raise.
    """
    from audio.pictures.flashes import has_events, light_guesses
    from audio.pictures.motion import KEEPS_TIME, clip_accents, guesses

    wanted = [one for one in silent if _pixels(one.facts) <= MOST_PIXELS]
    seen = series_of([Path(one.media.path) for one in wanted])
    if not seen:
        return {}
    heard = song()
    lit = _lit(placed, series_of) if any(map(has_events, seen.values())) else []
    out = {}
    for answer in wanted:
        series = seen.get(Path(answer.media.path))
        if series is None:
            continue
        light = light_guesses(series, lit, heard.length_s)
        if light.clear:
            out[Path(answer.media.path)] = _by_light(answer, light, heard.length_s)
            continue
        # Lamps that light on every beat fit everywhere, and tell nothing.
        moved = guesses(clip_accents(series), heard.accents)
        if moved.keeps_time >= KEEPS_TIME:
            take = _take(answer, moved.places, heard.length_s, MOTION_S)
            out[Path(answer.media.path)] = _with(answer, replace(take, reason=Reason("by motion")))
    return out


def heard(samples: "NDArray[np.float32]", rate: int) -> Heard:
    """The song of these samples, shape (n,)."""
    from audio.pictures.motion import song_accents

    return Heard(song_accents(samples, rate), len(samples) / rate)


def _lit(placed: Sequence[Answer], series_of: SeriesOf) -> "list[Lit]":
    """The light of placed clips: of those that run longest in the song."""
    from audio.line import Line
    from audio.pictures.flashes import Lit

    usable = [one for one in placed if 0 < _pixels(one.facts) <= MOST_PIXELS_BESIDE and _sure(one)]
    usable.sort(key=lambda one: -sum(take.clip_end_s - take.clip_start_s for take in _sure(one)))
    usable = usable[:MOST_BESIDE]
    seen = series_of([Path(one.media.path) for one in usable])
    return [
        Lit(seen[path], Line(take.clip_start_s, take.song_start_s, take.speed), take.clip_end_s)
        for one in usable
        if (path := Path(one.media.path)) in seen
        for take in _sure(one)
    ]


def _sure(answer: Answer) -> list[TakePlacement]:
    return [take for take in answer.takes if take.verdict is Verdict.PLACED]


def _pixels(facts: FileFacts) -> float:
    return facts.width * facts.height * facts.duration_s * float(facts.frame_rate or 0)


def _by_light(answer: Answer, light: "LightGuesses", song_s: float) -> Answer:
    take = _take(answer, light.places, song_s, LIGHT_S)
    if light.sure:
        reason = Reason("by light", (("events", float(light.events)),))
        return _with(answer, replace(take, verdict=Verdict.PLACED, rivals=(), reason=reason))
    return _with(answer, replace(take, reason=Reason("light fits")))


def _take(answer: Answer, places: "Sequence[Guess]", song_s: float, off_s: float) -> TakePlacement:
    """A take in doubt at the best place; the others are its rivals."""
    begin_s = max(0.0, -places[0].song_s)
    end_s = min(answer.facts.duration_s, song_s - places[0].song_s)
    return TakePlacement(
        clip_start_s=begin_s,
        clip_end_s=end_s,
        song_start_s=places[0].song_s + begin_s,
        uncertainty_s=off_s,
        verdict=Verdict.DOUBTFUL,
        rivals=tuple(Rival(one.song_s + begin_s, one.strength, True) for one in places[1:]),
    )


def _with(answer: Answer, take: TakePlacement) -> Answer:
    verdict, reason = of_takes([(take.verdict, take.reason)])
    return replace(answer, verdict=verdict, reason=reason, takes=(take,))
