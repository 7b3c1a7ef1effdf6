"""What the four sheets say: plan, coverage, sync, pick-ups."""

from collections.abc import Callable
from enum import StrEnum
from pathlib import PurePath

from app.handoff.outcome import count
from app.handoff.plan_text import SIGNS, least_words, need_line
from app.handoff.sheets.day_advice import advice
from app.handoff.sheets.score_drawing import score_drawing
from app.handoff.sheets.sheet import TICK_BOX, Block, Column, Heading, Picture, Pictures, Rows, Sheet, Text
from app.model.angles import same_name
from app.model.coverage.coverage import SectionCoverage, coverage
from app.model.coverage.missing import still_missing
from app.model.coverage.missing_words import (
    minutes_words,
    nothing_missing_words,
    passage_of,
    passes_words,
    ranges_words,
    reason_of,
    subjects_of,
)
from app.model.coverage.needs import NeedResult, NeedState, need_results
from app.model.coverage.passages import bars_words, passage_parts, passage_words
from app.model.coverage.set_ups_done import set_up_results
from app.model.coverage.staves import stave_order
from app.model.coverage.subjects import wanted_words
from app.model.coverage.usable import longest_with_one_angle, usable_takes
from app.model.document.angle import Angle
from app.model.document.marks import MarkKind, MarkState
from app.model.document.plan import Passage
from app.model.document.song import Song
from app.model.document.verdict import Verdict, verdict_word
from app.model.on_song import Clip, SongView, Take, was_moved
from app.model.reasons import sentence
from app.model.song_map.bar_spans import bar_spans, section_words
from app.model.song_map.lyrics import lines_of_section
from app.model.speeds import nominal_speed
from app.model.timebase import rate_text

PictureOf = Callable[[Clip, float], Picture | None]
"""Gives the picture of a clip at a moment of it (s); None where there is none to be had."""
CAUTIONS = (
    "Playback loud enough to carry over live drums harms hearing in minutes. Start it low, keep it as low as "
    "the players can work with, wear ear protection, and take breaks away from it. Weigh down stands, tape "
    "cables to the floor, keep exits clear, and let lamps cool before anybody moves them. The rules of the "
    "venue and the law come first; power and rigging are for people qualified to do it."
)


class Kind(StrEnum):
    """Which sheet."""

    PLAN = "plan"
    COVERAGE = "coverage"
    SYNC = "sync"
    PICK_UPS = "pickups"


def sheet_of(shoot: SongView, kind: Kind, picture: PictureOf = lambda clip, clip_s: None) -> Sheet:
    """A sheet's contents. Raises ValueError where there is no song: all of them stand on its sections."""
    song = shoot.song
    if song is None:
        raise ValueError("There is no song yet. Choose the song first; sheets follow its sections.")
    name = shoot.name or PurePath(song.media.path).stem
    match kind:
        case Kind.PLAN:
            return Sheet(f"Plan: {name}", _facts(song), [*_plan(shoot, song)])
        case Kind.COVERAGE:
            return Sheet(f"Coverage: {name}", _facts(song), [*_coverage(shoot, song, picture)])
        case Kind.SYNC:
            return Sheet(f"Sync: {name}", _facts(song), [*_sync(shoot)])
        case Kind.PICK_UPS:
            return Sheet(f"Pick-ups: {name}", _facts(song), [*_pick_ups(shoot, song)])


def clock(seconds: float) -> str:
    """A song time as minutes and seconds.

    >>> clock(83.96), clock(-1.2)
    ('1:24', '−0:01')
    """
    whole = round(abs(seconds))
    return f"{'−' if seconds < 0 and whole else ''}{whole // 60}:{whole % 60:02}"


def _facts(song: Song) -> str:
    tempo = "" if song.map.tempo_bpm is None else f", {song.map.tempo_bpm:.0f} bpm"
    return f"{clock(song.duration_s)} long{tempo}, {count(len(song.map.bars_s), 'bar')}"


