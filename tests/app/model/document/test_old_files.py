"""Shoot files that earlier versions of the code wrote open today, and what a person decided is all there.

Each ``shoot_files/version_N.anglebook`` was written by the last commit whose store had ``VERSION = N``, with
that commit's own types, edits and ``store.save``: 1 by 8b0a834, 2 by f99805e, 3 by 0fac965, 4 by 8d688e2,
5 by 871d2b3, 6 by 84b9675, 7 by bb1a46e, 8 by 15a996a. The shoot is invented. To do it again, check that
commit out and, with its model:

- ``set_name``; ``set_song`` (36.75 s) and ``set_map``: 120 beats a minute from 0.5 s on, a bar line every
  third beat, sections A Intro, B Verse (from 6.5 s), C Refrain (from 18.5 s); from version 4 on with
  loudness, another tempo of 60, families, voices, all names suggested.
- ``add_clips`` with the twelve clips of `FACTS`, ``assign_angle`` by their folders, ``mark_safety`` (Wide
  off, Balcony on), ``rename_angle``, the last angle put first (``move_angle``, later ``place_angle``); from
  2 on ``set_subject``, ``set_group``, ``hide_angles``.
- ``answer_clip`` for all but the waiting one, with the takes of `TAKES` before anybody decided.
- Decisions, each a minute after the last from 18:00 on: clip 1 ``confirm_take``; 3 ``move_take`` of the
  first take to 0.75; 4 ``choose_rival`` 0; 8 ``set_verdict_no_song``. Version 1: 6 ``move_take`` to 25.75.
  From 2 on: 6 ``pin`` at 1 s (26.5) and 9 s (34.75); 12 ``mark_stretch`` from 10 to 20 s; 3 ``settle_take``
  of the second take at 8.04, speed 1.0005, ± 0.006 s; ``shift_take`` of 1; ``set_note`` of 1, and of 9 and
  10. From 3 on: 11 ``refuse_take`` of the second take.
- From 4 on: ``half_tempo``; ``this_is_one`` at 1.4; ``set_metre`` 4 at 20; ``split`` at 29.4, on a beat;
  ``rename`` 3; ``set_letter`` 1; ``move_edge`` 1 to 7.25, free; ``nudge`` by 0.25.
- Version 6 is version 5 loaded by its code, with the marks and the plan of `test_marks_and_plan`; version 7
  is version 6 loaded by its code, version 8 is version 7.

What is expected is written down by hand below, and read out of the document by the few functions that follow.
"""

import json
from fractions import Fraction
from pathlib import Path

import pytest

from app.model.answers import Answer
from app.model.document.findings import TakePlacement
from app.model.document.plan import Passage
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.store import SUFFIX, VERSION_KEY, from_text, load, save
from app.model.document.upgrades import VERSION
from app.model.edits.shoot_edits import answer_clip
from app.model.on_song import Clip, SongView, Take, is_decided, on_song
from app.model.reasons import sentence

FOLDER = Path(__file__).parent / "shoot_files"
VERSIONS = sorted(int(path.stem.removeprefix("version_")) for path in FOLDER.glob(f"*{SUFFIX}"))
every_version = pytest.mark.parametrize("version", VERSIONS)


def document_of(version: int) -> Shoot:
    return load(FOLDER / f"version_{version}{SUFFIX}")


def opened(version: int) -> SongView:
    return on_song(document_of(version))


def song_of(shoot: SongView) -> Song:
    assert shoot.song is not None
    return shoot.song


def clip_named(shoot: SongView, name: str) -> Clip:
    (clip,) = (one for one in shoot.clips if Path(one.media.path).name == name)
    return clip


def takes_of(shoot: SongView, name: str) -> list[tuple[object, ...]]:
    """Of each take of a clip: stretch, line, how sure, verdict, whose decision."""
    return [
        (
            (one.clip_start_s, one.clip_end_s),
            one.song_start_s,
            one.speed,
            one.uncertainty_s,
            one.verdict.value,
            one.decision.value,
        )
        for one in clip_named(shoot, name).takes
    ]


def take_at(shoot: SongView, name: str, index: int) -> Take:
    return clip_named(shoot, name).takes[index]


def decisions_of(shoot: SongView) -> dict[tuple[str, int | None], tuple[str, str]]:
    """Action and hour of every decision on record; the index is that of the take, None for the whole clip."""
    records = {}
    for clip in shoot.clips:
        name = Path(clip.media.path).name
        for index, one in ((None, clip), *enumerate(clip.takes)):
            if one.decided is not None:
                day, _, hour = one.decided.at.partition("T")
                assert day == "2031-05-04"
                records[name, index] = (one.decided.action.value, hour)
    return records


