"""Transfer functions against the package colour-science, which implements the documents they are from."""

import warnings
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from audio.pictures.transfer import BT709, TRANSFERS, named, of_code

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it tells which further libraries it would like to have
    import colour

LIGHT = np.concatenate([[0.0, 1e-4, 0.002, 0.0125, 0.018, 0.05, 0.18], np.linspace(0.2, 1.0, 9)])
OTHER: dict[str, Callable[[Any], Any]] = {
    "bt709": colour.models.oetf_BT709,
    "srgb": colour.models.eotf_inverse_sRGB,
    "smpte240m": colour.models.oetf_SMPTE240M,
    "gamma22": lambda light: colour.gamma_function(light, 1 / 2.2),
    "gamma28": lambda light: colour.gamma_function(light, 1 / 2.8),
    "linear": lambda light: light,
    "hlg": colour.models.oetf_BT2100_HLG,
    "pq": lambda light: colour.models.eotf_inverse_ST2084(light * 10000),
    "acescct": colour.models.log_encoding_ACEScct,
    "logc3": colour.models.log_encoding_ARRILogC3,
    "slog3": colour.models.log_encoding_SLog3,
    "vlog": colour.models.log_encoding_VLog,
    "flog": colour.models.log_encoding_FLog,
    "flog2": colour.models.log_encoding_FLog2,
    "dlog": colour.models.log_encoding_DJIDLog,
}


@pytest.mark.parametrize("transfer", TRANSFERS, ids=lambda one: one.name)
def test_values_are_those_of_another_library(transfer: Any) -> None:
    with np.errstate(divide="ignore", invalid="ignore"):  # it works all branches out before it chooses
        theirs = OTHER[transfer.name](LIGHT)
    np.testing.assert_allclose(transfer.to_values(LIGHT), theirs, atol=2e-5)


@pytest.mark.parametrize("full_range", [False, True])
@pytest.mark.parametrize("transfer", TRANSFERS, ids=lambda one: one.name)
def test_the_way_back_ends_where_it_began(transfer: Any, full_range: bool) -> None:
    # Rounded constants leave a step at the cut, as the standards' own do.
    light = LIGHT[np.abs(LIGHT - 0.018) > 1e-6]
    again = transfer.light(transfer.values(light, full_range=full_range), full_range=full_range)
    np.testing.assert_allclose(again, light, rtol=2e-3, atol=2e-6)


@pytest.mark.parametrize("transfer", TRANSFERS, ids=lambda one: one.name)
def test_twice_the_light_is_one_stop_in_pictures_of_eight_bits(transfer: Any) -> None:
    one = np.linspace(0.1, 0.4, 200)
    tables = transfer.table()
    values = [np.rint(255 * transfer.values(light)).astype(int) for light in (one, 2 * one)]
    stops = np.log2(tables[values[1]] / tables[values[0]])
    # A code value is up to 0.07 stop there, so single values tell less than their mean.
    assert abs(float(stops.mean()) - 1.0) < 0.005


def test_a_grey_card_has_the_code_value_that_the_maker_tells() -> None:
    # Code 420 of 1023 for 18 % (Sony, "Technical Summary for S-Gamut3.Cine/S-Log3", table of code values).
    curve = named("slog3")
    assert round(1023 * float(curve.values(np.array(0.18), full_range=True))) == 420
    narrow = float(curve.values(np.array(0.18)))
    assert round(64 + 876 * narrow) == 420


def test_tags_mean_what_the_standard_says() -> None:
    # ITU-T H.273, table 3: 1, 6, 14 and 15 are functionally the same; 2 is "unspecified".
    assert {of_code(code) for code in (1, 6, 14, 15)} == {BT709}
    told = {code: found.name for code in range(20) if (found := of_code(code))}
    assert {16: "pq", 18: "hlg", 13: "srgb", 8: "linear"}.items() <= told.items()
    assert not {0, 2, 3} & told.keys()


def test_below_black_and_above_white_nothing_breaks() -> None:
    for transfer in TRANSFERS:
        assert np.isfinite(transfer.light(np.array([-0.1, 0.0, 1.0, 1.1]))).all(), transfer.name
        assert np.isfinite(transfer.values(np.array([-0.01, 0.0, 1.0, 60.0]))).all(), transfer.name
        assert (np.diff(transfer.table()) >= 0).all(), transfer.name
