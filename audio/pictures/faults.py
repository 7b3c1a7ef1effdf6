"""Faults that the pictures of a clip propose, for a person to accept or dismiss.

Precision comes first: a proposal that is wrong costs more than one that is missing, since a person looks at
the pictures anyway.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from audio.pictures.bumps import bumps
from audio.pictures.dropped import dropped, holes
from audio.pictures.exposures import black, is_black, over, under
from audio.pictures.mains_flicker import flicker
from audio.pictures.repeated import frozen, repeats
from audio.pictures.softness import best_blur, soft
from audio.pictures.stretches import Found
from audio.pictures.trace import Trace

_JUMP_S = 0.2
"""Just after a freeze the picture jumps; by hand."""
REASONS = ("black", "frozen", "over", "under", "soft", "bump", "flicker", "dropped")
RIGHT = dict.fromkeys(REASONS, 0.95) | {"frozen": 0.9, "soft": 0.75}
"""Share of the proposals that are right: of 86 on made shoots all were but two of eight that say soft, so
figures are rounded down. Within a word nothing in the measure told right ones from wrong."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A stretch of a clip (clip time in seconds) that looks faulty."""

    reason: str
    """One of `REASONS`."""
    clip_start_s: float
    clip_end_s: float
    measure: float
    """The figure it rests on: mean level (black), pictures that repeat (frozen), share of the picture beyond
    what is usual (over, under), share of the best sharpness (soft), heights a second (bump), percent
    of the light (flicker), missing frames (dropped; 0 where only the sound tells)."""
    sure: float
    """Which share of the proposals with this word was right on made shoots, see `RIGHT`."""


def proposals(seen: Trace, of_angle: Sequence[Trace], steps_s: Sequence[float]) -> tuple[Proposal, ...]:
    """What looks faulty in a clip, by clip time.

    ``of_angle`` are the traces of the other clips of its angle, which tell what is usual there; ``steps_s``
    clip times at which the sound engine found lost samples.
    """
    dark, still = list(black(seen)), list(frozen(seen))
    lighter, darker = list(over(seen, of_angle)), list(under(seen, of_angle))
    kinds: dict[str, Iterable[Found]] = {
        "black": dark,
        "frozen": still,
        "over": lighter,
        "under": darker,
        "soft": soft(seen, of_angle),
        "bump": bumps(seen),
        "flicker": flicker(seen),
        "dropped": dropped(seen.stamps, steps_s),
    }
    found = [
        Proposal(reason, one.clip_start_s, one.clip_end_s, one.measure, RIGHT[reason])
        for reason, ones in kinds.items()
        for one in (ones if reason in ("black", "dropped") else _outside(ones, dark))
        if (reason != "bump" or not _let_go(one, still)) and (reason != "frozen" or not _inside(one, darker))
    ]
    return tuple(sorted(found, key=lambda one: (one.clip_start_s, one.clip_end_s, one.reason)))


def measures_of(seen: Trace) -> dict[str, float]:
    """Figures of a clip as a whole, by name; those that nothing in it tells are left out.

    ``level``, ``clipped`` and ``blocked`` are means (from 0 to 1), ``blur`` is the sharpest pictures' in
    percent of their height, ``unrest`` the median movement in heights a second, ``repeated`` the share of
    pictures that repeat, ``missing`` the frames missing by their time stamps, ``black`` the share of black.
    """
    moved = np.hypot(*seen.shift.T)[1:] / np.maximum(np.diff(seen.clip_s), 1e-3)
    moved = moved[np.isfinite(moved)]
    consecutive = int(np.count_nonzero(np.isfinite(seen.change)))
    found = {
        "level": float(seen.level.mean()),
        "clipped": float(seen.clipped.mean()),
        "blocked": float(seen.blocked.mean()),
        "black": float(is_black(seen).mean()),
        "blur": 100 * best_blur(seen),
        "unrest": float(np.median(moved)) if moved.size else float("nan"),
        "repeated": repeats(seen).size / consecutive if consecutive else float("nan"),
        "missing": float(sum(missing for _, _, missing in holes(seen.stamps))),
    }
    return {name: value for name, value in found.items() if np.isfinite(value)}


def _let_go(one: Found, still: Sequence[Found]) -> bool:
    """Whether a bump is the jump at the end of a freeze."""
    return any(
        two.clip_start_s < one.clip_end_s and one.clip_start_s < two.clip_end_s + _JUMP_S for two in still
    )


def _inside(one: Found, dark: Sequence[Found]) -> bool:
    """Whether pictures seem to stand because hardly anything is seen in them."""
    return any(
        min(one.clip_end_s, two.clip_end_s) - max(one.clip_start_s, two.clip_start_s)
        > 0.5 * (one.clip_end_s - one.clip_start_s)
        for two in dark
    )


def _outside(found: Iterable[Found], dark: Sequence[Found]) -> Iterator[Found]:
    """Without those that lie for the most part in black: nothing else can be told there."""
    for one in found:
        shared = sum(
            max(0.0, min(one.clip_end_s, two.clip_end_s) - max(one.clip_start_s, two.clip_start_s))
            for two in dark
        )
        if shared < 0.5 * (one.clip_end_s - one.clip_start_s) or shared == 0:
            yield one
