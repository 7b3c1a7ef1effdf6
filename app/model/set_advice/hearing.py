"""How loud and how long playback may be, by two published rules; neither replaces those of the place.

- NIOSH, *Criteria for a Recommended Standard: Occupational Noise Exposure* (98-126, 1998): 85 dB(A) for eight
  hours, half the time for each 3 dB more: ``480 min / 2^((L − 85) / 3)``.
- Directive 2003/10/EC, article 3: daily exposure over eight hours of 80 dB(A) (lower action value), 85 dB(A)
  (upper action value), 87 dB(A) (limit, under the ear protection worn).
"""

import math

from app.model.coverage.passages import passage_parts
from app.model.document.plan import Passage
from app.model.on_song import SongView
from app.model.song_map.bar_spans import bar_spans

CRITERION_DB, CRITERION_MIN, EXCHANGE_DB = 85.0, 480.0, 3.0
LOWER_ACTION_DB, UPPER_ACTION_DB, LIMIT_DB = 80, 85, 87
LEVELS_DB = (85, 88, 91, 94, 97, 100)
TAKES = 3
"""How often each set-up is played in the example: hardly one is done at once (common practice)."""
DEFER = (
    "The rules of the place and whoever is responsible for safety on set come before these figures. Measure "
    "with a meter at the ears of whoever is nearest to the loudspeakers; count rehearsals and live drums too."
)
START_QUIETLY = (
    "Start playback quietly and turn it up slowly. Nobody stands in front of a loudspeaker when it starts."
)
EUROPE = (
    f"In the European Union (Directive 2003/10/EC), over an eight-hour day: ear protection is offered "
    f"from {LOWER_ACTION_DB} dB(A), worn from {UPPER_ACTION_DB} dB(A), and {LIMIT_DB} dB(A) at the ear is "
    "the limit."
)


def safe_minutes(level_db: float) -> float:
    """Minutes a day at a level in dB(A) that the NIOSH criterion allows.

    >>> safe_minutes(85), safe_minutes(94), safe_minutes(100)
    (480.0, 60.0, 15.0)
    """
    return float(CRITERION_MIN / 2 ** ((level_db - CRITERION_DB) / EXCHANGE_DB))


def safe_level_db(minutes: float) -> int:
    """The highest whole dB(A) that the criterion allows for so many minutes a day (above 0).

    >>> safe_level_db(480), safe_level_db(60), safe_level_db(61)
    (85, 94, 93)
    """
    return math.floor(CRITERION_DB + EXCHANGE_DB * math.log2(CRITERION_MIN / minutes) + 1e-9)


def playing_minutes(shoot: SongView) -> float:
    """How long the set-ups of the plan are played, each once, with pre-roll; 0 where none is planned."""
    song = shoot.song
    if song is None:
        return 0.0
    bars = bar_spans(song)
    whole_s = 0.0
    for one in shoot.plan.set_ups:
        for part in passage_parts(one.passage, song, bars):
            begin_s, end_s = bars[part.bars[0]].start_s, bars[part.bars[-1]].end_s
            if one.passage == Passage():
                begin_s, end_s = 0.0, song.duration_s
            lead_in_s = min(shoot.plan.lead_in_s, begin_s)
            whole_s += (end_s - begin_s + lead_in_s) / float(one.speed)
    return whole_s / 60


def exposure_words() -> str:
    """The NIOSH figures in a sentence."""
    told = ", ".join(f"{_minutes(safe_minutes(level))} at {level}" for level in LEVELS_DB)
    return f"By the NIOSH criterion a day's share is {told} dB(A): each 3 dB more halves the time."


def day_words(shoot: SongView) -> str:
    """How loud the day's list may be by the criterion; empty where no set-ups are planned."""
    once = playing_minutes(shoot)
    if once <= 0:
        return ""
    often = TAKES * once
    return (
        f"The set-ups of this plan play for {_minutes(once)} once through, and for {_minutes(often)} with "
        f"{TAKES} takes of each. Alone, by the same criterion, that is a day's share at "
        f"{safe_level_db(often)} dB(A)."
    )


def _minutes(minutes: float) -> str:
    if minutes >= 120:
        return f"{minutes / 60:.3g} h"
    return f"{math.ceil(minutes)} min"
