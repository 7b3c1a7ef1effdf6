"""The sample shoot is where the window looks for it, in a checkout and in what is installed."""

import tomllib
from pathlib import Path

from app.engine.sample import sample_shoot

ROOT = Path(__file__).parents[3]
SAMPLE = ROOT / "sample_media"


def test_the_sample_is_found_beside_the_program(tmp_path: Path) -> None:
    found = sample_shoot()
    assert found is not None
    assert (found.song, found.clips) == (SAMPLE / "song.ogg", SAMPLE / "clips")
    assert sample_shoot(tmp_path) is None


def test_all_of_it_is_in_the_package() -> None:
    """An installed package puts ``sample_media`` beside ``app``, as the checkout has it."""
    setuptools = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]
    assert "sample_media" in setuptools["packages"]["find"]["include"]
    packed = {path for pattern in setuptools["package-data"]["sample_media"] for path in SAMPLE.glob(pattern)}
    wanted = {path for path in (SAMPLE / "clips").rglob("*") if path.is_file()} | {
        SAMPLE / name for name in ("song.ogg", "truth.json", "plan.csv", "angles.csv")
    }
    assert len(wanted) == 20
    assert wanted <= packed
