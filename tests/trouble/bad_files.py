"""Damaged, hostile and odd files, each made by script, with what must be said of it.

Every maker writes one small file into a folder. What is expected is the verdict of the file by itself, and a
part of the sentence that says what is wrong; an empty part stands for files that are read all the same.
"""

import os
import socket
import struct
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np

from tests.audio.media_files import Recipe, low_noise, make

Maker = Callable[[Path], Path]


@dataclass(frozen=True)
class Kind:
    """A kind of bad file."""

    name: str
    make: Maker
    readable: bool
    """Whether its sound can be placed."""
    says: str = ""
    """Part of its sentence, or of a warning where it can be read."""


def _wav(path: Path, rate: int, data: bytes, *, code: int = 1, bits: int = 16, channels: int = 1) -> Path:
    """A WAVE file of these header fields (chunk ``fmt ``; RIFF, 1991), whether they make sense or not."""
    step = channels * bits // 8
    fmt = struct.pack("<HHIIHH", code, channels, rate, (rate * step) % 2**32, step, bits)
    body = (
        b"WAVE" + b"fmt " + struct.pack("<I", len(fmt)) + fmt + b"data" + struct.pack("<I", len(data)) + data
    )
    path.write_bytes(b"RIFF" + struct.pack("<I", len(body)) + body)
    return path


