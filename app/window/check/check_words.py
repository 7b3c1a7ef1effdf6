"""What Check says about a take: how it lies, whether it holds to its end, and what was decided when."""

from collections.abc import Sequence
from datetime import datetime, tzinfo

from app.model.check_queue import Entry, fitting, is_open
from app.model.document.decisions import Action, Decided, Pin
from app.model.edits.pins import frame_s
from app.model.on_song import Clip, Take, is_decided, was_moved
from app.model.speeds import nominal_speed, usual_near
from app.window.parts import words

ON_TIME_S = 0.0002
"""Less than can be measured at one moment."""
HOLDS = 0.1
"""Frames that nobody sees."""
SEEN = 0.5
"""Frames that somebody may see."""

ACTIONS = {
    Action.CONFIRMED: "confirmed",
    Action.CHOSE_RIVAL: "another place chosen",
    Action.MOVED: "moved by hand",
    Action.SETTLED: "snapped to best fit",
    Action.PINNED: "pinned",
    Action.MARKED: "marked as a separate take",
    Action.REFUSED: "not this song",
}


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
    >>> from app.model.document.media_ref import MediaRef
    >>> clip = Clip("c", MediaRef("a.mov", 1, ""), "a", frame_rate=Fraction(25))
    >>> late(0.0123, clip), late(-0.0004, clip), late(0.00001, clip)
    ('12.3 ms late (0.3 frame)', '0.4 ms early (0.01 frame)', 'on time')
    """
    if abs(late_s) < ON_TIME_S:
        return "on time"
    word = "late" if late_s > 0 else "early"
    ms = f"{abs(late_s) * 1000:.1f} ms {word}"
    return ms if clip.frame_rate is None else f"{ms} ({frames(late_s / frame_s(clip))})"


def places(take: Take) -> str:
    """How many places fit as well as any, the current one among them: as many as are listed under it.

    >>> from app.model.document.findings import Rival
    >>> rivals = tuple(Rival(float(n), 0.9, as_well=n < 2) for n in range(11))
    >>> places(Take("t", 0.0, 9.0, 0.0, rivals=rivals))
    '3 likely places'
    >>> places(Take("t", 0.0, 9.0, 0.0, rivals=rivals[2:])), places(Take("t", 0.0, 9.0, 0.0))
    ('No other place fits as well', 'Place in the song')
    """
    fit = len(fitting(take))
    if fit:
        return f"{fit + 1} likely places"
    return "No other place fits as well" if take.rivals else "Place in the song"


def drift_frames(clip: Clip, take: Take) -> float:
    """Frames by which the take is late at its end, when it is laid at its start at its nominal speed."""
    apart = float(nominal_speed(take.speed).nominal) - take.speed
    return apart * (take.clip_end_s - take.clip_start_s) / frame_s(clip)


def news(clip: Clip, take: Take, lates: Sequence[float | None]) -> tuple[str, str]:
    """How the take lies, from what was measured at some moments: the worst news, and the rest.

    ``lates``: seconds late at each moment, None where no lag can be made out. Nothing in the rest
    contradicts the worst: what measures badly is not said to hold or to be sure.
    """
    bad = _measured_badly(clip, take, lates)
    odd = odd_speed(clip, take.pins)
    if odd:
        bad.append((1.0, odd))
    by_end = drift_frames(clip, take)
    if abs(by_end) >= HOLDS:
        said = f"{_by(clip, by_end)} {'late' if by_end > 0 else 'early'} by the end."
        mark = "! " if abs(by_end) >= SEEN else ""
        runs = f"If this is the place, it drifts {said}" if is_open(take) else f"Drifts {said}"
        bad.append((abs(by_end), mark + runs))
    lines = [line for _, line in sorted(bad, key=lambda one: -one[0])]
    by_hand = was_moved(take)
    if not (odd or _measured_badly(clip, take, lates)):
        lines += [
            _lies_well(clip, take, held=abs(by_end) < HOLDS),
            agreement(lates, clip, along=abs(by_end) >= HOLDS),
        ]
    elif by_hand:
        lines.append(sure(clip, take))
    if not by_hand:
        lines.append(sway(take))
    lines = [line for line in lines if line]
    return lines[0], " ".join(lines[1:])


def _measured_badly(clip: Clip, take: Take, lates: Sequence[float | None]) -> list[tuple[float, str]]:
    """What was measured that somebody would see, each with how bad it is in frames."""
    heard = [one for one in lates if one is not None]
    if not lates:
        return []
    if not heard:
        return [(float("inf"), "! Song and take do not agree at any of these moments.")]
    found = []
    worst, apart = max(heard, key=abs), max(heard) - min(heard)
    if abs(worst) >= SEEN * frame_s(clip):
        said = f"! The take is up to {late(worst, clip)}."
        if apart >= SEEN * frame_s(clip):
            said += f" The lag changes by {_by(clip, apart / frame_s(clip))} along the take."
        found.append((abs(worst) / frame_s(clip), said))
    if len(heard) < len(lates):
        few = words.count(len(lates), "moment")
        found.append((SEEN, f"! Song and take agree at only {len(heard)} of {few}."))
    return found


def _lies_well(clip: Clip, take: Take, *, held: bool) -> str:
    """That the take is in sync to its end, and how sure its place is; only if, of a take in doubt."""
    known = sure(clip, take)
    if not held:
        # That it is only if has been said before that.
        return known.replace("If this is the place, it is", "It is")
    ends = f"n sync to the end (drift {_by(clip, drift_frames(clip, take))})."
    return f"{known.removesuffix('.')}, and i{ends}" if is_open(take) else f"I{ends} {known}"


def _by(clip: Clip, count: float) -> str:
    """So many frames, or milliseconds of a clip without pictures."""
    if clip.frame_rate is not None:
        return frames(count)
    ms = abs(count) * frame_s(clip) * 1000
    return "less than 0.1 ms" if ms < 0.1 else f"{ms:.1f} ms"


def sure(clip: Clip, take: Take) -> str:
    """How sure the place is, in a sentence; a place of a person's own is not the machine's to judge."""
    if was_moved(take):
        return "Placed by hand."
    known = words.sureness(take.uncertainty_s)
    if clip.frame_rate is not None:
        known += f" ({frames(take.uncertainty_s / frame_s(clip))})"
    return f"If this is the place, it is accurate to {known}." if is_open(take) else f"Accurate to {known}."


def sway(take: Take) -> str:
    """That the lag sways, and how far; empty where it does not.

    >>> from app.model.reasons import Reason
    >>> reason = Reason("sways", (("sway_largest_s", 0.0068), ("sway_typical_s", 0.0031)))
    >>> sway(Take("t", 0.0, 9.0, 0.0, reason=reason))  # doctest: +ELLIPSIS
    'The lag sways: up to 6.8 ms off its line (2.3 m of sound), typically 3.1 ms. The camera moved, or ...'
    """
    if take.reason.sway is None:
        return ""
    why = "The camera moved, or several loudspeakers were heard in turn."
    return f"The lag sways: {take.reason.sway.words}. {why}"


def agreement(lates: Sequence[float | None], clip: Clip, *, along: bool) -> str:
    """What was measured at several moments, in a sentence. ``along``: only at the take's own speed."""
    lags = [one for one in lates if one is not None]
    if not lags:
        return ""
    worst = max(lags, key=abs)
    agree = "Song and take agree at every moment"
    if along:
        agree = f"At its own speed {agree[0].lower()}{agree[1:]}"
    if abs(worst) < ON_TIME_S:
        return f"{agree}."
    return f"{agree}; the worst is {late(worst, clip)}."


