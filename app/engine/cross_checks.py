"""Recordings compared with each other, once each has been heard by itself; see `audio.shoot.consistency`.

Here the questions get what they need to be answered in another process, and the answers become clips.
"""

import logging
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from app.engine.place_recording import dealt_out, sound_again
from app.engine.probing import Looked
from app.model.answers import Answer
from audio.errors import Stopped
from audio.files.media import MediaInfo, Sound
from audio.placement.answer import Placement
from audio.placement.search import SongIndex
from audio.shoot.consistency import Doubt, Question, answer, cross_checked
from audio.shoot.run_throughs import Answered


@dataclass(frozen=True, slots=True)
class Member:
    """A recording that was heard: its files, the answers on them, and the placement of the whole."""

    files: Sequence[Looked]
    answers: Sequence[Answer]
    placement: Placement


@dataclass(frozen=True, slots=True)
class Inquiry:
    """A question with all that a process needs to answer it."""

    question: Question
    clips: Sequence[Answered]
    files: Sequence[Sequence[Looked]]
    """Of each of the clips."""
    song: str = ""
    """Key of the song that the placements are on."""


def compared(
    members: Sequence[Member], song: str, ask: Callable[[Sequence[Inquiry]], Sequence[Placement]]
) -> dict[Path, Answer]:
    """The answers on a song, by the paths of their files, that are others once all have been compared.

    Takes that were heard on a playback file are compared by their lines only: what is left of their sound
    without the song cannot be told from the song itself. ``ask`` has questions answered; what it raises goes
    through.
    """
    together = [Answered(_info(member.files), member.placement) for member in members]
    files = [member.files for member in members]

    def ask_all(questions: Sequence[Question], clips: Sequence[Answered]) -> Sequence[Placement]:
        plain = {number for number, clip in enumerate(clips) if not _by_playback(clip.placement)}
        wanted = [_among(question, plain) for question in questions]
        asked = [Inquiry(question, clips, files, song) for question in wanted if question is not None]
        found = iter(ask(asked) if asked else ())
        return [
            clips[question.clip].placement if one is None else next(found)
            for question, one in zip(questions, wanted, strict=True)
        ]

    out = {}
    for member, placement in zip(members, cross_checked(together, ask_all), strict=True):
        if placement != member.placement:
            for old, new in zip(member.answers, dealt_out(member.answers, placement), strict=True):
                if new != old:
                    out[Path(new.media.path)] = new
    return out


def _by_playback(placement: Placement) -> bool:
    return any(take.heard_on for take in placement.takes)


def _among(question: Question, plain: Collection[int]) -> Question | None:
    """A question as far as it is about these clips; None where nothing is left to ask."""
    if isinstance(question, Doubt):
        left = tuple(number for number in question.corroborators if number in plain)
        if question.clip not in plain or not left:
            return None
        simultaneous = sum(number in plain for number in question.corroborators[: question.simultaneous])
        return replace(question, corroborators=left, simultaneous=simultaneous)
    return question if {question.one[0], question.other[0]} <= set(plain) else None


def inquire(inquiry: Inquiry, index: SongIndex, *, stop: Callable[[], bool]) -> Placement:
    """Answer one question by hearing its clips again; whatever goes wrong leaves the answer there was.

    Raises Stopped only.
    """

    def sound_of(number: int) -> Sound:
        return sound_again(inquiry.files[number], stop=stop)

    try:
        if stop():
            raise Stopped("Stopped.")
        return answer(inquiry.question, inquiry.clips, sound_of, index)
    except Stopped:
        raise
    except Exception as error:
        path = inquiry.clips[inquiry.question.clip].info.path
        logging.getLogger(__name__).error("%s could not be compared", path, exc_info=error)
        return unanswered(inquiry)


def unanswered(inquiry: Inquiry) -> Placement:
    """The answer there was before the question."""
    return inquiry.clips[inquiry.question.clip].placement


def _info(files: Sequence[Looked]) -> MediaInfo:
    """What the first file of a recording tells, and the length of the whole."""
    infos = [file.info for file in files if file.info is not None]
    return replace(infos[0], duration_s=sum(info.duration_s for info in infos))
