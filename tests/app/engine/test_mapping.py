"""A song's map from what the engine says, with the engine faked: what it is told, and what is kept of it."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from app.engine import mapping, tasks
from app.model.document.identity import media_ref
from app.model.document.shoot import LEVEL_STEP_S, Metre, Section, Song, SongMap
from audio.errors import Stopped

RATE = 8000
SAMPLES = np.zeros(RATE * 20, np.float32)


@dataclass(frozen=True)
class Hints:
    from_s: float = 0.0
    downbeat_s: float | None = None
    tempo_bpm: float | None = None
    beats_per_bar: int | None = None


@dataclass(frozen=True)
class MadeBeats:
    tempo_bpm: float | None = 120.0
    beats_s: Any = (0.5, 1.0, 1.5, 2.0, 2.5)
    bars_s: Any = (0.5, 2.5)
    other_tempo_bpm: float | None = 60.0


@dataclass(frozen=True)
class MadeSpan:
    letter: str
    name: str
    start_s: float
    end_s: float
    family: str
    voice: bool | None


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """What the engine was asked."""
    from audio.song import beats, sections

    noted: dict[str, Any] = {}

    def find_beats(samples: Any, rate: int, *, stop: Callable[[], bool], **more: Any) -> MadeBeats:
        if stop():
            raise Stopped("Stopped.")
        noted["hints"] = more.get("hints", Hints())
        more["progress"](1.0)
        return MadeBeats()

    def find_sections(samples: Any, rate: int, beats: MadeBeats, **more: Any) -> tuple[MadeSpan, ...]:
        noted["sections"], noted["beats"] = more, beats
        more["progress"](1.0)
        return (
            MadeSpan("A", "Verse", 0.0, 9.0, "A", True),
            MadeSpan("B", "Break", 9.0, 20.0, "B", None),
        )

    def bar_energy(samples: Any, rate: int, edges_s: Any) -> Any:
        noted["edges"] = edges_s
        return -20.04 - np.arange(len(edges_s) - 1)

    monkeypatch.setattr(beats, "find_beats", find_beats)
    monkeypatch.setattr(beats, "Hints", Hints, raising=False)
    monkeypatch.setattr(sections, "find_sections", find_sections)
    monkeypatch.setattr(sections, "bar_energy", bar_energy, raising=False)
    return noted


def test_all_that_is_found_is_kept(asked: dict[str, Any]) -> None:
    far: list[float] = []
    made = mapping.whole_map(SAMPLES, RATE, stop=lambda: False, progress=far.append)
    assert (made.tempo_bpm, made.other_tempo_bpm) == (120.0, 60.0)
    assert (made.beats_s, made.bars_s) == (MadeBeats().beats_s, MadeBeats().bars_s)
    assert made.sections == (
        Section("A", "Verse", 0.0, 9.0, "A", True, suggested=True),
        Section("B", "Break", 9.0, 20.0, "B", None, suggested=True),
    )
    assert made.levels_db[:2] == (-20.0, -21.0)
    assert len(made.levels_db) == 20 / LEVEL_STEP_S
    assert (asked["edges"][0], asked["edges"][-1]) == (0.0, 20.0)
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
    assert list(asked["beats"].bars_s) == [0.5, 2.5, *MadeBeats().bars_s], "known ones before the spot"
    nothing = SongMap(beats_s=beats)
    mapping.map_from(SAMPLES, RATE, nothing, 4.5, stop=lambda: False, progress=lambda f: None)
    assert asked["hints"] == Hints(4.5, tempo_bpm=pytest.approx(120.0))


def test_the_song_is_read_for_another_look(
    asked: dict[str, Any], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    from audio.files import media

    path = tmp_path / "song.wav"
    path.write_bytes(b"x")
    monkeypatch.setattr(media, "read_song", lambda path, rate, **more: SAMPLES)
    song = Song(media_ref(path), 20.0, SongMap(bars_s=(0.5, 2.5)))
    found = tasks.map_again(song, 2.5)
    assert found.tempo_bpm == 120.0
    assert asked["hints"].from_s == 2.5
    with pytest.raises(Stopped):
        tasks.map_again(replace(song), 2.5, stop=lambda: True)
