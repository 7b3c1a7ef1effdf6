"""What is played again and again: a bar, some bars, a section; in words, and where it lies."""

from bisect import bisect_left, bisect_right

from app.model.coverage.passages import bars_words
from app.model.document.song import SongMap
from app.window.parts import words
from app.window.playing.player import Player

Span = tuple[float, float]
LOOPS = ("No loop", "Loop bar", "Loop section")
"""What can be asked for wherever one is; a range of bars is looped where it is chosen."""
PLAY_ON, BAR, SECTION, RANGE = range(4)
HAIR_S = 0.002
"""A loop that lies so near a bar line lies on it."""


def bar_span(song_map: SongMap, song_s: float, end_s: float) -> Span | None:
    """The bar a moment lies in; None where the song has no bars."""
    bars = song_map.bars_s
    if not bars:
        return None
    number = max(0, bisect_right(bars, song_s) - 1)
    return bars[number], bars[number + 1] if number + 1 < len(bars) else end_s


def section_span(song_map: SongMap, song_s: float) -> Span | None:
    """The section a moment lies in."""
    for section in song_map.sections:
        if section.start_s <= song_s < section.end_s:
            return section.start_s, section.end_s
    return None


def bars_of(song_map: SongMap, loop: Span) -> tuple[int, int] | None:
    """First and last bar of a loop; None where it does not lie on bar lines."""
    bars = song_map.bars_s
    first = bisect_right(bars, loop[0] + HAIR_S)
    last = bisect_left(bars, loop[1] - HAIR_S)
    if not 1 <= first <= last or abs(bars[first - 1] - loop[0]) > HAIR_S:
        return None
    # The last bar has no line behind it: it ends with the song, or as long as the one before.
    return (first, last) if last == len(bars) or abs(bars[last] - loop[1]) <= HAIR_S else None


def loop_kind(song_map: SongMap, loop: Span | None) -> int:
    """What is looped: `PLAY_ON`, `BAR`, `SECTION` or `RANGE`."""
    if loop is None:
        return PLAY_ON
    if any((section.start_s, section.end_s) == loop for section in song_map.sections):
        return SECTION
    bars = bars_of(song_map, loop)
    return BAR if bars is not None and bars[0] == bars[1] else RANGE


def loop_words(song_map: SongMap, loop: Span | None) -> str:
    """What is looped, in words.

    >>> tune = SongMap(bars_s=(0.0, 2.0, 4.0, 6.0))
    >>> loop_words(tune, (2.0, 6.0)), loop_words(tune, (4.0, 6.0)), loop_words(tune, (4.0, 8.0))
    ('Loop bars 2–3', 'Loop bar 3', 'Loop bars 3–4')
    >>> loop_words(tune, (1.0, 6.0)), loop_words(tune, None)
    ('Loop 0:01.0–0:06.0', 'No loop')
    """
    if loop is None:
        return LOOPS[PLAY_ON]
    for section in song_map.sections:
        if (section.start_s, section.end_s) == loop:
            return f"Loop section {section.letter}"
    bars = bars_of(song_map, loop)
    if bars is None:
        return f"Loop {words.song_time(loop[0], 1)}–{words.song_time(loop[1], 1)}"
    first, last = bars
    return f"Loop {bars_words(first, last)}"


def set_loop(song_map: SongMap, player: Player, kind: int) -> None:
    """Loop the bar or the section one is in, or play on."""
    now = player.position()
    spans = {BAR: bar_span(song_map, now, player.song_end_s), SECTION: section_span(song_map, now)}
    player.set_loop(spans.get(kind))


def next_loop(song_map: SongMap, player: Player, chosen: Span | None) -> None:
    """From playing on to the bar, to the section, and back; where bars are chosen, to those and back."""
    if player.loop is None and chosen is not None:
        player.set_loop(chosen)
        return
    after = {PLAY_ON: BAR, BAR: SECTION}
    set_loop(song_map, player, after.get(loop_kind(song_map, player.loop), PLAY_ON))
