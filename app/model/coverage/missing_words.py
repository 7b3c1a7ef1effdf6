"""What is missing and why, in sentences that can be read aloud on set."""

from collections.abc import Iterable

from app.model.angles import same_name, tidy_name
from app.model.coverage.missing import MissingPass, OpenBars
from app.model.coverage.passages import bars_words
from app.model.coverage.ranges import runs
from app.model.coverage.subjects import ANY_ANGLE, SAFETY
from app.model.document.song import Section, Song
from app.model.song_map.bar_spans import bar_spans, bars_of_sections, section_words, song_sections


def ranges_words(bars: tuple[int, ...]) -> str:
    """Bars in words, by ranges.

    >>> ranges_words((3,)), ranges_words((3, 4, 5, 9))
    ('bar 3', 'bars 3–5, 9')
    """
    told = ", ".join(f"{first}" if first == last else f"{first}–{last}" for first, last in runs(bars))
    return f"bar {told}" if len(bars) == 1 else f"bars {told}"


def passage_of(one: MissingPass, song: Song) -> str:
    """The passage in words: sections where it is whole ones, and bars."""
    if one.whole_song:
        return "the whole song"
    found = _sections(one, song)
    names = [section_words(section) for section, _ in found]
    whole = all(all_of_it for _, all_of_it in found)
    where = names[0] if len(names) == 1 else f"{names[0]} to {names[-1]}" if names else ""
    told = bars_words(one.first_bar, one.last_bar)
    return f"{where} ({told})" if where and whole else f"{told} in {where}" if where else told


def section_letters(one: MissingPass, song: Song) -> str:
    """The letter of its section, or of its first and last one."""
    letters = [section.letter for section, _ in _sections(one, song)]
    return letters[0] if len(letters) == 1 else f"{letters[0]}–{letters[-1]}" if letters else ""


def _sections(one: MissingPass, song: Song) -> list[tuple[Section, bool]]:
    """The sections of which it has bars, and whether it has all of them."""
    sections, bars = song_sections(song), bar_spans(song)
    found = []
    for section, own in zip(sections, bars_of_sections(sections, bars), strict=True):
        numbers = [bars[n].number for n in own]
        inside = [n for n in numbers if one.first_bar <= n <= one.last_bar]
        if inside:
            found.append((section, inside == numbers))
    return found


def subjects_of(one: MissingPass) -> str:
    """Whom the pass must show, and by which angle if there is one."""
    general = (ANY_ANGLE, SAFETY)
    particular = [
        subject for subject in one.subjects if not any(same_name(subject, other) for other in general)
    ]
    told = " and ".join(particular) or ("the safety" if one.subjects != (ANY_ANGLE,) else "one more angle")
    if one.angle and not any(same_name(one.angle, subject) for subject in particular):
        return f"{told} ({one.angle})" if particular else one.angle
    return told


def reason_of(one: MissingPass) -> str:
    """All of why, as one sentence; what is asked for in the same words is told once."""
    grouped: dict[tuple[str, int], list[OpenBars]] = {}
    for part in one.why:
        least = 0 if part.need is None else max(1, part.need.least_angles)
        grouped.setdefault((tidy_name(part.subject).casefold(), least), []).append(part)
    text = "; ".join(_why(least, parts) for (_, least), parts in grouped.items())
    return f"{text[:1].upper()}{text[1:]}."


def _why(least: int, parts: list[OpenBars]) -> str:
    where = ranges_words(_bars(part.bars for part in parts))
    subject = parts[0].subject
    if least == 0:
        text = f"nothing shows {where}"
    elif same_name(subject, ANY_ANGLE):
        text = f"fewer than {least} angles show {where}" if least > 1 else f"no angle shows {where}"
    else:
        text = f"{subject} is not seen{' by enough angles' if least > 1 else ''} in {where}"
    in_doubt = _bars(part.in_doubt for part in parts)
    if in_doubt:
        text += f" (a take in doubt may show {ranges_words(in_doubt)}: check it first)"
    return text


def _bars(several: Iterable[tuple[int, ...]]) -> tuple[int, ...]:
    return tuple(sorted({number for bars in several for number in bars}))


def minutes_words(minutes: float) -> str:
    """Set time, to the half minute above.

    >>> minutes_words(0.4), minutes_words(2.6), minutes_words(10.0)
    ('½ min', '3 min', '10 min')
    """
    halves = max(1, -int(-minutes * 2 // 1))
    whole, half = divmod(halves, 2)
    return f"{whole or ''}{'½' if half else ''} min"
