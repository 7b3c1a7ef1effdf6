"""A clip on all songs of a shoot: which of them it has, and what is to be said of it as a whole."""

from collections.abc import Sequence
from typing import Protocol

from app.model.clip_verdict import of_takes
from app.model.document.verdict import Verdict
from app.model.reasons import Reason


class _Take(Protocol):
    @property
    def verdict(self) -> Verdict: ...

    @property
    def reason(self) -> Reason: ...


class _OnSong(Protocol):
    @property
    def verdict(self) -> Verdict: ...

    @property
    def reason(self) -> Reason: ...

    @property
    def takes(self) -> Sequence[_Take]: ...


def on_all_songs(clips: Sequence[_OnSong]) -> tuple[Verdict, Reason]:
    """Verdict and reason of one clip as it stands on several songs: that of its takes on any of them; without
    takes, trouble with its file or that it waits, and else that it has no song."""
    takes = [(take.verdict, take.reason) for clip in clips for take in clip.takes]
    if takes:
        return of_takes(takes)
    for verdict in (Verdict.UNREADABLE, Verdict.WAITING):
        for clip in clips:
            if clip.verdict is verdict:
                return clip.verdict, clip.reason
    return clips[0].verdict, clips[0].reason
