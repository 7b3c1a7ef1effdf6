"""The strip at the foot of a proof film: section, bar and time of the song."""

from collections.abc import Sequence
from dataclasses import dataclass

from audio.filming.burnt_in import Picture, fitting, lay_over, lettering
from audio.filming.tiles import FAINT, GROUND, INK


@dataclass(frozen=True, slots=True)
class Stretch:
    """Text that is shown in a stretch of the song."""

    start_s: float
    end_s: float
    """Song time in seconds, like the start."""
    words: str
    letter: str = ""
    """Drawn in a box before the text."""


class Foot:
    """The strip below the tiles: section, bar and time of the song."""

    def __init__(self, sections: Sequence[Stretch], bars: Sequence[Stretch], height: int) -> None:
        """``height`` is that of the whole picture in lines."""
        self._sections = sections
        self._bars = bars
        self._size = max(16, height // 26)
        self.lines = lettering("", self._size).shape[0] + self._size // 3
        self._digit = max(lettering(str(n), self._size).shape[1] for n in range(10))

    def paint(self, canvas: Picture, song_s: float) -> None:
        """Draw the strip of a song time (seconds) at the foot of a picture."""
        strip = canvas[canvas.shape[0] - self.lines :]
        strip[...] = GROUND
        top, inset, third = self._size // 6, self._size // 2, canvas.shape[1] // 3
        section = _at(self._sections, song_s)
        x = inset
        if section is not None:
            if section.letter:
                letter = lettering(section.letter, self._size)
                _frame(strip, x, top, letter.shape[1] + self._size // 2, self.lines - 2 * top)
                lay_over(strip, letter, x + self._size // 4, top, INK)
                x += letter.shape[1] + self._size
            name = fitting(section.words, self._size, max(1, canvas.shape[1] // 2 - third // 3 - x))
            lay_over(strip, lettering(name, self._size), x, top, INK)
        bar = _at(self._bars, song_s)
        if bar is not None:
            mask = lettering(bar.words, self._size)
            lay_over(strip, mask, (canvas.shape[1] - mask.shape[1]) // 2, top, INK)
        self._time(strip, song_s, canvas.shape[1] - inset, top)

    def _time(self, strip: Picture, song_s: float, right: int, top: int) -> None:
        """Draw the song time with digits of equal width, so that it does not jitter."""
        tenths = max(0, int(song_s * 10 + 1e-6))
        text = f"{tenths // 600}:{tenths // 10 % 60:02}.{tenths % 10}"
        for character in reversed(text):
            mask = lettering(character, self._size)
            width = self._digit if character.isdigit() else mask.shape[1]
            right -= width
            lay_over(strip, mask, right + (width - mask.shape[1]) // 2, top, FAINT)


def _at(stretches: Sequence[Stretch], song_s: float) -> Stretch | None:
    return next((one for one in stretches if one.start_s <= song_s < one.end_s), None)


def _frame(picture: Picture, x: int, y: int, width: int, height: int) -> None:
    """Draw the outline of a box, one pixel thick."""
    picture[[y, y + height - 1], x : x + width] = INK
    picture[y : y + height, [x, x + width - 1]] = INK
