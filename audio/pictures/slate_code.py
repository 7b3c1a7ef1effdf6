"""What the code on the slate page says, and the code as a picture.

The page is filmed while the song plays. Its code changes several times a second, and each tells the song time
of its own appearing. So whoever sees where the codes change in a clip knows where the clip runs in the song,
and how fast, whatever the rate of the camera was.

Contract with the page that shows it:

- ``song_ms`` is the song time in the middle of the refresh with which the code appears: screens draw from top
  to bottom.
- A code stays for the whole number of refreshes that `stay` gives: long enough that a camera of 24 frames a
  second sees each in several frames, and never a whole number of frames at 24, 25, 30 or 50 a second. So the
  changes fall at other moments of the camera's frames each time, and together tell more than one frame can.
- It is to be filmed for three seconds: two leave it open at 24 or 25 frames a second which of the rates near
  each other a camera ran at.
- Around it is white, at least `QUIET` modules wide. It is shown as large as the page allows.
- Before the song plays the page shows none, or one that does not change.
- A page that a person started by hand, for a song that something else plays, says so in its codes: they are
  off by as much as the person was.

The text has letters and digits of QR's alphanumeric mode only, fields between colons:
``AB1:9F3C01AA:12400:1001/400:12:8HC1``: magic with version; the first 32 bits of the song's fingerprint as
hex; song time in ms; speed of the playback; take number; check digits. An ``H`` behind the version tells that
the page was started by hand. The check digits are the CRC-32 of all before
them, modulo 36^4, in base 36: QR's own error correction mends damage, but may mend it wrongly.
"""

import math
import re
import zlib
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import zxingcpp
from numpy.typing import NDArray

STAY_S = 0.21
"""Seconds that a code stays on the screen at least: more than five frames at 24 and 25 frames a second."""
QUIET = 4
"""Modules of white around the code (ISO/IEC 18004)."""
VERSION = 1
MOST_MS = 10_000_000
"""Song times are below this, in ms: nearly three hours."""
MOST_TAKE = 9999
MOST_PART = 99_999
"""Numerator and denominator of the speed are at most this."""

_MAGIC = "AB"
_DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_TEXT = re.compile(
    r"AB(?P<version>\d{1,2})(?P<hand>H?):(?P<song>[0-9A-F]{8}):(?P<ms>-?\d{1,7}):(?P<up>\d{1,5})(?:/(?P<down>\d{1,5}))?"
    r":(?P<take>\d{1,4}):(?P<check>[0-9A-Z]{4})"
)


@dataclass(frozen=True, slots=True)
class SlateCode:
    """What one code says."""

    song: str
    """First 8 hex digits of the song file's fingerprint, upper case."""
    song_ms: int
    """Song time (ms) at which the code appeared; negative in a count-in."""
    speed: Fraction
    """Seconds of song to a second of playback."""
    take: int
    """Number of the take, counted up by the page."""
    by_hand: bool = False
    """Somebody started the page when the song began to play elsewhere."""

    @property
    def song_s(self) -> float:
        """Song time (s) at which the code appeared."""
        return self.song_ms / 1000


def stay(refresh: float) -> int:
    """For how many refreshes a code stays on a screen that has so many a second.

    >>> stay(60), stay(50), stay(59.94), stay(120), stay(144)
    (13, 11, 13, 26, 31)
    """
    return math.ceil(STAY_S * refresh)


def song_part(fingerprint: str) -> str:
    """The part of a song file's fingerprint (hex) that a code holds.

    >>> song_part("9f3c01aa55d0")
    '9F3C01AA'
    """
    return fingerprint[:8].upper()


def encode(code: SlateCode) -> str:
    """The text of a code. Raises ValueError for what cannot be told.

    >>> encode(SlateCode("9F3C01AA", 12400, Fraction(1001, 400), 12))
    'AB1:9F3C01AA:12400:1001/400:12:8HC1'
    """
    up, down = code.speed.numerator, code.speed.denominator
    if not re.fullmatch(r"[0-9A-F]{8}", code.song):
        raise ValueError(f"{code.song!r} is not the part of a fingerprint: 8 upper-case hex digits are.")
    if not -MOST_MS < code.song_ms < MOST_MS:
        raise ValueError(f"A song time of {code.song_ms} ms does not fit in the code.")
    if not (0 < up <= MOST_PART and down <= MOST_PART):
        raise ValueError(f"A speed of {code.speed} does not fit in the code.")
    if not 0 <= code.take <= MOST_TAKE:
        raise ValueError(f"A take number of {code.take} does not fit in the code.")
    hand = "H" if code.by_hand else ""
    said = f"{_MAGIC}{VERSION}{hand}:{code.song}:{code.song_ms}:{code.speed}:{code.take}"
    return f"{said}:{_check(said)}"


def decode(text: str) -> SlateCode | None:
    """What a text says; None where it is no slate code, is damaged, or is of another version.

    >>> decode("AB1:9F3C01AA:12400:1001/400:12:8HC1")
    SlateCode(song='9F3C01AA', song_ms=12400, speed=Fraction(1001, 400), take=12, by_hand=False)
    >>> decode("AB1:9F3C01AA:12500:1001/400:12:8HC1"), decode("https://example.org")
    (None, None)
    """
    found = _TEXT.fullmatch(text)
    if found is None or _check(text.rpartition(":")[0]) != found["check"]:
        return None
    up, down = int(found["up"]), int(found["down"] or 1)
    if int(found["version"]) != VERSION or up == 0 or down == 0:
        return None
    return SlateCode(
        found["song"], int(found["ms"]), Fraction(up, down), int(found["take"]), bool(found["hand"])
    )


def matrix(text: str) -> NDArray[np.bool_]:
    """The QR code of a text, shape (n, n) modules, True is dark; without the white around it.

    Error correction is level M of ISO/IEC 18004: 15 % of the code may be unreadable.
    """
    code = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level="M")
    return np.array(code.to_image(scale=1, add_quiet_zones=False)) < 128


def _check(said: str) -> str:
    left = zlib.crc32(said.encode("ascii")) % len(_DIGITS) ** 4
    digits = ""
    for _ in range(4):
        left, digit = divmod(left, len(_DIGITS))
        digits = _DIGITS[digit] + digits
    return digits
