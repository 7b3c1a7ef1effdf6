"""A clip of several takes of which some are in doubt: each take counts by its own verdict, in every room."""

from app.handoff.layout import lay_out
from app.handoff.report import report
from app.handoff.report_text import table
from app.model.clip_verdict import clip_word
from app.model.coverage.coverage import coverage
from app.model.document.verdict import Verdict
from app.model.on_song import SongView, Take, on_song
from app.model.reasons import Reason
from tests.app.documents import document
from tests.app.random_shoots import clip, shoot

DOUBTS = (2, 5, 6)


def mixed() -> SongView:
    """Seven takes of one bar each, one after the other, three of them in doubt."""
    takes = [
        Take(f"t{n}", 10.0 * n, 10.0 * n + 2, 2.0 * n, 1.0, 0.001, Verdict.DOUBTFUL, Reason("faint"))
        if n in DOUBTS
        else Take(f"t{n}", 10.0 * n, 10.0 * n + 2, 2.0 * n, 1.0, 0.001)
        for n in range(7)
    ]
    return on_song(document(shoot(clip(1, *takes))))


def test_the_clip_says_how_many_of_its_takes_are_placed() -> None:
    (one,) = mixed().clips
    assert one.verdict is Verdict.DOUBTFUL, "somebody should look at it"
    assert clip_word(one.verdict, one.reason) == "4 of 7 placed"
    text = table(mixed())
    assert "? 4 of 7 placed" in text
    assert (text.count("● placed"), text.count("? in doubt")) == (4, 3), "each take with its own verdict"


def test_the_report_gives_each_take_its_verdict() -> None:
    told = report(mixed())["clips"][0]  # type: ignore[index]
    assert (told["verdict"], told["word"]) == ("doubtful", "4 of 7 placed")
    assert [n for n, take in enumerate(told["takes"]) if take["verdict"] == "doubtful"] == list(DOUBTS)


def test_certain_takes_cover_their_bars_and_go_to_the_tracks_that_are_on() -> None:
    view = mixed()
    bars = [bar for section in coverage(view) for bar in section.bars]
    assert [(bar.depth, len(bar.doubtful)) for bar in bars[:7]] == [
        (0, 1) if n in DOUBTS else (1, 0) for n in range(7)
    ]
    tracks = {
        track.doubtful: [one.take.song_start_s / 2 for one in track.segments]
        for track in lay_out(view).tracks
    }
    assert tracks == {False: [0, 1, 3, 4], True: list(DOUBTS)}
