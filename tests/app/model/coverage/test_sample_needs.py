"""The sample's plan on its true takes: what is met, partly met and unmet is what its truth file says.

The truth was worked out from the takes alone, by whole bars; see ``sample_media/making``.
"""

import csv
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from app.model.angles import same_name
from app.model.coverage.missing import still_missing
from app.model.coverage.needs import NeedResult, need_results
from app.model.document.angle import Angle
from app.model.document.media_ref import MediaRef
from app.model.document.plan import Plan
from app.model.document.song import Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.model.plan_rows import angles_of_rows, needs_of_rows
from tests.test_sample_media import CLIPS, MEDIA, SONG, TRUTH

TOLD: list[dict[str, Any]] = TRUTH["plan"]["needs"]


def rows(file: str) -> list[tuple[int, dict[str, str]]]:
    with (MEDIA / file).open(encoding="utf-8", newline="") as lines:
        return list(enumerate(csv.DictReader(lines), 2))


def sample_song() -> Song:
    sections = tuple(
        Section(one["letter"], one["name"], one["start_s"], one["end_s"], id=f"section-{n}")
        for n, one in enumerate(SONG["sections"], 1)
    )
    song_map = SongMap(SONG["tempo_bpm"], bars_s=tuple(SONG["bars_s"]), sections=sections)
    return Song(MediaRef("/sample/song.ogg", 1, "00"), SONG["duration_s"], song_map)


def sample_view(doubtful: Verdict) -> SongView:
    """The true takes; those that come out in doubt are ``doubtful``."""
    angles = tuple(
        Angle(f"angle-{n}", one.name, one.safety, one.subjects, rank=one.rank)
        for n, one in enumerate(angles_of_rows(rows("angles.csv")), 1)
    )
    clips = []
    for n, one in enumerate(CLIPS.values(), 1):
        verdict = doubtful if one["verdict"] == "doubtful" else Verdict.PLACED
        takes = tuple(
            Take(
                f"take-{n}-{m}",
                t["clip_start_s"],
                t["clip_end_s"],
                t["song_start_s"],
                t["speed"],
                verdict=verdict,
            )
            for m, t in enumerate(one["takes"], 1)
        )
        angle = next(angle for angle in angles if same_name(angle.name, one["angle"]))
        rate = Fraction(one["fps"]) if one.get("fps") else None
        media = MediaRef(f"/sample/{one['file']}", 1, f"{n:02}")
        clips.append(
            Clip(f"clip-{n}", media, angle.id, one["duration_s"], rate, verdict=verdict, takes=takes)
        )
    song = sample_song()
    needs = tuple(
        replace(need, id=f"need-{n}") for n, need in enumerate(needs_of_rows(rows("plan.csv"), song), 1)
    )
    return SongView("sample", song, angles, tuple(clips), Plan(needs))


def told(result: NeedResult, view: SongView) -> dict[str, object]:
    names = {angle.id: angle.name for angle in view.angles}
    return {
        "state": result.state.value,
        "missing_bars": list(result.missing_bars),
        "angles": sorted(names[one] for one in result.angles),
    }


@pytest.mark.parametrize("doubtful", [Verdict.PLACED, Verdict.DOUBTFUL])
def test_every_need_stands_as_the_truth_says(doubtful: Verdict) -> None:
    view = sample_view(doubtful)
    results = need_results(view)
    assert len(results) == len(TOLD)
    for result, line in zip(results, TOLD, strict=True):
        truth = line if doubtful is Verdict.PLACED else line["in_doubt"]
        expected = {key: truth[key] for key in ("state", "missing_bars", "angles")}
        expected["angles"] = sorted(expected["angles"])
        assert told(result, view) == expected, f"{line['subject']} in {line['section']}"


def test_what_is_missing_is_what_the_open_needs_lack() -> None:
    view = sample_view(Verdict.PLACED)
    asked: dict[str, set[int]] = {}
    for one in still_missing(view):
        for part in one.why:
            if part.need is not None:
                asked.setdefault(part.need.id, set()).update(part.bars)
    for result, line in zip(need_results(view), TOLD, strict=True):
        bars = asked.get(result.need.id, set())
        if line["state"] == "met":
            assert bars == set()
        elif result.need.least_bars == 0:
            assert bars == set(line["missing_bars"])
        else:
            length = line["last_bar"] - line["first_bar"] + 1
            assert len(bars) == line["least_bars"] - (length - len(line["missing_bars"]))
            assert bars <= set(line["missing_bars"])
