"""Why a clip or a take has its verdict: a code with figures. Sentences are made where they are shown."""

from dataclasses import dataclass
from enum import StrEnum

Figure = float | str
SWAY_LARGEST, SWAY_TYPICAL = "sway_largest_s", "sway_typical_s"
"""Names of the figures of a sway."""


class ReasonCode(StrEnum):
    """What spoke for or against a take; the figures that go with a code are named with it."""

    SONG_NOT_FOUND = "song not found"
    FITS_ELSEWHERE = "fits elsewhere"
    """``places``: how many other places in the song fit about as well; left out where they were not
    counted."""
    LOUD_ECHO = "loud echo"
    """Another arrival could be the direct sound as well."""
    CLOCK_UNCLEAR = "clock unclear"
    """The speed is known too badly for the take's ends."""
    FAINT = "faint"
    LEAP = "leap"
    """The take meets a neighbour that lies elsewhere in the song."""
    MOSTLY_DOUBTFUL = "mostly doubtful"
    """By itself the take is placed; most of its clip is not."""
    NEAR_SONG_TEMPO = "near song tempo"
    """Time-stretched by so little that it may be live playing."""
    PERHAPS_STRETCHED = "perhaps stretched"
    """Bits of the song's waveform are heard along a line of another ``speed``, as stretching leaves them."""
    UNSTEADY_TEMPO = "unsteady tempo"
    BLURRED = "blurred"
    """Time-stretching left the take's position too uncertain."""
    DAMAGED_STAMPS = "damaged stamps"
    """Time stamps are damaged before the take ends: its sound fits, its pictures may lie elsewhere."""
    CORROBORATED = "corroborated"
    """``clip``: name of the clip that recorded the same moment and decided the take."""
    CONTRADICTED = "contradicted"
    """``clip``: name of the other clip; ``off_s``: how much later in the song it puts the take (s)."""
    CODE_AGREES = "code agrees"
    """``off_s``: how much later in the song the sound puts the take than the code on the slate (s)."""
    CODE_DECIDES = "code decides"
    """The code on the slate decided between places; ``off_s`` as for `CODE_AGREES`."""
    CODE_CONTRADICTS = "code contradicts"
    """``off_s``: how much later in the song the code on the slate puts the take (s)."""
    BY_TIMECODE = "by timecode"
    """Placed by the linear timecode of a playback file alone; ``frames``: how many were read."""
    TIMECODE_AGREES = "timecode agrees"
    """``off_s``: how much later in the song the sound puts the take than that timecode (s)."""
    TIMECODE_DECIDES = "timecode decides"
    """It decided between places; ``off_s`` as for `TIMECODE_AGREES`."""
    TIMECODE_CONTRADICTS = "timecode contradicts"
    """``off_s``: how much later in the song that timecode puts the take (s); ``song``, where that is
    another."""
    OTHER_SONG_AS_WELL = "other song as well"
    """``song``: name of another song of the shoot that fits as well."""
    PLAYBACK_DISAGREES = "playback disagrees"
    """``off_s``: how much later in the song another recording of it puts the take (s); ``with``: its name."""
    SWAYS = "sways"
    """Of a placed take: its lag sways about the line. The figures go along with any other reason too:
    ``sway_largest_s``, ``sway_typical_s``: how far off the line it gets (s)."""
    SWAYS_FAR = "sways far"
    """Its lag sways too far for one line to be its place."""
    SOME_TAKES = "some takes"
    """Of a clip: ``doubtful`` of its ``takes`` are doubtful; ``reason``: code of the first, and its
    figures."""


@dataclass(frozen=True, slots=True)
class Reason:
    """A code and its figures."""

    code: ReasonCode
    figures: tuple[tuple[str, Figure], ...] = ()
    """Names and values; seconds where a name ends in ``_s``."""


def sway_figures(reason: Reason | None) -> tuple[tuple[str, Figure], ...]:
    """The figures of a sway among those of a reason; empty where there is none."""
    figures = () if reason is None else reason.figures
    return tuple((name, value) for name, value in figures if name in (SWAY_LARGEST, SWAY_TYPICAL))
