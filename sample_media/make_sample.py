"""Make the sample shoot: ``python sample_media/make_sample.py``.

Composes and records "Six O'Clock Ferry", films it, writes song, clips and truth, then decodes every clip and
checks it against its truth. All chance comes from one number: the same machine gives the same truth and
sounds, and pictures alike to a few grey levels.
"""

import argparse
import json
import os
import sys
import time
from pathlib import Path
from typing import Any

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import numpy as np
import soundfile
from making.camera_sound import CAMERA_RATE, RECORDER_RATE, Source, hear
from making.check import decode, worst_error_s
from making.files import write_clip, write_wave
from making.motion import Motion
from making.plan import plan_truth
from making.record import Performance, perform, record, stem, write_song
from making.shooting import pictures
from making.shots import Shot, shots
from making.truth import clip_truth, song_truth
from making.tunes import Tune, salt_on_the_stairs, six_oclock_ferry
from PySide6.QtGui import QGuiApplication

SEED = 1800
HERE = Path(__file__).resolve().parent
PLAYERS = ("accordion", "fiddle", "bass", "drums")
LIMIT_S = 0.0002
"""No sound may lie further from its truth than this."""


def _live(tune: Tune, played: Performance, seed: int) -> dict[str, Source]:
    """The band plays along once more, never quite as on the record."""
    rng = np.random.default_rng(seed)
    again = perform(tune, played.beats, rng)
    return {player: Source.of(stem(again, player, rng)) for player in PLAYERS}


def _shoot(
    shot: Shot,
    path: Path,
    played: Performance | None,
    playback: Source | None,
    live: dict[str, Source],
    seed: int,
) -> None:
    """Make one clip."""
    rng = np.random.default_rng(seed)
    path.parent.mkdir(parents=True, exist_ok=True)
    if shot.rate is None:
        write_wave(path, shot, hear(shot, playback, live, RECORDER_RATE, rng))
        return
    assert played is not None
    sound = None if shot.silent else hear(shot, playback, live, CAMERA_RATE, rng)
    write_clip(path, shot, pictures(shot, Motion(played), played.length_s), sound)


def main() -> int:
    """Make all, or with ``--only`` some of the clips; 1 if a clip does not hold its truth."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=HERE, help="folder to write into")
    parser.add_argument("--only", default="", help="make only clips with this in their name")
    chosen = parser.parse_args()
    out: Path = chosen.out
    out.mkdir(parents=True, exist_ok=True)
    started = time.monotonic()
    application = QGuiApplication([])
    tunes = {"ferry": six_oclock_ferry(), "salt": salt_on_the_stairs()}
    played, sound = record(tunes["ferry"], np.random.default_rng(SEED))
    write_song(out / "song.ogg", sound)
    heard, _ = soundfile.read(out / "song.ogg")
    other_played, other_sound = record(tunes["salt"], np.random.default_rng(SEED + 1))
    song = Source.of(heard.mean(axis=1))
    playback = {"ferry": song, "salt": Source.of(other_sound.mean(axis=1)), "": None}
    performances = {"ferry": played, "salt": other_played, "": played}
    live = {("ferry", n): _live(tunes["ferry"], played, SEED + 10 + n) for n in (0, 1, 2)}
    live["salt", 0] = _live(tunes["salt"], other_played, SEED + 20)
    song_s = len(heard) / 44_100
    shoot = shots(list(played.beats.bars_s), song_s, other_played.length_s)
    told: list[dict[str, Any]] = []
    failed = 0
    print(f"song {song_s:.3f} s, {time.monotonic() - started:.0f} s gone", flush=True)
    for number, shot in enumerate(shoot):
        path = out / "clips" / shot.file
        if chosen.only in shot.file:
            _shoot(
                shot,
                path,
                performances[shot.tune],
                playback[shot.tune],
                live.get((shot.tune, shot.live_run), {}),
                SEED + 100 + number,
            )
        decoded = decode(path)
        entry = clip_truth(shot, decoded)
        told.append(entry)
        worst, used = 0.0, 0
        for run in shot.runs if shot.tune == "ferry" else ():
            error, blocks = worst_error_s(decoded, run, song)
            worst, used = max(worst, error), used + blocks
            failed += error > LIMIT_S or not blocks
        print(
            f"{shot.file:26} {path.stat().st_size / 1e3:7.0f} kB  {decoded.pictures:5} pictures  "
            f"worst {worst * 1e3:.3f} ms in {used} blocks  {time.monotonic() - started:.0f} s gone",
            flush=True,
        )
    song_told = song_truth(tunes["ferry"], played, song_s)
    truth = {"song": song_told, "clips": told, "plan": plan_truth(HERE, song_told, told)}
    (out / "truth.json").write_text(json.dumps(truth, indent=1) + "\n", encoding="utf-8")
    total = sum(p.stat().st_size for p in out.rglob("*") if p.is_file() and "__pycache__" not in p.parts)
    print(f"total {total / 1e6:.2f} MB")
    del application
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
