"""Recordings compared with each other, once each has been heard by itself; see `audio.shoot.consistency`.

Here the questions get what they need to be answered in another process, and the answers become clips.
"""

import logging
from collections.abc import Callable, Sequence
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
        by_sound = [number for number, question in enumerate(questions) if _on_song_alone(question, clips)]
        asked = [Inquiry(questions[number], clips, files, song) for number in by_sound]
        found = dict(zip(by_sound, ask(asked) if asked else (), strict=True))
        return [
            found.get(number, clips[question.clip].placement) for number, question in enumerate(questions)
        ]

    out = {}
    for member, placement in zip(members, cross_checked(together, ask_all), strict=True):
        if placement != member.placement:
            for old, new in zip(member.answers, dealt_out(member.answers, placement), strict=True):
                if new != old:
                    out[Path(new.media.path)] = new
    return out


def _on_song_alone(question: Question, clips: Sequence[Answered]) -> bool:
    """Whether all clips that a question is about were heard on the song itself."""
    if isinstance(question, Doubt):
        asked = [question.clip, *question.corroborators]
    else:
        asked = [question.one[0], question.other[0]]
    return not any(take.heard_on for number in asked for take in clips[number].placement.takes)


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
