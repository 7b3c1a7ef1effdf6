"""The part of Song's table that puts beats and bars right."""

from collections.abc import Sequence
from functools import partial

from app.window.parts.actions import Action, Line
from app.window.song.map_steps import MapSteps
from app.window.song.song_taps import SongTaps

NUDGE_S = 0.005
METRES = (2, 3, 4, 5, 6, 7)
"""Beats per bar that can be chosen."""
TEMPO, BEATS, BARS = "&Tempo", "B&eats", "&Bars"
BAR_BUTTONS = ("bar", "bar on", "bar 1")
TEMPO_BUTTONS = ("tap", "half", "double", "off beat", "earlier", "later")
BEAT_BUTTONS = ("add", "move", "remove")


def beat_actions(steps: MapSteps, taps: SongTaps) -> Sequence[Line]:
    """Tempo, bars, and single beats."""

    def song() -> bool:
        return steps.has_song

    def beats() -> bool:
        return bool(steps.song_map.beats_s)

    return (
        Line(
            "tap the tempo, on every beat while the song plays",
            Action(
                "Tap Tempo",
                "T",
                "Tap on every beat while the song plays",
                taps.tap,
                name="tap",
                menu=TEMPO,
                enabled=song,
                repeats=False,  # a key that is held would tap, double or join again and again
            ),
        ),
        Line(
            "half tempo, double tempo",
            Action(
                "Half Tempo",
                "H",
                "Halve the tempo: keep every second beat",
                steps.half,
                name="half",
                menu=TEMPO,
                enabled=beats,
                repeats=False,
            ),
            Action(
                "Double Tempo",
                "D",
                "Double the tempo: add a beat between every two",
                steps.double,
                name="double",
                menu=TEMPO,
                enabled=beats,
                repeats=False,
            ),
        ),
        Line(
            "half tempo, double tempo, from this bar on",
            Action(
                "Half Tempo From Here",
                "Shift+H",
                "Halve the tempo from this bar on",
                partial(steps.half, onward=True),
                name="half on",
                menu=TEMPO,
                enabled=beats,
                repeats=False,
            ),
            Action(
                "Double Tempo From Here",
                "Shift+D",
                "Double the tempo from this bar on",
                partial(steps.double, onward=True),
                name="double on",
                menu=TEMPO,
                enabled=beats,
                repeats=False,
            ),
        ),
        Line(
            "move all beats half a beat later",
            Action(
                "Shift Half a Beat",
                "B",
                "Move all beats half a beat later, where the clicks are on the off-beat",
                steps.half_a_beat_on,
                name="off beat",
                menu=TEMPO,
                enabled=beats,
                repeats=False,
            ),
        ),
        Line(
            "move all beats 5 ms earlier or later",
            Action(
                "All Earlier",
                "Alt+Left",
                "Move all beats 5 ms earlier",
                partial(steps.nudge, -NUDGE_S),
                name="earlier",
                menu=TEMPO,
                enabled=beats,
            ),
            Action(
                "All Later",
                "Alt+Right",
                "Move all beats 5 ms later",
                partial(steps.nudge, NUDGE_S),
                name="later",
                menu=TEMPO,
                enabled=beats,
            ),
        ),
        Line(
            "a bar starts here; bar lines you have not fixed move along",
            Action(
                "Bar Starts Here",
                "O",
                "A bar starts on this beat; bar lines you have not fixed move along. Before the first beat "
                "or after the last one, beats are added",
                steps.bar,
                name="bar",
                menu=BARS,
                enabled=beats,
                repeats=False,
            ),
        ),
        Line(
            "a bar starts here; earlier bar lines stay",
            Action(
                "Bars From Here On",
                "Shift+O",
                "A bar starts on this beat; earlier bar lines stay",
                partial(steps.bar, onward=True),
                name="bar on",
                menu=BARS,
                enabled=beats,
                repeats=False,
            ),
        ),
        Line(
            "bar 1 starts here; what comes before it is the lead-in",
            Action(
                "Bar 1 Starts Here",
                "1",
                "Bar 1 starts on this beat; what comes before it is the lead-in, without bar numbers",
                steps.bar_one,
                name="bar 1",
                menu=BARS,
                enabled=beats,
                repeats=False,
            ),
        ),
        Line(
            "add a beat here",
            Action(
                "Add Beat",
                "A",
                "Add a beat at the playhead",
                steps.add_beat,
                name="add",
                menu=BEATS,
                enabled=song,
                repeats=False,
            ),
        ),
        Line(
            "move the nearest beat here",
            Action(
                "Move Beat Here",
                "M",
                "Move the nearest beat to the playhead",
                steps.move_beat_here,
                name="move",
                menu=BEATS,
                enabled=beats,
                repeats=False,
            ),
        ),
        Line(
            "move this beat 5 ms earlier or later",
            *(
                Action(
                    f"This Beat {way}",
                    key,
                    f"Move this beat 5 ms {way.lower()}",
                    partial(steps.nudge_beat, by * NUDGE_S),
                    menu=BEATS,
                    enabled=beats,
                )
                for key, way, by in ((",", "Earlier", -1), (".", "Later", 1))
            ),
        ),
        Line(
            "remove this beat",
            Action(
                "Remove Beat",
                ("Del", "Backspace"),
                "Remove this beat, and the bar line on it",
                steps.remove_beat,
                name="remove",
                menu=BEATS,
                enabled=beats,
                repeats=False,
            ),
        ),
        Line(
            "so many beats per bar from here on",
            *(
                Action(
                    f"{count} Beats per Bar",
                    str(count),
                    f"{count} beats per bar from here on",
                    partial(steps.metre, count),
                    name=f"metre {count}",
                    menu=BARS,
                    enabled=beats,
                    repeats=False,
                )
                for count in METRES
            ),
        ),
    )
