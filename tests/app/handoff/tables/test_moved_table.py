"""The table of what moved, read by Python's csv module and held against the timelines of both masters."""

import csv
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from app.handoff.choices import DEFAULT, Form
from app.handoff.layout import lay_out
from app.handoff.outcome import HandoffError
from app.handoff.tables import moved_table
from app.model.answers import Answer
from app.model.document.clip import FileFacts
from app.model.document.findings import TakePlacement
from app.model.document.masters import MasterPiece
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.song import Song, SongMap
from app.model.document.verdict import Verdict
from app.model.edits import shoot_edits
from app.model.edits.renewing import renew
from app.model.on_song import on_song

AT = "2031-05-04T18:20:00Z"
LEAD_S = 1.234
PIECES = (
    MasterPiece(0.0, 40.0, LEAD_S, 1 / 1.003),
    MasterPiece(60.0, 80.0, LEAD_S + 40.0 / 1.003, 1 / 1.003),
)
RATES = (Fraction(25), Fraction(24000, 1001), Fraction(50), None)


def shoots() -> tuple[Shoot, Shoot]:
    """Four clips of the whole song at several rates and one of what was cut, on both masters."""
    shoot = Shoot("Evening", songs=(Song(MediaRef("/s/1.wav", 1, "1"), 80.0, SongMap()),))
    for number, rate in enumerate((*RATES, Fraction(25))):
        media = MediaRef(f"/cards/C{number}.mov", 1, str(number))
        take = TakePlacement(3.017 * number, 3.017 * number + 79.0, 0.2 + number / 9, verdict=Verdict.PLACED)
        if number == len(RATES):
            take = TakePlacement(0.0, 12.0, 44.0, verdict=Verdict.PLACED)
        shoot, _ = shoot_edits.add_clips(shoot, [media])
        facts = FileFacts(100.0, rate)
        shoot, _ = shoot_edits.answer_clip(shoot, Answer(media, facts, verdict=Verdict.PLACED, takes=(take,)))
    new = Song(MediaRef("/s/2.wav", 1, "2"), 61.0, SongMap())
    return shoot, renew(shoot, new, PIECES, AT)[0]


@pytest.mark.parametrize("form", list(Form))
@pytest.mark.parametrize("rate", [Fraction(25), Fraction(30000, 1001)])
def test_frames_are_those_of_both_timelines(tmp_path: Path, form: Form, rate: Fraction) -> None:
    choices = replace(DEFAULT, form=form, rate=rate)
    before, after = map(on_song, shoots())
    path = tmp_path / f"moved.{form}"
    told = moved_table.write(after, path, choices)
    assert told.lines[0].startswith("Since 1.wav: 13 parts of takes, 8 moved, ")
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, delimiter="," if form is Form.CSV else "\t"))
    old = {one.clip.media.path: one.position for one in lay_out(before, choices).segments}
    new = {one.take.id: one for one in lay_out(after, choices).segments}
    for row in rows:
        if row["fate"] == "gone":
            assert not row["new_frame"]
            assert not row["take"]
            assert int(row["old_frame"]) >= 40 * rate
            continue
        segment = new[row["take"]]
        assert int(row["new_frame"]) == segment.position
        assert int(row["clip_frame"]) == segment.first_frame
        assert int(row["difference_frames"]) == int(row["new_frame"]) - int(row["old_frame"])
        assert float(row["speed_change"]) == pytest.approx(1 / 1.003)
        if float(row["old_frame"]) < 40 * rate:
            assert int(row["old_frame"]) == old[row["clip"]]
            assert float(row["difference_s"]) == pytest.approx(LEAD_S, abs=0.02)
    assert [row["fate"] for row in rows].count("gone") == 5
    assert all(row["old_timecode"].startswith("01:0") for row in rows)


def test_without_an_earlier_master_nothing_moved(tmp_path: Path) -> None:
    before, after = map(on_song, shoots())
    with pytest.raises(HandoffError, match="no earlier master"):
        moved_table.write(before, tmp_path / "m.csv", DEFAULT)
    assert not list(tmp_path.iterdir())
    # Of what lies on a stretch that the new master added, there is no old frame.
    clip = after.clips[0]
    early = replace(clip.takes[0], song_start_s=-4.0 + LEAD_S, clip_end_s=clip.takes[0].clip_start_s + 8.0)
    row = moved_table.to_table(replace(after, clips=(replace(clip, takes=(early,)),)), DEFAULT).rows[0]
    assert (row["fate"], row.get("old_frame", "")) == ("new", "")
