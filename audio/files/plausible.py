"""What a file may say about itself: beyond these bounds it is damaged, and nothing is worked out by it."""

from fractions import Fraction

from audio.errors import Unreadable

SOUND_RATES = (2_000, 1_600_000)
"""Samples a second that are believed. Telephones have 8,000 and recorders up to 768,000; wider by hand."""
FRAME_RATES = (Fraction(1, 2), Fraction(2_000))
"""Frames a second that are believed: high-speed cameras reach 1,000; wider by hand."""
LONGEST_S = 6 * 3600.0
"""Longest sound that is placed (s): at 8 kHz in 16 bits 346 MB, above any camera's clip."""
LONGEST_SONG_S = 5400.0
"""Longest song, and longest playback file (s). Placing holds one of an hour in 1 GB."""
MOST_SILENCE_S = 3 * 3600.0
"""Holes between time stamps are filled with silence up to so much in all (s); beyond, they are damaged."""
MOST_APART_S = 600.0
"""So far apart the sound tracks of one file may begin (s); cameras begin them within a second. By hand."""
LEAST_BYTES_A_SECOND = 10.0
"""No coder needs less, not even for silence: Opus takes 400 for it. Chosen by hand."""
SHORT_S = 600.0
"""Claims of a length up to this (s) are not compared with the file's size."""


def check_sound_rate(rate: int) -> None:
    """Refuse a sample rate that cannot be. Raises Unreadable."""
    if not SOUND_RATES[0] <= rate <= SOUND_RATES[1]:
        raise Unreadable(
            f"The file says that its sound has {rate} samples a second, which cannot be: it is damaged. "
            "Copy it again from the card.",
            for_song=f"The file says that it has {rate} samples a second, which cannot be: "
            "choose another copy.",
        )


def check_frame_rate(rate: Fraction) -> None:
    """Refuse a frame rate that cannot be. Raises Unreadable."""
    if not FRAME_RATES[0] <= rate <= FRAME_RATES[1]:
        raise Unreadable(
            f"The file says that it has {float(rate):.6g} pictures a second, which cannot be: it is damaged, "
            "or its container lost the times. Copy it again from the card, or convert a copy at its rate."
        )


def plausible_length_s(length_s: float, size_bytes: int) -> float:
    """A claimed length in seconds, or 0 where a file of that size cannot be so long.

    >>> plausible_length_s(90.0, 10_000_000), plausible_length_s(36_000.0, 73_000)
    (90.0, 0.0)
    """
    most_s = max(SHORT_S, size_bytes / LEAST_BYTES_A_SECOND)
    return length_s if 0 <= length_s <= most_s else 0.0
