"""A song's map from what the engine says, with the engine faked: what it is told, and what is kept of it."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any
from unittest.mock import create_autospec

import numpy as np
import pytest

from app.engine import mapping, tasks
from app.model.document.identity import media_ref
from app.model.document.song import LEVEL_STEP_S, Metre, Section, Song, SongMap
from audio.errors import Stopped
from audio.files import media
from audio.song import beats as engine_beats
from audio.song import sections as engine_sections
from audio.song.beats import Beats, Hints
from audio.song.sections import Span

RATE = 8000
SAMPLES = np.repeat(np.array([0.1, 0.01], np.float32), RATE * 10)
"""Ten seconds at -20 dB of full scale, ten at -40."""
BEATS_S = (0.5, 1.0, 1.5, 2.0, 2.5)
BARS_S = (0.5, 2.5)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """What the engine was asked. Its stand-ins take what the engine takes and nothing else."""
    noted: dict[str, Any] = {}

    def find_beats(
        samples: Any, rate: int, *, hints: Hints | None = None, stop: Callable[[], bool], **more: Any
    ) -> Beats:
        if stop():
            raise Stopped("Stopped.")
        noted["hints"] = hints
        more["progress"](1.0)
        return Beats(120.0, np.array(BEATS_S), np.array(BARS_S), 4, 4.5, 60.0)

    def find_sections(samples: Any, rate: int, beats: Beats, **more: Any) -> tuple[Span, ...]:
        noted["sections"], noted["beats"] = more, beats
        more["progress"](1.0)
        return Span("A", "Verse", 0.0, 9.0, "A", True), Span("B", "Break", 9.0, 20.0, "B", None)

    for module, stand_in in ((engine_beats, find_beats), (engine_sections, find_sections)):
        real = getattr(module, stand_in.__name__)
        monkeypatch.setattr(module, stand_in.__name__, create_autospec(real, side_effect=stand_in))
    return noted


def test_all_that_is_found_is_kept(asked: dict[str, Any]) -> None:
    far: list[float] = []
    made = mapping.whole_map(SAMPLES, RATE, stop=lambda: False, progress=far.append)
    assert asked["hints"] is None
    assert (made.tempo_bpm, made.other_tempo_bpm) == (120.0, 60.0)
    assert (made.beats_s, made.bars_s) == (BEATS_S, BARS_S)
    assert made.sections == (
        Section("A", "Verse", 0.0, 9.0, "A", suggested=True),
        Section("B", "Break", 9.0, 20.0, "B", suggested=True),
    )
    half = int(10 / LEVEL_STEP_S)
    assert made.levels_db == (-20.0,) * half + (-40.0,) * half
    assert far == sorted(far)
    assert far[-1] == 1.0


def test_another_look_is_told_what_a_person_fixed(asked: dict[str, Any]) -> None:
    beats = tuple(n / 2 for n in range(1, 39))
    known = SongMap(
        120.0,
        beats,
        beats[::4],
        (
            Section("A", "", 0.0, 4.5),
            Section("B", "", 4.5, 10.5),
            Section("C", "Mine", 10.5, 20.0, by_hand=True),
        ),
        metres=(Metre(0.5, 4),),
        edges_s=(4.5,),
        tempo_by_hand=True,
    )
    mapping.map_from(SAMPLES, RATE, known, 4.5, stop=lambda: False, progress=lambda f: None)
    assert asked["hints"] == Hints(4.5, 4.5, pytest.approx(120.0), 4)
    assert asked["sections"]["from_s"] == 4.5
    assert asked["sections"]["fixed_edges_s"] == (4.5, 10.5)
    assert list(asked["beats"].bars_s) == [0.5, 2.5, *BARS_S], "known ones before the spot"
    nothing = SongMap(beats_s=beats)
    mapping.map_from(SAMPLES, RATE, nothing, 4.5, stop=lambda: False, progress=lambda f: None)
    assert asked["hints"] == Hints(4.5, tempo_bpm=pytest.approx(120.0))


def test_the_song_is_read_for_another_look(
    asked: dict[str, Any], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    path = tmp_path / "song.wav"
    path.write_bytes(b"x")
    monkeypatch.setattr(media, "read_song", lambda path, rate, **more: SAMPLES)
    song = Song(media_ref(path), 20.0, SongMap(bars_s=(0.5, 2.5)))
    found = tasks.map_again(song, 2.5)
    assert found.tempo_bpm == 120.0
    assert asked["hints"].from_s == 2.5
    with pytest.raises(Stopped):
        tasks.map_again(replace(song), 2.5, stop=lambda: True)
