"""Shoot files with hostile values: one good file that holds a value in every field, and each field spoilt.

A spoilt file either is refused in a sentence or opens and can be worked with; nothing else is right.
"""

import copy
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from pathlib import Path
from typing import Any

from app.model.document import store
from app.model.document.cut import Cut, Lock, Setting, Version
from app.model.document.decisions import (
    Action,
    ClipRefusal,
    Decided,
    Decision,
    Pin,
    Reference,
    Refusal,
    SetTake,
    TakeDecision,
    TakeRecord,
    TakeSettings,
)
from app.model.document.findings import LagPoint, Rival
from app.model.document.looks import Look, Match, Measure
from app.model.document.marks import Mark, MarkKind
from app.model.document.masters import EarlierMaster, Left, MasterPiece
from app.model.document.media_ref import MediaRef
from app.model.document.plan import Need, Passage, Plan, SetUp
from app.model.document.playback_file import PlaybackFile, PlaybackPiece, PlaybackTimecode
from app.model.document.shoot import Shoot
from app.model.document.song import LyricLine, Metre
from tests.app.window.made_up import make_shoot

Change = Callable[[str, Any], object]
"""Of the name of a field and its value makes another value."""
NUMBERS: tuple[object, ...] = (1e308, -1e308, 5e-324, 1e18, -1, 0, 999_999_999, 10**400, 2**70)
TEXTS: tuple[object, ...] = (
    "\0",
    "\ud800",
    "x" * 300_000,
    "",
    "../../../../etc/hostname",
    "999999999",
    "1/0",
)
OTHERS: tuple[object, ...] = (None, [], {}, True, "x", 1)


def full_shoot() -> Shoot:
    """A shoot with at least one value in every list."""
    shoot = make_shoot()
    song, clip = shoot.songs[0], shoot.clips[0]
    bars = song.map.bars_s
    song_map = replace(
        song.map,
        other_tempo_bpm=184.0,
        downbeats_s=bars[:1],
        metres=(Metre(bars[0], 4),),
        edges_s=(song.map.sections[1].start_s,),
    )
    section = song_map.sections[0]
    lyrics = (LyricLine("Over the water", 10.0, 12.0), LyricLine("Home", section_id=section.id))
    song = replace(song, map=song_map, lyrics=lyrics, title="Harbour Waltz")
    findings = tuple(
        replace(
            one,
            takes=tuple(
                replace(
                    take,
                    rivals=(Rival(20.0, 0.7, as_well=True),),
                    lags=tuple(LagPoint(take.clip_start_s + n, 0.001 * n, 9.0) for n in range(5)),
                )
                for take in one.takes
            ),
        )
        for one in shoot.findings
    )
    placement = next(one.takes[0] for one in findings if one.clip_id == clip.id)
    decided = Decided(Action.PINNED, "2031-05-04T18:20:00Z")
    record = TakeRecord("take-1", placement, Decision.BY_HAND, decided, (Pin(1.0, 30.0),))
    span = placement.clip_start_s, placement.clip_end_s
    other = next(one for one in shoot.clips if one.id != clip.id)
    digest = song.media.digest
    decisions = replace(
        shoot.decisions,
        takes=(TakeDecision(clip.id, song.id, digest, record),),
        refusals=(Refusal(other.id, song.id, digest, 0.0, 1.0, decided.at, replace(record, id="take-2")),),
        clip_refusals=(ClipRefusal(shoot.clips[-1].id, song.id, digest, decided),),
        settings=(SetTake(clip.id, *span, TakeSettings(0.5, -0.5, "bt709", True, True)),),
        reference=Reference(clip.id, *span),
    )
    match = Match(
        other.id, 0.0, 9.0, clip.id, *span, (1.1, 1.0, 0.9), (0.0,) * 3, (1.0,) * 3, 1.0, *(0.1,) * 6
    )
    passage, subject = Passage(first_bar=1, last_bar=8), "singer"
    piece = PlaybackPiece(song.id, 5.0, 60.0, 0.0, 1.0, 0.001)
    return replace(
        shoot,
        songs=(song,),
        findings=findings,
        decisions=decisions,
        marks=(Mark("mark-1", clip.id, MarkKind.FAULT, span[0] + 1, span[0] + 2, words="dust", measure=0.5),),
        plan=Plan(
            (Need("need-1", song.id, passage, subject, 2, 1, "close"),),
            (SetUp("set-up-1", song.id, "Crane", (subject,), passage, Fraction(24, 25), "late"),),
            12,
        ),
        looks=(Look(clip.id, clip.media.digest, "a", 0.9, (Measure("blocked", 0.1),)),),
        matches=(match,),
        cut=Cut(
            (Lock("lock-1", song.id, passage, clip.angle_id, clip.id, span[0] + 1),),
            (Version("version-1", song.id, "First", 7, (Setting("pace", "fast"),)),),
        ),
        playbacks=(
            PlaybackFile(
                "playback-1",
                MediaRef("/shoot/slow.wav", 1000, "cc"),
                65.0,
                (piece,),
                pitch_kept=True,
                note="slow",
                timecode=PlaybackTimecode("01:00:00:00", Fraction(25), 0.0),
            ),
        ),
        masters=(
            EarlierMaster(
                song.id,
                MediaRef("/shoot/old.wav", 999, "dd"),
                60.0,
                decided.at,
                (MasterPiece(0.0, 50.0, 1.0),),
                (Left("take", "of the crane", 51.0, 52.0, clip.id, replace(record, id="take-9")),),
            ),
        ),
    )


