"""Clips that are placed once more for the sake of playback files."""

from dataclasses import replace

from app.model.document.media_ref import MediaRef
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, Take
from app.window.work.heard_again import heard_again


def clip(name: str, verdict: Verdict, playback_id: str = "") -> Clip:
    takes = (Take(name, 0.0, 9.0, 0.0, playback_id=playback_id),) if verdict is Verdict.PLACED else ()
    return replace(Clip(name, MediaRef(name, 1, name), "angle-1"), verdict=verdict, takes=takes)


def test_what_a_file_may_change_is_placed_once_more() -> None:
    one = PlaybackFile("playback-1", MediaRef("/a", 1, "a"), 60.0, (PlaybackPiece("song-1", 0.0, 60.0, 0.0),))
    other = replace(one, id="playback-2", media=MediaRef("/b", 1, "b"))
    moved = replace(one, pieces=(replace(one.pieces[0], song_start_s=0.1),))
    clips = [
        clip("heard", Verdict.PLACED, "playback-1"),
        clip("song", Verdict.PLACED),
        clip("doubt", Verdict.DOUBTFUL),
        clip("none", Verdict.NO_SONG),
        clip("broken", Verdict.UNREADABLE),
    ]
    assert heard_again([], [one], clips) == {"doubt", "none"}
    assert heard_again([one], [one], clips) == set()
    assert heard_again([one, other], [replace(one, note="loud"), other], clips) == set()
    assert heard_again([one, other], [moved, other], clips) == {"heard", "doubt", "none"}
    assert heard_again([one, other], [one], clips) == set()
