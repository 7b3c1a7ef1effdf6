"""How a song runs through another recording, in pieces: entry point.

The recording is a file, not what a microphone heard: clean, but at any speed, in another mix, with other
things before, between and behind. Three searches: by waveform at the song's own speed; by waveform at other
speeds, the recording resampled back; by band energies and onsets, where the player stretched time and kept
the pitch. A recording that was stretched by little agrees here and there with the song's waveform as well,
each time on another line; one long piece then explains what many short ones seem to.
"""

from collections.abc import Callable, Sequence

import numpy as np

from audio.errors import Stopped
from audio.line import Line
from audio.pieces.edges import Stretch, agreement, sharpened
from audio.pieces.onset_line import OnsetLine, onset_line
from audio.pieces.piece import SHORTEST_S, Piece
from audio.pieces.several import kept_apart, shared_out
from audio.pieces.transients import transient_line
from audio.placement.line_fit import LineFit
from audio.placement.reason_codes import Reason, ReasonCode
from audio.placement.search import SongIndex
from audio.placement.steadiness import highest_lags
from audio.placement.takes import FittedTake, Takes, find_takes, find_takes_at
from audio.placement.verdicts import STRENGTH_NEEDED, STRETCHED_STRENGTH_NEEDED
from audio.progress import never, no_progress, part_of
from audio.rate import ENGINE_RATE, check_rate
from audio.signals import Samples, checked
from audio.soft_ends import STEP_S
from audio.speed.any_speed import candidate_speeds
from audio.speed.resampling import to_song_speed
from audio.speed.speed_search import SongBands, SpeedCandidate
from audio.speed.stretched import StretchedTake, place_stretched
from audio.whitening import whiten

OWN_SPEED = 0.4
"""Share of the work, about, that the search at the song's own speed is; only the bar of progress needs it."""
COVERED = 0.9
"""Where pieces by waveform cover this share of what can be heard, no other speed is tried."""
AUDIBLE = 10 ** (-45 / 10)
"""Below this share of the recording's power a moment of it is silent."""
MOST_SPEEDS = 3
"""Speeds tried of each kind. Chosen by hand: each costs a search."""
NEAR_ONE = 0.03
"""So near the song's own speed (share) a search by bands cannot tell whether the pitch was kept."""
WAVEFORM_WORTH = 1.5
"""A second explained by waveform counts as so many by onsets, where both claim it. Chosen by hand."""
SEGMENT_REACH_S = 0.03
"""Segments of a piece by waveform are looked at this far to both sides of its line (s)."""
NEAR_S = 0.001
"""A segment this close to the line lies on it …"""
ON_LINE = 0.7
"""… and of a true piece more than this share do; of music stretched by little, one in ten."""
LEAST_AGREEMENT = 0.25
"""Correlation that three of four seconds of a piece must reach. Measured: other mixes 0.40 and more, another
song of the same loops 0.16."""
SAME_SPEED = 500e-6
"""Speeds closer than this (share) are one, but for a clock."""
LOOSE_S = 0.015
"""A line known less well than this (s of song) cannot be told: a third of a frame at 25 a second."""
MOST_BEND_S = 0.012
"""Onsets that lie further off a line than this lie on none."""
LEAST_STRENGTH = 5.0
"""Standard deviations above chance that onsets must agree by; chance stays under 4."""
QUIET_STRENGTH = 9.0
"""Music with few onsets, all of one kind, stands out less by its bands (see STRETCHED_STRENGTH_NEEDED) …"""
CLEAR_ONSETS = 10.0
"""… and is believed from here on if its onsets stand out so many standard deviations. Chosen by hand."""


