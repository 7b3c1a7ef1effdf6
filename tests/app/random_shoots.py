"""Shoots for tests: small ones made by hand, and random ones that hold everything a shoot can hold."""

from dataclasses import replace
from fractions import Fraction

from hypothesis import strategies as st

from app.model.document.angle import Angle
from app.model.document.clip import ClipRecord, FileFacts
from app.model.document.cut import Cut, Lock, Setting, Version
from app.model.document.decisions import (
    Action,
    ClipRefusal,
    Decided,
    Decision,
    Decisions,
    Pin,
    Reference,
    Refusal,
    SetTake,
    TakeDecision,
    TakeRecord,
    TakeSettings,
)
from app.model.document.findings import Finding, LagPoint, Rival, TakePlacement
from app.model.document.looks import Look, Match, Measure
from app.model.document.marks import FaultReason, Mark, MarkKind, MarkState
from app.model.document.masters import EarlierMaster, Left, MasterPiece
from app.model.document.media_ref import MediaRef
from app.model.document.plan import Need, Passage, Plan, SetUp
from app.model.document.playback_file import PlaybackFile, PlaybackPiece, PlaybackTimecode
from app.model.document.shoot import Shoot
from app.model.document.song import LyricLine, Metre, Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.faults_seen import REASONS, as_mark
from app.model.on_song import Clip, SongView, Take
from app.model.reasons import Reason
from app.model.seen import Proposed

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
) -> SongView:
    """A shoot of these clips to the waltz, as readers see it."""
    return SongView("Evening", song or waltz(), angles, clips)


words = st.text(st.characters(codec="utf-8", exclude_characters="\x00/"), max_size=12)
numbers = st.floats(-1e6, 1e6)
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
_rivals = st.builds(Rival, numbers, numbers, st.booleans(), st.booleans())
_lags = st.builds(LagPoint, numbers, numbers, numbers)
_truths = st.booleans()
_spans = st.tuples(seconds, seconds).map(lambda two: (two[0], two[0] + two[1]))
_sections = st.builds(
    lambda letter, name, span, *rest: Section(letter, name, *span, *rest),
    *(words, words, _spans, words, _truths, _truths, _truths),
)
_tempos = st.none() | st.floats(20, 400)
_several = st.lists(numbers, max_size=5).map(tuple)
_maps = st.builds(
    SongMap,
    _tempos,
    _several,
    _several,
    st.lists(_sections, max_size=3).map(tuple),
    _tempos,
    _several,
    _several,
    st.lists(st.builds(Metre, numbers, st.integers(1, 12)), max_size=3).map(tuple),
    _several,
    _truths,
)
_figures = st.lists(
    st.tuples(words, numbers | words | st.integers(0, 99)), max_size=2, unique_by=lambda one: one[0]
).map(tuple)
_reasons = st.builds(Reason, words, _figures)
_decided = st.builds(Decided, st.sampled_from(Action), words)
_placements = st.builds(
    lambda span, *rest: TakePlacement(*span, *rest),
    _spans,
    st.floats(-20, 300),
    st.sampled_from(SPEEDS) | st.floats(0.25, 4),
    numbers,
    st.sampled_from((Verdict.PLACED, Verdict.DOUBTFUL)),
    _reasons,
    st.lists(_rivals, max_size=2).map(tuple),
    st.lists(_lags, max_size=2).map(tuple),
)
_running = st.floats(0.25, 4)
_passages = st.builds(Passage, words, words, st.integers(0, 99), st.integers(0, 99))
_lyrics = st.lists(
    st.builds(LyricLine, words, st.none() | numbers, st.none() | numbers, words), max_size=2
).map(tuple)
_few_words = st.lists(words, max_size=2).map(tuple)


_shares = st.floats(0, 1)
_stops = st.floats(-8, 8, allow_subnormal=False)
_doubts = st.sampled_from(("clipped", "mixed light"))
_measures = st.lists(st.builds(Measure, words, numbers), max_size=2).map(tuple)
_settings = st.lists(st.builds(Setting, words, words), max_size=2).map(tuple)


def _matches(
    clip_id: str, other_id: str, figures: st.SearchStrategy[float], doubts: st.SearchStrategy[str]
) -> st.SearchStrategy[Match]:
    return st.builds(
        lambda own, other, *rest: Match(clip_id, *own, other_id, *other, *rest),
        _spans,
        _spans,
        *[st.tuples(figures, figures, figures)] * 3,
        *[figures] * 7,
        words,
        st.lists(doubts, max_size=2).map(tuple),
    )


