"""Starting matches handed off: as OpenColorIO reads them, and in the timeline's metadata."""

from dataclasses import replace
from pathlib import Path

import opentimelineio as otio
import PyOpenColorIO as ocio
import pytest

from app.handoff.all import preview, write_all
from app.handoff.choices import DEFAULT
from app.handoff.registry import BY_WORD, is_ours
from app.model.on_song import SongView
from audio.pictures.cdl import Cdl
from audio.pictures.cdl_files import Correction, collection, read
from tests.app.random_shoots import clip, compared, shoot, take

PLAIN = shoot(clip(1, take("clip-1-take-1", 0, 9)), clip(2, take("clip-2-take-1", 0, 9)), clip(3))
VALUE = compared(PLAIN, doubts=("clipped",))
MATCH = replace(DEFAULT, what=frozenset(("match",)))


def written(value: SongView, folder: Path) -> Path:
    done = write_all(value, folder, MATCH)
    assert done.troubles == ()
    (report,) = done.reports
    return report.path


def test_another_library_reads_the_cdl_of_each_take(tmp_path: Path) -> None:
    path = written(VALUE, tmp_path)
    assert path.name == "Evening match.ccc"
    found = ocio.CDLTransform.CreateFromFile(str(path), "clip-2-take-1")
    assert found.getSlope() == pytest.approx([0.8, 0.75, 0.7])
    assert found.getOffset() == pytest.approx([0.01, 0.0, -0.02])
    assert found.getPower() == [1.0, 1.0, 1.0]
    assert found.getSat() == 1.0
    with pytest.raises(ocio.Exception):  # the reference itself needs none
        ocio.CDLTransform.CreateFromFile(str(path), "clip-1-take-1")


def test_it_says_which_file_and_what_to_doubt(tmp_path: Path) -> None:
    (one,) = read(written(VALUE, tmp_path).read_bytes())
    assert one.description.startswith("clip_02.mov: 0.9 stops brighter, 0.3 warmer")
    assert "clipped" in one.description
    assert "1 of them in doubt" in " ".join(preview(VALUE, MATCH).planned[0].lines)


def test_without_a_reference_there_is_nothing_to_write(tmp_path: Path) -> None:
    assert "No reference take is chosen" in preview(PLAIN, MATCH).troubles[0]
    alone = compared(shoot(clip(1, take("t", 0, 9))))
    assert "No take was compared" in preview(alone, MATCH).troubles[0]
    assert write_all(PLAIN, tmp_path, MATCH).reports == ()


def test_somebody_elses_collection_is_not_ours(tmp_path: Path) -> None:
    path = written(VALUE, tmp_path)
    assert is_ours(path)
    other = tmp_path / "grades.ccc"
    other.write_bytes(collection([Correction("take-1", Cdl())], "Day 3, stage B"))
    assert not is_ours(other)
    other.write_bytes(b"<ColorCorrectionCollection/>")
    assert not BY_WORD["match"].is_ours(other)
    (tmp_path / "folder.ccc").mkdir()
    assert not is_ours(tmp_path / "folder.ccc")


def test_ids_from_elsewhere_become_names_that_xml_takes(tmp_path: Path) -> None:
    odd = compared(
        shoot(clip(1, take("1", 0, 9)), clip(2, take("2 <&>", 0, 9)), clip(3, take("2 <&?", 0, 9)))
    )
    ids = [one.id for one in read(written(odd, tmp_path).read_bytes())]
    assert len(set(ids)) == 2
    assert all(name[0].isalpha() and " " not in name for name in ids)


def test_the_timeline_notes_it_with_every_clip(tmp_path: Path) -> None:
    done = write_all(VALUE, tmp_path, replace(DEFAULT, what=frozenset(("otio",))))
    assert done.troubles == ()
    timeline = otio.adapters.read_from_file(str(done.reports[0].path))
    noted = {
        own["take_id"]: own["match"]
        for one in timeline.find_clips()
        if (own := one.metadata.get("anglebook")) is not None
    }
    assert noted["clip-1-take-1"] is None
    assert list(noted["clip-2-take-1"]["slope"]) == [0.8, 0.75, 0.7]
    assert noted["clip-2-take-1"]["saturation"] == 1.0
    assert list(noted["clip-2-take-1"]["doubts"]) == ["clipped"]
