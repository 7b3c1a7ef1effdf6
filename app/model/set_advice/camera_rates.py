"""At which frame rates cameras run on the day: the timeline's, and others where playback is fast or slow."""

from collections import Counter
from fractions import Fraction

from app.model.on_song import SongView

TIMELINE_RATES = tuple(
    Fraction(text) for text in ("24000/1001", "24", "25", "30000/1001", "30", "50", "60000/1001", "60")
)
"""What timelines run at."""
CAMERAS = tuple(Fraction(text) for text in ("24", "25", "30", "48", "50", "60", "96", "100", "120"))
"""Rates of cameras for slow and fast motion."""
USUAL_RATES = (Fraction(24), Fraction(25), Fraction(30), Fraction(50), Fraction(60))
"""Told where nobody has shot anything yet."""


def known_timeline_rate(shoot: SongView) -> Fraction | None:
    """The rate that most clips with takes have, as a hand-off takes it; None as long as there are none."""
    rates = [clip.frame_rate for clip in shoot.clips if clip.frame_rate is not None and clip.takes]
    return Counter(rates).most_common(1)[0][0] if rates else None


def timeline_of_plan(shoot: SongView) -> Fraction | None:
    """The rate of the timeline as far as anything tells it: takes of the song, then other clips, then the
    speeds of the plan, each of which is a camera's rate over the timeline's."""
    if known := known_timeline_rate(shoot):
        return known
    rates = [clip.frame_rate for clip in shoot.clips if clip.frame_rate is not None]
    if rates:
        return Counter(rates).most_common(1)[0][0]
    speeds = {one.speed for one in shoot.plan.set_ups} - {Fraction(1)}
    meant = [
        rate for rate in TIMELINE_RATES if speeds and all(camera_rate(rate, one) in CAMERAS for one in speeds)
    ]
    return meant[0] if len(meant) == 1 else None


def camera_rate(timeline: Fraction, speed: Fraction) -> Fraction:
    """What the camera is set to so that music played at this speed looks in sync at the timeline's rate.

    >>> camera_rate(Fraction(24000, 1001), Fraction(1001, 400))
    Fraction(60, 1)
    """
    return timeline * speed


def rates_of_plan(shoot: SongView, timeline: Fraction | None = None) -> tuple[Fraction, ...]:
    """The rates to advise on, the timeline's first. ``timeline`` is what the shoot tells where it is None.

    Where nobody knows it, those are told that cameras usually run at, and those that the plan's speeds make
    of them.
    """
    timeline = timeline or timeline_of_plan(shoot)
    speeds = [one.speed for one in shoot.plan.set_ups]
    if timeline is None:
        made = [camera_rate(rate, speed) for speed in speeds for rate in TIMELINE_RATES]
        return tuple(dict.fromkeys((*USUAL_RATES, *sorted(rate for rate in made if rate in CAMERAS))))
    return tuple(dict.fromkeys(camera_rate(timeline, speed) for speed in (Fraction(1), *speeds)))