def refused_of(shoot: SongView) -> dict[str, list[tuple[float, float, str, float | None]]]:
    """For each clip with refused stretches: from, to, when, and where the take lay if it was kept."""
    return {
        Path(clip.media.path).name: [
            (
                one.clip_start_s,
                one.clip_end_s,
                one.at,
                None if one.take is None else one.take.song_start_s,
            )
            for one in clip.refused
        ]
        for clip in shoot.clips
        if clip.refused
    }


def rivals_of(take: Take) -> list[tuple[float, float, bool]]:
    return [(one.song_start_s, one.strength, one.computed) for one in take.rivals]


def found_anew(shoot: Shoot, name: str, song_start_s: float) -> Shoot:
    """The shoot after the whole clip was computed to lie elsewhere."""
    (clip,) = (one for one in shoot.clips if Path(one.media.path).name == name)
    take = TakePlacement(0.0, clip.facts.duration_s, song_start_s)
    answer = Answer(clip.media, clip.facts, verdict=take.verdict, takes=(take,))
    return answer_clip(shoot, answer)[0]


FACTS = {
    # angle, verdict, length, frame rate, width
    "S001.mov": ("Singer", "placed", 33.0, "25", 1920),
    "S002.mov": ("Singer", "doubtful", 20.0, "30000/1001", 1920),
    "W001.mp4": ("Wide", "placed", 61.0, "24000/1001", 3840),
    "W002.mp4": ("Wide", "placed", 15.0, "24000/1001", 3840),
    "T001.mov": ("Balcony", "placed", 24.0, "50", 3840),
    "T002.mov": ("Balcony", "placed", 16.0, "50", 3840),
    "W003.mp4": ("Wide", "no song", 9.0, "24000/1001", 3840),
    "W004.mp4": ("Wide", "no song", 22.0, "24000/1001", 3840),
    "S003.mov": ("Singer", "unreadable", 0.0, "None", 0),
    "S004.mov": ("Singer", "waiting", 12.0, "25", 1920),
    "A001.wav": ("Akkordeon & Bass", "placed", 70.0, "None", 0),
    "A002.mov": ("Akkordeon & Bass", "placed", 30.0, "25", 1920),
}
DOUBT = "The refrain comes again: another place fits about as well."

PLACED, HAND = ("placed", "computed"), ("placed", "by hand")
TAKES: dict[str, list[tuple[object, ...]]] = {
    "S001.mov": [((1.25, 33.0), 0.5, 1.00002, 0.004, "placed", "confirmed")],
    "S002.mov": [((0.0, 10.0), 18.5, 1.0, 0.004, "doubtful", "computed")],
    "W001.mp4": [((2.0, 30.0), 0.75, 1.0, 0.004, *HAND), ((34.0, 60.0), 8.0, 1.0, 0.004, *PLACED)],
    "W002.mp4": [((0.0, 15.0), 18.5, 1.0, 0.004, *HAND)],
    "T001.mov": [((0.0, 24.0), 2.0, 1.0, 0.004, *PLACED)],
    "T002.mov": [((0.0, 10.5), 25.75, 1.0, 0.004, *HAND)],
    "W003.mp4": [],
    "W004.mp4": [],
    "S003.mov": [],
    "S004.mov": [],
    "A001.wav": [((0.0, 30.0), 0.0, 1.0001, 0.004, *PLACED), ((35.0, 65.0), 4.0, 1.0, 0.004, *PLACED)],
    "A002.mov": [((1.0, 29.0), 3.5, 1.0, 0.004, *PLACED)],
}
"""As version 1 has them; before anybody decided, W001 lay at 0.25, W002 at 6.5 in doubt, T002 at 26.0, and
W004 held a take from 3 to 20 s at 12.0."""
TAKES_FROM_2 = {
    "W001.mp4": [((2.0, 30.0), 0.75, 1.0, 0.004, *HAND), ((34.0, 60.0), 8.04, 1.0005, 0.006, *HAND)],
    "T002.mov": [((0.0, 10.5), 25.46875, 1.03125, 0.01375, *HAND)],
    "A002.mov": [
        ((1.0, 10.0), 3.5, 1.0, 0.004, *PLACED),
        ((10.0, 20.0), 12.5, 1.0, 0.004, *PLACED),
        ((20.0, 29.0), 22.5, 1.0, 0.004, *PLACED),
    ],
}
TAKES_FROM_3 = {"A001.wav": [((0.0, 30.0), 0.0, 1.0001, 0.004, *PLACED)]}

