"""Placing by the linear timecode of a playback file that came over into a clip's sound.

Only timecode that was written with that very file counts: its user bits hold a number made for it. Timecode
of the day, or of anything else, has other user bits. Where music is heard too, sound tells the place to the
millisecond and timecode which one it is; it reached the camera by a link of its own, so the two may differ by
what that and the way from the loudspeaker take.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from audio.files.media import Sound
from audio.kit.ltc_reader import TimecodeRun, timecode_along
from audio.line import Line
from audio.placement.answer import Placement, PlaceRival, PlaceVerdict, TakeFit
from audio.placement.reason_codes import Reason, ReasonCode
from audio.placement.takes import LOUD
from audio.placement.verdicts import STRENGTH_NEEDED, clip_answer
from audio.references.reference import Reference, TimeBase

LEAST_S = 2.0
"""Less timecode than this tells nothing."""
ONE_LINE_S = 0.005
"""Runs whose labels lie this close to one line are one (s): a radio link lets some frames go."""
FASTEST = 0.1
"""No player runs further off its speed (share)."""
LINK_S = 0.02
"""Half-width (s) of what a link and a mixing desk may delay it. Digital links take 2 to 20 ms."""
AGREES_S = 0.12
"""Within this (s) timecode and sound agree: the link, and some thirty metres from the loudspeaker."""
SAME_SPEED = 0.002
"""Relative difference of speed up to which they agree."""
SCRAP_S = 2.0
"""What a take leaves of a stretch of timecode, and is shorter than this, is no take of its own."""


@dataclass(frozen=True, slots=True)
class CodeStretch:
    """A stretch of a clip with one playback file's timecode."""

    start_s: float
    """Clip time of its first word."""
    end_s: float
    line: Line
    """Time in the playback file over time in the clip."""
    frames: int
    """Words read."""
    spread_s: float
    """Half of the words lie closer to the line than this."""


def stretches_in(sound: Sound, references: Sequence[Reference]) -> dict[str, list[CodeStretch]]:
    """The stretches of each playback file's timecode in a clip's sound, by the references' keys."""
    bases = [(one.key, one.timecode) for one in references if one.timecode is not None]
    out: dict[str, list[CodeStretch]] = {}
    for channel in sound.timecode if bases else ():
        runs = timecode_along(channel.samples, sound.rate, start_s=channel.start_s)
        for key, base in bases:
            if key not in out and (found := _stretches(runs, base)):
                out[key] = found
    return out


def _stretches(runs: Sequence[TimecodeRun], base: TimeBase) -> list[CodeStretch]:
    own = [run for run in runs if run.user == base.user and run.base == round(base.rate)]
    groups: list[list[TimecodeRun]] = []
    for run in own:
        if groups and _goes_on(groups[-1], run, base):
            groups[-1].append(run)
        else:
            groups.append([run])
    return [one for group in groups if (one := _stretch(group, base)) is not None]


def _file_s(run: TimecodeRun, base: TimeBase) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    """When in the file each word of a run begins (s)."""
    return np.asarray(base.at_s + (run.frames - base.frame) / float(base.rate), np.float64)


def _goes_on(group: Sequence[TimecodeRun], run: TimecodeRun, base: TimeBase) -> bool:
    last = group[-1]
    apart_s = float(run.clip_s[0] - last.clip_s[-1])
    moved_s = float(_file_s(run, base)[0] - _file_s(last, base)[-1])
    return abs(apart_s - moved_s) < ONE_LINE_S + 1e-3 * abs(apart_s)


def _stretch(group: Sequence[TimecodeRun], base: TimeBase) -> CodeStretch | None:
    clip_s = np.concatenate([run.clip_s for run in group])
    file_s = np.concatenate([_file_s(run, base) for run in group])
    if clip_s[-1] - clip_s[0] < LEAST_S or file_s[-1] > base.length_s + 1 or file_s[0] < -1:
        return None
    middle_s = float(clip_s.mean())
    speed, there_s = np.polyfit(clip_s - middle_s, file_s, 1)
    if abs(speed - 1) > FASTEST:
        return None
    line = Line(middle_s, float(there_s), float(speed))
    spread_s = float(np.median(np.abs(file_s - line.song_time(clip_s))))
    end_s = float(clip_s[-1] + 1 / float(base.rate) / speed)
    return CodeStretch(float(clip_s[0]), end_s, line, len(clip_s), spread_s)


def with_timecode(placement: Placement, stretches: Sequence[CodeStretch]) -> Placement:
    """A placement on a playback file, in its own time, with what its timecode in the clip tells."""
    if not stretches:
        return placement
    takes = list(placement.takes)
    for stretch in stretches:
        code = _take_of(stretch)
        over = [take for take in takes if _shared_s(take, code) > 0.5 * min(take.clip_length_s, 10.0)]
        apart = [take for take in takes if take not in over]
        held = [one for take in over if (one := held_to_timecode(take, code)) is not None]
        if any(agrees(take, code) for take in held):
            takes = apart + [_stretched_over(take, code, [*apart, *held]) for take in held]
        else:
            ends = [(take.clip_start_s, take.clip_end_s) for take in held]
            left = [code.reaching(low, high, code.uncertainty_s) for low, high in _left(code, ends)]
            takes = apart + held + left
    takes.sort(key=lambda take: take.clip_start_s)
    return clip_answer(takes, placement.channel)


