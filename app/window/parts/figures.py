"""The small status figures below the names of the places."""

from collections.abc import Sequence
from pathlib import Path

from app.model.coverage.coverage import coverage, unnamed_angles
from app.model.coverage.needs import NeedState, need_results
from app.model.coverage.thinness import NOT_NAMED
from app.model.document.verdict import Verdict
from app.model.on_song import SongView
from app.window.parts import words


def clips_figure(shoot: SongView) -> str:
    """How many files there are."""
    return words.count(len(shoot.clips), "file") if shoot.clips else "none yet"


def song_figure(shoot: SongView) -> str:
    """How long the song is, in bars where it has them."""
    if shoot.song is None:
        return "none yet"
    bars = len(shoot.song.map.bars_s)
    return words.count(bars, "bar") if bars else words.song_time(shoot.song.duration_s, 0)


def plan_figure(shoot: SongView) -> str:
    """How many needs are met."""
    results = need_results(shoot)
    if not results:
        return "" if shoot.song is None else "no needs yet"
    met = sum(one.state is NeedState.MET for one in results)
    return f"{met} of {len(results)} covered"


def check_figure(shoot: SongView) -> str:
    """How many takes are in doubt."""
    doubts = len(words.open_takes(shoot))
    if doubts:
        return f"{doubts} in doubt"
    return "nothing in doubt" if any(clip.takes for clip in shoot.clips) else ""


def with_other_doubts(figure: str, here: SongView, views: Sequence[SongView]) -> str:
    """The figure of Check; where nothing of this song is in doubt, how many takes of other songs are."""
    others = sum(len(words.open_takes(view)) for view in views if view.song is not here.song)
    return f"{others} in other songs" if others and not words.open_takes(here) else figure


def score_figure(shoot: SongView) -> str:
    """How many thin places there are."""
    if not any(clip.takes for clip in shoot.clips):
        return ""
    thin = sum(len(section.thin) for section in coverage(shoot))
    if words.to_be_placed(shoot):
        return f"{thin} thin so far"
    if unnamed_angles(shoot):
        return f"{thin} thin · no names yet" if thin else NOT_NAMED
    return words.count(thin, "thin place") if thin else "no thin places"


def clips_summary(shoot: SongView) -> str:
    """How many clips came to which verdict."""
    counts = {verdict: sum(clip.verdict is verdict for clip in shoot.clips) for verdict in Verdict}
    names = {
        Verdict.PLACED: "placed",
        Verdict.DOUBTFUL: "in doubt",
        Verdict.NO_SONG: "without the song",
        Verdict.UNREADABLE: "unreadable",
        Verdict.WAITING: "waiting",
    }
    return " · ".join(f"{counts[verdict]} {name}" for verdict, name in names.items() if counts[verdict])


def saved_state(path: Path | None, modified: bool, shoot: SongView) -> str:
    """How the shoot is kept."""
    if modified:
        return "● unsaved changes" if path else "● not saved yet"
    return "✓ all saved" if path else ("" if shoot == SongView() else "not saved yet")