def pieces_of(
    recording: Samples,
    index: SongIndex,
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> tuple[Piece, ...]:
    """Find every piece of a recording through which a song runs.

    Parameters
    ----------
    recording : float32, shape (n,)
        At ENGINE_RATE, as it is (not whitened).
    index : SongIndex

    Returns
    -------
    tuple of Piece
        In the recording's order, without overlap. Those that are not ``sure`` say why.

    Raises
    ------
    BadSignal
        No samples, samples that are no numbers, or a song at another rate.
    Stopped
    """
    return pieces_of_songs(recording, [index], stop=stop, progress=progress)[0]


def pieces_of_songs(
    recording: Samples,
    songs: Sequence[SongIndex],
    *,
    stop: Callable[[], bool] = never,
    progress: Callable[[float], None] = no_progress,
) -> tuple[tuple[Piece, ...], ...]:
    """`pieces_of` for each of several songs that may run through one recording, one after the other.

    Other speeds are tried only where no song explains the recording at its own. What two songs claim goes to
    the one that is heard better.
    """
    for song in songs:
        check_rate(song.rate, "The song")
    recording = checked(recording, "The recording")
    white = whiten(recording, ENGINE_RATE)
    share = 1 / max(1, len(songs))
    found: list[list[Piece]] = []
    for number, song in enumerate(songs):
        report = part_of(progress, OWN_SPEED * share * number, OWN_SPEED * share)
        found.append(_by_waveform(white, song, find_takes(white, song, stop, report)))
    known = [piece for pieces in found for piece in pieces]
    if _covered(known, recording, ENGINE_RATE) < COVERED:
        for number, song in enumerate(songs):
            report = part_of(progress, OWN_SPEED + (1 - OWN_SPEED) * share * number, (1 - OWN_SPEED) * share)
            found[number] += _at_other_speeds(recording, white, song, stop, report)
    progress(1.0)
    return shared_out([_without_overlap(pieces) for pieces in found])


def _at_other_speeds(
    recording: Samples,
    white: Samples,
    index: SongIndex,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> list[Piece]:
    bands = SongBands.of(index.samples, index.rate)
    candidates = candidate_speeds(recording, bands, stop, part_of(progress, 0.0, 0.4))
    speeds = [one.speed for one in candidates if not one.pitch_kept and abs(one.speed - 1) > SAME_SPEED]
    found: list[Piece] = []
    takes = find_takes_at(white, index, speeds[:MOST_SPEEDS], stop, part_of(progress, 0.4, 0.3))
    if takes is not None:
        found += _by_waveform(white, index, takes)
        if _covered(found, recording, index.rate) >= COVERED:
            return found
    kept = [one for one in candidates if one.pitch_kept or abs(one.speed - 1) < NEAR_ONE][:MOST_SPEEDS]
    for number, one in enumerate(kept):
        report = part_of(progress, 0.7 + 0.3 * number / len(kept), 0.3 / len(kept))
        found += _by_onsets(recording, bands, one, index, stop, report)
    return found


def _by_waveform(white: Samples, index: SongIndex, takes: Takes) -> list[Piece]:
    """The takes found at one speed as pieces, with exact edges."""
    at_speed = to_song_speed(white, index.rate, takes.speed)
    inside = [one for one in takes.found if one.end_s - one.start_s > 0]
    stretches = [Stretch(one.fit.line, one.start_s, one.end_s) for one in inside]
    exact = {stretch.line: stretch for stretch in sharpened(at_speed, index, stretches)}
    out = []
    for one in inside:
        found = exact.get(one.fit.line)
        if found is None or found.end_s - found.start_s < SHORTEST_S or on_line(one.fit) < ON_LINE:
            continue
        agrees = agreement(at_speed, index, found)
        out.append(_waveform_piece(one, _with_silence(found, one, index), takes.speed, agrees))
    return out


def on_line(fit: LineFit) -> float:
    """The share of a fit's segments that agree best on the very line; of music stretched by little, whose
    bits agree each on a line of its own, few do."""
    _, lag_s = highest_lags(fit.segments, SEGMENT_REACH_S)
    return float(np.mean(np.abs(lag_s) <= NEAR_S)) if len(lag_s) else 0.0


def _with_silence(stretch: Stretch, one: FittedTake, index: SongIndex) -> Stretch:
    """A stretch that reaches the song's start or end where only silence, or next to nothing, is missing."""
    top_s, tail_s = one.fit.line.clip_time(0.0), one.fit.line.clip_time(index.duration_s)
    start_s, end_s = stretch.start_s, stretch.end_s
    if start_s - top_s < index.head_s + 2 * STEP_S:
        start_s = max(0.0, top_s)
    if tail_s - end_s < index.tail_s + 2 * STEP_S:
        end_s = tail_s
    return Stretch(stretch.line, start_s, end_s)


def _waveform_piece(one: FittedTake, stretch: Stretch, speed: float, agrees: float) -> Piece:
    fit = one.fit
    rivals = [rival for rival in one.rivals if rival.open]
    uncertainty_s = fit.half_width_s(stretch.start_s, stretch.end_s) + fit.ambiguity_s
    doubt = None
    if rivals:
        doubt = Reason(ReasonCode.FITS_ELSEWHERE, (("places", len(rivals)),))
    elif uncertainty_s > LOOSE_S:
        doubt = Reason(ReasonCode.CLOCK_UNCLEAR)
    elif fit.strength < STRENGTH_NEEDED or agrees < LEAST_AGREEMENT:
        doubt = Reason(ReasonCode.FAINT)
    line = Line(fit.line.clip_s / speed, fit.line.song_s, fit.line.speed * speed)
    return Piece(
        stretch.start_s / speed,
        stretch.end_s / speed,
        line.anchored(stretch.start_s / speed),
        float(uncertainty_s),
        float(fit.speed_sd * speed),
        float(fit.strength),
        False,
        doubt,
    )


def _by_onsets(
    recording: Samples,
    bands: SongBands,
    candidate: SpeedCandidate,
    index: SongIndex,
    stop: Callable[[], bool],
    progress: Callable[[float], None],
) -> list[Piece]:
    out = []
    for take in place_stretched(recording, bands, candidate, QUIET_STRENGTH, stop, progress):
        if stop():
            raise Stopped("Stopped.")
        if (take.end_s - take.start_s) >= SHORTEST_S:
            piece = _onset_piece(recording, index, take)
            if piece is not None:
                out.append(piece)
    return out


def _onset_piece(recording: Samples, index: SongIndex, take: StretchedTake) -> Piece | None:
    start_s, end_s = take.start_s, take.end_s
    by_onsets = onset_line(recording, index.samples, index.rate, take.line, start_s, end_s)
    if by_onsets is None:
        return None
    line, uncertainty_s, speed_sd = by_onsets.line, by_onsets.uncertainty_s, by_onsets.speed_sd
    sharp = transient_line(
        recording, index.samples, index.rate, line, start_s, end_s, uncertainty_s + MOST_BEND_S / 4
    )
    if sharp is not None:
        line, uncertainty_s, speed_sd = sharp.line, sharp.uncertainty_s, sharp.speed_sd
    whole_s = take.whole_s
    return Piece(
        whole_s[0],
        whole_s[1],
        line.anchored(whole_s[0]),
        uncertainty_s,
        speed_sd,
        take.strength,
        True,
        _onset_doubt(take, by_onsets, uncertainty_s),
    )


def _onset_doubt(take: StretchedTake, by_onsets: OnsetLine, uncertainty_s: float) -> Reason | None:
    if take.undecided:
        return Reason(ReasonCode.FITS_ELSEWHERE)
    least = LEAST_STRENGTH if take.strength >= STRETCHED_STRENGTH_NEEDED else CLEAR_ONSETS
    if by_onsets.strength < least:
        return Reason(ReasonCode.FAINT)
    if by_onsets.bend_s > MOST_BEND_S:
        return Reason(ReasonCode.UNSTEADY_TEMPO)
    if uncertainty_s > LOOSE_S:
        return Reason(ReasonCode.BLURRED)
    return None


def _covered(pieces: Sequence[Piece], recording: Samples, rate: int) -> float:
    """The share of what can be heard of a recording that sure pieces cover."""
    step = round(0.1 * rate)
    power = np.square(np.pad(recording, (0, -len(recording) % step))).reshape(-1, step).mean(axis=1)
    heard = power > AUDIBLE * power.mean()
    inside = np.zeros(len(heard), np.bool_)
    for one in pieces:
        if one.sure:
            inside[round(one.start_s * 10) : round(one.end_s * 10)] = True
    return float((heard & inside).sum()) / max(1, int(heard.sum()))


def _without_overlap(pieces: Sequence[Piece]) -> list[Piece]:
    """The pieces that explain most, each without what a better one explains, in the recording's order."""

    def worth(piece: Piece) -> float:
        return piece.length_s * (1.0 if piece.pitch_kept else WAVEFORM_WORTH) * (1.0 if piece.sure else 0.5)

    return kept_apart(sorted(pieces, key=worth, reverse=True))