def _plan(shoot: SongView, song: Song) -> list[Block]:
    results = need_results(shoot)
    blocks: list[Block] = [Heading("Sections")]
    rows = []
    for part in coverage(shoot):
        words = " / ".join(line.text for line in lines_of_section(song, part.section)[:2])
        wanted = [_wanted(one) for one in results if _asks_for(one, part)]
        rows.append(
            (section_words(part.section), _bars(part), clock(part.section.start_s), words, "\n".join(wanted))
        )
    columns = (
        Column("Section", 0.2),
        Column("Bars", 0.12),
        Column("From", 0.08, right=True),
        Column("Lyrics", 0.28),
        Column("Must be seen", 0.32),
    )
    blocks.append(Rows(columns, tuple(rows)))
    blocks.append(Heading("Set-ups, in order"))
    set_ups = set_up_results(shoot)
    lines = []
    for number, one in enumerate(set_ups, 1):
        planned = one.set_up
        done = "✓" if one.state is NeedState.MET else TICK_BOX
        speed = "" if planned.speed == 1 else f" at {float(planned.speed):.4g} times the speed"
        known = next((a for a in shoot.angles if same_name(a.name, planned.angle)), Angle("", ""))
        stands = ", ".join(filter(None, (known.place, known.camera)))
        shown = "\n".join(filter(None, (planned.angle, ", ".join(planned.subjects), stands)))
        where = f"{passage_words(planned.passage, song)}{speed}\n{_bars_and_times(planned.passage, song)}"
        lines.append((done, str(number), shown, where, planned.note))
    columns = (
        Column("", 0.05),
        Column("No.", 0.06, right=True),
        Column("Angle", 0.29),
        Column("Passage", 0.3),
        Column("Note", 0.3),
    )
    blocks.append(Rows(columns, tuple(lines)) if lines else Text("No set-ups are planned yet."))
    blocks += advice(shoot)
    blocks += [Heading("Mind your ears, and each other"), Text(CAUTIONS)]
    return blocks


def _bars_and_times(passage: Passage, song: Song) -> str:
    """Where a passage lies, each of its places on a line; nothing where it is no longer in the song's map."""
    spans = bar_spans(song)
    told = []
    for part in passage_parts(passage, song, spans):
        first, last = spans[part.bars[0]], spans[part.bars[-1]]
        times = f"{clock(first.start_s)} to {clock(last.end_s)}"
        named = bool(passage.first_bar or passage.last_bar) or not song.map.bars_s
        told.append(times if named else f"{bars_words(first.number, last.number)}, {times}")
    return "\n".join(told)


def _asks_for(result: NeedResult, part: SectionCoverage) -> bool:
    """Whether a need asks for something in a section, or in all of the song."""
    asked = {n for place in result.parts for n in place.place.bars}
    inside = {bar.bar.number - 1 for bar in part.bars}
    return bool(asked & inside)


def _wanted(result: NeedResult) -> str:
    need = result.need
    bars = (
        "" if not need.passage.first_bar else f", {bars_words(need.passage.first_bar, need.passage.last_bar)}"
    )
    return f"{SIGNS[result.state]} {wanted_words(need.subject, need.least_angles)}{bars}{least_words(need)}"


def _coverage(shoot: SongView, song: Song, picture: PictureOf) -> list[Block]:
    sections = coverage(shoot)
    blocks: list[Block] = [score_drawing(shoot, sections)]
    blocks.append(
        Text(
            "Grey: a usable take. Hatched: a fault. Outlined: a take in doubt. The last rows are safeties. "
            "The figures above give how many usable takes show the thinnest bar of a section.",
            small=True,
        )
    )
    alone = longest_with_one_angle(usable_takes(shoot))
    if alone is not None:
        names = {angle.id: angle.name for angle in shoot.angles}
        blocks.append(
            Text(
                f"Longest stretch with one angle only: {clock(alone.start_s)} to {clock(alone.end_s)} "
                f"({names.get(alone.angle_id, 'no name')})."
            )
        )
    rows = []
    for part in sections:
        depths = [bar.usable_depth for bar in part.bars]
        least, most = min(depths, default=0), max(depths, default=0)
        depth = str(least) if least == most else f"{least} to {most}"
        thin = "\n".join(place.words for place in part.thin) or "nothing thin"
        rows.append((section_words(part.section), _bars(part), depth, thin))
    columns = (
        Column("Section", 0.24),
        Column("Bars", 0.14),
        Column("Takes", 0.12),
        Column("Thin places", 0.5),
    )
    blocks += [Heading("Sections"), Rows(columns, tuple(rows))]
    needs = need_results(shoot)
    if needs:
        blocks.append(Heading("Needs"))
        blocks += [Text(need_line(shoot, one)) for one in needs]
    pictures = _pictures(shoot, picture)
    if pictures:
        blocks += [Heading("Angles"), Pictures(pictures)]
    return blocks