RECORDS = {
    ("S001.mov", 0): ("confirmed", "18:00:00Z"),
    ("W001.mp4", 0): ("moved", "18:01:00Z"),
    ("W002.mp4", 0): ("chose a rival", "18:02:00Z"),
    ("W004.mp4", None): ("refused", "18:03:00Z"),
    ("T002.mov", 0): ("pinned", "18:05:00Z"),
    ("A002.mov", 0): ("marked", "18:06:00Z"),
    ("A002.mov", 1): ("marked", "18:06:00Z"),
    ("A002.mov", 2): ("marked", "18:06:00Z"),
    ("W001.mp4", 1): ("settled", "18:07:00Z"),
}


def test_every_version_has_its_file() -> None:
    assert set(VERSIONS) >= set(range(1, VERSION)), "let the code before a new version write its file"


@every_version
def test_the_file_is_of_its_version(version: int) -> None:
    text = (FOLDER / f"version_{version}{SUFFIX}").read_text(encoding="utf-8")
    assert json.loads(text)[VERSION_KEY] == version


@every_version
def test_name_song_and_media(version: int) -> None:
    shoot = opened(version)
    assert shoot.name == "Larkspur Waltz – Sonntag"
    song = song_of(shoot)
    assert song.duration_s == 36.75
    assert song.media.path == str(FOLDER / "music" / "larkspur waltz.wav")
    assert song.media.size_bytes == 6_451_244
    assert song.media.digest == "4d863b078813dc69a78f40fc3c10dba127126415d526767e93475dc90b20bb10"
    paths = [clip.media.path for clip in shoot.clips]
    assert paths[0] == str(FOLDER / "clips" / "singer" / "S001.mov")
    assert [Path(path).name for path in paths] == list(FACTS)


@every_version
def test_angles(version: int) -> None:
    rows = [(one.name, one.safety, one.subjects, one.group, one.hidden) for one in opened(version).angles]
    if version == 1:
        assert rows == [
            ("Akkordeon & Bass", False, (), "", False),
            ("Singer", False, (), "", False),
            ("Wide", False, (), "", False),
            ("Balcony", True, (), "", False),
        ]
    else:
        assert rows == [
            ("Akkordeon & Bass", False, (), "Close", False),
            ("Singer", False, ("Mirabel",), "Close", False),
            ("Wide", False, (), "", True),
            ("Balcony", True, (), "", False),
        ]


@every_version
def test_facts_and_verdicts_of_clips(version: int) -> None:
    shoot = opened(version)
    for name, facts in FACTS.items():
        clip = clip_named(shoot, name)
        angle = shoot.angle(clip.angle_id).name
        assert (angle, clip.verdict.value, clip.duration_s, str(clip.frame_rate), clip.width) == facts
    first = clip_named(shoot, "S001.mov")
    assert (first.start_timecode, first.make, first.model) == ("18:04:10:00", "Alder", "A2")
    assert first.created == "2031-05-04T16:04:10Z"
    assert [clip.variable_frame_rate for clip in shoot.clips].index(True) == 1
    assert clip_named(shoot, "W001.mp4").warnings == ("The sound is faint.",)
    assert {clip_named(shoot, name).recording for name in ("T001.mov", "T002.mov")} == {"clip-5"}
    assert clip_named(shoot, "S001.mov").recording is None
    assert sentence(clip_named(shoot, "S002.mov").reason) == DOUBT
    assert sentence(clip_named(shoot, "W003.mp4").reason) == "Nothing of the song was found."
    assert sentence(clip_named(shoot, "S003.mov").reason) == "The file breaks off."


@every_version
def test_takes_lie_where_they_lay_and_say_who_decided(version: int) -> None:
    shoot = opened(version)
    expected = TAKES | (TAKES_FROM_2 if version >= 2 else {}) | (TAKES_FROM_3 if version >= 3 else {})
    assert {name: takes_of(shoot, name) for name in FACTS} == expected


@every_version
def test_what_was_measured(version: int) -> None:
    shoot = opened(version)
    lags = [(one.clip_s, one.lag_s, one.strength) for one in take_at(shoot, "S001.mov", 0).lags]
    assert lags == [(5.0, 0.001, 0.9), (15.0, 0.0, 0.8), (25.0, -0.002, 0.7)]
    moved = [one.lag_s for one in take_at(shoot, "W001.mp4", 0).lags]
    assert moved == [-0.499, -0.5, -0.502], "told relative to the place that a person chose"


