"""What something other than the sound tells of which song runs, such as the code on a slate page.

Sound decides first, and very well: it tells two mixes of one song apart. What it leaves open between songs, a
witness decides; where the two contradict each other, nobody is believed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from audio.line import Line
from audio.placement.answer import PlaceVerdict
from audio.placement.reason_codes import Reason, ReasonCode
from audio.references.contests import in_doubt, is_contest
from audio.references.reference import Told

SAME_SPEED = 0.01
"""Relative difference of speed up to which a take and a witness agree."""


@dataclass(frozen=True, slots=True)
class Witness:
    """A stretch of a recording of which it is known which song runs there, and where."""

    song: str
    """Key of the song."""
    line: Line
    """Song time over clip time."""
    start_s: float
    """In the clip, as `end_s`."""
    end_s: float
    allowed_s: float
    """How far off a take may be that agrees (s of song)."""


def heeded(
    takes: Sequence[Told], claims: Sequence[Told], witnesses: Sequence[Witness], names: Mapping[str, str]
) -> list[Told]:
    """The takes once witnesses were asked.

    Parameters
    ----------
    takes : sequence of Told
        What was decided by sound, no two songs over each other without saying so.
    claims : sequence of Told
        What each song claimed by itself.
    names : mapping
        Of songs, by key.
    """
    out = list(takes)
    for witness in witnesses:
        agreeing = [one for one in claims if _agrees(one, witness)]
        others = [
            one
            for one in out
            if any(is_contest(one, claim) for claim in agreeing)
            # A slate of its own within a take speaks for that.
            and not any(_within(other, one) for other in witnesses if other.song == one.song)
        ]
        if not others:
            continue
        own = [one for one in out if _agrees(one, witness)]
        if all(one.fit.verdict is PlaceVerdict.DOUBTFUL for one in others):
            rest = [one for one in out if one not in others and one not in own]
            out = [*rest, *(_decided(one, witness) for one in agreeing)]
        else:
            doubted = [in_doubt(one, witness.song, names) for one in others]
            rest = [one for one in out if one not in others and one not in own]
            out = [*rest, *doubted, *(in_doubt(one, others[0].song, names) for one in agreeing)]
    return sorted(out, key=lambda one: (one.fit.clip_start_s, one.fit.clip_end_s))


def _within(witness: Witness, take: Told) -> bool:
    at_s = (witness.start_s + witness.end_s) / 2
    return take.fit.clip_start_s <= at_s <= take.fit.clip_end_s


def _off_s(take: Told, witness: Witness) -> float:
    """How much later in the song a take is than a witness (s), in the middle of that."""
    at_s = (witness.start_s + witness.end_s) / 2
    return take.fit.line.song_time(at_s) - witness.line.song_time(at_s)


def _agrees(take: Told, witness: Witness) -> bool:
    near = abs(_off_s(take, witness)) <= witness.allowed_s
    same_speed = abs(take.fit.speed / witness.line.speed - 1) <= SAME_SPEED
    return take.song == witness.song and _within(witness, take) and near and same_speed


def _decided(take: Told, witness: Witness) -> Told:
    """A claim that a witness supports: as sure as it is by itself."""
    if take.fit.verdict is PlaceVerdict.DOUBTFUL:
        return take
    reason = Reason(ReasonCode.CODE_DECIDES, (("off_s", round(_off_s(take, witness), 3)),))
    return replace(take, fit=replace(take.fit, reason=reason))
