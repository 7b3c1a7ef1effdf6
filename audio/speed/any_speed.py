"""At which speeds a clip may run, and where in the song, when it does not run at the song's own: entry point.

Two kinds of playback. A resampled one (a player run faster or slower, or at the wrong rate) changed its pitch
with its speed: waveforms correlate once the clip is resampled back. A time-stretched one kept its pitch:
waveforms correlate nowhere, and only log-band energies can be compared.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from audio.errors import Stopped
from audio.progress import never, no_progress, part_of
from audio.signals import Samples
from audio.speed.log_bands import STEPS_PER_OCTAVE, BandEnergies, band_energies
from audio.speed.speed_refinement import from_waveform, refined
from audio.speed.speed_search import (
    SongBands,
    SpeedCandidate,
    candidate_lines,
)

WORTH_REFINING = 16.0
"""Evidence of band energies from which on a candidate line is refined; chance makes about as much in any
clip."""
SHARE = 0.2
"""A line with less than this share of the best one's evidence is dropped. Chosen by hand."""
WAVEFORM_NEEDED = 28.0
"""Evidence of waveforms from which on they agree: chance stays near 0, long tones make up to 20."""
BANDS_NEEDED = 32.0
"""Evidence of band energies from which on a playback may be time-stretched; another song in the same tempo
can have more, and is refused later (see `audio.placement.verdicts`)."""
WORTH_STEPS = 22.0
"""Evidence of band energies from which on a short line is tried a step of speed to either side as well.
Chosen by hand."""
SURE = 60.0
"""Evidence of band energies at which a line is a candidate though its waveforms do not agree: a large room
blurs them, and the search by whole segments has more of them to sum. Chosen by hand."""
SAME = 0.01
"""Speeds closer than this (share) are one. Chosen by hand: a third of a step."""
PART_S = 300.0
"""Longer clips are searched in parts, so that memory stays bounded. Chosen by hand."""
SEARCH_SHARE = 0.25
"""Share of the work, about, that is done before lines are refined; only the bar of progress needs it."""
SHORT_S = 12.0
"""Lines shorter than this (s of song) can be a whole step of speed off."""


def candidate_speeds(
    samples: Samples,
    song_bands: SongBands,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> list[SpeedCandidate]:
    """Find the speeds at which a clip may run, best first; none if nothing stands out.

    Of a resampled playback the speed is right to about 100 ppm and the position to some hundredths of a
    second, close enough for the search by waveform. Of a time-stretched one they are right to about a
    thousandth and 0.1 s. Near the song's own speed the two kinds cannot be told apart.

    Parameters
    ----------
    samples : float32, shape (n,)
        The clip as it is (not whitened), at ENGINE_RATE.
    song_bands : SongBands

    Raises
    ------
    Stopped
    """
    parts = max(1, round(len(samples) / song_bands.rate / PART_S))
    edges = [len(samples) * number // parts for number in range(parts + 1)]
    found: list[SpeedCandidate] = []
    for number in range(parts):
        if stop():
            raise Stopped("Stopped.")
        piece = samples[edges[number] : edges[number + 1]]
        report = part_of(progress, number / parts, 1 / parts)
        for candidate in _of_part(piece, song_bands, stop, report):
            on_clip = candidate.delayed(edges[number] / song_bands.rate)
            if not any(abs(on_clip.speed / other.speed - 1) < SAME / 10 for other in found if number):
                found.append(on_clip)
    return sorted(found, key=lambda candidate: -candidate.evidence)


def _of_part(
    samples: Samples, song_bands: SongBands, stop: Callable[[], bool], progress: Callable[[float], None]
) -> list[SpeedCandidate]:
    clip = band_energies(samples, song_bands.rate)
    lines = candidate_lines(clip, len(samples) / song_bands.rate, song_bands)
    found: list[SpeedCandidate] = []
    for number, line in enumerate(lines):
        progress(SEARCH_SHARE + (1 - SEARCH_SHARE) * number / len(lines))
        if stop():
            raise Stopped("Stopped.")
        if line.evidence < max(WORTH_REFINING, SHARE * lines[0].evidence):
            break
        if _known(line, found):
            continue
        if line.pitch_kept:
            candidate = _stretched(clip, song_bands, line)
        else:
            candidate = _resampled(samples, clip, song_bands, line)
        if candidate is not None and not _known(candidate, found):
            found.append(candidate)
    progress(1.0)
    return found


def _known(candidate: SpeedCandidate, found: list[SpeedCandidate]) -> bool:
    """Whether waveforms agree on a candidate's speed already."""
    return any(abs(candidate.speed / other.speed - 1) < SAME and other.waveform_agrees for other in found)


def _stretched(clip: BandEnergies, song_bands: SongBands, candidate: SpeedCandidate) -> SpeedCandidate | None:
    return refined(clip, song_bands, candidate) if candidate.evidence >= BANDS_NEEDED else None


def _resampled(
    samples: Samples, clip: BandEnergies, song_bands: SongBands, candidate: SpeedCandidate
) -> SpeedCandidate | None:
    """A candidate refined by its waveform, if that agrees; a short one may be a step of speed off."""
    steps = [0]
    if (
        candidate.span_s[1] - candidate.span_s[0]
    ) * candidate.speed < SHORT_S and candidate.evidence >= WORTH_STEPS:
        steps = [0, -1, 1]
    for step in steps:
        speed = candidate.speed * float(np.exp2(step / STEPS_PER_OCTAVE))
        near = refined(clip, song_bands, replace(candidate, line=candidate.line.with_speed(speed)))
        found, evidence = from_waveform(samples, song_bands, near)
        if evidence >= WAVEFORM_NEEDED:
            return replace(found, evidence=candidate.evidence + evidence, waveform_agrees=True)
    return refined(clip, song_bands, candidate) if candidate.evidence >= SURE else None
