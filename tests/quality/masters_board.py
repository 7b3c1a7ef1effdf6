"""How well a shoot goes over to the next master: ``python -m tests.quality.masters_board --seeds 41,42``.

Songs are composed, new masters made of them in seven ways, and the engine is given the two files. Then the
shoot is carried over. Told per case: the largest error of every moment of a take that still exists (ms), how
much of the takes is neither carried nor listed as without a place (s; a sliver of less than half a second
beside a cut is neither), how far edges are told off (ms), and whether the report says what is true: which
takes are whole, split or gone, which sections live on, and what was kept, moved, repeated, cut and added.
"""

import argparse
import tempfile
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import soundfile

from app.engine.finding_pieces import find_master_pieces
from app.model.document.media_ref import MediaRef
from app.model.document.shoot import Shoot
from app.model.document.song import Section, Song, SongMap
from app.model.edits.renewing import renew
from app.model.on_song import on_song
from app.model.renewing.carried_map import LEAST_SECTION_S
from app.model.renewing.carried_takes import LEAST_S
from app.model.renewing.told_pieces import LEAST_S as LEAST_TOLD_S
from app.model.renewing.told_pieces import Fate, Told, told_pieces
from app.model.renewing.what_changes import what_changes
from audio.progress import never, no_progress
from tests.quality.new_masters import AT, NewMaster, drawn_shoot, new_masters
from tests.quality.songs import WORK_RATE, SongKey

STEP_S = 0.02
EDGE_S = 0.004
"""Moments nearer to an edge than this are not asked for: how far edges are off is told by itself."""
TAIL_S = 0.5
"""The end of a song dies away: what is not heard there is no loss."""


@dataclass
class Tally:
    """What came of one case."""

    worst_ms: float = 0.0
    moments: int = 0
    lost_s: float = 0.0
    edge_ms: float = 0.0
    masters: int = 0
    exact: int = 0
    notes: list[str] = field(default_factory=list)

    def row(self, name: str) -> str:
        """Its line in the table."""
        return (
            f"{name:22} {self.moments:7} moments, worst {self.worst_ms:6.3f} ms, lost {self.lost_s:5.2f} s, "
            f"edges off {self.edge_ms:6.2f} ms, report exact in {self.exact} of {self.masters}"
            + "".join(f"\n    {note}" for note in self.notes)
        )


def carried(shoot: Shoot, case: NewMaster, told: tuple[Told, ...], after: Shoot, tally: Tally) -> None:
    """Hold every moment of every take against the truth."""
    before, now = on_song(shoot), on_song(after)
    left = after.masters[-1].left
    end_s = shoot.songs[0].duration_s
    for old_clip, clip in zip(before.clips, now.clips, strict=True):
        gone = [one.take.placement for one in left if one.clip_id == clip.id and one.take is not None]
        for take in old_clip.takes:
            for clip_s in np.arange(take.clip_start_s, take.clip_end_s, STEP_S):
                old_s = take.song_time(float(clip_s))
                dues = case.due_s(old_s)
                on = [one for one in clip.takes if one.clip_start_s <= clip_s <= one.clip_end_s]
                near_edge = min(abs(old_s - edge) for edge in (0.0, end_s, *case.edges_s)) < LEAST_S
                if not on:
                    listed = any(one.clip_start_s <= clip_s <= one.clip_end_s for one in gone)
                    if not listed and not near_edge and old_s < end_s - TAIL_S:
                        tally.lost_s += STEP_S
                    continue
                error_s = min(
                    (abs(one.song_time(float(clip_s)) - due) for one in on for due in dues), default=1e9
                )
                if min(abs(old_s - edge) for edge in case.edges_s) < EDGE_S:
                    continue
                if dues:
                    tally.moments += 1
                    tally.worst_ms = max(tally.worst_ms, 1000 * error_s)
                elif not near_edge and old_s < end_s - TAIL_S:
                    tally.notes.append(f"{case.name}: a moment that was cut is carried ({old_s:.2f} s)")


def report(shoot: Shoot, case: NewMaster, told: tuple[Told, ...], after: Shoot, tally: Tally) -> bool:
    """Whether what is told is what is true."""
    true = true_fates(case, shoot.songs[0].duration_s)
    good = [one.fate for one in told] == [fate for fate, _, _ in true]
    if good:
        for one, (_, old_s, new_s) in zip(told, true, strict=True):
            for said, span in ((one.old_s, old_s), (one.new_s, new_s)):
                if said is not None and span is not None:
                    off_s = max(abs(a - b) for a, b in zip(said, span, strict=True))
                    tally.edge_ms = max(tally.edge_ms, 1000 * off_s)
    else:
        tally.notes.append(f"told {[one.fate.value for one in told]}, true {[f.value for f, _, _ in true]}")
    rows = {row.what: row for row in what_changes(on_song(shoot), on_song(after), after.masters[-1].left)}
    fates = Counter(
        _fate(case, take.song_start_s, take.song_end_s)
        for clip in on_song(shoot).clips
        for take in clip.takes
    )
    said = rows["Takes"].said
    for count, word in (
        (fates["kept"], "kept whole"),
        (fates["split"], "split"),
        (fates["shortened"], "shortened"),
        (fates["gone"], "without a place"),
    ):
        if (f"{count} {word}" in said) is not (count > 0 or word == "kept whole"):
            tally.notes.append(f"takes: {said} True are {dict(fates)}")
            good = False
            break
    living = sum(
        any(
            min(to_s, b) - max(from_s, a) >= min(LEAST_SECTION_S, (to_s - from_s) / 2)
            for a, b, _ in case.stretches
        )
        for from_s, to_s in ((one.start_s, one.end_s) for one in shoot.songs[0].map.sections)
    )
    if not rows["Sections"].said.startswith(f"{living} kept"):
        tally.notes.append(f"sections: {rows['Sections'].said} True are {living}")
        good = False
    return good