def _proposals(clip_id: str) -> st.SearchStrategy[Mark]:
    seen = st.builds(
        lambda reason, span, measure: Proposed(reason, *span, measure),
        st.sampled_from(sorted(REASONS)),
        _spans.filter(lambda span: span[1] > span[0]),
        st.floats(0, 9),
    )
    return seen.map(lambda one: as_mark(clip_id, one))


def _records(name: str) -> st.SearchStrategy[TakeRecord]:
    pins = st.lists(st.builds(Pin, numbers, numbers), max_size=2).map(tuple)
    return st.builds(
        TakeRecord, st.just(name), _placements, st.sampled_from(Decision), st.none() | _decided, pins
    )


def _playbacks(song_id: str, number: int) -> st.SearchStrategy[PlaybackFile]:
    pieces = st.builds(
        lambda span, *rest: PlaybackPiece(song_id, *span, *rest), _spans, numbers, _running, numbers
    )
    timecode = st.builds(PlaybackTimecode, words, st.sampled_from(RATES), numbers)
    return st.builds(
        PlaybackFile,
        st.just(f"playback-{number}"),
        _media(80 - number, _places),
        numbers,
        st.lists(pieces, max_size=2).map(tuple),
        _truths,
        _truths,
        _truths,
        words,
        st.none() | timecode,
    )


def _masters(song_id: str, number: int) -> st.SearchStrategy[EarlierMaster]:
    piece = st.builds(
        lambda span, *rest: MasterPiece(*span, *rest), _spans, numbers, _running, numbers, _truths
    )
    left = st.builds(Left, words, words, st.none() | numbers, st.none() | numbers, words, _records("left"))
    return st.builds(
        EarlierMaster,
        st.just(song_id),
        _media(70 - number, _places),
        numbers,
        words,
        st.lists(piece, max_size=2).map(tuple),
        st.lists(left, max_size=1).map(tuple),
    )


