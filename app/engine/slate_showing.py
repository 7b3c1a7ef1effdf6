"""What the window asks for to show the slate page: the code, and how long one stays.

Nothing is loaded before somebody opens the page.
"""

from fractions import Fraction

from app.model.document.song import Song


def stay(refresh: float) -> int:
    """For how many refreshes a code stays on a screen of so many a second."""
    from audio.pictures.slate_code import stay as refreshes

    return refreshes(refresh)


def quiet() -> int:
    """How many modules of white are around a code at least."""
    from audio.pictures.slate_code import QUIET

    return QUIET


def code_rows(
    song: Song, song_s: float, speed: Fraction, take: int, *, by_hand: bool = False
) -> tuple[bytes, int]:
    """The code for a song time (s): a byte a module, row by row, 0 dark and 255 light; and modules in a row.

    Raises ValueError for what a code cannot tell.
    """
    import numpy as np

    from audio.pictures.slate_code import SlateCode, encode, matrix, song_part

    said = SlateCode(song_part(song.media.digest), round(1000 * song_s), speed, take, by_hand)
    dark = matrix(encode(said))
    return np.where(dark, 0, 255).astype(np.uint8).tobytes(), len(dark)
