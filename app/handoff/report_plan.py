"""What the report tells of needs, set-ups, marks, and what is still missing."""

from app.model.coverage.missing import MissingPass, still_missing
from app.model.coverage.missing_words import reason_of, section_letters
from app.model.coverage.needs import NeedResult, need_results
from app.model.coverage.passages import PassagePart, passage_parts
from app.model.coverage.set_ups_done import SetUpResult, set_up_results
from app.model.document.marks import Mark, MarkState
from app.model.document.plan import Passage
from app.model.document.song import Song
from app.model.on_song import SongView
from app.model.plan_rows import section_cell
from app.model.song_map.bar_spans import bar_spans
from app.model.timebase import rate_text

Json = dict[str, object]


def plan_told(shoot: SongView) -> Json:
    """The plan and how it stands."""
    song = shoot.song
    if song is None:
        return {"needs": [], "set_ups": []}
    names = {angle.id: angle.name for angle in shoot.angles}
    return {
        "needs": [_need(one, song, names) for one in need_results(shoot)],
        "set_ups": [_set_up(one, song) for one in set_up_results(shoot)],
    }


def missing_told(shoot: SongView) -> list[Json]:
    """What is still to be shot, what gains most for its minutes first."""
    song = shoot.song
    return [] if song is None else [_missing(one, song) for one in still_missing(shoot)]


def marks_told(marks: tuple[Mark, ...]) -> list[Json]:
    """Faults and keepers; what a person dismissed is left out."""
    return [
        {
            "kind": one.kind.value,
            "clip_start_s": one.clip_start_s,
            "clip_end_s": one.clip_end_s,
            "reason": one.reason.value,
            "words": one.words,
            "state": one.state.value,
            "measure": one.measure,
        }
        for one in marks
        if one.state is not MarkState.DISMISSED
    ]


def _need(result: NeedResult, song: Song, names: dict[str, str]) -> Json:
    need = result.need
    return {
        **_passage(need.passage, song),
        "subject": need.subject,
        "least_bars": need.least_bars,
        "least_angles": need.least_angles,
        "note": need.note,
        "state": result.state.value,
        "missing_bars": list(result.missing_bars),
        "angles": [names[angle_id] for angle_id in result.angles],
    }


def _set_up(result: SetUpResult, song: Song) -> Json:
    one = result.set_up
    return {
        **_passage(one.passage, song),
        "angle": one.angle,
        "subjects": list(one.subjects),
        "speed": rate_text(one.speed),
        "note": one.note,
        "state": result.state.value,
        "missing_bars": list(result.missing_bars),
    }


def _passage(passage: Passage, song: Song) -> Json:
    bars = bar_spans(song)
    parts: tuple[PassagePart, ...] = passage_parts(passage, song, bars)
    numbers = [bars[n].number for part in parts for n in part.bars]
    return {
        "section": section_cell(passage, song),
        "first_bar": min(numbers, default=None),
        "last_bar": max(numbers, default=None),
    }


def _missing(one: MissingPass, song: Song) -> Json:
    return {
        "first_bar": one.first_bar,
        "last_bar": one.last_bar,
        "section": section_letters(one, song),
        "subjects": list(one.subjects),
        "angle": one.angle,
        "why": reason_of(one),
        "minutes": round(one.minutes, 2),
    }
