"""How the reference take is named on the command line."""

from dataclasses import replace

import pytest

from app.cli.look_command import _reference
from app.cli.output import Unusable
from app.model.document.decisions import Reference
from app.model.on_song import Take
from tests.app.random_shoots import clip, shoot

VIEW = shoot(
    clip(1, Take("a", 0.0, 5.0, 0.0), Take("b", 20.0, 40.0, 0.0)),
    clip(2, Take("c", 3.0, 9.0, 0.0)),
)


@pytest.mark.parametrize(
    ("name", "clip_id", "start_s"),
    [
        ("a", "clip-1", 0),
        ("clip_01.mov", "clip-1", 20),
        ("clip_01.mov@3", "clip-1", 0),
        ("clip_01.mov@25.5", "clip-1", 20),
        ("clip_02.mov", "clip-2", 3),
    ],
)
def test_a_take_is_named(name: str, clip_id: str, start_s: float) -> None:
    found = _reference(VIEW, name)
    assert isinstance(found, Reference)
    assert (found.clip_id, found.clip_start_s) == (clip_id, start_s)


@pytest.mark.parametrize("name", ["clip_03.mov", "clip_01.mov@12", "clip_01.mov@soon", "@3", ""])
def test_what_names_no_take_is_told(name: str) -> None:
    with pytest.raises(Unusable, match="There is no take"):
        _reference(VIEW, name)


def test_a_name_that_two_clips_have_needs_more() -> None:
    twice = shoot(clip(1, Take("a", 0.0, 5.0, 0.0)), clip(1, Take("b", 0.0, 5.0, 0.0)))
    second = twice.clips[1]
    twice = replace(twice, clips=(twice.clips[0], replace(second, id="clip-9")))
    with pytest.raises(Unusable, match="Several clips"):
        _reference(twice, "clip_01.mov")
