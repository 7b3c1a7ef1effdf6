"""``anglebook look``: what is seen is saved and reported; what stands in the way is told."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from app.cli.commands import main
from app.model.document import store
from app.model.document.identity import media_ref
from app.model.edits.shoot_edits import set_note
from app.model.seen import Seen
from tests.app.documents import document
from tests.app.random_shoots import clip, shoot, take
from tests.audio.media_files import Recipe, make, noise


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    """A shoot of two clips and a sound, saved beside their folder."""
    card = tmp_path / "card"
    card.mkdir()
    sizes = {"a.mov": (64, 48), "b.mov": (66, 48)}
    files = [make(card / name, Recipe(picture_s=3.0, size=size)) for name, size in sizes.items()]
    sound = make(card / "s.wav", Recipe(tracks=[noise(3.0)], picture_s=0))
    clips = [
        replace(clip(n, take(f"clip-{n}-take-1", 0.0, 3.0), duration_s=3.0), media=media_ref(path))
        for n, path in enumerate(files, 1)
    ]
    clips.append(replace(clip(3, rate=None, duration_s=3.0), media=media_ref(sound)))
    path = tmp_path / "evening.anglebook"
    store.save(document(shoot(*clips)), path)
    return path


def test_what_is_seen_is_saved_and_reported(saved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = saved.with_suffix(".json")
    asked = ["look", str(saved), "--report", str(target), "--workers", "1", "--trust-paths"]
    assert main([*asked, "--reference", "a.mov@1.5"]) == 0
    printed = capsys.readouterr()
    assert "2 of 2" in printed.err
    assert "2 clips looked at" in printed.out
    kept = store.load(saved, trust=True)
    assert {one.clip_id for one in kept.looks} == {"clip-1", "clip-2"}
    assert kept.decisions.reference is not None
    assert kept.decisions.reference.clip_id == "clip-1"
    told = json.loads(target.read_text())
    first, second, sound = told["clips"]
    assert sound["look"] is None
    for one in (first, second):
        assert set(one["look"]) == {"group", "sure", "measures", "proposed"}
        assert one["look"]["group"].startswith("view-")
        assert one["look"]["measures"]["level"] == pytest.approx(0.37, abs=0.15)
    match = second["takes"][0]["match"]
    if match is not None:
        assert match["reference"] == "clip-1-take-1"


def test_what_others_saved_meanwhile_stays(saved: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def looked(view: object, *, answered: object, **_: object) -> None:
        now = store.load(saved, trust=True)
        store.save(set_note(now, ["clip-1"], "the smile")[0], saved)

    monkeypatch.setattr("app.cli.look_command.tasks.look_at_clips", looked)
    assert main(["look", str(saved), "--trust-paths"]) == 0
    assert store.load(saved, trust=True).clip("clip-1").note == "the smile"


def test_trouble_with_a_clip_is_told(
    saved: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    media = store.load(saved, trust=True).clip("clip-2").media

    def looked(view: object, *, answered: object, **_: object) -> None:
        answered(Seen(media, trouble="No picture of the clip can be decoded."))  # type: ignore[operator]

    monkeypatch.setattr("app.cli.look_command.tasks.look_at_clips", looked)
    assert main(["look", str(saved), "--trust-paths"]) == 0
    assert "b.mov: No picture of the clip can be decoded." in capsys.readouterr().out


def test_stopping_writes_nothing(
    saved: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    before = saved.read_bytes()
    monkeypatch.setattr("app.cli.look_command.tasks.look_at_clips", stopped)
    assert main(["look", str(saved), "--trust-paths"]) == 130
    assert "What was looked at is kept" in capsys.readouterr().err
    assert saved.read_bytes() == before


@pytest.mark.parametrize(
    ("more", "status", "words"),
    [
        (["--report", "x.mov"], 2, "ends with .json"),
        (["--report", "/nowhere/x.json"], 2, "does not exist"),
        (["--workers", "0"], 2, "1 or more"),
        (["--reference", "c.mov"], 1, "There is no take c.mov"),
    ],
)
def test_wrong_use_is_told_before_anything_is_read(
    saved: Path, capsys: pytest.CaptureFixture[str], more: list[str], status: int, words: str
) -> None:
    assert main(["look", str(saved), "--trust-paths", *more]) == status
    assert words in capsys.readouterr().err


def test_an_empty_shoot_has_nothing_to_look_at(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "empty.anglebook"
    store.save(document(shoot()), path)
    assert main(["look", str(path)]) == 1
    assert "place them first" in capsys.readouterr().err
