"""A clip placed by the code on the slate that it shows; see `audio.pictures.code_lines`."""

import logging
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from app.engine.probing import Looked
from app.model.answers import Answer
from app.model.clip_verdict import of_takes
from app.model.document.findings import TakePlacement
from app.model.document.verdict import Verdict
from app.model.reasons import Reason
from audio.errors import Stopped
from audio.pictures.code_check import AGREES_S
from audio.pictures.code_lines import CodeLine, code_lines
from audio.pictures.code_reader import FrameRead, codes_of
from audio.pictures.slate_code import song_part
from audio.references.witnesses import Witness

LEAST_S = 0.5
"""A take shorter than this (s) is none."""
SCREEN_S = 1 / 60
"""A screen shows the page up to a refresh earlier or later than the page counts on (s)."""
BY_HAND_S = 0.3
"""How far off people start a page by hand, 95 times in 100 (s): the time to react to what one hears is around
0.2 s, and who counts along is early or late by less (from memory)."""
MOST_SPREAD_S = 0.02
"""Speeds that fit alike may put a take's ends so far apart (s): half a song-frame at 24 frames a second."""


def codes_seen(
    file: Looked, *, thorough: bool, stop: Callable[[], bool], progress: Callable[[float], None]
) -> tuple[FrameRead, ...]:
    """The slate codes in a file; none where its pictures cannot be read. Raises Stopped only."""
    if file.info is None or not file.info.width or file.info.frame_rate is None:
        return ()
    try:
        return codes_of(file.path, file.info.duration_s, thorough=thorough, stop=stop, progress=progress)
    except Stopped:
        raise
    except Exception as error:
        # Whatever it is: pictures are asked where sound tells nothing, and may tell nothing either.
        logging.getLogger(__name__).info("%s shows no codes: %s", file.path, error)
        return ()


def lines_seen(file: Looked, reads: Sequence[FrameRead], digest: str) -> tuple[CodeLine, ...]:
    """The lines on which the codes of the song of this digest lie."""
    info = file.info
    if info is None or info.frame_rate is None:
        return ()
    return code_lines(reads, song_part(digest), info.frame_rate, variable=info.variable_frame_rate)


def witnesses_of(codes: Mapping[str, Sequence[CodeLine]]) -> list[Witness]:
    """What sure codes, by song, tell of which song runs where; a page started by hand names its song too."""
    return [
        Witness(song, one.line, one.first_s, one.last_s, AGREES_S + (BY_HAND_S if one.code.by_hand else 0.0))
        for song, lines in codes.items()
        for one in lines
        if one.sure
    ]


def by_code(answer: Answer, file: Looked, reads: Sequence[FrameRead], digest: str, song_s: float) -> Answer:
    """The answer on a clip whose sound tells nothing, by the codes read in it; the same where there are none.

    ``song_s`` is the length of the song.
    """
    if not any(read.code is not None for read in reads):
        return answer
    if all(read.code is None or read.code.song != song_part(digest) for read in reads):
        return replace(answer, verdict=Verdict.NO_SONG, reason=Reason("code of another song"), takes=())
    takes = takes_by_code(lines_seen(file, reads, digest), answer.facts.duration_s, song_s)
    if not takes:
        return replace(answer, verdict=Verdict.NO_SONG, reason=Reason("still slate"), takes=())
    verdict, reason = of_takes([(take.verdict, take.reason) for take in takes])
    return replace(answer, verdict=verdict, reason=reason, takes=takes)


def takes_by_code(lines: Sequence[CodeLine], duration_s: float, song_s: float) -> tuple[TakePlacement, ...]:
    """A take for each line, from where its codes begin up to the next, the song's end or the clip's.

    A slate at the end of a clip is of the take before it: where more of the clip lies before the codes than
    behind them, the take reaches back to the song's start.
    """
    out = []
    bounds = [0.0, *((a.last_s + b.first_s) / 2 for a, b in pairwise(lines)), duration_s]
    for line, low_s, high_s in zip(lines, bounds, bounds[1:], strict=False):
        if line.first_s - low_s > high_s - line.last_s:
            begin_s, end_s = low_s, line.last_s + line.frame_s
        else:
            begin_s, end_s = line.first_s, high_s
        begin_s = max(begin_s, line.line.clip_time(0.0))
        end_s = min(end_s, line.line.clip_time(song_s), duration_s)
        if end_s - begin_s < LEAST_S:
            continue
        verdict, reason = _judged(line, begin_s, end_s)
        start = line.line.anchored(begin_s)
        out.append(
            TakePlacement(
                clip_start_s=begin_s,
                clip_end_s=end_s,
                song_start_s=start.song_s,
                speed=start.speed,
                uncertainty_s=max(line.uncertainty_s(begin_s), line.uncertainty_s(end_s))
                + start.speed * (BY_HAND_S if line.code.by_hand else SCREEN_S),
                verdict=verdict,
                reason=reason,
            )
        )
    return tuple(out)


def _judged(line: CodeLine, begin_s: float, end_s: float) -> tuple[Verdict, Reason]:
    codes = ("codes", float(line.changes + 1))
    if line.code.by_hand:
        return Verdict.DOUBTFUL, Reason("code by hand", (codes,))
    if not line.sure:
        return Verdict.DOUBTFUL, Reason("few codes", (codes,))
    away_s = max(end_s - line.line.clip_s, line.line.clip_s - begin_s)
    spread = max(abs(speed - line.line.speed) for speed in line.speeds)
    if away_s * spread > MOST_SPREAD_S:
        return Verdict.DOUBTFUL, Reason("code speed", (codes, ("off_s", round(away_s * spread, 3))))
    return Verdict.PLACED, Reason("by code", (codes, ("speed", str(line.exact))))