@dataclass(frozen=True, slots=True)
class Spoilt:
    """A shoot file with one value changed."""

    where: str
    """Path of the field, and what stands there now."""
    text: Callable[[], str]


def spoilt(folder: Path) -> Iterator[Spoilt]:
    """Every field of a shoot file that lies in ``folder``, spoilt in each way that fits its kind."""
    whole = json.loads(store.to_text(full_shoot(), folder))
    for steps, value in _leaves(whole, ()):
        if isinstance(value, bool):
            bad: tuple[object, ...] = OTHERS
        elif isinstance(value, int | float):
            bad = NUMBERS
        elif isinstance(value, str):
            bad = TEXTS
        else:
            bad = ([], [value[0]] * 2, list(reversed(value)), {}) if isinstance(value, list) and value else ()
        for new in bad:
            if new == value and type(new) is type(value):
                continue
            shown = f"{'.'.join(map(str, steps))} = {repr(new)[:24]}"
            yield Spoilt(shown, partial(_with, whole, steps, new))


def _with(whole: Any, steps: tuple[str | int, ...], new: object) -> str:
    data = copy.deepcopy(whole)
    at = data
    for step in steps[:-1]:
        at = at[step]
    at[steps[-1]] = new
    return json.dumps(data)


def _leaves(value: object, steps: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], object]]:
    """Of every list the list itself and its first item; of every object all its values."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _leaves(inner, (*steps, name))
    elif isinstance(value, list):
        if value:
            yield steps, value
            yield from _leaves(value[0], (*steps, 0))
    else:
        yield steps, value


def extreme(folder: Path) -> Iterator[Spoilt]:
    """Shoot files in which all values of one kind are at once as odd as a shoot may hold them."""
    whole = json.loads(store.to_text(full_shoot(), folder))
    for name, change in EXTREMES.items():
        data = copy.deepcopy(whole)
        _change(data, change)
        yield Spoilt(name, partial(json.dumps, data))


def odd(folder: Path) -> Spoilt:
    """A shoot file that is odd in several ways at once."""
    data = json.loads(store.to_text(full_shoot(), folder))
    for name in TOGETHER:
        _change(data, EXTREMES[name])
    return Spoilt(", ".join(TOGETHER), partial(json.dumps, data))


def _change(value: Any, change: Change) -> None:
    if isinstance(value, dict | list):
        for key, inner in list(value.items() if isinstance(value, dict) else enumerate(value)):
            if isinstance(inner, dict | list):
                _change(inner, change)
            else:
                value[key] = change(str(key), inner)


def _texts(new: str) -> Change:
    named = (
        "name",
        "title",
        "note",
        "words",
        "text",
        "subject",
        "group",
        "place",
        "camera",
        "letter",
        "what",
    )
    return lambda key, value: new if key in named and isinstance(value, str) else value


def _seconds(factor: float, names: str) -> Change:
    def changed(key: str, value: object) -> object:
        return value * factor if key.endswith(names) and isinstance(value, float) else value

    return changed


FIGURES = ("strength", "value", "measure", "uncertainty")
WHOLE = ("anglebook_version", "beats")
EXTREMES: dict[str, Change] = {
    "long texts": _texts("Wörter " * 5_000),
    "texts without a space": _texts("W" * 40_000),
    "bytes of names that are no text": _texts("\udcff\udc80"),
    "line ends and marks of direction": _texts("\n\u202e\t\u2028\x07x" * 20),
    "a song of eleven days": _seconds(15_000.0, "duration_s"),
    "a short song": _seconds(1e-3, "duration_s"),
    "takes far before the song": lambda key, value: -1e6 if key == "song_start_s" else value,
    "takes far behind the song": lambda key, value: 1e6 if key == "song_start_s" else value,
    "slow takes": lambda key, value: 0.01 if key == "speed" and isinstance(value, float) else value,
    "quick takes": lambda key, value: 100.0 if key == "speed" and isinstance(value, float) else value,
    "large counts": lambda key, value: 10**6 if type(value) is int and key not in WHOLE else value,
    "large figures": lambda key, value: 1e12 if key in FIGURES and isinstance(value, float) else value,
    "slow beats": lambda key, value: 0.01 if key.endswith("_bpm") else value,
    "nothing": lambda key, value: 0.0 if isinstance(value, float) and key != "speed" else value,
}
TOGETHER = ("line ends and marks of direction", "takes far behind the song", "large counts", "large figures")
