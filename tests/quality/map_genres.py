"""Kinds of music for the long board of the map: what drums, bass and chords play in a bar, and how fast.

A pattern is one bar, divided evenly by its length: X loud, x plain, o soft. Twelve steps to four beats swing.
"""

from dataclasses import dataclass

Drums = dict[str, str]


@dataclass(frozen=True)
class Genre:
    """One kind of music."""

    name: str
    bpm: tuple[float, float]
    light: Drums
    full: Drums
    bass: tuple[str, str]
    """Of a verse and of a chorus; so is ``comp``."""
    comp: tuple[str, str]
    sound: str = "guitar"
    beats_per_bar: int = 4
    wander: float = 0.01
    human_s: float = 0.006
    chord_bars: tuple[float, ...] = (1.0,)
    """How many bars a chord may last."""
    push: float = 0.0
    """How often a chord comes half a beat early."""


GENRES: tuple[Genre, ...] = (
    Genre(
        "rock",
        (105, 150),
        {"kick": "X.......x.x.....", "snare": "....X.......X...", "hat": "x.o.x.o.x.o.x.o."},
        {"kick": "X.....x.x.x.....", "snare": "....X.......X...", "ride": "X.x.X.x.X.x.X.x."},
        ("x.x.x.x.", "X.xxX.xx"),
        ("X...x.x.", "X.xxx.xx"),
        "crunch",
        push=0.2,
    ),
    Genre(
        "fast punk",
        (170, 225),
        {"kick": "X...x...", "snare": "..X...X.", "hat": "xxxxxxxx"},
        {"kick": "X..xX..x", "snare": "..X...X.", "open hat": "X.x.X.x."},
        ("xxxxxxxx", "xxxxxxxx"),
        ("xxxxxxxx", "XxxxXxxx"),
        "crunch",
        wander=0.015,
        chord_bars=(1.0, 2.0),
    ),
    Genre(
        "slow ballad",
        (55, 76),
        {"kick": "X.......o.......", "stick": "....x.......x...", "hat": "x.o.x.o.x.o.x.o."},
        {"kick": "X......xX.x.....", "snare": "....X.......X...", "ride": "x.o.x.o.x.o.x.o."},
        ("X.......x.....x.", "X.....x.X.....x."),
        ("x.o.x.o.x.o.x.o.", "X.x.x.x.X.x.x.x."),
        "piano",
        wander=0.025,
        human_s=0.008,
    ),
    Genre(
        "sixteenths",
        (88, 116),
        {"kick": "X..x..x...x.....", "snare": "....X..o.o..X..o", "hat": "xoxoxoxoxoxoxoxo"},
        {"kick": "X..x..x..xx..x..", "snare": "....X..o.o..X.o.", "open hat": "..x...x...x...x."},
        ("X..x..x.x.xx..x.", "X.xx..x.x.xx.xx."),
        ("..x..x....x..x..", "x..x..x...x..x.."),
        "guitar",
        chord_bars=(1.0, 2.0, 4.0),
    ),
    Genre(
        "shuffle",
        (88, 138),
        {"kick": "X.....x.....", "snare": "...X.....X..", "hat": "x.ox.ox.ox.o"},
        {"kick": "X....xx.....", "snare": "...X.....X.o", "ride": "X.xX.xX.xX.x"},
        ("X.xx.xX.xx.x", "X.xX.xX.xX.x"),
        ("X..x..X..x..", "X.xx.xX.xx.x"),
        "guitar",
        chord_bars=(1.0, 2.0),
    ),
    Genre(
        "swing",
        (120, 235),
        {"ride": "x..x.xx..x.x", "hat": "...X.....X.."},
        {"ride": "X..x.xX..x.x", "hat": "...X.....X..", "snare": ".....o.....x", "kick": "x..........o"},
        ("x..x..x..x..", "X..x..X..x.x"),
        (".....x......", "x....x......"),
        "piano",
        wander=0.015,
        push=0.2,
    ),
    Genre(
        "waltz",
        (95, 185),
        {"kick": "X.....", "stick": "..x.x.", "hat": "x.x.x."},
        {"kick": "X....o", "snare": "..X.X.", "ride": "X.x.x."},
        ("X.....", "X...x."),
        ("..x.x.", "X.x.x."),
        "guitar",
        beats_per_bar=3,
        wander=0.015,
    ),
    Genre(
        "six eight",
        (48, 76),
        {"kick": "X.....", "stick": "...x..", "hat": "xooxoo"},
        {"kick": "X....x", "snare": "...X..", "ride": "XxxXxx"},
        ("X.....", "X..x.x"),
        ("xxxxxx", "XxxXxx"),
        "piano",
        beats_per_bar=2,
        wander=0.015,
    ),
    Genre(
        "two four",
        (104, 138),
        {"kick": "X...", "stick": "..x.", "hat": ".x.x"},
        {"kick": "X...", "snare": "..Xo", "hat": ".x.x"},
        ("X.x.", "X.x."),
        (".x.x", ".x.x"),
        "reeds",
        beats_per_bar=2,
    ),
    Genre(
        "five four",
        (100, 176),
        {"kick": "X.....x...", "stick": "......x.x.", "ride": "x.xxx.x.x."},
        {"kick": "X....xX...", "snare": "..x...X.x.", "ride": "X.xxX.x.x."},
        ("X..x..x.x.", "X..x..X.x."),
        ("X..x..x.x.", "X..x..X.X."),
        "piano",
        beats_per_bar=5,
    ),
    Genre(
        "metal",
        (92, 150),
        {"kick": "X.xxX.xxX.xxX.xx", "snare": "....X.......X...", "ride": "x...x...x...x..."},
        {"kick": "xxxxxxxxxxxxxxxx", "snare": "....X.......X...", "crash": "X...x...x...x..."},
        ("X.xxX.xxX.xxX.xx", "x.x.x.x.x.x.x.x."),
        ("X.xxX.xxX.xxX.xx", "X...x...X...x..."),
        "crunch",
        human_s=0.004,
    ),
    Genre(
        "blast",
        (100, 140),
        {"kick": "X...x...x...x...", "snare": "....X.......X...", "hat": "x.x.x.x.x.x.x.x."},
        {"kick": "X.X.X.X.X.X.X.X.", "snare": ".X.X.X.X.X.X.X.X", "ride": "x.x.x.x.x.x.x.x."},
        ("x.x.x.x.x.x.x.x.", "xxxxxxxxxxxxxxxx"),
        ("X.x.x.x.X.x.x.x.", "XxxxXxxxXxxxXxxx"),
        "crunch",
        human_s=0.004,
        chord_bars=(1.0, 2.0),
    ),
    Genre(
        "four on the floor",
        (114, 132),
        {"kick": "X...X...X...X...", "hat": "..x...x...x...x."},
        {"kick": "X...X...X...X...", "clap": "....X.......X...", "open hat": "..X...X...X...X."},
        ("..x...x...x...x.", "..x.x.x...x.x.xx"),
        ("X.....x.....x...", "..X...X...X...X."),
        "organ",
        wander=0.0,
        human_s=0.0,
    ),
    Genre(
        "off-beat",
        (64, 92),
        {"kick": "........X.......", "stick": "........X.......", "hat": "x.o.x.o.x.o.x.o."},
        {"kick": "........X.......", "snare": "........X.......", "hat": "x.x.x.x.x.x.x.xx"},
        ("X..x..x...x.x...", "X.x...xxX.x...x."),
        ("..x...x.", "..X...X."),
        "organ",
        chord_bars=(1.0, 2.0),
    ),
    Genre(
        "bossa",
        (112, 150),
        {"kick": "x..xx..x", "stick": "x..x..x...x..x..", "hat": "xxxxxxxx"},
        {"kick": "X..xX..x", "stick": "x..x..x...x..x..", "hat": "xxxxxxxx", "ride": "x.x.x.x."},
        ("X..xx..x", "X..xX..x"),
        ("x..x..x...x..x..", "X..x..x...x..x.."),
        "guitar",
        chord_bars=(1.0, 2.0),
    ),
    Genre(
        "guitar alone",
        (72, 118),
        {},
        {},
        ("........", "........"),
        ("X.xx.xx.", "X.xxXxxx"),
        "guitar",
        wander=0.035,
        human_s=0.009,
    ),
    Genre(
        "piano alone",
        (58, 92),
        {},
        {},
        ("X...x...", "X..xX.x."),
        ("x.x.x.x.", "X.xxX.xx"),
        "piano",
        wander=0.04,
        human_s=0.01,
    ),
    Genre(
        "broken beat",
        (160, 178),
        {"kick": "X...............", "snare": "....X.......X...", "hat": "x.x.x.x.x.x.x.x."},
        {"kick": "X...X.....X.....", "snare": "....X..o.o..X...", "ride": "x.x.x.x.x.x.x.x."},
        ("X.......x.......", "X.........x.x..."),
        ("X...............", "X.....x........."),
        "organ",
        wander=0.0,
        human_s=0.002,
        chord_bars=(1.0, 2.0),
    ),
)
