"""Hands off one song of a shoot, or several, each into a folder of its own."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from app.handoff import all as hand_off
from app.handoff.all import HandedOver, Preview, earlier
from app.handoff.beside_clips import check_folder
from app.handoff.choices import DEFAULT, Choices
from app.handoff.leftovers import leftovers
from app.handoff.outcome import (
    HandoffError,
    HandoffReport,
    HandoffStopped,
    Planned,
    Progress,
    Stop,
    never,
    no_progress,
)
from app.handoff.registry import FORMATS
from app.handoff.song_folders import files_called, folders_called
from app.model.guarding import guard_of
from app.model.on_song import SongView
from app.model.song_names import song_names


@dataclass(frozen=True, slots=True)
class Part:
    """What is handed off of one song."""

    shoot: SongView
    """Under the name that its files get."""
    song: str = ""
    """What the song is called; empty where the shoot has no other."""
    folder: str = ""
    """Name of its folder in that of the hand-off; empty where it goes into that itself."""


def parts_of(
    shoot: str, views: Sequence[SongView], song_ids: Sequence[str] | None = None
) -> tuple[Part, ...]:
    """What is to be handed off of a shoot, from its name and how it stands on each of its songs.

    ``song_ids`` are those of the songs that are wanted; None for all. Files of a song are called the same
    whether it is handed off alone or with others.
    """
    songs = [view.song for view in views if view.song is not None]
    if len(songs) < 2:
        return tuple(Part(replace(view, name=shoot)) for view in views)
    called = list(song_names(songs).values())
    parts = [
        Part(replace(view, name=name), song, folder)
        for view, song, name, folder in zip(
            views, called, files_called(shoot, called), folders_called(called), strict=True
        )
        if song_ids is None or (view.song is not None and view.song.id in song_ids)
    ]
    return tuple(parts) if len(parts) > 1 else tuple(replace(one, folder="") for one in parts)


def preview_parts(parts: Sequence[Part], choices: Choices = DEFAULT) -> Preview:
    """What `write_parts` would write, with the folder of each song before the names; writes nothing.

    Raises HandoffError where nothing can be written of any song.
    """
    if len(parts) == 1:
        return hand_off.preview(parts[0].shoot, choices)
    planned: list[Planned] = []
    troubles: list[str] = []
    for part in parts:
        try:
            seen = hand_off.preview(part.shoot, _for(part, choices))
        except HandoffError as error:
            troubles.append(_of(part, str(error)))
            continue
        planned += [replace(one, name=f"{part.folder}/{one.name}") for one in seen.planned]
        troubles += [_of(part, trouble) for trouble in seen.troubles]
    if not planned and troubles:
        raise HandoffError(troubles[0])
    return Preview(tuple(planned), tuple(dict.fromkeys(troubles)))


def _for(part: Part, choices: Choices) -> Choices:
    """Without what only other songs have something to tell in; all of it where nothing would be left."""
    told = frozenset(one.word for one in FORMATS if one.word in choices.what and one.offered(part.shoot))
    return replace(choices, what=told or choices.what)


def write_parts(
    parts: Sequence[Part],
    folder: Path,
    choices: Choices = DEFAULT,
    *,
    replace: bool = False,
    stop: Stop = never,
    progress: Progress = no_progress,
    doing: Callable[[str, str], None] = lambda song, word: None,
    wrote: Callable[[HandoffReport], None] = lambda report: None,
) -> HandedOver:
    """Write what was chosen of every part, as `app.handoff.all.write_all` does.

    Nothing is written of any song unless everything may be. ``doing`` receives what the song is called and
    the word of the format. Raises HandoffError, HandoffStopped.
    """
    if len(parts) == 1:
        only = parts[0]
        return hand_off.write_all(
            only.shoot,
            folder,
            choices,
            replace=replace,
            stop=stop,
            progress=progress,
            doing=partial(doing, only.song),
            wrote=wrote,
        )
    for part in parts:
        check_folder(folder / part.folder, guard_of(part.shoot))
    planned = preview_parts(parts, choices).planned
    before = earlier(folder, planned)
    if before and not replace:
        raise HandoffError(hand_off.already_there(before[0]))
    written: list[HandedOver] = []
    troubles: list[str] = []
    weights = [1 + sum(len(clip.takes) for clip in part.shoot.clips) for part in parts]
    for number, part in enumerate(parts):
        done = sum(weights[:number]) / sum(weights)
        try:
            one = hand_off.write_all(
                part.shoot,
                folder / part.folder,
                _for(part, choices),
                replace=True,
                stop=stop,
                progress=hand_off.share(progress, done, weights[number] / sum(weights)),
                doing=partial(doing, part.song),
                wrote=wrote,
            )
        except HandoffStopped:
            raise
        except HandoffError as error:
            troubles.append(_of(part, str(error)))
        else:
            written.append(one)
            troubles += [_of(part, trouble) for trouble in one.troubles]
    reports = tuple(report for one in written for report in one.reports)
    paths = {report.path for report in reports}
    return HandedOver(
        reports,
        tuple(dict.fromkeys(troubles)),
        leftovers(folder, [one for one in planned if folder / one.name in paths]),
        files=sum(one.files for one in written),
        size_bytes=sum(one.size_bytes for one in written),
    )


def _of(part: Part, sentence: str) -> str:
    """A sentence about one of several songs."""
    return f"{part.song}: {sentence}"