@every_version
def test_rivals(version: int) -> None:
    shoot = opened(version)
    assert rivals_of(take_at(shoot, "S002.mov", 0)) == [(24.5, 0.96, False), (6.5, 0.4, False)]
    # Up to version 4 the place that was left is a rival only where another rival was chosen.
    known = version >= 5
    left = [(0.25, 1.0, True)] if known else []
    assert rivals_of(take_at(shoot, "W001.mp4", 0)) == [*left, (6.25, 0.3, False)]
    assert rivals_of(take_at(shoot, "W002.mp4", 0)) == [(6.5, 1.25, known)]


@every_version
def test_records_of_decisions(version: int) -> None:
    assert decisions_of(opened(version)) == (RECORDS if version >= 2 else {})


@every_version
def test_pins_framing_and_notes(version: int) -> None:
    shoot = opened(version)
    pins = [(one.clip_s, one.song_s) for one in take_at(shoot, "T002.mov", 0).pins]
    settings = take_at(shoot, "S001.mov", 0).settings
    shift = settings.shift_x, settings.shift_y
    notes = {Path(clip.media.path).name: clip.note for clip in shoot.clips if clip.note}
    if version == 1:
        assert (pins, shift, notes) == ([], (0.0, 0.0), {})
        return
    assert pins == [(1.0, 26.5), (9.0, 34.75)]
    assert shift == (-0.25, 0.5)
    assert notes == {
        "S001.mov": "Mirabel laughs in bar 9 – keep!",
        "S003.mov": "Ask Tomas for the card",
        "S004.mov": "Ask Tomas for the card",
    }


@every_version
def test_what_was_refused(version: int) -> None:
    shoot = opened(version)
    clip = clip_named(shoot, "W004.mp4")
    assert clip.decision.value == "by hand"
    assert sentence(clip.reason) == "You marked this as not this song."
    early, late = "2031-05-04T18:03:00Z", "2031-05-04T18:08:00Z"
    if version < 3:
        assert refused_of(shoot) == {}
    elif version < 5:
        assert refused_of(shoot) == {"A001.wav": [(35.0, 65.0, late, None)]}
    else:
        assert refused_of(shoot) == {
            "W004.mp4": [(3.0, 20.0, early, 12.0)],
            "A001.wav": [(35.0, 65.0, late, 4.0)],
        }


@every_version
def test_the_map(version: int) -> None:
    song_map = song_of(opened(version)).map
    sections = [(one.letter, one.name, one.start_s, one.end_s) for one in song_map.sections]
    tempos = (song_map.tempo_bpm, song_map.other_tempo_bpm, song_map.tempo_by_hand)
    fixed = (song_map.downbeats_s, [(one.from_s, one.beats) for one in song_map.metres], song_map.edges_s)
    if version < 4:
        assert tempos == (120.0, None, False)
        assert (len(song_map.beats_s), song_map.beats_s[0], song_map.beats_s[-1]) == (72, 0.5, 36.0)
        assert (len(song_map.bars_s), song_map.bars_s[:3], song_map.bars_s[-1]) == (24, (0.5, 2.0, 3.5), 35.0)
        assert sections == [
            ("A", "Intro", 0.0, 6.5),
            ("B", "Verse", 6.5, 18.5),
            ("C", "Refrain", 18.5, 36.75),
        ]
        assert all(one.suggested and not one.by_hand for one in song_map.sections), "nobody typed them then"
        assert fixed == ((), [], ())
        assert song_map.levels_db == ()
        return
    assert tempos == (60.0, 120.0, True)
    assert (len(song_map.beats_s), song_map.beats_s[0], song_map.beats_s[-1]) == (36, 0.75, 35.75)
    bars_s = (1.75, 4.75, 7.75, 10.75, 13.75, 16.75, 19.75, 23.75, 27.75, 31.75, 35.75)
    assert song_map.bars_s == bars_s
    assert fixed == ((1.75,), [(19.75, 4)], (7.25, 29.75))
    assert sections == [
        ("A", "Intro", 0.0, 7.25),
        ("V", "Verse", 7.25, 19.75),
        ("C", "Refrain", 19.75, 29.75),
        ("D", "Last refrain", 29.75, 36.75),
    ]
    assert [one.own_letter for one in song_map.sections] == [False, True, False, False]
    assert [one.by_hand for one in song_map.sections] == [False, False, False, True]
    assert [one.suggested for one in song_map.sections] == [True, True, True, False]
    assert [one.family for one in song_map.sections] == ["A", "B", "C", "C"]
    assert (len(song_map.levels_db), song_map.levels_db[:3]) == (147, (-24.0, -23.0, -22.0))


