"""What maps a song: the engine's beats, bars and sections as the document keeps them."""

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from app.engine.compiling import load_compiled
from app.model.document.song import LEVEL_STEP_S, Section, SongMap
from app.model.song_map.map_again import held_edges, held_metre, held_tempo
from app.model.song_map.map_grid import SAME_S

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from audio.song.beats import Beats
    from audio.song.sections import Span

Stop = Callable[[], bool]
Progress = Callable[[float], None]


def whole_map(samples: "NDArray[np.float32]", rate: int, *, stop: Stop, progress: Progress) -> SongMap:
    """The map of a song of shape (n,). Raises BadSignal, Stopped."""
    from audio.song.beats import find_beats
    from audio.song.sections import find_sections

    load_compiled()
    beats = find_beats(samples, rate, stop=stop, progress=lambda f: progress(0.65 * f))
    spans = find_sections(samples, rate, beats, stop=stop, progress=lambda f: progress(0.65 + 0.35 * f))
    return _song_map(samples, rate, beats, spans)


def map_from(
    samples: "NDArray[np.float32]",
    rate: int,
    known: SongMap,
    from_s: float,
    *,
    stop: Stop,
    progress: Progress,
) -> SongMap:
    """The map of a song looked at again from a moment on, as told by what a person fixed in the known one.

    Before the moment, which begins a bar, beats, bars and section edges are those that are known, so that
    sections alike are found all along the song. Raises BadSignal, Stopped.
    """
    import numpy as np

    from audio.song.beats import Hints, find_beats
    from audio.song.sections import find_sections

    load_compiled()
    hints = Hints(
        from_s=from_s,
        downbeat_s=from_s if known.bars_s else None,
        tempo_bpm=held_tempo(known, from_s),
        beats_per_bar=held_metre(known, from_s),
    )
    rest = find_beats(samples, rate, hints=hints, stop=stop, progress=lambda f: progress(0.65 * f))
    beats = replace(
        rest,
        beats_s=np.array([*(beat for beat in known.beats_s if beat < from_s - SAME_S), *rest.beats_s]),
        bars_s=np.array([*(bar for bar in known.bars_s if bar < from_s - SAME_S), *rest.bars_s]),
    )
    before = [section.start_s for section in known.sections[1:] if section.start_s <= from_s]
    after = [edge for edge in held_edges(known) if edge > from_s]
    spans = find_sections(
        samples,
        rate,
        beats,
        fixed_edges_s=(*before, *after),
        from_s=from_s,
        stop=stop,
        progress=lambda f: progress(0.65 + 0.35 * f),
    )
    return _song_map(samples, rate, beats, spans)


def _song_map(
    samples: "NDArray[np.float32]", rate: int, beats: "Beats", spans: "tuple[Span, ...]"
) -> SongMap:
    import numpy as np

    from audio.song.sections import bar_energy

    steps = np.arange(0.0, len(samples) / rate, LEVEL_STEP_S)
    edges = np.append(steps, len(samples) / rate)
    return SongMap(
        tempo_bpm=beats.tempo_bpm,
        beats_s=tuple(float(time) for time in beats.beats_s),
        bars_s=tuple(float(time) for time in beats.bars_s),
        sections=tuple(
            Section(
                span.letter,
                span.name,
                span.start_s,
                span.end_s,
                family=span.family,
                suggested=True,
            )
            for span in spans
        ),
        other_tempo_bpm=beats.other_tempo_bpm,
        levels_db=tuple(round(float(level), 1) for level in bar_energy(samples, rate, edges)),
    )