def _noise(seconds: float = 3.0, rate: int = 8000) -> bytes:
    values = low_noise(seconds, 48000)[:: 48000 // rate]
    return np.round(values * 32767).astype("<i2").tobytes()


def _floats(values: np.ndarray) -> bytes:
    return values.astype("<f4").tobytes()


def _with_numbers(share: float) -> Maker:
    def made(folder: Path) -> Path:
        values = low_noise(3.0)[::6].copy()
        broken = np.random.default_rng(3).choice(values.size, round(share * values.size), replace=False)
        values[broken] = np.nan
        return _wav(folder / "no numbers.wav", 8000, _floats(values), code=3, bits=32)

    return made


def _endless(folder: Path) -> Path:
    values = low_noise(3.0)[::6].copy()
    values[1000:1010] = np.inf
    return _wav(folder / "endless.wav", 8000, _floats(values), code=3, bits=32)


def _rated(rate: int) -> Maker:
    return lambda folder: _wav(folder / f"rate {rate}.wav", rate, _noise())


def _duration_tag(words: str) -> Maker:
    def made(folder: Path) -> Path:
        path = make(folder / "tagged.mkv", Recipe([low_noise(2.0)], picture_s=2.0))
        data = path.read_bytes()
        # Matroska writes each track's length as a tag of 18 characters in the end.
        at = data.rfind(b"00:00:0")
        assert at > 0
        new = words.encode().ljust(18, b"\0")[:18]
        while at > 0:
            data = data[:at] + new + data[at + 18 :]
            at = data.rfind(b"00:00:0")
        path.write_bytes(data)
        return path

    return made


def _time_reference(words: str) -> Maker:
    def made(folder: Path) -> Path:
        path = folder / "reference.mov"
        return make(
            path,
            Recipe(
                [low_noise(2.0)],
                metadata={"time_reference": words},
                options={"movflags": "use_metadata_tags"},
            ),
        )

    return made


def _scaled(kind: bytes, value: int) -> Maker:
    """An MP4 with another time scale in its movie or media header (ISO/IEC 14496-12, 8.2.2, 8.4.2)."""

    def made(folder: Path) -> Path:
        path = make(folder / "scaled.mp4", Recipe([low_noise(2.0)], sound_codec="aac"))
        data = bytearray(path.read_bytes())
        at = data.find(kind)
        while at > 0:
            struct.pack_into(">I", data, at + 16, value)
            at = data.find(kind, at + 4)
        path.write_bytes(data)
        return path

    return made


def _leaping(hours: float, suffix: str = ".mkv") -> Maker:
    """Sound whose time stamps leap once, far ahead."""

    def made(folder: Path) -> Path:
        path = folder / f"leap{suffix}"
        with av.open(str(path), "w") as out:
            stream = out.add_stream("aac" if suffix != ".mkv" else "pcm_s16le", rate=48000)
            assert isinstance(stream, av.AudioStream)
            stream.layout = "mono"
            values = np.round(low_noise(4.0) * 32767).astype(np.int16)
            at = 0
            for start in range(0, values.size - 1024, 1024):
                frame = av.AudioFrame.from_ndarray(
                    values[None, start : start + 1024], format="s16", layout="mono"
                )
                frame.sample_rate, frame.time_base = 48000, Fraction(1, 48000)
                if start >= values.size // 2 and at < 48000 * 60:
                    at += round(hours * 3600 * 48000)
                frame.pts = at
                at += 1024
                out.mux(stream.encode(frame))
            out.mux(stream.encode(None))
        return path

    return made


def _fifo(folder: Path) -> Path:
    os.mkfifo(folder / "pipe.mov")
    return folder / "pipe.mov"


def _socket(folder: Path) -> Path:
    here = Path.cwd()
    os.chdir(folder)  # names of sockets are short
    try:
        with socket.socket(socket.AF_UNIX) as one:
            one.bind("socket.mov")
    finally:
        os.chdir(here)
    return folder / "socket.mov"


def _device(folder: Path) -> Path:
    (folder / "zero.mov").symlink_to("/dev/zero")
    return folder / "zero.mov"


def _circle(folder: Path) -> Path:
    (folder / "round.mov").symlink_to("round.mov")
    return folder / "round.mov"


def _folder(folder: Path) -> Path:
    (folder / "clip.mov").mkdir()
    return folder / "clip.mov"


def _short(name: str, data: bytes) -> Maker:
    def made(folder: Path) -> Path:
        (folder / name).write_bytes(data)
        return folder / name

    return made


KINDS = (
    Kind("a length tag that is no time", _duration_tag("xx:yy:zz"), True),
    Kind("a length tag of minus signs", _duration_tag("-1:-1:-1e400"), True),
    Kind("a time reference that is no number", _time_reference("²"), True),
    Kind("a time reference of 400 digits", _time_reference("9" * 400), True),
    Kind("a movie time scale of 0", _scaled(b"mvhd", 0), True),
    Kind("a media time scale of 0", _scaled(b"mdhd", 0), False, "pictures a second"),
    Kind("a media time scale of 1", _scaled(b"mdhd", 1), False, "pictures a second"),
    Kind("a media time scale of 4294967295", _scaled(b"mdhd", 2**32 - 1), False, "pictures a second"),
    Kind("sound of 1 sample a second", _rated(1), False, "samples a second"),
    Kind("sound of 0 samples a second", _rated(0), False, "not a recording"),
    Kind("sound of 4 billion samples a second", _rated(2**32 - 1), False, "not a recording"),
    Kind("a few samples that are no numbers", _with_numbers(0.0005), True, "no numbers"),
    Kind("half of the samples are no numbers", _with_numbers(0.5), False, "no numbers"),
    Kind("a few endless samples", _endless, True, "no numbers"),
    Kind("stamps that leap ten hours", _leaping(10.0), True, "time stamps"),
    Kind("stamps that leap a thousand hours", _leaping(1000.0), True, "time stamps"),
    Kind("stamps in MP4 that leap ten hours", _leaping(10.0, ".mp4"), True, "time stamps"),
    Kind("a pipe", _fifo, False, "not a plain file"),
    Kind("a socket", _socket, False, "not a plain file"),
    Kind("a device", _device, False, "not a plain file"),
    Kind("a link to itself", _circle, False, "cannot be opened"),
    Kind("a folder named like a clip", _folder, False, "folder"),
    Kind("an empty file", _short("empty.mov", b""), False, "empty"),
    Kind("one byte", _short("one.mov", b"\0"), False, "not a recording"),
    Kind("a text file", _short("words.mp4", b"This is no film.\n" * 40), False, "not a recording"),
    Kind("zeros", _short("zeros.mp4", bytes(5000)), False, "not a recording"),
    Kind("a list of other files", _short("list.m3u8", b"#EXTM3U\n/etc/hostname\n"), False, "not a recording"),
)
"""All kinds, each with what must be said."""
