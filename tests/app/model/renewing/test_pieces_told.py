"""Pieces of a master told and corrected: every stretch once, repeats anew, wrong ones refused in words."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.model.answers import Answer
from app.model.document.clip import FileFacts
from app.model.document.findings import TakePlacement
from app.model.document.masters import MasterPiece
from app.model.document.verdict import Verdict
from app.model.edits import shoot_edits
from app.model.edits.renewing import renew
from app.model.on_song import on_song
from app.model.renewing.corrected import with_piece, without_piece
from app.model.renewing.moved_parts import moved_parts
from app.model.renewing.told_pieces import Fate, told_pieces
from app.model.renewing.what_changes import left_rows, what_changes
from tests.app.model.renewing.test_renewing import AT, CLIP, cut_out, next_master, shoot

OLD_S, NEW_S = 80.0, 60.0
CUT = tuple(cut_out(40.0, 60.0))


def test_a_piece_is_corrected_and_the_others_stay() -> None:
    moved = replace(CUT[1], new_start_s=40.25)
    pieces = with_piece(CUT, 1, moved, OLD_S, NEW_S + 1)
    assert pieces == (CUT[0], moved)
    # What begins earlier in the new master is the first; the other one comes again.
    again = with_piece(CUT, None, MasterPiece(10.0, 15.0, 60.0), OLD_S, 70.0)
    assert [(one.old_start_s, one.again) for one in again] == [(0.0, False), (10.0, True), (60.0, False)]
    assert without_piece(again, 1) == CUT
    for piece, why in (
        (replace(CUT[1], speed=9.0), "speed"),
        (replace(CUT[1], old_end_s=60.2), "at least 0.5 s"),
        (replace(CUT[1], old_end_s=99.0), "old master runs from 0 to 80.000 s"),
        (replace(CUT[1], new_start_s=50.0), "new master runs from 0 to 60.000 s"),
        (replace(CUT[1], new_start_s=30.0), "lie over another one for 10.0 s"),
    ):
        with pytest.raises(ValueError, match=why):
            with_piece(CUT, 1, piece, OLD_S, NEW_S)


@given(
    st.lists(
        st.tuples(st.floats(0, 70), st.floats(1, 10), st.floats(0, 100), st.sampled_from([0.997, 1.0, 1.02])),
        max_size=5,
    )
)
def test_every_moment_of_the_old_master_is_told_once(drawn: list[tuple[float, float, float, float]]) -> None:
    """As living or cut, whatever pieces a person puts there; repeats beside that."""
    pieces: tuple[MasterPiece, ...] = ()
    for start_s, length_s, at_s, speed in drawn:
        try:
            pieces = with_piece(
                pieces, None, MasterPiece(start_s, start_s + length_s, at_s, speed), OLD_S, 120.0
            )
        except ValueError:
            continue
    told = told_pieces(pieces, OLD_S, 120.0)
    first = [one.old_s for one in told if one.old_s is not None and one.fate is not Fate.REPEATED]
    for moment_s in range(80):
        on = [low for low, high in first if low <= moment_s + 0.5 < high]
        near = any(abs(edge - moment_s - 0.5) < 0.05 for span in first for edge in span)
        assert len(on) == 1 or near, (moment_s, told)


def test_what_changes_is_counted() -> None:
    before = shoot()
    after, _ = renew(before, next_master(NEW_S), CUT, AT)
    left = after.masters[-1].left
    rows = {row.what: row for row in what_changes(on_song(before), on_song(after), left)}
    assert rows["Takes"].said.startswith("2 takes: 0 kept whole, 1 split, 1 without a place.")
    assert any(name.startswith("fiddle.mov: split into 2") for name in rows["Takes"].named)
    assert rows["Sections"].said.startswith("3 kept, 1 without a place.")
    assert rows["Plan"].said == "1 need or set-up kept, 2 without a place."
    assert rows["Lyrics"].said == "1 line kept, 1 without a place."
    assert rows["Playback files"].said == "1 file mapped to the new master."
    assert "First pass" not in rows
    assert {row.what for row in left_rows(left)} == {"Takes", "Sections", "Needs", "Set-ups", "Lyrics"}


def test_parts_of_takes_before_and_after() -> None:
    after, _ = renew(shoot(), next_master(NEW_S), CUT, AT)
    parts = [
        (one.clip.id, one.clip_start_s, one.old_s, None if one.take is None else one.take.song_start_s)
        for one in moved_parts(on_song(after))
    ]
    assert parts == [
        ("clip-1", 5.0, 0.0, 0.0),
        ("clip-1", 45.0, 40.0, None),
        ("clip-1", 65.0, 60.0, 40.0),
        ("clip-2", 0.0, 44.0, None),
    ]
    assert moved_parts(on_song(shoot())) == ()
    # What was cut and is used elsewhere now moved there from where it lay, and is not gone.
    elsewhere = TakePlacement(46.0, 64.0, 21.0, verdict=Verdict.PLACED)
    answer = Answer(CLIP, FileFacts(90.0), verdict=Verdict.PLACED, takes=(elsewhere,))
    now, _ = shoot_edits.answer_clip(after, answer)
    found = {one.clip_start_s: one for one in moved_parts(on_song(now)) if one.clip.id == "clip-1"}
    assert sorted(found) == [5.0, 46.0, 65.0]
    assert found[46.0].old_s == 41.0
    assert found[46.0].take is not None
    assert found[46.0].take.song_start_s == 21.0