def _fate(case: NewMaster, from_s: float, to_s: float) -> str:
    """What truly becomes of a take from one moment of the old master to another."""
    if any(a - 1e-6 <= from_s and to_s <= b + 1e-6 for a, b, _ in case.stretches):
        return "kept"
    parts, at_s = [], from_s
    for a, b, new_s in case.stretches:
        low, high = max(at_s, a), min(to_s, b)
        if high - low < LEAST_S:
            continue
        end_s = new_s + (high - a) / case.speed
        # A stretch that goes on where the one before ends, in both masters, is one with it.
        if (
            parts
            and abs(parts[-1][1] - low) < 1e-6
            and abs(parts[-1][2] - (end_s - (high - low) / case.speed)) < 1e-6
        ):
            parts[-1] = (parts[-1][0], high, end_s)
        else:
            parts.append((low, high, end_s))
        at_s = high
    if not parts:
        return "gone"
    if len(parts) > 1:
        return "split"
    whole = sum(high - low for low, high, _ in parts)
    return "kept" if whole > to_s - from_s - LEAST_S else "shortened"


def true_fates(
    case: NewMaster, end_s: float
) -> list[tuple[Fate, tuple[float, float] | None, tuple[float, float] | None]]:
    """What became of what, in the order in which it is told."""
    out: list[tuple[Fate, tuple[float, float] | None, tuple[float, float] | None]] = []
    known_s = 0.0
    lead_s = case.stretches[0][2]
    if lead_s > 0:
        out.append((Fate.ADDED, None, (0.0, lead_s)))
    for from_s, to_s, new_s in case.stretches:
        if from_s > known_s:
            out.append((Fate.CUT, (known_s, from_s), None))
        if from_s < known_s:
            new_to_s = new_s + (known_s - from_s) / case.speed
            out.append((Fate.REPEATED, (from_s, known_s), (new_s, new_to_s)))
            from_s, new_s = known_s, new_to_s
        span = new_s, new_s + (to_s - from_s) / case.speed
        stays = abs(span[0] - from_s) < 1e-6 and abs(span[1] - to_s) < 1e-6
        out.append((Fate.KEPT if stays else Fate.MOVED, (from_s, to_s), span))
        known_s = max(known_s, to_s)
    if end_s - known_s > LEAST_TOLD_S:
        out.append((Fate.CUT, (known_s, end_s), None))
    return out


def main() -> None:
    """Run the board."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--styles", default="rock,ballad,waltz")
    parser.add_argument("--seeds", default="41,42")
    parser.add_argument("--long", action="store_true", help="whole songs instead of a minute of each")
    options = parser.parse_args()
    tallies: defaultdict[str, Tally] = defaultdict(Tally)
    keys = [
        SongKey.named(f"{style}-{seed}{'' if options.long else '-short'}")
        for style in options.styles.split(",")
        for seed in options.seeds.split(",")
    ]
    with tempfile.TemporaryDirectory() as name:
        for key in keys:
            chance = np.random.default_rng(key.seed)
            mixes = [key.load(), key.mixed("rough") or key.load()]
            feed = key.load().room_feed[: min(len(one.room_feed) for one in mixes)]
            old = Path(name) / "old.wav"
            soundfile.write(old, feed, WORK_RATE, subtype="FLOAT")
            shoot = drawn_shoot(len(feed) / WORK_RATE, chance)
            for case in new_masters(key, chance):
                new = Path(name) / "new.wav"
                soundfile.write(new, case.samples, WORK_RATE, subtype="FLOAT")
                pieces = find_master_pieces(old, new, stop=never, progress=no_progress)
                fresh = Song(
                    MediaRef("/songs/new.wav", 2, case.name),
                    case.seconds,
                    SongMap(sections=(Section("A", "Song", 0.0, case.seconds),)),
                )
                tally = tallies[case.name]
                tally.masters += 1
                if not pieces:
                    tally.notes.append(f"{key.name}: nothing found")
                    continue
                after, _ = renew(shoot, fresh, pieces, AT)
                told = told_pieces(after.masters[-1].pieces, shoot.songs[0].duration_s, case.seconds)
                carried(shoot, case, told, after, tally)
                tally.exact += report(shoot, case, told, after, tally)
                print(f"{key.name} {case.name}: {tally.row('so far')}", flush=True)
    print()
    for what, tally in tallies.items():
        print(tally.row(what))


if __name__ == "__main__":
    main()