def name(entry: Entry, apart: str = "") -> tuple[str, str]:
    """What tells an entry from all others, and the end of that which tells it from others of its name.

    ``apart``: the folder of its clip, where another clip has the same name.
    """
    clip, take = entry.clip, entry.take
    stem = words.file_name(clip).rpartition(".")[0] or words.file_name(clip)
    if entry.refused is not None and (clip.takes or len(clip.refused) > 1):
        tail = f", from {words.song_time(entry.refused.clip_start_s, 0)}"
    elif take is not None and len(clip.takes) > 1:
        tail = words.take_name(clip, take).removeprefix(stem)
    else:
        tail = ""
    tail += f" · {apart}" if apart else ""
    return stem + tail, tail


def state(entry: Entry) -> str:
    """What there is to say of a take in the list, in a few words."""
    clip, take = entry.clip, entry.take
    if entry.refused is not None:
        return f"– {ACTIONS[Action.REFUSED]}"
    if take is None:
        return "– no take" if clip.decided is None else "– not this song"
    if is_open(take):
        fit = len(fitting(take))
        return f"? {fit + 1} likely places" if fit else "? in doubt"
    if is_decided(take):
        return f"✓ {take.decision.value if take.decided is None else ACTIONS[take.decided.action]}"
    return f"● {words.sureness(take.uncertainty_s)}"


def decided(record: Decided | None, zone: tzinfo | None = None) -> str:
    """What a person did, and when, by the clock on the wall (or that of a zone).

    >>> from datetime import timedelta, timezone
    >>> decided(Decided(Action.MOVED, "2031-05-04T22:20:00Z"), timezone(timedelta(hours=2)))
    'moved by hand, 05 May 2031, 00:20'
    """
    if record is None:
        return ""
    try:
        when = datetime.fromisoformat(record.at).astimezone(zone)
    except (ValueError, OverflowError):
        return ACTIONS[record.action]
    return f"{ACTIONS[record.action]}, {when.strftime('%d %b %Y, %H:%M')}"


def speed_of_pins(clip: Clip, pins: Sequence[Pin]) -> str:
    """What the pins say about speed, and how well."""
    if len(pins) < 2:
        return "One pin sets the position. A second one, far along the clip, also sets the speed."
    first, last = pins[0], pins[-1]
    apart = last.clip_s - first.clip_s
    speed = (last.song_s - first.song_s) / apart
    return f"Two pins {apart:.1f} s apart give speed {speed:.4f} ±{frame_s(clip) / apart:.4f}."


def odd_speed(clip: Clip, pins: Sequence[Pin]) -> str:
    """A warning where two pins give a speed that nobody shoots or plays at; else nothing."""
    if len(pins) < 2:
        return ""
    apart = pins[-1].clip_s - pins[0].clip_s
    speed = (pins[-1].song_s - pins[0].song_s) / apart
    nearest, usual = usual_near(speed, 2 * frame_s(clip) / apart)
    if usual:
        return ""
    return (
        f"! A speed of {speed:.4f} is unusual; the nearest usual one is {nearest:.4g}. "
        "Check both frames and beats: is one of them off by a beat?"
    )