@st.composite
def any_shoots(draw: st.DrawFn) -> Shoot:
    """Shoots with every kind of value in every field, sensible or not, as long as a document may hold it."""
    angles = tuple(
        Angle(
            f"angle-{n}",
            draw(words),
            draw(_truths),
            draw(_few_words),
            draw(words),
            draw(_truths),
            draw(st.integers(0, 9)),
            draw(_truths),
            draw(words),
            draw(words),
        )
        for n in range(draw(st.integers(0, 3)))
    )
    clips = tuple(
        ClipRecord(
            id=f"clip-{n}",
            media=draw(_media(n, _places)),
            angle_id=draw(st.sampled_from(("", *(angle.id for angle in angles)))),
            facts=FileFacts(
                duration_s=draw(numbers),
                frame_rate=draw(st.none() | st.sampled_from(RATES)),
                variable_frame_rate=draw(_truths),
                width=draw(st.integers(0, 9999)),
                height=draw(st.integers(0, 9999)),
                start_timecode=draw(maybe_words),
                make=draw(maybe_words),
                model=draw(maybe_words),
                created=draw(maybe_words),
            ),
            warnings=draw(_few_words),
            recording=draw(maybe_words),
            note=draw(words),
        )
        for n in range(draw(st.integers(0, 3)))
    )
    songs = tuple(
        Song(
            draw(_media(99 - n, _places)), draw(seconds), draw(_maps), f"song-{n}", draw(_lyrics), draw(words)
        )
        for n in range(draw(st.integers(0, 2)))
    )
    findings, takes, refusals, said, settings, marks, needs, set_ups = [], [], [], [], [], [], [], []
    looks, matches = [], []
    for clip in clips:
        for song in songs:
            anchor = {
                "clip_id": clip.id,
                "song_id": song.id,
                "song_digest": draw(st.just(song.media.digest) | words),
            }
            name = f"{clip.id}-{song.id}-take"
            if draw(_truths):
                found = draw(st.lists(_placements, max_size=2).map(tuple))
                verdict = draw(st.sampled_from(Verdict))
                findings.append(Finding(verdict=verdict, reason=draw(_reasons), takes=found, **anchor))
            if draw(_truths):
                takes.append(TakeDecision(take=draw(_records(name)), **anchor))
            if draw(_truths):
                start_s, end_s = draw(_spans)
                gone = draw(st.none() | _records("gone"))
                refusals.append(
                    Refusal(clip_start_s=start_s, clip_end_s=end_s, at=draw(words), take=gone, **anchor)
                )
            if draw(_truths):
                said.append(ClipRefusal(decided=draw(st.none() | _decided), **anchor))
        if draw(_truths):
            settings.append(SetTake(clip.id, *draw(_spans), TakeSettings(draw(numbers), draw(numbers))))
            marks.append(
                Mark(
                    f"mark-{len(marks)}",
                    clip.id,
                    draw(st.sampled_from(MarkKind)),
                    *draw(_spans),
                    draw(st.sampled_from(FaultReason)),
                    draw(words),
                    draw(words),
                    draw(st.sampled_from(MarkState)),
                    draw(st.none() | numbers),
                )
            )
        if draw(_truths):
            looks.append(
                Look(
                    clip.id,
                    draw(st.just(clip.media.digest) | words),
                    draw(words),
                    draw(_shares),
                    draw(_measures),
                )
            )
            matches.append(draw(_matches(clip.id, draw(st.sampled_from(clips)).id, numbers, words)))
    reference = Reference(draw(st.sampled_from(clips)).id, *draw(_spans)) if clips and draw(_truths) else None
    locks, versions, playbacks, masters = [], [], [], []
    for song in songs:
        if draw(_truths):
            playbacks.append(draw(_playbacks(song.id, len(playbacks))))
            masters.append(draw(_masters(song.id, len(masters))))
        counts = st.integers(0, 9)
        needs.append(
            Need(
                f"need-{len(needs)}",
                song.id,
                draw(_passages),
                draw(words),
                draw(counts),
                draw(counts),
                draw(words),
            )
        )
        set_ups.append(
            SetUp(
                f"set-up-{len(set_ups)}",
                song.id,
                draw(words),
                draw(_few_words),
                draw(_passages),
                draw(st.sampled_from(RATES)),
                draw(words),
            )
        )
        locks.append(
            Lock(f"lock-{len(locks)}", song.id, draw(_passages), draw(words), draw(words), draw(numbers))
        )
        seed = draw(st.integers(0, 2**31))
        versions.append(Version(f"version-{len(versions)}", song.id, draw(words), seed, draw(_settings)))
    return Shoot(
        name=draw(words),
        songs=songs,
        angles=angles,
        clips=clips,
        findings=tuple(findings),
        decisions=Decisions(tuple(takes), tuple(refusals), tuple(said), tuple(settings), reference),
        marks=tuple(marks),
        plan=Plan(tuple(needs), tuple(set_ups), draw(st.integers(0, 99)), draw(numbers), draw(numbers)),
        looks=tuple(looks),
        matches=tuple(matches),
        cut=Cut(tuple(locks), tuple(versions)),
        playbacks=tuple(playbacks),
        masters=tuple(masters),
    )


@st.composite
def sensible_shoots(draw: st.DrawFn) -> SongView:
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
                    match=draw(st.none() | _matches(f"clip-{n}", "clip-0", _stops, _doubts)),
                )
            )
        look = draw(st.none() | st.builds(Look, st.just(f"clip-{n}"), words, words, _shares, _measures))
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
                marks=tuple(draw(st.lists(_proposals(f"clip-{n}"), max_size=2))),
                look=look,
            )
        )
    found = clips[0].takes
    reference = Reference("clip-0", found[0].clip_start_s, found[0].clip_end_s) if found else None
    return SongView("Evening", waltz(180.0), angles, tuple(clips), reference=reference)


def compared(value: SongView, **figures: object) -> SongView:
    """The shoot with its first take as the reference, and a match for every other one."""
    owner, first = next((clip, take) for clip in value.clips for take in clip.takes)
    one = (1.0, 1.0, 1.0)
    match = Match(
        "", 0.0, 0.0, owner.id, first.clip_start_s, first.clip_end_s,
        slope=(0.8, 0.75, 0.7), offset=(0.01, 0.0, -0.02), power=one, saturation=1.0,
        stops=0.9, warm=0.3, green=0.0, stops_after=0.01, warm_after=0.0, green_after=0.0, transfer="bt709",
    )  # fmt: skip
    match = replace(match, **figures)  # type: ignore[arg-type]
    clips = tuple(
        replace(
            clip,
            takes=tuple(
                take
                if take is first
                else replace(
                    take,
                    match=replace(
                        match,
                        clip_id=clip.id,
                        clip_start_s=take.clip_start_s,
                        clip_end_s=take.clip_end_s,
                    ),
                )
                for take in clip.takes
            ),
        )
        for clip in value.clips
    )
    reference = Reference(owner.id, first.clip_start_s, first.clip_end_s)
    return replace(value, clips=clips, reference=reference)
