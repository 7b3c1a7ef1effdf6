"""How times, places in the song and verdicts are said on screen."""

from bisect import bisect_right
from fractions import Fraction

from app.model.check_queue import is_open
from app.model.document.decisions import Decision
from app.model.document.findings import Rival
from app.model.document.song import Section, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take, was_moved


def song_time(seconds: float, digits: int = 3) -> str:
    """Minutes and seconds, cut to so many digits.

    >>> song_time(42.104), song_time(-0.25), song_time(605.0, 0), song_time(59.9996)
    ('0:42.104', '−0:00.250', '10:05', '1:00.000')
    """
    steps = round(abs(seconds) * 10**digits)
    whole, part = divmod(steps, 10**digits)
    sign = "−" if seconds < 0 and steps else ""
    tail = f".{part:0{digits}d}" if digits else ""
    return f"{sign}{whole // 60}:{whole % 60:02d}{tail}"


def sureness(seconds: float) -> str:
    """How sure a place is, as plus or minus milliseconds with two figures at most.

    >>> sureness(0.0008), sureness(0.0123), sureness(0.000002), sureness(2.5)
    ('±0.8 ms', '±12 ms', '±0.1 ms', '±2.5 s')
    """
    ms = max(abs(seconds) * 1000, 0.1)
    if ms >= 1000:
        return f"±{ms / 1000:.1f} s"
    return f"±{ms:.1f} ms" if ms < 9.95 else f"±{ms:.0f} ms"


def rate(frames: Fraction | None, variable: bool = False) -> str:
    """Frames a second as people say them.

    >>> rate(Fraction(24000, 1001)), rate(Fraction(25)), rate(None), rate(Fraction(30), True)
    ('23.976', '25', 'sound only', '30, varies')
    """
    if frames is None:
        return "sound only"
    figure = f"{float(frames):.3f}".rstrip("0").rstrip(".")
    return f"{figure}, varies" if variable else figure


def count(number: int, one: str, many: str | None = None) -> str:
    """A number with its noun.

    >>> count(1, "file"), count(2, "file"), count(0, "take")
    ('1 file', '2 files', '0 takes')
    """
    return f"{number} {one if number == 1 else many or one + 's'}"


def bar_at(song_map: SongMap, song_s: float) -> int | None:
    """Number of the bar a moment of the song lies in, counted from 1; 0 in the lead-in, before bar 1; None
    where the map has no bars.

    What lies less than a tenth of a second before a bar line belongs to the bar that begins there, for the
    eye: a take that enters a hair early is said to be in from that bar.

    >>> bar_at(SongMap(bars_s=(0.0, 2.0, 4.0)), 2.1), bar_at(SongMap(bars_s=(0.0, 2.0, 4.0)), 3.95)
    (2, 3)
    >>> bar_at(SongMap(bars_s=(3.45, 5.2)), 0.0), bar_at(SongMap(), 1.0)
    (0, None)
    """
    if not song_map.bars_s:
        return None
    return bisect_right(song_map.bars_s, song_s + 0.1)


def bar_words(song_map: SongMap, song_s: float) -> str:
    """The bar a moment of the song lies in; empty where the map has no bars.

    >>> [bar_words(SongMap(bars_s=(3.45, 5.2)), song_s) for song_s in (0.0, 4.0)], bar_words(SongMap(), 4.0)
    (['lead-in', 'bar 1'], '')
    """
    bar = bar_at(song_map, song_s)
    return "" if bar is None else f"bar {bar}" if bar else "lead-in"


def section_at(song_map: SongMap, song_s: float) -> Section | None:
    """The section a moment of the song lies in."""
    found = None
    for section in song_map.sections:
        if section.start_s <= song_s + 0.1:
            found = section
    return found


def place_in_song(song_map: SongMap, song_s: float) -> str:
    """A moment of the song by section and bar, or by time where there is no map.

    >>> place_in_song(SongMap(bars_s=(0.0, 2.0), sections=(Section("C", "Chorus", 0.0, 4.0),)), 2.0)
    'C Chorus, bar 2'
    >>> place_in_song(SongMap(bars_s=(3.45, 5.2)), 0.0)
    'lead-in'
    """
    parts = []
    section = section_at(song_map, song_s)
    if section is not None:
        parts.append(f"{section.letter} {section.name}".strip())
    return ", ".join([*parts, bar_words(song_map, song_s) or song_time(song_s, 1)])


