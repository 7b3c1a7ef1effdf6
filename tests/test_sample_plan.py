"""The plan of the sample shoot: its needs are answered in truth.json as the true takes answer them."""

import csv
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from tests.test_sample_media import CLIPS, MEDIA, SONG, TRUTH

NEEDS: list[dict[str, Any]] = TRUTH["plan"]["needs"]
STEP_S = 0.001


def rows(file: str) -> list[dict[str, str]]:
    with (MEDIA / file).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def running(angle: str, verdicts: set[str]) -> list[NDArray[np.bool_]]:
    """For every take of an angle, in which milliseconds of the song it runs."""
    song = np.arange(0, SONG["duration_s"], STEP_S)
    found = []
    for clip in CLIPS.values():
        for take in clip["takes"] if clip["angle"] == angle and clip["verdict"] in verdicts else ():
            clip_s = take["clip_start_s"] + (song - take["song_start_s"]) / take["speed"]
            found.append((clip_s >= take["clip_start_s"] - STEP_S) & (clip_s <= take["clip_end_s"] + STEP_S))
    return found


def whole_bars(angle: str, verdicts: set[str]) -> set[int]:
    lines = np.round(np.array([*SONG["bars_s"], SONG["bars_end_s"]]) / STEP_S).astype(int)
    return {
        bar
        for bar in range(1, len(lines))
        if any(run[lines[bar - 1] : lines[bar]].all() for run in running(angle, verdicts))
    }


def test_every_line_of_the_plan_is_answered() -> None:
    plan = rows("plan.csv")
    assert list(plan[0]) == [
        "section",
        "first_bar",
        "last_bar",
        "subject",
        "least_bars",
        "least_angles",
        "note",
    ]
    assert [(one["section"], one["subject"]) for one in NEEDS] == [(r["section"], r["subject"]) for r in plan]
    names = {key for section in SONG["sections"] for key in (section["letter"], section["name"])}
    for need, row in zip(NEEDS, plan, strict=True):
        assert need["section"] in names
        for key in ("first_bar", "last_bar", "least_bars"):
            assert need[key] == int(row[key] or need[key])
        assert need["least_angles"] == int(row["least_angles"] or 1)


def test_the_angles_are_those_of_the_clips() -> None:
    angles = rows("angles.csv")
    assert list(angles[0]) == ["angle", "subjects", "safety", "rank"]
    assert {one["angle"]: one["safety"] == "yes" for one in angles} == {
        clip["angle"]: clip["safety"] for clip in CLIPS.values()
    }


@pytest.mark.parametrize("number", range(len(NEEDS)))
@pytest.mark.parametrize("doubtful_too", [True, False])
def test_an_answer_is_that_of_a_count_by_the_millisecond(number: int, doubtful_too: bool) -> None:
    need = NEEDS[number]
    told = need if doubtful_too else need["in_doubt"]
    shown = [r["angle"] for r in rows("angles.csv") if need["subject"] in r["subjects"].split("; ")]
    verdicts = {"placed", "doubtful"} if doubtful_too else {"placed"}
    bars = {angle: whole_bars(angle, verdicts) for angle in shown}
    wanted = range(need["first_bar"], need["last_bar"] + 1)
    counted = {bar for bar in wanted if sum(bar in bars[angle] for angle in shown) >= need["least_angles"]}
    if len(counted) >= need["least_bars"]:
        assert (told["state"], told["missing_bars"]) == ("met", [])
    else:
        assert told["state"] == ("partly" if counted else "unmet")
        assert told["missing_bars"] == [bar for bar in wanted if bar not in counted]
    assert told["angles"] == [angle for angle in shown if bars[angle] & set(wanted)]


def test_some_needs_are_met_some_partly_and_some_not() -> None:
    """Read off the list of clips in README.md by hand."""
    answers = {(one["section"], one["subject"]): (one["state"], one["missing_bars"]) for one in NEEDS}
    assert answers["Verse 1", "accordion"] == ("met", [])
    assert answers["D", "fiddle"] == ("partly", [44, 45, 46, 47, 48])  # breaks off in bar 44
    assert answers["Verse 2", "whole band"] == ("unmet", [48])  # only the safety
    assert answers["Fiddle solo", "fiddle hands"] == (
        "met",
        [],
    )  # bars 56 to 64 of it: nine, eight were asked
    assert answers["Coda", "drums"] == ("unmet", [81, 82, 83, 84, 85, 86])
    assert answers["Chorus 2", "bass"] == (
        "partly",
        [*range(65, 74), 79, 80],
    )  # the pick-up has bars 74 to 78
    (bass,) = (one for one in NEEDS if one["subject"] == "bass")
    assert bass["in_doubt"] == {"state": "unmet", "missing_bars": [*range(65, 81)], "angles": []}
    assert all(
        one["in_doubt"] == {key: one[key] for key in ("state", "missing_bars", "angles")}
        for one in NEEDS
        if one is not bass
    )
