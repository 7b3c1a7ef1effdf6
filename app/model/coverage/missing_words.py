"""What is missing and why, in sentences that can be read aloud on set."""

from app.model.angles import same_name
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


def why_of(open_bars: OpenBars) -> str:
    """Why it is asked for."""
    where = ranges_words(open_bars.bars)
    if open_bars.need is None:
        text = f"nothing shows {where}"
    elif same_name(open_bars.subject, ANY_ANGLE):
        count = open_bars.need.least_angles
        text = f"fewer than {count} angles show {where}" if count > 1 else f"no angle shows {where}"
    else:
        more = " by enough angles" if open_bars.need.least_angles > 1 else ""
        text = f"{open_bars.subject} is not seen{more} in {where}"
    if open_bars.in_doubt:
        text += f"; a take in doubt may show {ranges_words(open_bars.in_doubt)}: check it first"
    return text


def reason_of(one: MissingPass) -> str:
    """All of why, as one sentence."""
    text = "; ".join(why_of(part) for part in one.why)
    return f"{text[:1].upper()}{text[1:]}."
