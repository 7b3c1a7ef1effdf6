"""The part of a recording's placement that lies in one of its files, as the document keeps it."""

from dataclasses import replace

from app.model.answers import Answer
from app.model.clip_verdict import of_takes
from app.model.document.findings import LagPoint, Rival, TakePlacement
from app.model.document.verdict import Verdict
from app.model.reasons import NO_REASON, Reason
from audio.placement.answer import Placement, TakeFit
from audio.placement.reason_codes import Reason as PlacementReason

SCRAP_S = 0.5
"""A piece of a take shorter than this, left over where a recording goes on in the next file, is dropped."""


def reason_of(reason: PlacementReason | None) -> Reason:
    """An engine's reason as the document keeps it."""
    return NO_REASON if reason is None else Reason(reason.code.value, reason.figures)


def with_takes(answer: Answer, placement: Placement, start_s: float) -> Answer:
    """The answer with the part of the recording's placement that lies in its file."""
    length_s = answer.facts.duration_s
    takes = tuple(take for fit in placement.takes if (take := _take(fit, start_s, length_s)) is not None)
    if not takes:
        reason = Reason("nothing here") if placement.takes else reason_of(placement.reason)
        return replace(answer, verdict=Verdict.NO_SONG, reason=reason, takes=())
    verdict, _ = of_takes([(take.verdict, take.reason) for take in takes])
    return replace(answer, verdict=verdict, takes=takes)


def _take(fit: TakeFit, start_s: float, duration_s: float) -> TakePlacement | None:
    """The piece of a take that lies in the file that begins ``start_s`` into the recording."""
    begin = max(fit.clip_start_s - start_s, 0.0)
    end = min(fit.clip_end_s - start_s, duration_s)
    if end - begin < SCRAP_S:
        return None
    line = fit.line.anchored(begin + start_s)
    moved = (begin + start_s - fit.clip_start_s) * fit.speed
    return TakePlacement(
        clip_start_s=begin,
        clip_end_s=end,
        song_start_s=line.song_s,
        speed=line.speed,
        uncertainty_s=fit.uncertainty_s,
        verdict=Verdict(fit.verdict.value),
        reason=reason_of(fit.reason),
        rivals=tuple(Rival(rival.song_start_s + moved, rival.strength, rival.open) for rival in fit.rivals),
        lags=tuple(
            LagPoint(clip_s - start_s, lag_s, strength)
            for clip_s, lag_s, strength in fit.lags
            if begin <= clip_s - start_s <= end
        ),
        playback_id=fit.heard_on,
    )
