"""Locks and versions of the first pass, and what becomes of locks when angles and clips change."""

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from app.model.document.angle import Angle
from app.model.document.change import NOTHING, Change
from app.model.document.cut import Lock, Setting
from app.model.document.history import History
from app.model.document.plan import Passage
from app.model.document.shoot import Shoot
from app.model.document.store import from_text, to_text
from app.model.edits import angle_edits, cut_edits
from app.model.edits.map_edits import move_edge, split
from app.model.edits.shoot_edits import remove_clips, set_map
from app.model.first_pass.fixed_bars import fixed_bars
from app.model.first_pass.rules import DEFAULT, rules_of
from app.model.first_pass.solver import solve
from app.model.on_song import on_song
from tests.app.documents import document
from tests.app.random_shoots import clip, shoot, take

ANGLES = tuple(Angle(f"angle-{n}", name) for n, name in enumerate(("Fiddle", "Drums", "Wide"), 1))
HERE = Path("/shoot")
BARS = Passage(first_bar=3, last_bar=4)


def made() -> Shoot:
    clips = [clip(n, take(f"take-{n}", 0.0, 20.0), angle=f"angle-{n}") for n in (1, 2, 3)]
    return document(shoot(*clips, angles=ANGLES))


SONG = made().songs[0].id


def locked(angle: str = "angle-1", passage: Passage = BARS) -> Shoot:
    return cut_edits.add_lock(made(), SONG, passage, angle)[0]


def test_a_lock_is_added_changed_and_removed_and_saved_with_the_shoot() -> None:
    value, change = cut_edits.add_lock(made(), SONG, BARS, "angle-1")
    assert (change, value.cut.locks) == (Change.CUT, (Lock("lock-1", SONG, BARS, "angle-1"),))
    assert cut_edits.add_lock(value, SONG, BARS, "angle-1") == (value, NOTHING)
    again, _ = cut_edits.add_lock(value, SONG, BARS, "angle-2")
    assert again.cut.locks == (Lock("lock-1", SONG, BARS, "angle-2"),)
    value, _ = cut_edits.add_lock(value, SONG, Passage(section_id="s"), "angle-2")
    moved, _ = cut_edits.change_lock(
        value, replace(value.cut.locks[0], passage=Passage(first_bar=1, last_bar=2))
    )
    assert [one.id for one in moved.cut.locks] == ["lock-1", "lock-2"]
    assert from_text(to_text(moved, HERE), HERE).cut == moved.cut
    assert on_song(moved).cut == moved.cut
    left, change = cut_edits.remove_locks(moved, ["lock-1"])
    assert (change, [one.id for one in left.cut.locks]) == (Change.CUT, ["lock-2"])


def test_what_is_not_there_cannot_be_locked() -> None:
    value = locked()
    for edit in (
        lambda: cut_edits.add_lock(value, "nobody", BARS, "angle-1"),
        lambda: cut_edits.add_lock(value, SONG, BARS, "angle-9"),
        lambda: cut_edits.change_lock(value, Lock("lock-9", SONG, BARS, "angle-1")),
        lambda: cut_edits.change_lock(value, Lock("lock-1", SONG, BARS, "angle-9")),
        lambda: cut_edits.remove_locks(value, ["lock-9"]),
        lambda: cut_edits.remove_versions(value, ["version-9"]),
        lambda: cut_edits.rename_version(value, "version-9", "Slow"),
        lambda: cut_edits.add_version(value, "nobody", "Slow", DEFAULT),
    ):
        with pytest.raises(KeyError):
            edit()


def test_versions_have_names_of_their_own_and_rules_that_can_be_changed() -> None:
    fast = rules_of([Setting("pace", "fast")])
    value, change = cut_edits.add_version(made(), SONG, " Fast ", fast, seed=3)
    [version] = value.cut.versions
    assert (change, version.id, version.name, version.seed) == (Change.CUT, "version-1", "Fast", 3)
    assert version.settings == (Setting("pace", "fast"),)
    value, _ = cut_edits.add_version(value, SONG, "Slow", DEFAULT)
    for typed, said in (("fast", "There is a version fast already"), ("  ", "A version needs a name")):
        with pytest.raises(ValueError, match=said):
            cut_edits.add_version(value, SONG, typed, DEFAULT)
        with pytest.raises(ValueError, match=said):
            cut_edits.rename_version(value, "version-2", typed)
    assert cut_edits.rename_version(value, "version-1", "Fast") == (value, NOTHING)
    value, _ = cut_edits.rename_version(value, "version-2", "Slower")
    value, _ = cut_edits.set_rules(value, "version-2", fast)
    assert [(one.name, one.seed, one.settings) for one in value.cut.versions] == [
        ("Fast", 3, (Setting("pace", "fast"),)),
        ("Slower", 0, (Setting("pace", "fast"),)),
    ]
    assert cut_edits.set_rules(value, "version-2", fast, seed=5)[0].cut.versions[1].seed == 5
    assert from_text(to_text(value, HERE), HERE).cut == value.cut
    assert [v.name for v in cut_edits.remove_versions(value, ["version-1"])[0].cut.versions] == ["Slower"]