def is_by_timecode(take: TakeFit) -> bool:
    """Whether nothing but timecode placed a take."""
    return take.reason is not None and take.reason.code is ReasonCode.BY_TIMECODE


def agrees(take: TakeFit, code: TakeFit) -> bool:
    """Whether a take lies where timecode puts it."""
    return abs(off_s(take, code)) <= AGREES_S and abs(take.speed / code.speed - 1) <= SAME_SPEED


def off_s(take: TakeFit, code: TakeFit) -> float:
    """How much later in the song a take lies than timecode puts it, where both are (s)."""
    at_s = (max(take.clip_start_s, code.clip_start_s) + min(take.clip_end_s, code.clip_end_s)) / 2
    return take.line.song_time(at_s) - code.line.song_time(at_s)


def held_to_timecode(take: TakeFit, code: TakeFit) -> TakeFit | None:
    """A take that sound found, held to what timecode says of the same stretch; None where that stands alone.

    Sound that is too faint or too blurred to be sure says nothing for or against timecode.
    """
    off = off_s(take, code)
    told = (("off_s", round(off, 3)),)
    placed = take.verdict is PlaceVerdict.PLACED
    if agrees(take, code):
        if placed:
            return replace(take, reason=take.reason or Reason(ReasonCode.TIMECODE_AGREES, told))
        elsewhere = take.reason is not None and take.reason.code is ReasonCode.FITS_ELSEWHERE
        rivals = [one for one in take.rivals if one.open]
        if elsewhere and all(abs(one.song_start_s - take.song_start_s) > 2 * AGREES_S for one in rivals):
            closed = tuple(rival._replace(open=False) for rival in take.rivals)
            reason = Reason(ReasonCode.TIMECODE_DECIDES, told)
            return replace(take, verdict=PlaceVerdict.PLACED, reason=reason, rivals=closed)
        return None
    if is_weak(take):
        return None
    reason = Reason(ReasonCode.TIMECODE_CONTRADICTS, (("off_s", round(-off, 3)),))
    rivals = [PlaceRival(code.line.song_time(take.clip_start_s), 1.0, True), *take.rivals]
    return replace(take, verdict=PlaceVerdict.DOUBTFUL, reason=reason, rivals=tuple(rivals))


def is_weak(take: TakeFit) -> bool:
    """Whether a take may be chance."""
    return take.verdict is PlaceVerdict.DOUBTFUL and take.strength < STRENGTH_NEEDED


def is_contradicted(take: TakeFit) -> bool:
    """Whether timecode puts a take elsewhere; where, is the first of its rivals."""
    return take.reason is not None and take.reason.code is ReasonCode.TIMECODE_CONTRADICTS


def is_backed(take: TakeFit) -> bool:
    """Whether sound and timecode agree on a take."""
    agreed = ReasonCode.TIMECODE_AGREES, ReasonCode.TIMECODE_DECIDES
    return take.reason is not None and take.reason.code in agreed


def _take_of(stretch: CodeStretch) -> TakeFit:
    """What timecode says, as a take."""
    length_s = stretch.end_s - stretch.start_s
    speed_sd = (stretch.spread_s + 1e-5) / length_s
    return TakeFit(
        line=stretch.line.anchored(stretch.start_s),
        clip_end_s=stretch.end_s,
        uncertainty_s=LINK_S + 2 * stretch.spread_s,
        speed_sd=speed_sd,
        verdict=PlaceVerdict.PLACED,
        reason=Reason(ReasonCode.BY_TIMECODE, (("frames", float(stretch.frames)),)),
        # Strong evidence, but what sound places as strongly is known more closely.
        strength=LOUD,
        rivals=(),
        lags=(),
    )


def _shared_s(take: TakeFit, code: TakeFit) -> float:
    return min(take.clip_end_s, code.clip_end_s) - max(take.clip_start_s, code.clip_start_s)


def _left(code: TakeFit, ends: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """What takes leave of a stretch of timecode."""
    out, at_s = [], code.clip_start_s
    for low_s, high_s in [*sorted(ends), (code.clip_end_s, code.clip_end_s)]:
        if low_s - at_s >= SCRAP_S:
            out.append((at_s, low_s))
        at_s = max(at_s, high_s)
    return out


def _stretched_over(take: TakeFit, code: TakeFit, takes: Sequence[TakeFit]) -> TakeFit:
    """A take that agrees, reaching as far as its timecode does, but not into another take."""
    if _shared_s(take, code) <= 0 or not agrees(take, code):
        return take
    others = [one for one in takes if one is not take]
    low_s = max(
        [code.clip_start_s, *(one.clip_end_s for one in others if one.clip_end_s <= take.clip_start_s)]
    )
    high_s = min(
        [code.clip_end_s, *(one.clip_start_s for one in others if one.clip_start_s >= take.clip_end_s)]
    )
    start_s, end_s = min(take.clip_start_s, low_s), max(take.clip_end_s, high_s)
    if (start_s, end_s) == (take.clip_start_s, take.clip_end_s):
        return take
    return take.reaching(start_s, end_s, take.uncertainty_s)
