"""What the code on the slate says, against another library that writes QR codes."""

from dataclasses import replace
from fractions import Fraction

import cv2
import numpy as np
import pytest
import segno
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st

from audio.pictures.slate_code import MOST_MS, MOST_PART, MOST_TAKE, SlateCode, decode, encode, matrix

CODE = SlateCode("9F3C01AA", 12400, Fraction(1001, 400), 12)

codes = st.builds(
    SlateCode,
    st.integers(0, 2**32 - 1).map(lambda number: f"{number:08X}"),
    st.integers(1 - MOST_MS, MOST_MS - 1),
    st.builds(Fraction, st.integers(1, MOST_PART), st.integers(1, MOST_PART)),
    st.integers(0, MOST_TAKE),
)


@given(codes)
def test_what_is_encoded_is_decoded(code: SlateCode) -> None:
    assert decode(encode(code)) == code
    by_hand = replace(code, by_hand=True)
    assert decode(encode(by_hand)) == by_hand


@given(codes, st.data())
def test_no_text_with_another_character_is_believed(code: SlateCode, data: st.DataObject) -> None:
    text = encode(code)
    at = data.draw(st.integers(0, len(text) - 1))
    other = data.draw(
        st.sampled_from("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ:/-").filter(lambda c: c != text[at])
    )
    changed = text[:at] + other + text[at + 1 :]
    # A CRC finds every change of up to 32 bits in a row; folding it to four digits leaves one in 1.7 million.
    assert decode(changed) is None


@pytest.mark.parametrize(
    "text", ["", "https://example.org", "AB2:9F3C01AA:12400:1001/400:12:8HC1", "AB1:9F3C01AA:1:0:1:0000"]
)
def test_other_texts_are_none(text: str) -> None:
    assert decode(text) is None


@pytest.mark.parametrize(
    "code",
    [
        SlateCode("9f3c01aa", 0, Fraction(1), 0),
        SlateCode("9F3C", 0, Fraction(1), 0),
        SlateCode("9F3C01AA", MOST_MS, Fraction(1), 0),
        SlateCode("9F3C01AA", 0, Fraction(0), 0),
        SlateCode("9F3C01AA", 0, Fraction(1, 100_000), 0),
        SlateCode("9F3C01AA", 0, Fraction(1), 10_000),
    ],
)
def test_what_does_not_fit_is_refused(code: SlateCode) -> None:
    with pytest.raises(ValueError, match=r"fit|fingerprint"):
        encode(code)


def test_the_picture_holds_the_text_at_level_m() -> None:
    dark = matrix(encode(CODE))
    assert dark.shape == (25, 25)
    page = np.kron(np.pad(~dark, 4, constant_values=True), np.ones((4, 4))).astype(np.uint8) * 255
    (found,) = zxingcpp.read_barcodes(page)
    assert (found.text, found.ec_level) == (encode(CODE), "M")


@pytest.mark.parametrize("by_hand", [False, True])
def test_another_library_reads_the_picture(by_hand: bool) -> None:
    """OpenCV's reader, made apart from zxing."""
    code = replace(CODE, by_hand=by_hand)
    page = np.kron(np.pad(~matrix(encode(code)), 4, constant_values=True), np.ones((8, 8)))
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(page.astype(np.uint8) * 255)
    assert decode(text) == code


def test_another_library_writes_the_same_picture() -> None:
    text = encode(CODE)
    ours = matrix(text)
    # Which of eight masks is best is judged by penalties that libraries count differently.
    theirs = [
        np.array(segno.make(text, error="m", version=2, mask=mask, boost_error=False).matrix, dtype=bool)
        for mask in range(8)
    ]
    assert any(np.array_equal(ours, one) for one in theirs)
