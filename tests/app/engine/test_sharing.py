"""What clips share among themselves when the song is in none of them."""

from pathlib import Path

import numpy as np
import pytest

from app.engine import tasks
from app.engine.sharing import shared_sound
from app.model.wrong_song import Shared
from audio.errors import Stopped
from tests.audio.engine_songs import RATE, camera_file
from tests.audio.media_files import Recipe, make
from tests.quality import damage


def never() -> bool:
    return False


def no_progress(fraction: float) -> None:
    """Nobody looks."""


def noise_file(path: Path, seconds: float, seed: int) -> Path:
    noise = 0.1 * damage.pink(round(seconds * RATE), np.random.default_rng(seed))
    return make(path, Recipe(tracks=[noise.astype(np.float32)], sound_rate=RATE, picture_s=seconds))


def test_clips_of_another_song_match_the_longest_of_them(tmp_path: Path) -> None:
    longest = camera_file(tmp_path / "a.mov", (5.0, 40.0))
    others = [
        camera_file(tmp_path / "b.mov", (8.0, 20.0)),
        camera_file(tmp_path / "c.mov", (20.0, 22.0)),
        noise_file(tmp_path / "d.mov", 18.0, 5),
    ]
    broken = tmp_path / "e.mov"
    broken.write_bytes(b"no film")
    told: list[float] = []
    shared = shared_sound([*others, broken, longest], stop=never, progress=told.append)
    assert shared == Shared(str(longest), 3, 2)
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_clips_that_have_nothing_in_common_do_not_match(tmp_path: Path) -> None:
    paths = [noise_file(tmp_path / f"{seed}.mov", 15.0 + seed, seed) for seed in range(3)]
    shared = tasks.shared_sound(paths)
    assert shared is not None
    assert (shared.compared, shared.matching) == (2, 0)


def test_one_clip_has_nothing_to_share(tmp_path: Path) -> None:
    broken = tmp_path / "e.mov"
    broken.write_bytes(b"no film")
    assert tasks.shared_sound([noise_file(tmp_path / "a.mov", 9.0, 1), broken]) is None


def test_it_can_be_stopped(tmp_path: Path) -> None:
    paths = [noise_file(tmp_path / f"{seed}.mov", 9.0, seed) for seed in range(2)]
    with pytest.raises(Stopped):
        shared_sound(paths, stop=lambda: True, progress=no_progress)
