"""Songs added, taken out and put in order."""

from dataclasses import replace

import pytest

from app.model.answers import Answer, answers, answers_on_all
from app.model.document.change import NOTHING, Change
from app.model.document.cut import Cut, Lock
from app.model.document.decisions import ClipRefusal, Decisions, Refusal
from app.model.document.findings import TakePlacement
from app.model.document.history import History
from app.model.document.media_ref import MediaRef
from app.model.document.plan import Need, Passage, Plan
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.document.shoot import Shoot
from app.model.document.song import Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.edits.shoot_edits import add_clips, answer_clip
from app.model.edits.song_edits import add_song, move_song, remove_song
from app.model.on_song import on_song

CLIP = MediaRef("/card/a.mov", 10, "clip")


def a_song(name: str) -> Song:
    sections = (Section("A", "Verse", 0.0, 60.0),)
    return Song(MediaRef(f"/{name}.wav", 100, name), 60.0, SongMap(sections=sections))


def two_songs() -> Shoot:
    """One clip that has both."""
    shoot = Shoot()
    for name in ("waltz", "march"):
        shoot, _ = add_song(shoot, a_song(name))
    shoot, _ = add_clips(shoot, [CLIP])
    for number, song in enumerate(shoot.songs):
        take = TakePlacement(20.0 * number, 20.0 * number + 10, 5.0)
        answer = Answer(CLIP, verdict=Verdict.PLACED, takes=(take,), song_id=song.id)
        shoot, _ = answer_clip(shoot, answer, heard_on=song.media.digest)
    return shoot


def test_a_song_is_added_once_with_an_id_of_its_own() -> None:
    shoot = two_songs()
    assert [song.id for song in shoot.songs] == ["song-1", "song-2"]
    assert shoot.songs[1].map.sections[0].id
    assert add_song(shoot, a_song("march")) == (shoot, NOTHING)
    shoot, change = add_song(shoot, a_song("polka"))
    assert Change.SONG in change
    assert on_song(shoot, "song-3").clips[0].verdict is Verdict.WAITING


def test_an_answer_goes_to_the_song_it_is_about() -> None:
    shoot = two_songs()
    (one,), (other,) = (on_song(shoot, song.id).clips[0].takes for song in shoot.songs)
    assert (one.clip_start_s, other.clip_start_s) == (0.0, 20.0)
    assert [one.song_id for one in answers_on_all(shoot)] == ["song-1", "song-2"]
    assert [one.song_id for one in answers(shoot)] == ["song-1"]
    gone = Answer(CLIP, verdict=Verdict.NO_SONG, song_id="song-9")
    assert answer_clip(shoot, gone) == (shoot, NOTHING)


def test_a_song_goes_with_all_that_is_its_own_and_comes_back_by_undo() -> None:
    shoot = two_songs()
    pieces = tuple(PlaybackPiece(song.id, 70.0 * n, 70.0 * n + 60, 0.0) for n, song in enumerate(shoot.songs))
    (clip,) = shoot.clips
    shoot = replace(
        shoot,
        decisions=Decisions(
            refusals=tuple(
                Refusal(clip.id, song.id, song.media.digest, 0.0, 3.0, "") for song in shoot.songs
            ),
            clip_refusals=(ClipRefusal(clip.id, "song-2", "march"),),
        ),
        plan=Plan(
            tuple(Need(f"need-{n}", song.id, Passage(), "voice") for n, song in enumerate(shoot.songs))
        ),
        cut=Cut(
            tuple(Lock(f"lock-{n}", song.id, Passage(), "angle-1") for n, song in enumerate(shoot.songs))
        ),
        playbacks=(PlaybackFile("playback-1", MediaRef("/p.wav", 9, "p"), 140.0, pieces),),
    )
    left, change = remove_song(shoot, "song-2")
    assert left.songs == shoot.songs[:1]
    assert {one.song_id for one in left.findings} == {"song-1"}
    assert [one.song_id for one in left.decisions.refusals] == ["song-1"]
    assert left.decisions.clip_refusals == ()
    assert [one.song_id for one in left.plan.needs] == ["song-1"]
    assert [one.song_id for one in left.cut.locks] == ["song-1"]
    assert left.playbacks[0].pieces == pieces[:1]
    assert left.clips == shoot.clips
    for part in (Change.SONG, Change.TAKES, Change.PLAN, Change.CUT, Change.PLAYBACK):
        assert part in change
    history = History(shoot)
    history.push("Remove Song", left, change)
    history.undo()
    assert history.shoot == shoot
    with pytest.raises(KeyError):
        remove_song(left, "song-2")


def test_songs_change_places() -> None:
    shoot = two_songs()
    moved, change = move_song(shoot, "song-2", 0)
    assert ([song.id for song in moved.songs], change) == (["song-2", "song-1"], Change.SONG)
    assert on_song(moved).clips[0].takes[0].clip_start_s == 20.0
    assert move_song(shoot, "song-2", 7) == (shoot, NOTHING)
