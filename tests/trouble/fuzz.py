"""Bounded, seeded fuzzing of whatever reads files: ``python -m tests.trouble.fuzz --seed 1 --count 200``.

Good files are changed at random, and each is read. It may be read or be refused in a sentence of its reader;
everything else is printed. Media are read in worker processes.
"""

import argparse
import shutil
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import numpy as np

from app.handoff.tables.plan_table import read_rows
from app.model.document import store
from app.model.first_pass.rules import RulesError, json_of_rules, rules_of, rules_of_json
from app.model.on_song import on_song
from app.model.plan_rows import PlanError
from app.model.song_map.labels import LabelError, labelled, read_text, to_labels
from app.model.song_map.lyrics import LyricsError, read_lyrics
from tests.audio.media_files import make
from tests.trouble.bad_shoots import full_shoot
from tests.trouble.corpus import BROKE, alone
from tests.trouble.damaged_files import BASES

TABLE = (
    "section,first_bar,last_bar,subject,least_bars,least_angles,note\nA,,,singer,,1,close\n,1,8,drums,2,1,\n"
)
LYRICS = "[00:10.00]Over the water\n[00:14.50]Home\n"
LONGEST = 1000
"""Letters of a sentence."""
ODD = (b"\0", b"\xff\xfe", b"1e999", b"-1", b"[" * 50, b'"', b"\n" * 20, b"\xed\xa0\x80", b",,,", b"\t")


def mutated(data: bytes, random: np.random.Generator) -> bytes:
    """The data with a few random changes."""
    out = bytearray(data)
    for _ in range(int(random.integers(1, 6))):
        at = int(random.integers(0, max(1, len(out))))
        kind = int(random.integers(0, 6))
        if kind == 0 and out:
            out[at % len(out)] = int(random.integers(0, 256))
        elif kind == 1:
            del out[at : at + int(random.integers(1, 64))]
        elif kind == 2:
            out[at:at] = ODD[int(random.integers(0, len(ODD)))]
        elif kind == 3:
            out[at:at] = out[at : at + int(random.integers(1, 64))]
        elif kind == 4:
            del out[at:]
        else:
            out[at:at] = bytes(random.integers(0, 256, int(random.integers(1, 16)), dtype=np.uint8))
    return bytes(out)


def readers(folder: Path) -> dict[str, tuple[bytes, Callable[[Path], object], type[Exception]]]:
    """For each reader a good file, the reader, and its own error."""
    song = full_shoot().songs[0]

    def shoot(path: Path) -> None:
        read = store.load(path, trust=True)
        for one in read.songs:
            on_song(read, one.id)

    return {
        "shoot": (store.to_text(full_shoot(), folder).encode(), shoot, store.StoreError),
        "labels": (
            to_labels(song.map).encode(),
            lambda path: labelled(path.name, read_text(path), song),
            LabelError,
        ),
        "table": (TABLE.encode(), read_rows, PlanError),
        "lyrics": (
            LYRICS.encode(),
            lambda path: read_lyrics(path.read_bytes().decode("utf-8", "replace"), song),
            LyricsError,
        ),
        "rules": (
            json_of_rules(rules_of([])).encode(),
            lambda path: rules_of_json(path.read_bytes().decode("utf-8", "replace")),
            RulesError,
        ),
    }


def texts(folder: Path, count: int, random: np.random.Generator) -> int:
    """Fuzz the readers of text; tells how many files did neither."""
    wrong = 0
    for name, (good, read, own) in readers(folder).items():
        came: Counter[str] = Counter()
        for number in range(count):
            path = folder / f"{name}-{number}.txt"
            path.write_bytes(mutated(good, random))
            try:
                read(path)
                came["read"] += 1
            except own as error:
                came["refused"] += 1
                if len(str(error)) > LONGEST:
                    wrong += 1
                    print(f"{name} number {number}: {str(error)[:200]}…")
            except Exception:
                came["WRONG"] += 1
                wrong += 1
                traceback.print_exc(limit=-2)
                print(f"{name} number {number}")
            path.unlink()
        print(name, dict(came))
    return wrong


def media(folder: Path, count: int, random: np.random.Generator) -> int:
    """Fuzz the readers of media; tells how many ended their reader, or were refused without a sentence."""
    good = {name: make(folder / name, recipe).read_bytes() for name, recipe in BASES.items()}
    paths = []
    for number in range(count):
        name = list(good)[number % len(good)]
        path = folder / f"{number}-{name}"
        path.write_bytes(mutated(good[name], random))
        paths.append(path)
    told = alone(paths)
    odd = [
        (path, one)
        for path, one in zip(paths, told, strict=True)
        if one[0] == "refused" and not _plain(one[1])
    ]
    for path, one in odd:
        print(path.name, one[1])
    came = Counter(one[0] for one in told)
    largest, slowest = max(one[3] for one in told), max(one[2] for one in told)
    print(f"media {dict(came)}, largest worker {largest / 1e6:.0f} MB, slowest {slowest:.1f} s")
    return len(odd)


def _plain(sentence: str) -> bool:
    return sentence.endswith(".") and "Errno" not in sentence and sentence != BROKE


def main() -> int:
    """Run the fuzz; gives the exit status."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=200, help="files for each reader")
    options = parser.parse_args()
    folder = Path(tempfile.mkdtemp(prefix="fuzz-"))
    random = np.random.default_rng(options.seed)
    try:
        wrong = texts(folder, options.count, random) + media(folder, options.count, random)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    print(f"{wrong} wrong")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
