"""What Check says about a take: how it lies, whether it holds to its end, and what was decided when."""

from collections.abc import Sequence
from typing import Protocol

from app.model.check_queue import Entry, is_open
from app.model.decisions import is_decided
from app.model.pins import frame_s
from app.model.shoot import Clip, Decided, Deed, Pin, Take
from app.model.speeds import nominal_speed
from app.views.parts import words

ON_TIME_S = 0.0002
"""Less than can be measured at one moment."""
HOLDS = 0.1
"""Frames that nobody sees."""

DEEDS = {
    Deed.CONFIRMED: "confirmed",
    Deed.CHOSE_RIVAL: "another place chosen",
    Deed.MOVED: "moved by hand",
    Deed.SETTLED: "settled onto the nearest fit",
    Deed.PINNED: "pinned",
    Deed.MARKED: "marked as a take of its own",
    Deed.REFUSED: "not this song",
}


class Measured(Protocol):
    """What was measured at one moment."""

    late_s: float | None
    uncertainty_s: float


def frames(count: float) -> str:
    """A number of frames with no more figures than help.

    >>> frames(0.0213), frames(0.62), frames(-1.0), frames(12.4), frames(0.002)
    ('0.02 frame', '0.6 frame', '1 frame', '12 frames', 'less than 0.01 frame')
    """
    size = abs(count)
    if size < 0.01:
        return "less than 0.01 frame"
    if size < 0.095:
        return f"{size:.2f} frame"
    if size < 9.95:
        text = f"{size:.1f}".removesuffix(".0")
        return f"{text} frame" if float(text) <= 1 else f"{text} frames"
    return f"{size:.0f} frames"


def late(late_s: float, clip: Clip) -> str:
    """How late or early the take is heard.

    >>> from fractions import Fraction
    >>> from app.model.shoot import MediaRef
    >>> clip = Clip("c", MediaRef("a.mov", 1, ""), "a", frame_rate=Fraction(25))
    >>> late(0.0123, clip), late(-0.0004, clip), late(0.00001, clip)
    ('12.3 ms late (0.3 frame)', '0.4 ms early (0.01 frame)', 'on time')
    """
    if abs(late_s) < ON_TIME_S:
        return "on time"
    word = "late" if late_s > 0 else "early"
    ms = f"{abs(late_s) * 1000:.1f} ms {word}"
    return ms if clip.frame_rate is None else f"{ms} ({frames(late_s / frame_s(clip))})"


def drift_frames(clip: Clip, take: Take) -> float:
    """Frames by which the take is late at its end, when it is laid at its start at its nominal speed."""
    apart = float(nominal_speed(take.speed).nominal) - take.speed
    return apart * (take.clip_end_s - take.clip_start_s) / frame_s(clip)


def holds(clip: Clip, take: Take) -> str:
    """Whether the take holds to its end, in words."""
    by_end = drift_frames(clip, take)
    unit = by_end * frame_s(clip) * 1000
    figure = frames(by_end) if clip.frame_rate is not None else f"{abs(unit):.1f} ms"
    if abs(by_end) < HOLDS:
        return f"Holds to the end, to {figure}."
    return f"Runs {figure} {'late' if by_end > 0 else 'early'} by the end."


def sure(clip: Clip, take: Take) -> str:
    """How sure the place is, in a sentence; a place of a person's own is not the machine's to judge."""
    if take.decided is not None and take.decided.deed is Deed.MOVED:
        return "Placed by hand."
    known = words.sureness(take.uncertainty_s)
    if clip.frame_rate is not None:
        known += f" ({frames(take.uncertainty_s / frame_s(clip))})"
    return f"If this is the place, it is known to {known}." if is_open(take) else f"Place sure to {known}."


def lies(clip: Clip, take: Take) -> str:
    """How sure the place is and whether it holds to the end; of a take in doubt all that is only if."""
    ends = holds(clip, take)
    if is_open(take):
        return f"{sure(clip, take).removesuffix('.')}, and {ends[0].lower()}{ends[1:]}"
    return f"{ends} {sure(clip, take)}"


def agreement(found: Sequence[Measured], clip: Clip, behind_s: float = 0.0) -> str:
    """What was measured at several moments, in a sentence; since then the take was put so much later."""
    lags = [one.late_s + behind_s for one in found if one.late_s is not None]
    if not found:
        return ""
    if not lags:
        return "Song and take do not agree at any of these moments."
    worst = max(lags, key=abs)
    of = "at every moment" if len(lags) == len(found) else f"at {len(lags)} of {len(found)} moments"
    if abs(worst) < ON_TIME_S:
        return f"Song and take agree {of}."
    return f"Song and take agree {of}, the worst of them {late(worst, clip)}."


def state(entry: Entry) -> str:
    """What there is to say of a take in the list, in a few words."""
    clip, take = entry.clip, entry.take
    if take is None:
        return "– no take" if clip.decided is None else "– not this song"
    if is_open(take):
        return f"? {words.count(len(take.rivals) + 1, 'place')} fit" if take.rivals else "? weak"
    if is_decided(take):
        return f"✓ {take.decision.value if take.decided is None else DEEDS[take.decided.deed]}"
    return f"● {words.sureness(take.uncertainty_s)}"


def decided(record: Decided | None) -> str:
    """What a person did, and when (UTC).

    >>> decided(Decided(Deed.MOVED, "2031-05-04T18:20:00Z"))
    'moved by hand, 2031-05-04 18:20 UTC'
    """
    if record is None:
        return ""
    day, _, clock = record.at.partition("T")
    return f"{DEEDS[record.deed]}, {day} {clock[:5]} UTC" if clock else DEEDS[record.deed]


def speed_of_pins(clip: Clip, pins: Sequence[Pin]) -> str:
    """What the pins say about speed, and how well."""
    if len(pins) < 2:
        return "One pin keeps the speed. A second one, far along the clip, gives the speed as well."
    first, last = pins[0], pins[-1]
    apart = last.clip_s - first.clip_s
    speed = (last.song_s - first.song_s) / apart
    return f"Two pins {apart:.1f} s apart give speed {speed:.4f} ±{frame_s(clip) / apart:.4f}."
