"""Shoots for tests: small ones made by hand, and random ones that hold everything a shoot can hold."""

from fractions import Fraction

from hypothesis import strategies as st

from app.model.document.shoot import (
    Angle,
    Clip,
    Decided,
    Decision,
    Deed,
    LagPoint,
    MediaRef,
    Metre,
    Pin,
    Refused,
    Rival,
    Section,
    Shoot,
    Song,
    SongMap,
    Take,
    Verdict,
)

RATES = tuple(
    Fraction(text) for text in ("24000/1001", "24", "25", "30000/1001", "30", "50", "60000/1001", "60")
)
SPEEDS = (1.0, 1.001, 1000 / 1001, 24 / 25, 25 / 24, 2.0, 0.5)


def media(path: str) -> MediaRef:
    """A reference to a file that need not be there."""
    return MediaRef(path, 1000, "00")


def waltz(duration_s: float = 24.0) -> Song:
    """A song of bars of 2 s in sections A (bars 1 to 4) and B (the rest)."""
    bars = tuple(float(s) for s in range(0, int(duration_s), 2))
    sections = (Section("A", "Verse", 0.0, 8.0), Section("B", "Chorus", 8.0, duration_s))
    return Song(media("/shoot/waltz.wav"), duration_s, SongMap(90.0, (), bars, sections))


def clip(
    number: int, *takes: Take, angle: str = "angle-1", rate: Fraction | None = RATES[2], **more: object
) -> Clip:
    """A placed clip of 100 s with takes."""
    facts = Clip(
        f"clip-{number}", media(f"/shoot/clip_{number:02}.mov"), angle, 100.0, rate, verdict=Verdict.PLACED
    )
    values = {name: getattr(facts, name) for name in Clip.__dataclass_fields__}
    return Clip(**{**values, "takes": takes, **more})  # type: ignore[arg-type]


def take(name: str, song_start_s: float, song_end_s: float, **more: object) -> Take:
    """A take of speed 1 that begins at the clip's first frame."""
    return Take(name, 0.0, song_end_s - song_start_s, song_start_s, **more)  # type: ignore[arg-type]


def shoot(
    *clips: Clip, angles: tuple[Angle, ...] = (Angle("angle-1", "Fiddle"),), song: Song | None = None
) -> Shoot:
    """A shoot of these clips to the waltz."""
    return Shoot("Evening", song or waltz(), angles, clips)


words = st.text(st.characters(codec="utf-8", exclude_characters="\x00/"), max_size=12)
numbers = st.floats(allow_nan=False, allow_infinity=False)
seconds = st.floats(0, 600)
maybe_words = st.none() | words


def _media(number: int, place: st.SearchStrategy[str]) -> st.SearchStrategy[MediaRef]:
    return st.builds(
        lambda folder, name, size: MediaRef(f"/{folder}/{number}{name}.mov", size, f"{size:x}"),
        place,
        words,
        st.integers(0, 2**53),
    )


_places = st.sampled_from(("films/day one", "films/day one/cards/A", "elsewhere", "films/Übung"))
_rivals = st.builds(Rival, numbers, numbers, st.booleans())
_lags = st.builds(LagPoint, numbers, numbers, numbers)
_truths = st.booleans()
_sections = st.builds(
    Section, words, words, seconds, seconds, words, st.none() | _truths, _truths, _truths, _truths
)
_several = st.lists(numbers, max_size=5).map(tuple)
_maps = st.builds(
    SongMap,
    st.none() | seconds,
    _several,
    _several,
    st.lists(_sections, max_size=3).map(tuple),
    st.none() | seconds,
    _several,
    _several,
    st.lists(st.builds(Metre, numbers, st.integers(1, 12)), max_size=3).map(tuple),
    _several,
    _truths,
)


_decided = st.none() | st.builds(Decided, st.sampled_from(Deed), words)
_pins = st.lists(st.builds(Pin, numbers, numbers), max_size=2).map(tuple)


