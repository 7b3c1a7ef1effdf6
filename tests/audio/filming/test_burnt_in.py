"""Text on pictures: letters of many scripts, what is done where a letter is missing, and where they lie."""

import numpy as np
import pytest

from audio.filming.burnt_in import fitting, lay_over, lettering


@pytest.mark.parametrize(
    ("letter", "other"), [("ä", "a"), ("Ö", "O"), ("ß", "B"), ("é", "e"), ("ő", "o"), ("Ж", "X"), ("Ω", "O")]
)
def test_letters_with_marks_are_letters_of_their_own(letter: str, other: str) -> None:
    one, two, missing = lettering(letter, 40), lettering(other, 40), lettering("\uffff", 40)
    assert one.shape[0] == two.shape[0]
    assert one.any()
    for unlike in (two, missing):
        assert one.shape != unlike.shape or not np.array_equal(one, unlike)


def test_a_letter_is_the_same_composed_or_not() -> None:
    assert np.array_equal(lettering("Grüße", 20), lettering("Gru\u0308ße", 20))


def test_what_no_font_has_leaves_ink() -> None:
    """A private character that hardly any font has is a box; half of a pair is no character at all."""
    assert lettering("\U0010fff0", 30).any()
    assert np.array_equal(lettering("\udc80", 30), lettering("?", 30))


def test_lines_do_not_break() -> None:
    assert np.array_equal(lettering("a\nb", 20), lettering("a b", 20))


def test_long_names_keep_both_ends() -> None:
    name = "A very long name of a clip, take " + "x" * 200 + " 0017.MOV"
    for width in (300, 100, 40):
        short = fitting(name, 16, width)
        assert lettering(short, 16).shape[1] <= width
    short = fitting(name, 16, 300)
    assert short.startswith("A very")
    assert short.endswith("0017.MOV")
    assert fitting("abc", 16, 0) == ""


def test_the_mask_colours_what_it_covers_and_only_inside() -> None:
    picture = np.zeros((10, 10, 3), np.uint8)
    mask = np.full((4, 4), 255, np.uint8)
    lay_over(picture, mask, 8, 8, (10, 20, 30))
    lay_over(picture, mask, -2, -2, (1, 2, 3))
    lay_over(picture, mask, 20, 20, (9, 9, 9))
    lay_over(picture, mask // 2, 4, 4, (100, 100, 100))
    assert picture[9, 9].tolist() == [10, 20, 30]
    assert picture[0, 0].tolist() == [1, 2, 3]
    assert picture[5, 5].tolist() == [50, 50, 50]
    assert np.count_nonzero(picture.any(axis=2)) == 4 + 4 + 16
