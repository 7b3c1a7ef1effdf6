"""What kind of thing an edit of the shoot changed.

An edit is a pure function that gives the new shoot and the `Change`. One that changes nothing gives the same
shoot and ``Change(0)``. An unknown id raises KeyError; a wish that cannot be met raises ValueError with a
sentence for the person.
"""

import enum


class Change(enum.Flag):
    """What kind of thing an edit changed."""

    NAME = enum.auto()
    SONG = enum.auto()
    MAP = enum.auto()
    CLIPS = enum.auto()
    TAKES = enum.auto()
    ANGLES = enum.auto()
    MARKS = enum.auto()
    PLAN = enum.auto()
    LOOKS = enum.auto()
    CUT = enum.auto()
    PLAYBACK = enum.auto()


NOTHING = Change(0)
