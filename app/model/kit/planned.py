"""A wanted playback file worked out to the sample: what sounds when, and which song time that is."""

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from statistics import median

from app.model.document.playback_file import PlaybackPiece, PlaybackTimecode
from app.model.document.song import Song
from app.model.kit.wish import Wish, checked
from app.model.song_map.bar_spans import section_words, song_sections
from app.model.timebase import TIMECODE_RATES, timecode

RATE = 48_000
"""Samples a second of playback files: what video works with."""
HEAD_S = 1.0
"""Silence at the beginning, in which players and loudspeakers wake up. Chosen by hand."""
POP_BEFORE_S = 2
"""The pop comes two seconds of timecode before the start, as leaders of film have it."""
STRETCH_ERROR_S = 0.002
"""How far onsets may lie from the line where the pitch is kept, 95 of 100. Measured on percussion through
the stretcher in use (`tests/audio/kit/test_playback_sound.py`)."""


@dataclass(frozen=True, slots=True)
class Click:
    """One beat of the count-in."""

    sample: int
    accent: bool
    """The first beat of a bar."""


@dataclass(frozen=True, slots=True)
class Planned:
    """One playback file, in samples at `RATE`."""

    name: str
    """Without suffix."""
    what: str
    """In words."""
    song_id: str
    song_from: int
    """First sample of the song that is heard."""
    song_to: int
    speed: Fraction
    pitch_kept: bool
    song_at: int
    """Sample of the file at which it begins."""
    length: int
    clicks: tuple[Click, ...]
    pop: tuple[int, int] | None
    """First sample of the pop, and the one after its last."""
    timecode: PlaybackTimecode | None
    label_at_start: Fraction
    """Seconds from midnight, in real time, at the file's first sample: its time reference."""

    @property
    def piece(self) -> PlaybackPiece:
        """How the song runs through the file."""
        start_s = self.song_at / RATE
        length_s = (self.song_to - self.song_from) / RATE
        return PlaybackPiece(
            song_id=self.song_id,
            start_s=start_s,
            end_s=start_s + length_s / float(self.speed),
            song_start_s=self.song_from / RATE,
            speed=float(self.speed),
            uncertainty_s=STRETCH_ERROR_S if self.pitch_kept else 0.0,
        )


def planned(wish: Wish, song: Song, *, hour: int = 1) -> Planned:
    """Work a wish out for a song.

    ``hour`` is that of the timecode: at the song's own speed it stands at the song's first sample, so that
    the label tells song time; at others at the beginning of what is heard.

    Raises ValueError with a sentence where the wish cannot be met.
    """
    wish = checked(wish)
    start_s, end_s, where = _stretch(wish, song)
    bar_s, beats = _bar_at(song, start_s + (0.0 if wish.section_id else _first_bar_s(song)))
    if (wish.count_in_bars or wish.lead_in_bars) and bar_s is None:
        raise ValueError("The song has no bars yet. Find its beats in Song; then a count-in can be made.")
    song_from = round(max(start_s, 0.0) * RATE)
    song_to = min(round(end_s * RATE), round(song.duration_s * RATE))
    beat_at = start_s if wish.section_id else _first_bar_s(song)
    clicks_s: list[tuple[float, bool]] = []
    if wish.count_in_bars and bar_s is not None:
        count = wish.count_in_bars * beats
        clicks_s = [(beat_at - n * bar_s / beats, n % beats == 0) for n in range(count, 0, -1)]
    first_s = min([song_from / RATE, *(at for at, _ in clicks_s)])
    head = round(HEAD_S * RATE)
    pop = None
    if wish.pop:
        frames = POP_BEFORE_S * round(wish.frame_rate)
        begin = head
        head = begin + round(Fraction(frames) / wish.frame_rate * RATE)
        pop = (begin, begin + round(1 / wish.frame_rate * RATE))
    speed = wish.speed

    def sample(song_s: float) -> int:
        return head + round((song_s - first_s) * RATE / float(speed))

    song_at = sample(song_from / RATE)
    length = song_at + int(Fraction(song_to - song_from) / speed) + RATE // 2
    code, start_label = _timecode(wish, song_from, song_at, hour)
    return Planned(
        name=_name(wish, song, where),
        what=_what(wish, where),
        song_id=song.id,
        song_from=song_from,
        song_to=song_to,
        speed=speed,
        pitch_kept=wish.pitch_kept,
        song_at=song_at,
        length=length,
        clicks=tuple(Click(sample(at), accent) for at, accent in clicks_s),
        pop=pop,
        timecode=code,
        label_at_start=start_label,
    )