@st.composite
def _takes(draw: st.DrawFn, name: str) -> Take:
    start = draw(seconds)
    return Take(
        id=name,
        clip_start_s=start,
        clip_end_s=start + draw(seconds),
        song_start_s=draw(st.floats(-20, 300)),
        speed=draw(st.sampled_from(SPEEDS) | st.floats(0.25, 4)),
        uncertainty_s=draw(numbers),
        verdict=draw(st.sampled_from((Verdict.PLACED, Verdict.DOUBTFUL))),
        reason=draw(words),
        decision=draw(st.sampled_from(Decision)),
        rivals=draw(st.lists(_rivals, max_size=2).map(tuple)),
        lags=draw(st.lists(_lags, max_size=2).map(tuple)),
        decided=draw(_decided),
        pins=draw(_pins),
        shift_x=draw(numbers),
        shift_y=draw(numbers),
    )


_refused = st.lists(st.builds(Refused, numbers, numbers, words, st.none() | _takes("gone")), max_size=2).map(
    tuple
)


@st.composite
def any_shoots(draw: st.DrawFn) -> Shoot:
    """Shoots with every kind of value in every field, sensible or not, as long as a document may hold it."""
    angles = tuple(
        Angle(f"angle-{n}", draw(words), draw(st.booleans()), draw(words), draw(words), draw(st.booleans()))
        for n in range(draw(st.integers(0, 3)))
    )
    clips = []
    for n in range(draw(st.integers(0, 3))):
        clips.append(
            Clip(
                id=f"clip-{n}",
                media=draw(_media(n, _places)),
                angle_id=draw(st.sampled_from(("", *(angle.id for angle in angles)))),
                duration_s=draw(numbers),
                frame_rate=draw(st.none() | st.sampled_from(RATES)),
                variable_frame_rate=draw(st.booleans()),
                width=draw(st.integers(0, 9999)),
                height=draw(st.integers(0, 9999)),
                start_timecode=draw(maybe_words),
                make=draw(maybe_words),
                model=draw(maybe_words),
                created=draw(maybe_words),
                decided=draw(_decided),
                refused=draw(_refused),
                note=draw(words),
                verdict=draw(st.sampled_from(Verdict)),
                reason=draw(words),
                warnings=draw(st.lists(words, max_size=2).map(tuple)),
                takes=tuple(draw(_takes(f"clip-{n}-take-{m}")) for m in range(draw(st.integers(0, 2)))),
                recording=draw(maybe_words),
                decision=draw(st.sampled_from(Decision)),
            )
        )
    song = draw(st.none() | st.builds(Song, _media(99, _places), numbers, _maps))
    return Shoot(draw(words), song, angles, tuple(clips))


@st.composite
def sensible_shoots(draw: st.DrawFn) -> Shoot:
    """Shoots as an evening of work leaves them: takes lie in their clips and begin in the song."""
    angles = tuple(Angle(f"angle-{n}", f"Angle {n}", n == 0) for n in range(draw(st.integers(1, 3))))
    clips = []
    for n in range(draw(st.integers(1, 4))):
        rate = draw(st.sampled_from((*RATES, None)))
        labels = (None, "01:00:00:00", "10:59:59:23") + (
            ("10:00:00;00",) if rate in (RATES[3], RATES[6]) else ()
        )
        duration_s = draw(st.floats(5, 300))
        takes = []
        for m in range(draw(st.integers(0, 2))):
            start = draw(st.floats(0, duration_s - 1))
            end = draw(st.floats(start + 0.5, duration_s))
            ppm = draw(st.floats(-400, 400))
            takes.append(
                Take(
                    f"clip-{n}-take-{m}",
                    start,
                    end,
                    draw(st.floats(0, 170)),
                    draw(st.sampled_from(SPEEDS)) * (1 + ppm / 1e6),
                    draw(st.floats(0, 0.05)),
                    draw(st.sampled_from((Verdict.PLACED, Verdict.PLACED, Verdict.DOUBTFUL))),
                    decision=draw(st.sampled_from(Decision)),
                )
            )
        clips.append(
            Clip(
                f"clip-{n}",
                media(f"/films/Tag 1/{n} ä.mov"),
                draw(st.sampled_from(angles)).id,
                duration_s,
                rate,
                start_timecode=draw(st.sampled_from(labels)),
                verdict=Verdict.PLACED if takes else Verdict.NO_SONG,
                takes=tuple(takes),
            )
        )
    return Shoot("Evening", waltz(180.0), angles, tuple(clips))
