"""What pictures tell as text: set-ups, faults proposed, and how takes compare, as the terminal shows it."""

from collections import defaultdict
from collections.abc import Mapping
from pathlib import PurePath

from app.handoff.report_text import clock, tame
from app.model.document.looks import Match
from app.model.faults_seen import seen_faults
from app.model.on_song import Clip, SongView, reference_take


def look_text(shoot: SongView, troubles: Mapping[str, str] | None = None) -> str:
    """All of it, as printed by ``anglebook look``.

    ``troubles`` tells for the path of a clip why its pictures could not be looked at.
    """
    lines = ["Set-ups"]
    groups: defaultdict[str, list[Clip]] = defaultdict(list)
    for clip in shoot.clips:
        if clip.look is not None and clip.look.group:
            groups[clip.look.group].append(clip)
    for group, clips in groups.items():
        lines.append(f"  {group}")
        lines += [
            f"    {_name(one)}" + (f"  {100 * one.look.sure:.0f} % sure" if one.look else "") for one in clips
        ]
    if not groups:
        lines.append("  none told apart")
    lines += ["", "Faults proposed"]
    count = 0
    for clip in shoot.clips:
        faults = seen_faults(clip.marks)
        count += len(faults)
        lines += [f"  {_name(clip)}"] if faults else []
        lines += [
            f"    {clock(one.clip_start_s)} to {clock(one.clip_end_s)}  {tame(one.words)}" for one in faults
        ]
    if not count:
        lines.append("  none")
    lines += _match_lines(shoot)
    told = [clip for clip in shoot.clips if clip.media.path in (troubles or {})]
    if told:
        lines += ["", "Not looked at"]
        lines += [f"  {_name(clip)}: {(troubles or {})[clip.media.path]}" for clip in told]
    looked = sum(clip.look is not None for clip in shoot.clips)
    clips_words = "1 clip" if looked == 1 else f"{looked} clips"
    faults_words = "1 fault" if count == 1 else f"{count} faults"
    accept = " Accept or dismiss them in Score." if count else ""
    return "\n".join([*lines, "", f"{clips_words} looked at, {faults_words} proposed.{accept}"])


def match_words(match: Match) -> str:
    """How far a take sits from the reference, in plain figures.

    >>> from dataclasses import replace
    >>> one = (1.0, 1.0, 1.0)
    >>> near = Match("c", 0, 1, "r", 0, 1, one, (0.0, 0.0, 0.0), one, 1.0, 0.7, -0.2, 0.0, 0.05, 0.0, 0.0)
    >>> match_words(near)
    '0.7 stops brighter, 0.2 cooler; after the match 0.05 stops'
    >>> match_words(replace(near, stops=0.0, warm=0.0, doubts=("clipped",)))
    'as bright, same balance; after the match 0.05 stops; do not trust it: clipped'
    """
    light = _apart(match.stops, "stops brighter", "stops darker") or "as bright"
    balance = [_apart(match.warm, "warmer", "cooler"), _apart(match.green, "greener", "more magenta")]
    words = ", ".join([light, *filter(None, balance)] if any(balance) else [light, "same balance"])
    words += f"; after the match {abs(match.stops_after):.2g} stops"
    return words + (f"; do not trust it: {', '.join(match.doubts)}" if match.doubts else "")


def _match_lines(shoot: SongView) -> list[str]:
    reference = reference_take(shoot)
    found = [
        (abs(take.match.stops) + abs(take.match.warm) + abs(take.match.green), clip, take.match)
        for clip in shoot.clips
        for take in clip.takes
        if take.match is not None
    ]
    if reference is None or not found:
        return []
    found.sort(key=lambda one: -one[0])
    lines = ["", f"Against {reference.id}, the furthest first"]
    for _, clip, match in found:
        where = f"{clock(match.clip_start_s)} to {clock(match.clip_end_s)}"
        lines.append(f"  {_name(clip)}, {where}: {match_words(match)}")
    return lines


def _apart(value: float, more: str, less: str) -> str:
    """A distance in words; empty where it rounds to nothing."""
    return "" if round(abs(value), 1) == 0 else f"{abs(value):.1f} {more if value > 0 else less}"


def _name(clip: Clip) -> str:
    return tame(PurePath(clip.media.path).name)
