"""How far a take sits from the reference take, in plain words with figures."""

import math

from app.model.document.looks import Match

SEEN_STOPS = 0.05
"""Less of a difference nobody sees, side by side."""
_NO_MEASURE = 9.0
"""Stops of uncertainty that stand for nothing in common."""
LITTLE, MUCH = 0.3, 0.8
"""Stops of balance up to which it is a little, and from which on it is much; by eye on neutral greys."""
DOUBTS = {
    "clipped": "More of this take is clipped than of the reference, and does not come back.",
    "blocked": "More of this take is blocked up than of the reference, and does not come back.",
    "mixed light": "The light is mixed: one match does not fit all of the picture.",
    "little in common": "The two have little in common: look before you trust the match.",
    "colours alone": "No place was found that both show: this goes by colours alone, a rough value.",
}
"""Why a match must not be trusted, by the words of `audio.pictures.match`; but for the next one."""
UNKNOWN_TRANSFER = "unknown transfer"


def distance(match: Match) -> float:
    """How far a take sits from the reference before the match, in stops: exposure and balance together."""
    return math.hypot(match.stops, match.warm, match.green)


def distance_after(match: Match) -> float:
    """The same after the match."""
    return math.hypot(match.stops_after, match.warm_after, match.green_after)


def apart_words(stops: float, warm: float, green: float) -> str:
    """A distance in words; the figures of the balance are in stops, too.

    >>> apart_words(0.62, 0.12, 0.01), apart_words(-1.0, -0.9, 0.0)
    ('0.6 stops brighter, a little warmer (+0.12)', '1 stop darker, much cooler (−0.90)')
    >>> apart_words(0.01, 0.0, -0.02), apart_words(0.0, 0.0, 0.08)
    ('about the same', 'as bright, a little greener (+0.08)')
    """
    bright = "as bright"
    if abs(stops) >= SEEN_STOPS:
        figure = f"{abs(stops):.1f}" if abs(stops) >= 0.1 else f"{abs(stops):.2f}"
        size = "1 stop" if figure == "1.0" else f"{figure} stops"
        bright = f"{size} {'brighter' if stops > 0 else 'darker'}"
    parts = [
        _balance(warm, "warmer", "cooler"),
        _balance(green, "greener", "more magenta"),
    ]
    told = [bright, *filter(None, parts)]
    return "about the same" if told == ["as bright"] else ", ".join(told)


def match_words(match: Match) -> tuple[str, str]:
    """How far a take sits from the reference, and how near the match brings it, in a sentence each."""
    before = apart_words(match.stops, match.warm, match.green)
    after = apart_words(match.stops_after, match.warm_after, match.green_after)
    error = f" (± {match.uncertainty:.2f} stops)" if 0.05 <= match.uncertainty < _NO_MEASURE else ""
    return f"{before[:1].upper()}{before[1:]}{error}.", f"After the match: {after}."


def doubt_words(match: Match) -> tuple[str, ...]:
    """Why a match must not be trusted, in sentences."""
    return tuple(_doubt(one, match) for one in match.doubts)


def _doubt(word: str, match: Match) -> str:
    if word == UNKNOWN_TRANSFER:
        whose = "the reference" if match.transfer else "this take"
        return f"The transfer function of {whose} is unknown: BT.709 is assumed."
    return DOUBTS.get(word, f"{word.capitalize()}.")


def _balance(stops: float, more: str, less: str) -> str:
    if abs(stops) < SEEN_STOPS:
        return ""
    how = "a little " if abs(stops) < LITTLE else "much " if abs(stops) >= MUCH else ""
    return f"{how}{more if stops > 0 else less} ({_signed(stops)})"


def _signed(figure: float) -> str:
    """A figure with its sign; a nought has none."""
    text = f"{abs(figure):.2f}"
    return text if text == "0.00" else f"{'+' if figure > 0 else '−'}{text}"
