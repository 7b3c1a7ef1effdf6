"""The report's shape, which other programs rely on, and the table a person reads."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from app.handoff.report import report, report_bytes
from app.handoff.report_text import drift_words, map_table, table
from app.model.coverage.coverage import coverage
from app.model.document.angle import Angle
from app.model.document.decisions import Action, Decided, Decision
from app.model.document.findings import Rival
from app.model.document.marks import FaultReason, Mark, MarkKind, MarkState
from app.model.document.plan import Need, Passage, Plan, SetUp
from app.model.document.song import Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from app.model.reasons import in_words
from tests.app.random_shoots import clip, media, sensible_shoots, shoot, take, waltz


@dataclass(frozen=True)
class Maybe:
    """That shape, or null."""

    shape: object


@dataclass(frozen=True)
class Named:
    """Values of one kind under any name."""

    shape: object


# The shape as promised: kinds of the values under each name; a list holds one kind of thing.
NUMBER, WORDS, WHOLE, TRUTH = (float, int), (str,), (int,), (bool,)
MAYBE_WORDS = (str, type(None))
MAYBE_WHOLE = (int, type(None))
MAYBE_NUMBER = (float, int, type(None))
MATCH = {
    "slope": [NUMBER], "offset": [NUMBER], "power": [NUMBER], "saturation": NUMBER, "stops": NUMBER,
    "reference": WORDS,
}  # fmt: skip
TAKE = {
    "id": WORDS, "clip_start_s": NUMBER, "clip_end_s": NUMBER, "song_start_s": NUMBER, "song_end_s": NUMBER,
    "speed": NUMBER, "nominal_speed": WORDS, "drift_ppm": NUMBER, "uncertainty_s": NUMBER,
    "sway": Maybe({"largest_s": NUMBER, "typical_s": NUMBER, "largest_m": NUMBER}), "lag": [[NUMBER]],
    "verdict": WORDS,
    "decision": WORDS, "reason": WORDS, "deed": MAYBE_WORDS, "song": WORDS, "playback": MAYBE_WORDS,
    "first_bar": (int, type(None)), "last_bar": (int, type(None)), "match": Maybe(MATCH),
    "rivals": [{"song_start_s": NUMBER, "strength": NUMBER, "as_well": TRUTH, "computed": TRUTH}],
}  # fmt: skip
LOOK = {
    "group": WORDS, "sure": NUMBER, "measures": Named(NUMBER),
    "proposed": [{"kind": WORDS, "reason": WORDS, "clip_start_s": NUMBER, "clip_end_s": NUMBER,
                  "measure": NUMBER}],
}  # fmt: skip
CLIP = {
    "path": WORDS, "id": WORDS, "angle": MAYBE_WORDS, "safety": TRUTH, "duration_s": NUMBER,
    "frame_rate": MAYBE_WORDS, "variable_frame_rate": TRUTH, "start_timecode": MAYBE_WORDS, "verdict": WORDS,
    "word": WORDS,
    "reason": WORDS, "decision": WORDS, "warnings": [WORDS], "recording": MAYBE_WORDS, "note": WORDS,
    "marks": [{"kind": WORDS, "clip_start_s": NUMBER, "clip_end_s": NUMBER, "reason": WORDS, "words": WORDS,
               "state": WORDS, "measure": MAYBE_NUMBER}],
    "look": Maybe(LOOK),
    "takes": [TAKE],
}  # fmt: skip
BAR = {
    "bar": WHOLE, "start_s": NUMBER, "end_s": NUMBER, "depth": WHOLE, "takes": [WORDS], "doubtful": [WORDS],
    "usable_depth": WHOLE, "angles": WHOLE, "safety_only": TRUTH, "not_named": TRUTH,
}  # fmt: skip
SPAN: Mapping[str, object] = {
    "song_start_s": NUMBER, "song_end_s": NUMBER, "first_bar": WHOLE, "last_bar": WHOLE,
}  # fmt: skip
SHAPE: Mapping[str, object] = {
    "report_version": WHOLE,
    "name": WORDS,
    "song": {
        "path": WORDS, "duration_s": NUMBER, "tempo_bpm": MAYBE_NUMBER, "other_tempo_bpm": MAYBE_NUMBER,
        "beats_s": [NUMBER], "bars_s": [NUMBER], "metres": [{"bar": WHOLE, "beats": WHOLE}],
        "bar_levels_db": [MAYBE_NUMBER],
        "sections": [
            {"letter": WORDS, "name": WORDS, "start_s": NUMBER, "end_s": NUMBER, "suggested": TRUTH,
             "family": WORDS, "voice": (bool, type(None)), "level_db": MAYBE_NUMBER}
        ],
    },
    "angles": [{"name": WORDS, "safety": TRUTH, "named": TRUTH}],
    "clips": [CLIP],
    "coverage": [
        {
            "letter": WORDS, "name": WORDS, "start_s": NUMBER, "end_s": NUMBER, "bars": [BAR],
            "thin": [{"first_bar": WHOLE, "last_bar": WHOLE, "kind": WORDS, "words": WORDS}],
        }
    ],
    "plan": {
        "needs": [
            {"section": WORDS, "first_bar": MAYBE_WHOLE, "last_bar": MAYBE_WHOLE, "subject": WORDS,
             "least_bars": WHOLE, "least_angles": WHOLE, "note": WORDS, "state": WORDS,
             "missing_bars": [WHOLE], "angles": [WORDS]}
        ],
        "set_ups": [
            {"section": WORDS, "first_bar": MAYBE_WHOLE, "last_bar": MAYBE_WHOLE, "angle": WORDS,
             "subjects": [WORDS], "speed": WORDS, "note": WORDS, "state": WORDS, "missing_bars": [WHOLE]}
        ],
    },
    "missing": [
        {"first_bar": WHOLE, "last_bar": WHOLE, "section": WORDS, "subjects": [WORDS], "angle": WORDS,
         "why": WORDS, "minutes": NUMBER}
    ],
    "first_pass": {
        "shots": [{**SPAN, "take": WORDS, "angle": WORDS, "reason": WORDS}],
        "unsatisfied": [{**SPAN, "words": WORDS, "gap": TRUTH}],
    },
}  # fmt: skip


def assert_shape(value: object, shape: object, where: str = "report") -> None:
    if isinstance(shape, Maybe):
        if value is not None:
            assert_shape(value, shape.shape, where)
    elif isinstance(shape, Named):
        assert isinstance(value, dict), where
        for key, inner in value.items():
            assert_shape(inner, shape.shape, f"{where}.{key}")
    elif isinstance(shape, Mapping):
        assert isinstance(value, dict), where
        assert set(value) == set(shape), where
        for key, inner in shape.items():
            assert_shape(value[key], inner, f"{where}.{key}")
    elif isinstance(shape, list):
        assert isinstance(value, list), where
        for n, item in enumerate(value):
            assert_shape(item, shape[0], f"{where}[{n}]")
    else:
        assert isinstance(shape, tuple)
        assert type(value) in shape, f"{where} is {value!r}"


@settings(max_examples=40)
@given(sensible_shoots())
def test_the_report_has_the_promised_shape_and_is_json(value: SongView) -> None:
    told = report(value)
    assert_shape(told, SHAPE)
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    assert "report_version" in str(report.__doc__)
    for key in [*TAKE, *CLIP, *BAR, *LOOK, *MATCH]:
        assert f'"{key}"' in str(report.__doc__)


@settings(max_examples=40)
@given(sensible_shoots())
def test_the_report_agrees_with_the_shoot(value: SongView) -> None:
    told = json.loads(json.dumps(report(value)))
    assert [c["path"] for c in told["clips"]] == [c.media.path for c in value.clips]
    for row, owner in zip(told["clips"], value.clips, strict=True):
        assert row["verdict"] == owner.verdict.value
        assert row["frame_rate"] is None or Fraction(row["frame_rate"]) == owner.frame_rate
        for line, one in zip(row["takes"], owner.takes, strict=True):
            assert (line["song_start_s"], line["speed"]) == (one.song_start_s, one.speed)
            nominal = Fraction(line["nominal_speed"])
            assert float(nominal) * (1 + line["drift_ppm"] / 1e6) == pytest.approx(one.speed, rel=1e-11)
    bars = [bar for section in told["coverage"] for bar in section["bars"]]
    assert [bar["depth"] for bar in bars] == [b.depth for s in coverage(value) for b in s.bars]
    known = {t.id for c in value.clips for t in c.takes}
    assert {name for bar in bars for name in bar["takes"] + bar["doubtful"]} <= known


def test_a_shoot_with_nothing_is_reported() -> None:
    nothing: list[object] = []
    assert report(SongView()) == {
        "report_version": 1,
        "name": "",
        "song": None,
        "angles": nothing,
        "clips": nothing,
        "coverage": nothing,
        "plan": {"needs": nothing, "set_ups": nothing},
        "missing": nothing,
        "first_pass": {"shots": nothing, "unsatisfied": nothing},
    }


def test_one_take_in_figures() -> None:
    # Bars of 2 s; from 10.1 s on bar 7 (12 to 14 s) is the first whole one, bar 6 is covered to 95 %.
    value = shoot(
        clip(
            1,
            Take(
                "t",
                2.0,
                12.0,
                10.1,
                1.0005 - 0.00001,
                0.0004,
                rivals=(Rival(3.0, 0.5, as_well=True), Rival(4.0, 1.0, computed=True)),
            ),
        )
    )
    (line,) = json.loads(json.dumps(report(value)))["clips"][0]["takes"]
    assert (line["first_bar"], line["last_bar"]) == (6, 10)
    assert line["nominal_speed"] == "1"
    assert line["drift_ppm"] == pytest.approx(490)
    assert line["song_end_s"] == pytest.approx(10.1 + 10 * 1.00049)
    assert line["rivals"] == [
        {"song_start_s": 3.0, "strength": 0.5, "as_well": True, "computed": False},
        {"song_start_s": 4.0, "strength": 1.0, "as_well": False, "computed": True},
    ]


def test_how_sure_the_machine_was_is_not_told_of_a_place_chosen_by_hand() -> None:
    moved = Decided(Action.MOVED, "2031-05-04T18:20:00Z")
    settled = Decided(Action.SETTLED, "2031-05-04T18:20:00Z")
    takes = [Take("t", 0.0, 20.0, 4.0, 1.0, 0.0008, decided=one) for one in (moved, settled, None)]
    told = [table(shoot(clip(1, one))) for one in takes]
    assert ["±0.8 ms" in text for text in told] == [False, True, True]
    told_json = [report(shoot(clip(1, one)))["clips"][0]["takes"][0]["deed"] for one in takes]  # type: ignore[index]
    assert told_json == ["moved", "settled", None]


@pytest.mark.parametrize(
    ("one", "rate", "words"),
    [
        # 100 ppm over 240 s is 24 ms, 0.576 frame at 24.
        (Take("t", 0, 240, 0, 1 - 100e-6), Fraction(24), "0.6 frame late by the end"),
        (Take("t", 0, 240, 0, 1 + 100e-6), Fraction(24), "0.6 frame early by the end"),
        (Take("t", 0, 240, 0, 1 - 100e-6), None, "24.0 ms late by the end"),
        (Take("t", 0, 240, 0, 1.001), Fraction(24), "in sync to the end"),
        (Take("t", 0, 240, 0, 1 + 1e-6), Fraction(24), "in sync to the end"),
    ],
)
def test_drift_in_words(one: Take, rate: Fraction | None, words: str) -> None:
    assert drift_words(clip(1, one, rate=rate), one) == words


def full_table() -> list[str]:
    rivals = Rival(12.0, 0.93, as_well=True), Rival(6.0, 0.4), Rival(14.0, 1.0, computed=True)
    chorus = take(
        "b",
        4,
        9,
        verdict=Verdict.DOUBTFUL,
        reason=in_words("Two choruses fit."),
        rivals=rivals,
    )
    return table(
        shoot(
            clip(1, Take("t", 0.0, 20.0, 4.1, 1 - 200e-6, 0.0008), warnings=("Its sound starts late.",)),
            clip(2, chorus, verdict=Verdict.DOUBTFUL, reason=in_words("Two choruses fit.")),
            clip(3, verdict=Verdict.NO_SONG, reason=in_words("Talk, no playback.")),
            clip(4, verdict=Verdict.UNREADABLE, reason=in_words("The file is cut off.")),
            clip(5, take("w", 0, 24, decision=Decision.CONFIRMED), angle="angle-2"),
            clip(6, verdict=Verdict.WAITING),
            angles=(Angle("angle-1", "Fiddle"), Angle("angle-2", "Wide", safety=True)),
        )
    ).splitlines()


def test_the_table_tells_what_a_person_wants_to_know() -> None:
    lines = full_table()
    text = " ".join(" ".join(lines).split())
    for words in (
        "Song: waltz.wav, 0:24.000, 90.0 bpm, 12 bars, 2 sections",
        "● placed clip_01.mov angle Fiddle, 25 fps, 1:40.000",
        "take 1: 0:04.100 (bar 3) to 0:24.096, ±0.8 ms (0.02 frame), covers bars 3–12",
        "speed 1, drift −200.0 ppm, 0.1 frame late by the end",
        "note: Its sound starts late.",
        "? in doubt clip_02.mov",
        "fits as well at 0:12.000 (bar 7), 93 % match less likely at 0:06.000 (bar 4), 40 % match",
        "found automatically at 0:14.000 (bar 8)",
        "– no song clip_03.mov angle Fiddle, 25 fps, 1:40.000 Talk, no playback.",
        "✕ unreadable clip_04.mov angle Fiddle The file is cut off.",
        "✓ confirmed",
        "angle Wide (safety)",
        "A Verse, bars 1–4 depth 1 1 2 2 bars 1–2: safety only",
        "B Chorus, bars 5–12 depth 2×8",
    ):
        assert words in text
    assert text.count("Two choruses fit.") == 1  # not told twice for clip and take
    assert lines[-1] == "6 clips: 2 placed, 1 in doubt, 1 no song, 1 unreadable, 1 waiting."


def columns(text: str) -> int:
    import unicodedata

    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text
    )


@settings(max_examples=40)
@given(
    sensible_shoots(), st.text(st.characters(exclude_characters="/\x00"), max_size=200), st.text(max_size=150)
)
def test_no_line_is_wider_than_a_terminal(value: SongView, name: str, words: str) -> None:
    odd = Clip(
        "odd", media(f"/x/{name}.mov"), value.angles[0].id, verdict=Verdict.NO_SONG, reason=in_words(words)
    )
    text = table(SongView(words, value.song, value.angles, (*value.clips, odd)))
    for line in text.split("\n")[1:]:
        assert columns(line) <= 100
        assert line.isprintable()


def test_long_names_are_wrapped_and_not_cut_short() -> None:
    name = "Übung " * 30 + "x" * 150
    text = table(shoot(clip(1, take("t", 0, 9), media=media(f"/x/{name}.mov"))))
    assert name.replace(" ", "") in text.replace("\n", "").replace(" ", "")


def test_names_cannot_command_the_terminal() -> None:
    text = table(shoot(clip(1, media=media("/x/a\x1b[2J\r\nb.mov"))))
    assert "\x1b" not in text
    assert "a�[2J��b.mov" in text


def test_a_song_without_a_map_and_no_takes_are_told() -> None:
    text = table(shoot(clip(1, verdict=Verdict.NO_SONG), song=Song(media("/s.wav"), 24.0)))
    assert "bars not known" in text
    assert "placed takes per whole section" in text
    assert "bar 1" not in text
    assert "whole section: nothing" in text
    assert "1 clip: 0 placed, 1 no song." in text
    assert "none yet" in table(SongView(song=waltz()))


def test_sections_without_bars_are_not_counted_as_bars() -> None:
    song_map = SongMap(sections=(Section("A", "Verse", 0.0, 10.0), Section("B", "", 10.0, 20.0)))
    text = map_table(Song(media("/s.wav"), 20.0, song_map))
    assert "  A Verse: 0:00.000 to 0:10.000\n  B: 0:10.000 to 0:20.000" in text


def test_a_name_that_is_no_text_does_not_keep_the_report_from_being_written() -> None:
    told = json.loads(report_bytes(shoot(clip(1, media=media("/x/s\udcf6ng.mov"), note="soft"))))["clips"][0]
    assert (told["path"], told["note"]) == ("/x/s?ng.mov", "soft")


def test_the_map_is_told_with_what_is_known_of_it() -> None:
    beats = tuple(n / 2 for n in range(1, 40))
    parts = (
        Section("A", "Verse", 0.0, 10.0, "A", suggested=True),
        Section("B", "Break", 10.0, 20.0, "B"),
    )
    song_map = SongMap(120.0, beats, beats[1::4], parts, 240.0, (-20.0,) * 40 + (-12.0,) * 40)
    song = Song(media("/s/waltz.wav"), 20.0, song_map)
    told = report(SongView(song=song))["song"]
    assert isinstance(told, dict)
    assert told["metres"] == [{"bar": 1, "beats": 4}]
    assert told["other_tempo_bpm"] == 240.0
    assert (told["bar_levels_db"][0], told["bar_levels_db"][-1]) == (-20.0, -12.0)
    assert [part["level_db"] for part in told["sections"]] == [-20.0, -12.0]
    text = map_table(song)
    assert "120.0 bpm (or 240.0)" in text
    assert "4 beats per bar" in text
    assert "A Verse (a guess): bars 1–5, 0:00.000 to 0:10.000, form A, −20 dB" in text
    assert "B Break: bars 6–10, 0:10.000 to 0:20.000, form B, −12 dB" in text


def test_a_plan_is_told_with_what_is_missing() -> None:
    fault = Mark("m", "clip-1", MarkKind.FAULT, 4.0, 6.0, FaultReason.FOCUS)
    gone = Mark("n", "clip-1", MarkKind.FAULT, 8.0, 9.0, state=MarkState.DISMISSED)
    value = shoot(clip(1, take("t", 0, 24), marks=(fault, gone)))
    need = Need("n", "song-1", Passage(first_bar=2, last_bar=4), "fiddle", note="the run")
    set_up = SetUp("s", "song-1", "Fiddle")
    told = report(replace(value, plan=Plan((need,), (set_up,), reset_s=60.0)))
    assert_shape(told, SHAPE)
    (row,) = told["plan"]["needs"]  # type: ignore[index]
    assert (row["state"], row["missing_bars"], row["angles"]) == ("partly", [3], ["Fiddle"])
    assert (row["section"], row["first_bar"], row["last_bar"], row["note"]) == ("", 2, 4, "the run")
    (row,) = told["plan"]["set_ups"]  # type: ignore[index]
    assert (row["angle"], row["state"], row["missing_bars"], row["speed"]) == ("Fiddle", "partly", [3], "1")
    (row,) = told["missing"]  # type: ignore[misc]
    assert (row["first_bar"], row["last_bar"], row["section"]) == (3, 3, "A")
    assert row["why"] == "Fiddle is not seen in bar 3; nothing shows bar 3."
    # Two seconds of song, four before it, a minute of reset.
    assert row["minutes"] == pytest.approx(66 / 60, abs=0.01)
    (mark,) = told["clips"][0]["marks"]  # type: ignore[index]
    assert mark == {
        "kind": "fault", "clip_start_s": 4.0, "clip_end_s": 6.0, "reason": "focus",
        "words": "", "state": "set", "measure": None,
    }  # fmt: skip