def test_a_lock_goes_where_the_clips_of_its_angle_go() -> None:
    merged, change = angle_edits.merge_angles(locked(), ["angle-1", "angle-2"], "angle-2")
    assert change == Change.ANGLES | Change.CLIPS | Change.CUT
    assert [one.angle_id for one in merged.cut.locks] == ["angle-2"]
    renamed, change = angle_edits.rename_angle(locked(), "angle-1", "Drums")
    assert Change.CUT in change
    assert [one.angle_id for one in renamed.cut.locks] == ["angle-2"]
    kept, change = angle_edits.rename_angle(locked(), "angle-1", "Violin")
    assert (change, kept.cut) == (Change.ANGLES, locked().cut)
    other, _ = angle_edits.merge_angles(locked("angle-3"), ["angle-1", "angle-2"], "angle-2")
    assert [one.angle_id for one in other.cut.locks] == ["angle-3"]


def test_a_lock_leaves_with_the_last_clip_of_its_angle_and_comes_back_with_undo() -> None:
    history = History(locked())
    value, change = remove_clips(history.shoot, ["clip-1"])
    assert Change.CUT in change
    assert value.cut.locks == ()
    history.push("Remove clip", value, change)
    assert Change.CUT in history.undo()
    assert history.shoot.cut == locked().cut
    value, change = remove_clips(locked(), ["clip-2"])
    assert Change.CUT not in change
    assert value.cut == locked().cut


def test_no_new_section_gets_the_id_of_one_that_a_lock_holds_on_to() -> None:
    value, _ = set_map(made(), made().songs[0].map)
    last = value.songs[0].map.sections[-1].id
    value, _ = cut_edits.add_lock(value, SONG, Passage(section_id=last), "angle-1")
    one = value.songs[0].map
    # The section goes, and another is made in its place later.
    joined, _ = set_map(value, replace(one, sections=(replace(one.sections[0], end_s=24.0),)))
    again, _ = split(joined, 10.0)
    assert last not in {section.id for section in again.songs[0].map.sections}


def spans(value: Shoot) -> list[tuple[str, int, int, str]]:
    told = [(one.passage, one.angle_id) for one in value.cut.locks]
    return [(p.section_id or p.family, p.first_bar, p.last_bar, angle) for p, angle in told]


def test_bars_that_are_fixed_inside_a_locked_section_leave_the_rest_of_it_locked() -> None:
    value, _ = set_map(made(), made().songs[0].map)
    verse, chorus = (section.id for section in value.songs[0].map.sections)
    last_bar = len(value.songs[0].map.bars_s)
    value, _ = cut_edits.add_lock(value, SONG, Passage(section_id=verse), "angle-1")
    value, _ = cut_edits.add_lock(value, SONG, Passage(section_id=chorus), "angle-3")
    fixed, _ = cut_edits.fix_bars(value, SONG, 2, 3, "angle-2")
    left = [("", 1, 1, "angle-1"), ("", 4, 4, "angle-1"), (chorus, 0, 0, "angle-3"), ("", 2, 3, "angle-2")]
    assert spans(fixed) == left
    assert len({lock.id for lock in fixed.cut.locks}) == 4
    # Nothing is locked twice, so nothing is told of two locks on one bar.
    result = solve(on_song(fixed), locks=fixed.cut.locks, rate=Fraction(25))
    assert not [one.words for one in result.unsatisfied if "the later lock counts" in one.words]
    over, _ = cut_edits.fix_bars(value, SONG, 4, 6, "angle-2")
    assert spans(over) == [("", 1, 3, "angle-1"), ("", 7, last_bar, "angle-3"), ("", 4, 6, "angle-2")]
    gone, _ = cut_edits.fix_bars(value, SONG, 1, 4, "angle-2")
    assert spans(gone) == [(chorus, 0, 0, "angle-3"), ("", 1, 4, "angle-2")]
    whole, _ = cut_edits.add_lock(made(), SONG, Passage(), "angle-1")
    whole, _ = cut_edits.fix_bars(whole, SONG, 1, 2, "angle-2")
    assert spans(whole) == [("", 3, last_bar, "angle-1"), ("", 1, 2, "angle-2")]
    # A lock that tells its first bar alone is on that bar.
    single, _ = cut_edits.add_lock(made(), SONG, Passage(first_bar=3), "angle-1")
    assert spans(cut_edits.fix_bars(single, SONG, 2, 4, "angle-2")[0]) == [("", 2, 4, "angle-2")]


def test_a_locked_section_is_the_section_of_today() -> None:
    value, _ = set_map(made(), made().songs[0].map)
    verse = value.songs[0].map.sections[0].id
    value, _ = cut_edits.add_lock(value, SONG, Passage(section_id=verse), "angle-1")
    longer, _ = move_edge(value, 1, 12.0)
    assert [(o.first_bar, o.last_bar) for o in fixed_bars(on_song(value))] == [(1, 4)]
    assert [(o.first_bar, o.last_bar) for o in fixed_bars(on_song(longer))] == [(1, 6)]
    # What is fixed then gives way as far as the section reaches then, not as far as it did.
    assert spans(cut_edits.fix_bars(longer, SONG, 6, 7, "angle-2")[0]) == [
        ("", 1, 5, "angle-1"),
        ("", 6, 7, "angle-2"),
    ]
    assert spans(cut_edits.fix_bars(value, SONG, 6, 7, "angle-2")[0]) == [
        (verse, 0, 0, "angle-1"),
        ("", 6, 7, "angle-2"),
    ]


def test_one_songs_view_knows_what_the_plan_says_of_handles() -> None:
    value = made()
    value = replace(value, plan=replace(value.plan, handle_frames=12, lead_in_s=4.0))
    assert (on_song(value).plan.handle_frames, on_song(value).plan.lead_in_s) == (12, 4.0)
