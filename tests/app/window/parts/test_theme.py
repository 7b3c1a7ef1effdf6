"""Contrast of every text colour, and angles told apart.

Contrast: relative luminance and contrast ratio as defined in WCAG 2.1 (W3C Recommendation, "relative
luminance", "contrast ratio"); 4.5 to 1 for text is its success criterion 1.4.3, 3 to 1 for parts of controls
and graphics 1.4.11.
"""

from itertools import combinations, product
from math import atan2, degrees, hypot

import pytest

from app.model.coverage.staves import COLOURS
from app.window.parts.theme import DARK, LIGHT, Colours

SCHEMES = pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])


def channels(colour: str) -> tuple[float, ...]:
    """Linear red, green and blue, from 0 to 1."""
    values = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    return tuple(v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in values)


def luminance(colour: str) -> float:
    red, green, blue = channels(colour)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_the_known_ratios() -> None:
    """Black on white is 21 to 1; #767676, the lightest grey that passes on white, 4.54 (often quoted)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@SCHEMES
@pytest.mark.parametrize(
    ("text", "ground"), list(product(["ink", "dim", "warm"], ["paper", "panel", "chosen"]))
)
def test_text_can_be_read(colours: Colours, text: str, ground: str) -> None:
    assert contrast(getattr(colours, text), getattr(colours, ground)) >= 4.5


@SCHEMES
def test_the_main_button_can_be_read(colours: Colours) -> None:
    assert contrast(colours.paper, colours.ink) >= 4.5


@SCHEMES
def test_edges_and_angles_stand_out_from_the_paper(colours: Colours) -> None:
    for colour in (colours.edge, *colours.angles):
        assert contrast(colour, colours.paper) >= 3.0, colour
    for colour in colours.angles:
        assert contrast(colour, colours.panel) >= 3.0, colour


@SCHEMES
def test_ink_can_be_read_on_the_tint_of_every_angle(colours: Colours) -> None:
    """Names of slim takes stand on a third of the angle's colour laid over the paper."""
    for colour in colours.angles:
        tint = "#" + "".join(
            f"{round(p + (c - p) * 0.34):02x}"
            for p, c in ((int(colours.paper[n : n + 2], 16), int(colour[n : n + 2], 16)) for n in (1, 3, 5))
        )
        assert contrast(colours.ink, tint) >= 4.5, colour


def seen_without(kind: str, colour: str) -> tuple[float, ...]:
    """Linear colour as seen by an eye without red- or green-sensitive cones.

    Matrices: Viénot, Brettel and Mollon, "Digital video colourmaps for checking the legibility of displays by
    dichromats", Color Research and Application 24 (1999), in their linear RGB form (from memory, to five
    digits).
    """
    rows = {
        "protanope": ((0.11238, 0.88762, 0.0), (0.11238, 0.88762, 0.0), (0.00401, -0.00401, 1.0)),
        "deuteranope": ((0.29275, 0.70725, 0.0), (0.29275, 0.70725, 0.0), (-0.02234, 0.02234, 1.0)),
    }[kind]
    return tuple(sum(m * c for m, c in zip(row, channels(colour), strict=True)) for row in rows)


def lab(linear: tuple[float, ...]) -> tuple[float, float, float]:
    """CIE 1976 L*a*b* from linear sRGB (IEC 61966-2-1, white D65)."""
    red, green, blue = (max(0.0, c) for c in linear)
    x = (0.4124 * red + 0.3576 * green + 0.1805 * blue) / 0.9505
    y = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    z = (0.0193 * red + 0.1192 * green + 0.9505 * blue) / 1.089
    fx, fy, fz = ((v ** (1 / 3) if v > 0.008856 else 7.787 * v + 16 / 116) for v in (x, y, z))
    return 116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)


@SCHEMES
@pytest.mark.parametrize("eye", ["all cones", "protanope", "deuteranope"])
def test_all_angles_are_told_apart_and_from_the_warm_colour(colours: Colours, eye: str) -> None:
    """A CIE76 difference of 14 is plainly seen side by side (common practice: 2.3 is just noticeable)."""
    assert len(set(colours.angles)) == COLOURS == 8
    seen = {
        colour: lab(channels(colour) if eye == "all cones" else seen_without(eye, colour))
        for colour in (*colours.angles, colours.warm)
    }
    for one, other in combinations(seen, 2):
        apart = sum((a - b) ** 2 for a, b in zip(seen[one], seen[other], strict=True)) ** 0.5
        assert apart >= 14.0, (one, other, apart)


@SCHEMES
def test_no_angle_has_a_warm_colour(colours: Colours) -> None:
    """Hue from red to orange (CIE L*a*b*: 0 to 80 degrees, as far as it has a hue) is for what wants
    attention."""
    for colour in colours.angles:
        _, a, b = lab(channels(colour))
        assert hypot(a, b) < 10 or not 0 <= degrees(atan2(b, a)) <= 80, colour
    _, a, b = lab(channels(colours.warm))
    assert 0 <= degrees(atan2(b, a)) <= 80