def take_place(song_map: SongMap, take: Take, *, to_its_end: bool = False) -> str:
    """Where a take enters the song: ``from bar 17, 0:42.104, ±0.8 ms``; or also in which bar it ends.

    How sure the machine was says nothing of a place that a person moved the take to.

    >>> from app.model.document.decisions import Decided, Action
    >>> take = Take("t", 0.0, 3.0, 2.0, uncertainty_s=0.001)
    >>> take_place(SongMap(bars_s=(0.0, 2.0, 4.0)), take, to_its_end=True)
    'bars 2–3, 0:02.000, ±1.0 ms'
    >>> moved = Decided(Action.MOVED, "2031-05-04T18:20:00Z")
    >>> take_place(SongMap(), Take("t", 0.0, 9.0, 42.104, uncertainty_s=0.0008, decided=moved))
    '0:42.104'
    >>> early = Take("t", 0.0, 9.0, 0.0, uncertainty_s=0.0008)
    >>> take_place(SongMap(bars_s=(3.45, 5.2)), early)
    'from the lead-in, 0:00.000, ±0.8 ms'
    >>> take_place(SongMap(bars_s=(3.45, 5.2)), early, to_its_end=True)
    'lead-in to bar 2, 0:00.000, ±0.8 ms'
    """
    bar, place = bar_at(song_map, take.song_start_s), bar_words(song_map, take.song_start_s)
    parts = [] if bar is None else [f"from {place}" if bar else f"from the {place}"]
    # As at the start, a tenth of a second beyond a bar line is nothing to the eye.
    end_s = max(take.song_start_s, take.song_end_s - 0.2)
    last = bar_at(song_map, end_s)
    if to_its_end and bar is not None and last == bar:
        parts = [place]
    elif to_its_end and bar is not None:
        parts = [f"bars {bar}–{last}" if bar else f"{place} to {bar_words(song_map, end_s)}"]
    parts.append(song_time(take.song_start_s))
    if not was_moved(take):
        parts.append(sureness(take.uncertainty_s))
    if take.speed and abs(take.speed - 1) > 0.0005:
        parts.append(f"speed {take.speed:.4g}")
    return ", ".join(parts)


def take_state(take: Take) -> str:
    """Verdict and decision of a take in a word or two."""
    if take.decision is not Decision.COMPUTED:
        return f"✓ {take.decision.value}"
    return "? in doubt" if take.verdict is Verdict.DOUBTFUL else "placed"


def rival_strength(rival: Rival) -> str:
    """How well another place fits, in words with a figure."""
    return "fits just as well" if rival.strength > 0.995 else f"fits {100 * rival.strength:.0f} % as well"


def path_name(path: str) -> str:
    """A file's name without its folders, whichever system wrote its path."""
    return path.replace("\\", "/").rpartition("/")[2]


def file_name(clip: Clip) -> str:
    """The clip's file name without its folders."""
    return path_name(clip.media.path)


def take_name(clip: Clip, take: Take) -> str:
    """Clip and number of a take: ``C0012, take 1``."""
    stem = file_name(clip).rpartition(".")[0] or file_name(clip)
    # By its id: it may be held against the song elsewhere than it lies.
    number = next(n for n, one in enumerate(clip.takes, 1) if one.id == take.id)
    return f"{stem}, take {number}"


def to_be_placed(shoot: SongView) -> int:
    """How many clips still wait to be placed: as long as some do, what is thin is so only for now."""
    return sum(clip.verdict is Verdict.WAITING for clip in shoot.clips) if shoot.song is not None else 0


def open_takes(shoot: SongView) -> tuple[tuple[Clip, Take], ...]:
    """The takes in doubt, in the order of the clips."""
    return tuple((clip, take) for clip in shoot.clips for take in clip.takes if is_open(take))