@every_version
@pytest.mark.parametrize("name", ["S001.mov", "W001.mp4", "W002.mp4", "T002.mov", "W004.mp4"])
def test_a_new_computation_leaves_what_was_decided_in_an_old_file(version: int, name: str) -> None:
    document = document_of(version)
    before, after = on_song(document), on_song(found_anew(document, name, 15.0))
    decided = [n for n, take in enumerate(clip_named(before, name).takes) if is_decided(take)]
    assert decided or name == "W004.mp4"
    assert [takes_of(after, name)[n] for n in decided] == [takes_of(before, name)[n] for n in decided]
    assert clip_named(after, name).verdict is clip_named(before, name).verdict
    assert found_anew(document, "T001.mov", 15.0) != document, "what nobody decided is computed anew"


@every_version
def test_a_shoot_with_nothing_in_it_yet(version: int) -> None:
    data = {VERSION_KEY: version, "name": "Tomorrow", "song": None, "angles": [], "clips": []}
    if version >= 6:
        del data["song"]
        decisions: dict[str, object] = {
            "takes": [],
            "refusals": [],
            "clip_refusals": [],
            "settings": [],
        }
        plan: dict[str, list[object]] = {"needs": [], "set_ups": []}
        data |= {"songs": [], "findings": [], "marks": [], "decisions": decisions, "plan": plan}
    if version >= 7:
        data["plan"] = {**plan, "handle_frames": 0, "lead_in_s": 10.0, "reset_s": 120.0}
    if version == 8:
        data["decisions"] = {**decisions, "reference": None}
        data |= {"looks": [], "matches": [], "cut": {"locks": [], "versions": []}}
    assert from_text(json.dumps(data), FOLDER) == Shoot("Tomorrow")


@every_version
def test_saved_today_it_stays_the_same(version: int, tmp_path: Path) -> None:
    shoot = document_of(version)
    save(shoot, tmp_path / f"again{SUFFIX}")
    assert load(tmp_path / f"again{SUFFIX}") == shoot


def test_marks_and_plan() -> None:
    shoot = document_of(6)
    clips = {clip.id: Path(clip.media.path).name for clip in shoot.clips}
    marks = [
        (clips[one.clip_id], one.kind.value, one.clip_start_s, one.clip_end_s, one.reason.value, one.words)
        for one in shoot.marks
    ]
    assert marks == [
        ("W001.mp4", "fault", 5.0, 8.5, "focus", "the horn, not the face"),
        ("S001.mov", "keeper", 12.0, 20.0, "other", "the smile"),
        ("W001.mp4", "fault", 40.0, 41.0, "light", ""),
    ]
    assert [(one.by, one.state.value) for one in shoot.marks] == [
        *2 * [("", "set")],
        ("pictures", "dismissed"),
    ]
    song = shoot.songs[0]
    one, two = shoot.plan.needs
    assert one.passage == Passage(section_id=song.map.sections[1].id)
    assert (one.subject, one.least_bars, one.least_angles, one.note) == ("singer", 4, 1, "both verses")
    assert (two.passage, two.subject) == (Passage(first_bar=3, last_bar=9), "accordion")
    (set_up,) = shoot.plan.set_ups
    assert set_up.passage == Passage(family=song.map.sections[2].family)
    assert (set_up.angle, set_up.subjects, set_up.speed) == ("Singer close", ("singer",), Fraction(5, 4))
    assert {angle.name: angle.rank for angle in shoot.angles if angle.rank} == {"Singer": 1}


def test_a_count_of_places_means_the_strongest_rivals() -> None:
    data = json.loads((FOLDER / f"version_6{SUFFIX}").read_text(encoding="utf-8"))
    takes = [take for finding in data["findings"] for take in finding["takes"] if take["rivals"]]
    for take in takes:
        take["reason"] = {"code": "fits elsewhere", "figures": {"places": 1}}
    (finding,) = (one for one in data["findings"] if one["takes"] == takes[:1])
    shoot = from_text(json.dumps(data), FOLDER)
    (read,) = (one for one in shoot.findings if one.clip_id == finding["clip_id"])
    assert [(one.song_start_s, one.as_well) for one in read.takes[0].rivals] == [(24.5, True), (6.5, False)]
