"""Sound files in all containers and coders, each damaged in every way: hundreds of kinds by script.

What is expected of each stands in ``expected.json`` beside this file. It was recorded from a run and read
through; ``python -m tests.trouble.corpus --record`` records it anew.
"""

import json
import struct
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import numpy as np

from tests.audio.media_files import Recipe, low_noise, make
from tests.trouble.bad_files import KINDS, Kind, _wav

EXPECTED = Path(__file__).with_name("expected.json")
SECONDS = 3.0

BASES: dict[str, Recipe] = {
    "camera.mov": Recipe([low_noise(SECONDS)], picture_s=SECONDS),
    "camera.mp4": Recipe([low_noise(SECONDS)], picture_s=SECONDS, sound_codec="aac"),
    "camera.mkv": Recipe([low_noise(SECONDS)], picture_s=SECONDS, sound_codec="flac"),
    "camera.avi": Recipe([low_noise(SECONDS)], picture_s=SECONDS),
    "camera.ts": Recipe(
        [low_noise(SECONDS)], picture_s=SECONDS, picture_codec="mpeg2video", sound_codec="mp2"
    ),
    "camera.flv": Recipe([low_noise(SECONDS)], picture_s=SECONDS, picture_codec="flv1", sound_codec="aac"),
    "camera.mxf": Recipe([low_noise(SECONDS)], picture_s=SECONDS, picture_codec="mpeg2video"),
    "recorder.wav": Recipe([low_noise(SECONDS)], picture_s=0),
    "recorder.flac": Recipe([low_noise(SECONDS)], picture_s=0, sound_codec="flac"),
    "recorder.ogg": Recipe([low_noise(SECONDS)], picture_s=0, sound_codec="flac"),
    "recorder.m4a": Recipe([low_noise(SECONDS)], picture_s=0, sound_codec="aac", format="mp4"),
    "recorder.aiff": Recipe([low_noise(SECONDS)], picture_s=0, sound_codec="pcm_s16be"),
    "recorder.au": Recipe([low_noise(SECONDS)], picture_s=0, sound_codec="pcm_s16be"),
}
"""One file each, of some 100 kB."""


def _cut(share: float, data: bytes) -> bytes:
    return data[: round(share * len(data))]


def _over(first: float, share: float, value: int, data: bytes) -> bytes:
    """A stretch written over with one value."""
    at, length = round(first * len(data)), max(1, round(share * len(data)))
    return data[:at] + bytes([value]) * min(length, len(data) - at) + data[at + length :]


def _dropped(first: float, share: float, data: bytes) -> bytes:
    """A stretch left out, as when a card loses a block."""
    at = round(first * len(data))
    return data[:at] + data[at + max(1, round(share * len(data))) :]


def _bits(share: float, seed: int, data: bytes) -> bytes:
    """Single bytes changed at random places."""
    random = np.random.default_rng(seed)
    values = np.frombuffer(data, np.uint8).copy()
    places = random.choice(values.size, max(1, round(share * values.size)), replace=False)
    values[places] ^= random.integers(1, 256, places.size, dtype=np.uint8)
    return values.tobytes()


def _swapped(data: bytes) -> bytes:
    middle = len(data) // 2
    return data[middle:] + data[:middle]


DAMAGES: dict[str, Callable[[bytes], bytes]] = {
    "of which 1 % is there": partial(_cut, 0.01),
    "of which a tenth is there": partial(_cut, 0.1),
    "of which half is there": partial(_cut, 0.5),
    "of which nine tenths are there": partial(_cut, 0.9),
    "without its last byte": lambda data: data[:-1],
    "without its first byte": lambda data: data[1:],
    "with a byte in front": lambda data: b"\0" + data,
    "with zeros for a start": partial(_over, 0.0, 0.002, 0),
    "with zeros for an end": partial(_over, 0.9, 0.1, 0),
    "with zeros in the middle": partial(_over, 0.4, 0.2, 0),
    "with ones in the middle": partial(_over, 0.4, 0.2, 255),
    "with a block lost": partial(_dropped, 0.45, 0.1),
    "with one byte in a thousand changed": partial(_bits, 0.001, 1),
    "with one byte in a hundred changed": partial(_bits, 0.01, 2),
    "with one byte in ten changed": partial(_bits, 0.1, 3),
    "with its halves swapped": _swapped,
    "twice in one file": lambda data: data + data,
    "followed by rubbish": lambda data: data + bytes(range(256)) * 400,
    "turned round": lambda data: data[::-1],
    "in capital letters": bytes.upper,
}
"""What may happen to a file on a card, in a copy, or on its way."""

HEADS: dict[str, tuple[str, int]] = {
    "channels": ("<H", 22),
    "rate": ("<I", 24),
    "bytes a second": ("<I", 28),
    "bytes a frame": ("<H", 32),
    "bits": ("<H", 34),
    "format": ("<H", 20),
    "length of the format": ("<I", 16),
    "length of the sound": ("<I", 40),
    "length of the file": ("<I", 4),
}
"""Fields of a WAVE file's head, and where they are (RIFF, 1991)."""


def _made(name: str, change: Callable[[bytes], bytes], folder: Path) -> Path:
    path = folder / name
    data = change(make(path, BASES[name]).read_bytes())
    path.write_bytes(data)
    return path


def _headed(field: str, value: int, folder: Path) -> Path:
    noise = np.round(low_noise(SECONDS)[::6] * 32767).astype("<i2").tobytes()
    path = _wav(folder / "head.wav", 8000, noise)
    data = bytearray(path.read_bytes())
    kind, at = HEADS[field]
    struct.pack_into(kind, data, at, value % 256 ** struct.calcsize(kind))
    path.write_bytes(data)
    return path


def damaged_kinds() -> Iterator[tuple[str, Callable[[Path], Path]]]:
    """The name of each kind, and what makes it."""
    for base in BASES:
        for damage, change in DAMAGES.items():
            yield f"{base} {damage}", partial(_made, base, change)
    for field in HEADS:
        for value in (0, 1, 2**15, 2**31, 2**32 - 1):
            yield f"a WAVE file whose {field} is {value}", partial(_headed, field, value)


def expected() -> dict[str, list[str]]:
    """For each kind ``read`` or ``refused``, and the beginning of what is said."""
    found: dict[str, list[str]] = json.loads(EXPECTED.read_text("utf-8"))
    return found


def all_kinds() -> list[Kind]:
    """All kinds with what is expected of them."""
    known = expected()
    return [
        *KINDS,
        *(
            Kind(name, maker, known[name][0] == "read", known[name][1])
            for name, maker in damaged_kinds()
            if name in known
        ),
    ]