def _stretch(wish: Wish, song: Song) -> tuple[float, float, str]:
    """From and to when the song is heard (s), and what that is called."""
    if not wish.section_id:
        return 0.0, song.duration_s, "whole song"
    section = next((one for one in song_sections(song) if one.id == wish.section_id), None)
    if section is None:
        raise ValueError("The section is no longer in the song: choose another.")
    bar_s, _ = _bar_at(song, section.start_s)
    start_s = section.start_s - wish.lead_in_bars * (bar_s or 0.0)
    end_s = song.duration_s
    if wish.to_section_end:
        end_s = min(end_s, section.end_s + (bar_s or 0.0))
    return max(0.0, start_s), end_s, f"from {section_words(section)}"


def _first_bar_s(song: Song) -> float:
    return song.map.bars_s[0] if song.map.bars_s else 0.0


def _bar_at(song: Song, moment_s: float) -> tuple[float | None, int]:
    """How long bars are there (s), and how many beats they have; no length where the song has no bars."""
    bars = song.map.bars_s
    if len(bars) < 2:
        return None, 4
    near = sorted(pairwise(bars), key=lambda bar: abs(bar[0] - moment_s))[:4]
    length_s = median(end - start for start, end in near)
    beats = [sum(start - 1e-6 <= beat < end - 1e-6 for beat in song.map.beats_s) for start, end in near]
    return length_s, max(1, round(median(beats))) if any(beats) else 4


def _timecode(
    wish: Wish, song_from: int, song_at: int, hour: int
) -> tuple[PlaybackTimecode | None, Fraction]:
    rate = wish.frame_rate
    at = song_at - song_from if wish.speed == 1 else song_at
    counted = rate if rate <= 30 else rate / 2
    if counted not in TIMECODE_RATES:
        if wish.timecode:
            raise ValueError("There is no timecode at that frame rate: choose 24, 25, 30 or one of theirs.")
        return None, Fraction(3600 * hour) - Fraction(at, RATE)
    frame = hour * 3600 * round(counted)
    start = Fraction(frame) / counted - Fraction(at, RATE)
    label = timecode(frame, counted)
    return (PlaybackTimecode(label, counted, at / RATE) if wish.timecode else None), start


def _what(wish: Wish, where: str) -> str:
    parts = [where]
    if wish.count_in_bars:
        parts.append(f"count-in {_bars(wish.count_in_bars)}")
    if wish.section_id and wish.lead_in_bars:
        parts.append(f"lead-in {_bars(wish.lead_in_bars)}")
    if wish.to_section_end and wish.section_id:
        parts.append("to its end")
    if wish.speed != 1:
        pitch = ", pitch kept" if wish.pitch_kept else ""
        parts.append(f"{float(wish.speed) * 100:.4f}".rstrip("0").rstrip(".") + f" % speed{pitch}")
    if wish.pop:
        parts.append("2-pop")
    if wish.timecode:
        parts.append("timecode")
    return ", ".join(parts)


def _bars(count: int) -> str:
    return "1 bar" if count == 1 else f"{count} bars"


def _name(wish: Wish, song: Song, where: str) -> str:
    return f"{song.called} - {_what(wish, where)}"
