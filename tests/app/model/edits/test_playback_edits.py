"""Playback files: added, found again, corrected by hand, removed."""

from dataclasses import replace

import pytest

from app.model.document.change import NOTHING, Change
from app.model.document.media_ref import MediaRef
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.edits.playback_edits import (
    add_playbacks,
    correct_piece,
    find_pieces,
    forget_hand,
    remove_playback,
    set_note,
    set_pieces,
)

PIECE = PlaybackPiece("song-1", 4.0, 104.0, 0.0, 1.25, 0.003)


def file(name: str = "fast.wav", *pieces: PlaybackPiece) -> PlaybackFile:
    return PlaybackFile("", MediaRef(f"/set/{name}", 1000, name), 110.0, pieces or (PIECE,), pitch_kept=True)


@pytest.fixture
def shoot() -> Shoot:
    song = Song(MediaRef("/set/song.wav", 5, "song"), 125.0, id="song-1")
    shoot, change = add_playbacks(Shoot(songs=(song,)), [file()])
    assert change == Change.PLAYBACK
    return shoot


def test_files_get_ids_of_their_own(shoot: Shoot) -> None:
    shoot, _ = add_playbacks(shoot, [file("slow.wav")])
    assert [one.id for one in shoot.playbacks] == ["playback-1", "playback-2"]
    shoot, change = remove_playback(shoot, ["playback-1"])
    assert change == Change.PLAYBACK
    assert [one.id for one in shoot.playbacks] == ["playback-2"]
    with pytest.raises(KeyError):
        remove_playback(shoot, ["playback-1"])
    assert remove_playback(shoot, [])[1] == NOTHING


def test_the_same_file_added_again_takes_its_own_place(shoot: Shoot) -> None:
    assert add_playbacks(shoot, [file()])[1] == NOTHING
    shoot, _ = set_note(shoot, "playback-1", "  from B ")
    moved = replace(file(), media=MediaRef("/elsewhere/fast.wav", 1000, "fast.wav"))
    better = replace(moved, pieces=(replace(PIECE, uncertainty_s=0.001),))
    shoot, change = add_playbacks(shoot, [better])
    assert change == Change.PLAYBACK
    [one] = shoot.playbacks
    assert (one.id, one.note, one.media) == ("playback-1", "from B", moved.media)
    assert one.pieces == better.pieces


def test_a_file_written_over_another_takes_its_place(shoot: Shoot) -> None:
    shoot, _ = correct_piece(shoot, "playback-1", 0, 1.5, 1.2)
    over = replace(file("again.wav"), media=MediaRef("/set/fast.wav", 900, "again"), made=True, note="all")
    shoot, change = add_playbacks(shoot, [over, file("slow.wav")])
    assert change == Change.PLAYBACK
    assert [(one.id, one.media.digest) for one in shoot.playbacks] == [
        ("playback-1", "again"),
        ("playback-2", "slow.wav"),
    ]
    assert (shoot.playbacks[0].pieces, shoot.playbacks[0].by_hand) == ((PIECE,), False)
    # What lies there by now is not the same as what lay there before.
    assert add_playbacks(shoot, [over])[1] == NOTHING


def test_a_piece_corrected_by_hand_stays(shoot: Shoot) -> None:
    shoot, change = correct_piece(shoot, "playback-1", 0, 1.5, 1.2)
    assert change == Change.PLAYBACK
    [one] = shoot.playbacks
    assert one.by_hand
    assert one.pieces == (replace(PIECE, song_start_s=1.5, speed=1.2, uncertainty_s=0.0),)
    assert correct_piece(shoot, "playback-1", 0, 1.5, 1.2)[1] == NOTHING
    # Neither a new search nor adding the file again undoes it.
    assert find_pieces(shoot, file())[1] == NOTHING
    assert add_playbacks(shoot, [file()])[0].playbacks[0].pieces == one.pieces
    shoot, _ = forget_hand(shoot, "playback-1")
    shoot, change = find_pieces(shoot, file())
    assert change == Change.PLAYBACK
    assert shoot.playbacks[0].pieces == (PIECE,)


@pytest.mark.parametrize(("start_s", "speed"), [(0.0, 0.0), (0.0, 99.0), (125.0, 1.0), (-130.0, 1.25)])
def test_corrections_that_cannot_be(shoot: Shoot, start_s: float, speed: float) -> None:
    with pytest.raises(ValueError, match=r"\.$"):
        correct_piece(shoot, "playback-1", 0, start_s, speed)


def test_corrections_of_what_is_not_there(shoot: Shoot) -> None:
    for name, number in (("playback-9", 0), ("playback-1", 1), ("playback-1", -1)):
        with pytest.raises(KeyError):
            correct_piece(shoot, name, number, 0.0, 1.0)


def test_pieces_are_set_in_the_order_of_the_file(shoot: Shoot) -> None:
    first, second = replace(PIECE, end_s=40.0), replace(PIECE, start_s=50.0, song_start_s=60.0)
    shoot, _ = set_pieces(shoot, "playback-1", [second, first])
    assert shoot.playbacks[0].pieces == (first, second)
    assert shoot.playbacks[0].by_hand
    assert set_pieces(shoot, "playback-1", [first, second])[1] == NOTHING
    for wrong in (
        replace(PIECE, start_s=30.0, end_s=60.0),
        replace(PIECE, start_s=41.0, end_s=41.0),
        replace(PIECE, start_s=90.0, end_s=140.0),
        replace(PIECE, start_s=60.0, end_s=90.0, speed=-1.0),
    ):
        with pytest.raises(ValueError, match=r"\.$"):
            set_pieces(shoot, "playback-1", [first, wrong])
    with pytest.raises(KeyError):
        set_pieces(shoot, "playback-1", [replace(PIECE, song_id="song-4")])
