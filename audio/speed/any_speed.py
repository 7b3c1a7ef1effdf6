"""At which speeds a clip may run, and where in the song, when it does not run at the song's own.

Two families of speed. Where the pitch went along (a player run faster or slower, or at the wrong rate),
samples agree once the clip is brought to the song's speed. Where the playback was stretched in time and its
pitch kept, samples agree nowhere, and the texture of the sound has to do.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from audio.errors import Stopped
from audio.progress import never, no_progress
from audio.signals import Samples
from audio.speed.log_bands import STEPS_PER_OCTAVE, BandEnergies, band_energies
from audio.speed.speed_refinement import from_waveform, refined
from audio.speed.speed_search import SongBands, SpeedCandidate, candidate_lines

WORTH_A_LOOK = 16.0
"""Evidence of texture from which on a line is looked at closely; chance makes about as much in any clip."""
SHARE = 0.2
"""A line with less than this share of the best one's evidence is not looked at."""
SAMPLES_NEEDED = 28.0
"""Evidence of samples from which on they agree: chance stays near 0, long tones make up to 20."""
TEXTURE_NEEDED = 32.0
"""Evidence of texture from which on a pitch may have been kept; a song in the same tempo can have more."""
WORTH_MORE = 22.0
"""Evidence of texture from which on a short line is looked at a step of speed to either side as well."""
SURE = 60.0
"""Evidence of texture at which a line is told though its samples do not agree: they are blurred in a large
room, and the search by samples has more of them to go by."""
SAME = 0.01
"""Speeds closer than this are one."""
PART_S = 300.0
"""Longer clips are looked at in parts, so that memory stays bounded."""
SHORT_S = 12.0
"""Song seconds of a line below which its speed may be a whole step off."""


def candidate_speeds(
    samples: Samples,
    song_bands: SongBands,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> list[SpeedCandidate]:
    """Find the speeds at which a clip may run, best first; none if nothing stands out.

    Where the pitch went along, samples agree as a rule: its speed is right to about
    100 ppm and its place to some hundredths of a second, ready for the search by samples. Where the pitch was
    kept the guess is only a guess, right to about a thousandth and 0.1 s. Near the song's own speed nothing
    tells the one from the other.

    Parameters
    ----------
    samples : float32, shape (n,)
        The clip as it is (not flattened), at the texture's rate.
    texture : SongTexture

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
        for candidate in _of_part(piece, song_bands, stop):
            later = candidate.later(edges[number] / song_bands.rate)
            if not any(abs(later.speed / other.speed - 1) < SAME / 10 for other in found if number):
                found.append(later)
        progress((number + 1) / parts)
    return sorted(found, key=lambda candidate: -candidate.evidence)


def _of_part(samples: Samples, song_bands: SongBands, stop: Callable[[], bool]) -> list[SpeedCandidate]:
    clip = band_energies(samples, song_bands.rate)
    lines = candidate_lines(clip, len(samples) / song_bands.rate, song_bands)
    found: list[SpeedCandidate] = []
    for line in lines:
        if stop():
            raise Stopped("Stopped.")
        if line.evidence < max(WORTH_A_LOOK, SHARE * lines[0].evidence):
            break
        if _known(line, found):
            continue
        candidate = (
            _kept(clip, song_bands, line) if line.pitch_kept else _along(samples, clip, song_bands, line)
        )
        if candidate is not None and not _known(candidate, found):
            found.append(candidate)
    return found


def _known(line: SpeedCandidate, found: list[SpeedCandidate]) -> bool:
    """Whether samples agree on a line's speed already."""
    return any(abs(line.speed / other.speed - 1) < SAME and other.waveform_agrees for other in found)


def _kept(clip: BandEnergies, song_bands: SongBands, line: SpeedCandidate) -> SpeedCandidate | None:
    return refined(clip, song_bands, line) if line.evidence >= TEXTURE_NEEDED else None


def _along(
    samples: Samples, clip: BandEnergies, song_bands: SongBands, line: SpeedCandidate
) -> SpeedCandidate | None:
    """A line whose samples agree, with what they say; a short one may be a step of speed off."""
    steps = [0]
    if (line.span_s[1] - line.span_s[0]) * line.speed < SHORT_S and line.evidence >= WORTH_MORE:
        steps = [0, -1, 1]
    for step in steps:
        near = refined(
            clip, song_bands, replace(line, speed=line.speed * float(np.exp2(step / STEPS_PER_OCTAVE)))
        )
        candidate, evidence = from_waveform(samples, song_bands, near)
        if evidence >= SAMPLES_NEEDED:
            return replace(candidate, evidence=line.evidence + evidence, waveform_agrees=True)
    return refined(clip, song_bands, line) if line.evidence >= SURE else None
