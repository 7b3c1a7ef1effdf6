"""New masters of a song with the truth known, and shoots on the old one, drawn from a seed."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
import soxr

from app.model.answers import Answer
from app.model.document.clip import FileFacts
from app.model.document.findings import TakePlacement
from app.model.document.media_ref import MediaRef
from app.model.document.plan import Need, Passage, Plan
from app.model.document.shoot import Shoot
from app.model.document.song import Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.edits import deciding, shoot_edits
from app.model.on_song import on_song
from audio.signals import Samples
from tests.quality.songs import WORK_RATE, SongKey

AT = "2031-05-04T18:20:00Z"
LEAD_S = 3.2
FASTER = 1.003
CLIPS = 24
BAR_S = 2.0


@dataclass(frozen=True, slots=True)
class NewMaster:
    """A new master and where everything of the old one is in it."""

    name: str
    samples: Samples
    """At WORK_RATE."""
    stretches: tuple[tuple[float, float, float], ...]
    """From, to in the old master (s), and where that begins in the new one."""
    speed: float
    """How much faster it is."""

    @property
    def seconds(self) -> float:
        return len(self.samples) / WORK_RATE

    def due_s(self, old_s: float) -> list[float]:
        """Where a moment of the old master is, all places."""
        return [
            new_s + (old_s - from_s) / self.speed
            for from_s, to_s, new_s in self.stretches
            if from_s <= old_s < to_s
        ]

    @property
    def edges_s(self) -> list[float]:
        """Where stretches begin and end in the old master."""
        return sorted({edge for from_s, to_s, _ in self.stretches for edge in (from_s, to_s)})


def new_masters(key: SongKey, chance: np.random.Generator) -> Iterator[NewMaster]:
    """The cases, by themselves and two of them together, cut at drawn moments."""
    feed = key.load().room_feed
    other = key.mixed("rough")
    mix = (other or key.load()).room_feed
    limited = np.tanh(6 * mix / np.abs(mix).max()).astype(np.float32)
    feed, limited = (one[: min(len(feed), len(limited))] for one in (feed, limited))
    end_s = len(feed) / WORK_RATE
    a_s = float(chance.uniform(0.2, 0.35)) * end_s
    b_s = a_s + float(chance.uniform(6.0, 14.0))
    c_s = float(chance.uniform(0.55, 0.65)) * end_s
    d_s = c_s + float(chance.uniform(7.0, 12.0))
    whole, cut = [(0.0, end_s)], [(0.0, a_s), (b_s, end_s)]
    doubled = [(0.0, d_s), (c_s, end_s)]
    yield _made("longer lead-in", feed, whole, LEAD_S, 1.0)
    yield _made("verse cut", feed, cut, 0.0, 1.0)
    yield _made("chorus doubled", feed, doubled, 0.0, 1.0)
    yield _made("0.3 % faster", feed, whole, 0.0, FASTER)
    yield _made("remixed and limited", limited, whole, 0.0, 1.0)
    yield _made("cut, and faster", feed, cut, 0.0, FASTER)
    yield _made("doubled, remixed", limited, doubled, LEAD_S, 1.0)


def _made(
    name: str, feed: Samples, parts: list[tuple[float, float]], lead_s: float, speed: float
) -> NewMaster:
    pieces = [np.zeros(round(lead_s * WORK_RATE), np.float32)]
    stretches, at = [], len(pieces[0])
    for from_s, to_s in parts:
        first, last = round(from_s * WORK_RATE), round(to_s * WORK_RATE)
        pieces.append(feed[first:last])
        stretches.append((first / WORK_RATE, last / WORK_RATE, at / WORK_RATE / speed))
        at += last - first
    samples = np.concatenate(pieces)
    if speed != 1:
        samples = soxr.resample(samples, WORK_RATE, WORK_RATE / speed).astype(np.float32)
    return NewMaster(name, samples, tuple(stretches), speed)


def drawn_shoot(seconds: float, chance: np.random.Generator) -> Shoot:
    """A shoot of exact takes on a song of that length: some confirmed, some in one clip."""
    bars = tuple(np.arange(0.0, seconds, BAR_S).tolist())
    edges = [0.0, *np.sort(chance.uniform(5.0, seconds - 5.0, 5)).tolist(), seconds]
    sections = tuple(
        Section("ABCDEF"[n], f"Part {n + 1}", low, high, id=f"section-{n + 1}")
        for n, (low, high) in enumerate(pairwise(edges))
    )
    song = Song(MediaRef("/songs/old.wav", 1, "old"), seconds, SongMap(120.0, bars, bars, sections))
    shoot = Shoot("Evening", songs=(song,))
    for number in range(CLIPS):
        media = MediaRef(f"/cards/C{number:04}.mov", 1, f"clip {number}")
        shoot, _ = shoot_edits.add_clips(shoot, [media])
        takes, at_s = [], float(chance.uniform(0.0, 9.0))
        for _ in range(int(chance.integers(1, 3))):
            start_s = float(chance.uniform(0.0, seconds - 8.0))
            speed = 1 + float(chance.normal(0, 30e-6))
            length_s = min(float(chance.uniform(6.0, seconds)), (seconds - start_s) / speed)
            takes.append(TakePlacement(at_s, at_s + length_s, start_s, speed, 0.0002, verdict=Verdict.PLACED))
            at_s += length_s + float(chance.uniform(1.0, 20.0))
        answer = Answer(media, FileFacts(at_s), verdict=Verdict.PLACED, takes=tuple(takes))
        shoot, _ = shoot_edits.answer_clip(shoot, answer)
        if chance.random() < 0.3:
            shoot, _ = deciding.confirm_take(shoot, on_song(shoot).clips[-1].takes[0].id, AT)
    needs = tuple(
        Need(f"need-{n}", "song-1", Passage(section_id=one.id), "singer") for n, one in enumerate(sections)
    )
    return replace(shoot, plan=Plan(needs=needs))