def _pictures(shoot: SongView, picture: PictureOf) -> tuple[Picture, ...]:
    """One picture of each angle, from the middle of its longest placed take."""
    found = []
    for angle in stave_order(shoot.angles):
        takes = [
            (take.clip_end_s - take.clip_start_s, clip, take)
            for clip in shoot.clips
            if clip.angle_id == angle.id and clip.frame_rate is not None
            for take in clip.takes
            if take.verdict is Verdict.PLACED
        ]
        if takes:
            _, clip, take = max(takes, key=lambda one: one[0])
            one = picture(clip, (take.clip_start_s + take.clip_end_s) / 2)
            if one is not None:
                caption = f"{angle.name}{' (safety)' if angle.safety else ''}"
                found.append(Picture(one.jpeg, one.width, one.height, caption))
    return tuple(found)


def _sync(shoot: SongView) -> list[Block]:
    names = {angle.id: angle.name for angle in shoot.angles}
    rows = []
    for clip in shoot.clips:
        file = PurePath(clip.media.path).name
        who = names.get(clip.angle_id, "")
        rows += [(f"{file}\n{who}", *_placed(take, clip)) for take in clip.takes]
        if not clip.takes:
            rows.append((f"{file}\n{who}", verdict_word(clip.verdict), "", "", "", sentence(clip.reason)))
    columns = (
        Column("Clip and angle", 0.27),
        Column("State", 0.13),
        Column("In the song", 0.17),
        Column("Speed and drift", 0.14),
        Column("Accurate to", 0.1),
        Column("Who, and why", 0.19),
    )
    placed = sum(take.verdict is Verdict.PLACED for clip in shoot.clips for take in clip.takes)
    takes = sum(len(clip.takes) for clip in shoot.clips)
    summary = f"{count(len(shoot.clips), 'clip')}, {count(takes, 'take')}, {placed} placed."
    return [Text(summary), Rows(columns, tuple(rows))]


def _placed(take: Take, clip: Clip) -> tuple[str, str, str, str, str]:
    speed = nominal_speed(take.speed)
    rate = "" if clip.frame_rate is None else f"\n{rate_text(clip.frame_rate)} fps"
    told = "" if speed.nominal == 1 else f"{float(speed.nominal):.5g} times\n"
    who = take.decision.value
    if take.decided is not None:
        who = f"{take.decided.action.value}, {take.decided.at[:10]}"
    faults = sum(one.kind is MarkKind.FAULT and one.state is MarkState.SET for one in clip.marks)
    more = filter(None, (who, sentence(take.reason), count(faults, "fault") if faults else ""))
    return (
        verdict_word(take.verdict),
        f"{_seconds(take.song_start_s)} to\n{_seconds(take.song_end_s)}",
        f"{told}{speed.drift_ppm:+.1f} ppm{rate}",
        "" if was_moved(take) else f"±{take.uncertainty_s * 1000:.1f} ms",
        "\n".join(more),
    )


def _seconds(song_s: float) -> str:
    """To the millisecond; never a minus before nothing."""
    return f"{round(song_s, 3) + 0.0:.3f} s"


def _pick_ups(shoot: SongView, song: Song) -> list[Block]:
    missing = still_missing(shoot)
    if not missing:
        return [Text(nothing_missing_words(shoot))]
    rows = [
        (
            TICK_BOX,
            str(number),
            f"{passage_of(one, song)}\n{clock(one.start_s)} to {clock(one.end_s)}",
            subjects_of(one),
            reason_of(one),
            minutes_words(one.minutes),
        )
        for number, one in enumerate(missing, 1)
    ]
    columns = (
        Column("", 0.05),
        Column("No.", 0.06, right=True),
        Column("Passage", 0.25),
        Column("Show", 0.2),
        Column("Why", 0.33),
        Column("Time on set", 0.11, right=True),
    )
    total = minutes_words(sum(one.minutes for one in missing))
    doubt = tuple(sorted({n for one in missing for part in one.why for n in part.in_doubt}))
    blocks: list[Block] = [
        Text(f"{passes_words(missing)}, {total} on set. The first ones gain most."),
        Rows(columns, tuple(rows)),
    ]
    if doubt:
        blocks.append(
            Text(f"Takes in doubt may show {ranges_words(doubt)}: check them before shooting again.")
        )
    blocks += [Heading("Mind your ears, and each other"), Text(CAUTIONS)]
    return blocks


def _bars(part: SectionCoverage) -> str:
    numbers = [bar.bar.number for bar in part.bars]
    return f"{numbers[0]}–{numbers[-1]}" if len(numbers) > 1 else str(numbers[0]) if numbers else ""
