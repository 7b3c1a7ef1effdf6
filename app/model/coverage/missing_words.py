"""What is missing and why, in sentences that can be read aloud on set."""

from collections.abc import Iterable, Sequence

from app.model.angles import same_name, tidy_name
from app.model.coverage.coverage import coverage
from app.model.coverage.missing import MissingPass, OpenBars
from app.model.coverage.passages import bars_words
from app.model.coverage.ranges import runs
from app.model.coverage.subjects import ANY_ANGLE, SAFETY, shows_anything
from app.model.coverage.thinness import Thin
from app.model.document.song import Section, Song
from app.model.on_song import SongView
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


def passes_words(passes: Sequence[MissingPass]) -> str:
    """How many there are: ``1 run-through and 2 pick-ups``."""
    whole = sum(one.whole_song for one in passes)
    counts = ((whole, "run-through"), (len(passes) - whole, "pick-up"))
    return " and ".join(f"{count} {name}{'' if count == 1 else 's'}" for count, name in counts if count)


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
    if shows_anything(one.subjects):
        return f"one more angle (e.g. {one.angle})" if one.angle else "one more angle"
    told = " and ".join(
        "the safety" if same_name(subject, SAFETY) else subject
        for subject in one.subjects
        if not same_name(subject, ANY_ANGLE)
    )
    named = any(same_name(one.angle, subject) for subject in one.subjects)
    return f"{told} ({one.angle})" if one.angle and not named else told


def reason_of(one: MissingPass) -> str:
    """All of why, as one sentence; what is asked for in the same words is told once."""
    grouped: dict[tuple[str, int], list[OpenBars]] = {}
    for part in one.why:
        least = 0 if part.need is None else max(1, part.need.least_angles)
        grouped.setdefault((tidy_name(part.subject).casefold(), least), []).append(part)
    text = "; ".join(_why(least, parts) for (_, least), parts in grouped.items())
    return f"{text[:1].upper()}{text[1:]}."


def _why(least: int, parts: list[OpenBars]) -> str:
    where = _where(parts)
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


def _where(parts: list[OpenBars]) -> str:
    """The bars that are wanted; where any so many bars of a place would do, that place."""
    told = list(dict.fromkeys(_any_of(part) for part in parts if part.any_of))
    bars = _bars(part.bars for part in parts if not part.any_of)
    told += [ranges_words(bars)] if bars else []
    return told[0] if len(told) == 1 else f"{', '.join(told[:-1])}, and in {told[-1]}"


def _any_of(part: OpenBars) -> str:
    """So many bars of a place.

    >>> chorus = Section("F", "Chorus", 0.0, 9.0)
    >>> _any_of(OpenBars(None, "drums", (8,), any_of=(5, 6, 7, 8), section=chorus))
    'any bar of F'
    >>> _any_of(OpenBars(None, "drums", (7, 8), any_of=(5, 6, 7, 8), more=True))
    '2 more of bars 5–8'
    """
    count = len(part.bars)
    if part.section is None:
        few = f"{count} more" if part.more else "any" if count == 1 else f"any {count}"
        return f"{few} of {ranges_words(part.any_of)}"
    bars = f"bar{'' if count == 1 else 's'} of {part.section.letter}"
    return f"{count} more {bars}" if part.more else f"any {bars}" if count == 1 else f"any {count} {bars}"


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


def nothing_missing_words(shoot: SongView) -> str:
    """What there is to say where nothing is missing: without a plan also which bars have little to cut to."""
    if shoot.plan.needs:
        return "Nothing: every need is met, and every bar is shown."
    return " ".join(["Nothing is planned yet.", *little_words(shoot)])


def little_words(shoot: SongView) -> tuple[str, ...]:
    """In a sentence for each kind, the bars that only the safety has, or one angle; else that all are shown.

    Bars of angles that nobody named yet are told by neither.
    """
    found: list[str] = []
    safeties = sum(angle.safety for angle in shoot.angles)
    kinds = {
        Thin.SAFETY_ONLY: "Only the safety has" if safeties == 1 else "Only safeties have",
        Thin.ONE_ANGLE: "Only one angle has",
    }
    thin = [place for section in coverage(shoot) for place in section.thin]
    for kind, only in kinds.items():
        bars = _bars(tuple(range(one.first_bar, one.last_bar + 1)) for one in thin if one.kind is kind)
        if bars:
            found.append(f"{only} {ranges_words(bars)}.")
    return tuple(found) or ("Every bar is shown.",)
