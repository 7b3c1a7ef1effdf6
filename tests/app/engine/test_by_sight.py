"""Clips without sound put by light and motion: which are asked, and what the answers are."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from app.engine.by_sight import Heard, by_sight, is_silent
from app.engine.series_json import series_from_json, series_to_json
from app.model.answers import Answer
from app.model.document.clip import FileFacts
from app.model.document.findings import TakePlacement
from app.model.document.media_ref import MediaRef
from app.model.document.verdict import Verdict
from app.model.reasons import Reason, in_words, sentence
from app.model.storage.json_node import WrongShape
from audio.pictures.motion import clip_accents
from audio.pictures.silent_series import SilentSeries
from tests.quality.made_lights import SONG_S, LitShoot, lit_shoot

FACTS = FileFacts(40.0, Fraction(25), width=1920, height=1080)
SILENT = Answer(
    MediaRef("/s/quiet.mov", 1, "00"), FACTS, verdict=Verdict.NO_SONG, reason=in_words("No sound.")
)


def song() -> Heard:
    """A song whose accents fit nothing."""
    return Heard(np.random.default_rng(1).normal(0, 1, int(SONG_S * 50)), SONG_S)


def answers(shoot: LitShoot) -> tuple[Answer, list[Answer], dict[Path, SilentSeries]]:
    """The silent clip, the placed ones, and what their files show."""
    silent = replace(SILENT, facts=replace(FACTS, duration_s=float(shoot.silent.clip_s[-1]) + 0.04))
    placed, shown = [], {Path("/s/quiet.mov"): shoot.silent}
    for number, lit in enumerate(shoot.placed):
        path = f"/s/take{number}.mov"
        take = TakePlacement(lit.line.clip_s, lit.clip_end_s, lit.line.song_s, lit.line.speed)
        facts = replace(FACTS, duration_s=lit.clip_end_s)
        placed.append(Answer(MediaRef(path, 1, "00"), facts, verdict=Verdict.PLACED, takes=(take,)))
        shown[Path(path)] = lit.seen
    return silent, placed, shown


def test_which_clips_are_silent() -> None:
    assert is_silent(SILENT)
    assert not is_silent(replace(SILENT, facts=replace(FACTS, width=0, height=0)))
    assert not is_silent(replace(SILENT, reason=Reason("song not found")))
    assert not is_silent(replace(SILENT, reason=Reason("code of another song")))
    assert not is_silent(replace(SILENT, verdict=Verdict.UNREADABLE))


def test_light_that_fits_in_one_place_only_places_a_clip() -> None:
    shoot = lit_shoot(100, "flash")
    silent, placed, shown = answers(shoot)
    asked: list[Path] = []

    def series_of(files: Sequence[Path]) -> Mapping[Path, SilentSeries]:
        asked.extend(files)
        return {path: shown[path] for path in files}

    (found,) = by_sight([silent], placed, song, series_of).values()
    (take,) = found.takes
    assert found.verdict is Verdict.PLACED
    assert sentence(take.reason).startswith("Placed by its light: 15 changes")
    assert take.line.song_time(0.0) == pytest.approx(shoot.song_s, abs=0.04)
    assert take.clip_end_s <= silent.facts.duration_s
    assert set(asked) == set(shown)


def test_light_that_two_cameras_did_not_share_leaves_the_answer() -> None:
    silent, placed, shown = answers(lit_shoot(100, "none"))
    assert by_sight([silent], placed, song, lambda files: {path: shown[path] for path in files}) == {}


def test_placed_clips_are_not_looked_at_for_a_clip_of_steady_light() -> None:
    clip_s = np.arange(0, 40, 0.04)
    steady = SilentSeries(clip_s, clip_s * 0 + 90, clip_s * 0)
    _, placed, _ = answers(lit_shoot(100, "flash"))
    asked: list[Path] = []

    def series_of(files: Sequence[Path]) -> Mapping[Path, SilentSeries]:
        asked.extend(files)
        return dict.fromkeys(asked, steady)

    assert by_sight([SILENT], placed, song, series_of) == {}
    assert asked == [Path("/s/quiet.mov")]


def test_motion_in_the_songs_time_is_a_list_of_five_places() -> None:
    rng = np.random.default_rng(4)
    clip_s = np.arange(0, 40, 0.04)
    rise = rng.exponential(0.3, len(clip_s))
    rise[np.searchsorted(clip_s, np.cumsum(rng.uniform(0.2, 0.8, 60)).clip(0, 39))] += 3
    seen = SilentSeries(clip_s, clip_s * 0 + 90, rise)
    accents = rng.normal(0, 0.5, int(SONG_S * 50))
    own = clip_accents(seen)
    accents[3000 : 3000 + len(own)] += own
    found = by_sight([SILENT], [], lambda: Heard(accents, SONG_S), lambda _: {Path("/s/quiet.mov"): seen})
    (take,) = found[Path("/s/quiet.mov")].takes
    assert (take.verdict, take.reason.code, len(take.rivals)) == (Verdict.DOUBTFUL, "by motion", 4)
    assert take.song_start_s == pytest.approx(60.0, abs=0.05)
    assert all(rival.as_well for rival in take.rivals)


def test_a_long_film_is_not_looked_at() -> None:
    long = replace(SILENT, facts=replace(FACTS, duration_s=7200.0))
    asked: list[Path] = []

    def series_of(files: Sequence[Path]) -> Mapping[Path, SilentSeries]:
        asked.extend(files)
        return {}

    assert by_sight([long], [], song, series_of) == {}
    assert asked == []


def test_series_are_kept_as_they_are() -> None:
    seen = lit_shoot(100, "flash").silent
    kept = series_from_json(series_to_json(seen))
    np.testing.assert_allclose(kept.light, seen.light, atol=1e-4)
    np.testing.assert_allclose(kept.clip_s, seen.clip_s, atol=1e-4)
    for wrong in ({}, {"clip_s": [1.0], "light": [], "rise": []}, {"clip_s": "a", "light": 1, "rise": None}):
        with pytest.raises(WrongShape):
            series_from_json(wrong)
