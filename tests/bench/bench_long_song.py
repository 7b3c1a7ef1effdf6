"""Memory and time that a long song takes: ``python -m tests.bench.bench_long_song --minutes 60``.

A made song is mapped, then made ready for clips to be placed on it, each with its own peak of memory (Linux).
"""

import argparse
import re
import time
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from app.engine.mapping import whole_map
from audio.placement.search import SongIndex
from audio.rate import ENGINE_RATE
from audio.song.onsets import RATE

BEAT_S = 0.5
CHORDS_HZ = (110.0, 146.8, 164.8, 130.8)


def made(seconds: float, rate: int) -> NDArray[np.float32]:
    """Four chords over a kick, with another key every 16 bars; shape (n,)."""
    random = np.random.default_rng(0)
    out = np.zeros(round(seconds * rate), np.float32)
    beat = round(BEAT_S * rate)
    t = np.arange(beat) / rate
    kick = np.sin(2 * np.pi * 60 * t) * np.exp(-12 * t)
    for number, at in enumerate(range(0, len(out) - beat, beat)):
        chord = CHORDS_HZ[number // 4 % 4] * (1.122 if number // 64 % 2 else 1.0)
        hat = 0.05 * random.standard_normal(beat) * np.exp(-20 * t)
        loud = 0.3 if number % 4 else 0.6
        out[at : at + beat] += loud * kick + 0.1 * np.sin(2 * np.pi * chord * t) + hat
    return out


def peak_mb() -> float:
    """Peak of memory since the last call (MB; 0 where the system does not tell)."""
    try:
        found = re.search(r"VmHWM:\s+(\d+)", Path("/proc/self/status").read_text("ascii"))
        Path("/proc/self/clear_refs").write_text("5")  # proc(5): begin anew
    except OSError:
        return 0.0
    return int(found[1]) / 1000 if found else 0.0


def main() -> None:
    """Measure, and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--minutes", type=float, default=60.0)
    seconds = 60 * parser.parse_args().minutes
    song = made(seconds, RATE)
    peak_mb()
    begun = time.process_time()
    found = whole_map(song, RATE, stop=lambda: False, progress=lambda share: None)
    print(f"map: {peak_mb():.0f} MB, {time.process_time() - begun:.0f} s, {len(found.bars_s)} bars")
    del song
    song = made(seconds, ENGINE_RATE)
    peak_mb()
    begun = time.process_time()
    index = SongIndex.build(song, ENGINE_RATE)
    print(f"index: {peak_mb():.0f} MB, {time.process_time() - begun:.0f} s, {index.duration_s:.0f} s long")


if __name__ == "__main__":
    main()
