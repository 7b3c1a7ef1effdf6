"""Light from the values of a picture, and back: the transfer functions of cameras.

Values count from 0 (black) to 1 (white) of the full range. Light is linear: a doubling is one stop. Where a
function belongs to a camera, light is that of the scene, 0.18 a grey card; its scale does not matter here,
because pictures are only compared.

Which function a file uses, its colour tags tell (`of_code`) or a person does (`named`). Cameras that record
with a log curve mostly tag nothing, or BT.709 all the same; so a person's word counts for more.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]

UNTAGGED = 2
"""The code of a file that does not say (ITU-T H.273, table 3)."""


@dataclass(frozen=True, slots=True)
class Transfer:
    """A transfer function, and the way back."""

    name: str
    """Its word, such as ``bt709``."""
    title: str
    """As a person calls it."""
    to_light: Callable[[Values], Values]
    """Values (any shape) to light."""
    to_values: Callable[[Values], Values]
    """Light (any shape) to values; not limited to 0 to 1."""
    of_codes: bool = False
    """Whether its values are shares of 1023 code values, whatever range the recording uses.

    A picture of the narrow range, which reaches from code 64 to 940 (ITU-R BT.709, 5.6), must then be told
    in code values first.
    """

    def light(self, values: Values, *, full_range: bool = False) -> Values:
        """Light for values of a picture (0 to 1 of the range it was recorded in); any shape."""
        return self.to_light(_codes(values) if self.of_codes and not full_range else values)

    def values(self, light: Values, *, full_range: bool = False) -> Values:
        """Values of a picture for light; any shape, not limited to 0 to 1."""
        values = self.to_values(light)
        return _shares(values) if self.of_codes and not full_range else values

    def table(self, *, full_range: bool = False) -> Values:
        """Light for each value of a picture in eight bits, shape (256,)."""
        return self.light(np.arange(256) / 255, full_range=full_range)


def named(name: str) -> Transfer:
    """The transfer function of that word. Raises KeyError."""
    return _BY_NAME[name]


def of_code(code: int) -> Transfer | None:
    """The function that a file's tag means (ITU-T H.273, table 3); None where it does not say, or says what
    is not known here.

    >>> of_code(13).name, of_code(14).name, of_code(UNTAGGED)
    ('srgb', 'bt709', None)
    """
    name = _CODES.get(code)
    return None if name is None else _BY_NAME[name]


def _codes(values: Values) -> Values:
    """Values of the narrow range as shares of 1023 code values."""
    return (64 + 876 * values) / 1023


def _shares(codes: Values) -> Values:
    return (1023 * codes - 64) / 876


# A power law with a straight line below a cut: ITU-R BT.709 (1.2), SMPTE ST 240, IEC 61966-2-1.


def _power_law(name: str, title: str, *, scale: float, power: float, line: float, cut: float) -> Transfer:
    """``scale L^power - (scale - 1)`` from light ``cut`` on, ``line L`` below."""
    edge = line * cut

    def to_light(values: Values) -> Values:
        curve = (np.maximum(values, edge) + (scale - 1)) / scale
        return np.where(values < edge, values / line, curve ** (1 / power))

    def to_values(light: Values) -> Values:
        curve = scale * np.maximum(light, cut) ** power - (scale - 1)
        return np.where(light < cut, line * light, curve)

    return Transfer(name, title, to_light, to_values)


def _gamma(name: str, title: str, power: float) -> Transfer:
    """A plain power law, from code 4 and 5 of ITU-T H.273."""
    return Transfer(
        name,
        title,
        lambda values: np.maximum(values, 0.0) ** power,
        lambda light: np.maximum(light, 0.0) ** (1 / power),
    )


# Hybrid log-gamma, ITU-R BT.2100, table 5: light of the scene, 1 at the highest value.
_HLG_A, _HLG_B = 0.17883277, 0.28466892
_HLG_C = 0.5 - _HLG_A * math.log(4 * _HLG_A)


def _hlg_light(values: Values) -> Values:
    low = np.maximum(values, 0.0) ** 2 / 3
    return np.where(values <= 0.5, low, (np.exp((values - _HLG_C) / _HLG_A) + _HLG_B) / 12)


def _hlg_values(light: Values) -> Values:
    high = _HLG_A * np.log(np.maximum(12 * light - _HLG_B, 1e-9)) + _HLG_C
    low: Values = np.sqrt(3 * np.maximum(light, 0.0))
    return np.where(light <= 1 / 12, low, high)


# Perceptual quantizer, ITU-R BT.2100, table 4 (SMPTE ST 2084): light of the display, 1 at 10 000 cd/m².
_PQ_M1, _PQ_M2 = 2610 / 16384, 2523 / 4096 * 128
_PQ_C1, _PQ_C2, _PQ_C3 = 3424 / 4096, 2413 / 4096 * 32, 2392 / 4096 * 32


def _pq_light(values: Values) -> Values:
    root = np.clip(values, 0.0, 1.0) ** (1 / _PQ_M2)
    light: Values = (np.maximum(root - _PQ_C1, 0.0) / (_PQ_C2 - _PQ_C3 * root)) ** (1 / _PQ_M1)
    return light


def _pq_values(light: Values) -> Values:
    root = np.maximum(light, 0.0) ** _PQ_M1
    values: Values = ((_PQ_C1 + _PQ_C2 * root) / (1 + _PQ_C3 * root)) ** _PQ_M2
    return values


@dataclass(frozen=True, slots=True)
class _Log:
    """``c log10(a L + b) + d`` from light ``cut`` on, ``e L + f`` below."""

    a: float
    b: float
    c: float
    d: float
    e: float
    f: float
    cut: float

    def to_light(self, values: Values) -> Values:
        """Values to light."""
        high = (10 ** ((values - self.d) / self.c) - self.b) / self.a
        return np.where(values < self.e * self.cut + self.f, (values - self.f) / self.e, high)

    def to_values(self, light: Values) -> Values:
        """Light to values."""
        high = self.c * np.log10(self.a * np.maximum(light, self.cut) + self.b) + self.d
        return np.where(light < self.cut, self.e * light + self.f, high)


def _log(name: str, title: str, curve: _Log, *, of_codes: bool) -> Transfer:
    return Transfer(name, title, curve.to_light, curve.to_values, of_codes)


BT709 = _power_law("bt709", "BT.709", scale=1.099, power=0.45, line=4.5, cut=0.018)
"""Also that of BT.601 and BT.2020."""

TRANSFERS: tuple[Transfer, ...] = (
    BT709,
    _power_law("srgb", "sRGB", scale=1.055, power=1 / 2.4, line=12.92, cut=0.0031308),
    _power_law("smpte240m", "ST 240", scale=1.1115, power=0.45, line=4.0, cut=0.0228),
    _gamma("gamma22", "Gamma 2.2", 2.2),
    _gamma("gamma28", "Gamma 2.8", 2.8),
    Transfer("linear", "Linear", lambda values: values, lambda light: light),
    Transfer("hlg", "BT.2100 HLG", _hlg_light, _hlg_values),
    Transfer("pq", "BT.2100 PQ", _pq_light, _pq_values),
    # Log curves of cameras, by the constants that their makers publish; all of them are in the package
    # colour-science, with the documents they are from.
    _log(
        "acescct",
        "ACEScct",
        _Log(1.0, 0.0, 1 / 17.52 / math.log10(2), 9.72 / 17.52, 10.5402377416545, 0.0729055341958355, 2**-7),
        of_codes=False,
    ),
    _log(
        "logc3",
        "LogC3, EI 800",
        _Log(5.555556, 0.052272, 0.247190, 0.385537, 5.367655, 0.092809, 0.010591),
        of_codes=False,
    ),
    _log(
        "slog3",
        "S-Log3",
        _Log(
            1 / 0.19,
            0.01 / 0.19,
            261.5 / 1023,
            420 / 1023,
            (171.2102946929 - 95) / 0.01125 / 1023,
            95 / 1023,
            0.01125,
        ),
        of_codes=True,
    ),
    _log("vlog", "V-Log", _Log(1.0, 0.00873, 0.241514, 0.598206, 5.6, 0.125, 0.01), of_codes=True),
    _log(
        "flog",
        "F-Log",
        _Log(0.555556, 0.009468, 0.344676, 0.790453, 8.735631, 0.092864, 0.00089),
        of_codes=True,
    ),
    _log(
        "flog2",
        "F-Log2",
        _Log(5.555556, 0.064829, 0.245281, 0.384316, 8.799461, 0.092864, 0.000889),
        of_codes=True,
    ),
    _log("dlog", "D-Log", _Log(0.9892, 0.0108, 0.256663, 0.584555, 6.025, 0.0929, 0.0078), of_codes=True),
)
"""All that are known, the usual ones first."""
_BY_NAME: Mapping[str, Transfer] = {one.name: one for one in TRANSFERS}
_CODES: Mapping[int, str] = {
    1: "bt709",
    4: "gamma22",
    5: "gamma28",
    6: "bt709",
    7: "smpte240m",
    8: "linear",
    11: "bt709",
    13: "srgb",
    14: "bt709",
    15: "bt709",
    16: "pq",
    18: "hlg",
}


@cache
def light_table(name: str, full_range: bool) -> Values:
    """`Transfer.table`, worked out once; not to be written to."""
    table = named(name).table(full_range=full_range)
    table.flags.writeable = False
    return table
