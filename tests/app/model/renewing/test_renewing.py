"""The next master: what lives on is carried to where it is now, the rest is kept and told; undo works."""

from dataclasses import replace

import pytest

from app.model.answers import Answer
from app.model.coverage.coverage import coverage
from app.model.document.change import NOTHING
from app.model.document.clip import FileFacts
from app.model.document.decisions import Action
from app.model.document.findings import LagPoint, Rival, TakePlacement
from app.model.document.history import History
from app.model.document.masters import MasterPiece
from app.model.document.media_ref import MediaRef
from app.model.document.plan import Need, Passage, Plan, SetUp
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.document.shoot import Shoot
from app.model.document.song import LyricLine, Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.edits import deciding, shoot_edits
from app.model.edits.cut_edits import add_lock
from app.model.edits.pins import pin
from app.model.edits.renewing import renew
from app.model.on_song import on_song
from app.model.reasons import sentence

AT = "2031-05-04T18:20:00Z"
OLD = MediaRef("/songs/mix1.wav", 1, "old")
CLIP = MediaRef("/cards/fiddle.mov", 1, "clip")
NEXT = MediaRef("/songs/mix2.wav", 2, "next")
# Verse 0–20 s, chorus 20–40, solo 40–60, chorus 60–80: ten bars of two seconds each.
SONG = Song(
    OLD,
    80.0,
    SongMap(
        tempo_bpm=120.0,
        beats_s=tuple(0.5 * n for n in range(160)),
        bars_s=tuple(2.0 * n for n in range(40)),
        sections=(
            Section("A", "Verse", 0.0, 20.0, "A", id="section-1"),
            Section("B", "Chorus", 20.0, 40.0, "B", id="section-2"),
            Section("C", "Solo", 40.0, 60.0, "C", id="section-3"),
            Section("D", "Chorus", 60.0, 80.0, "B", id="section-4"),
        ),
        downbeats_s=(20.0,),
        edges_s=(20.0, 40.0),
    ),
    lyrics=(LyricLine("over the water", 21.0, 23.0), LyricLine("without words", 45.0)),
)


def next_master(duration_s: float) -> Song:
    """What the machine found in it: one section, bars a little off."""
    bars = tuple(0.3 + 2.0 * n for n in range(int(duration_s // 2)))
    return Song(NEXT, duration_s, SongMap(119.0, bars, bars, (Section("A", "Part", 0.0, duration_s),)))


def shoot() -> Shoot:
    """A clip of the whole song, found and confirmed; another of the solo, found and undecided."""
    new = Shoot("Evening", songs=(SONG,))
    solo = MediaRef("/cards/solo.mov", 1, "solo")
    new, _ = shoot_edits.add_clips(new, [CLIP, solo])
    whole = TakePlacement(
        5.0, 85.0, 0.0, rivals=(Rival(40.0, 0.4),), lags=(LagPoint(10.0, 0.001, 9.0),), uncertainty_s=0.001
    )
    new, _ = shoot_edits.answer_clip(
        new, Answer(CLIP, FileFacts(90.0), verdict=Verdict.PLACED, takes=(whole,))
    )
    part = TakePlacement(0.0, 12.0, 44.0, verdict=Verdict.PLACED)
    new, _ = shoot_edits.answer_clip(
        new, Answer(solo, FileFacts(12.0), verdict=Verdict.PLACED, takes=(part,))
    )
    plan = Plan(
        needs=(
            Need("need-1", "song-1", Passage(section_id="section-3"), "fiddle"),
            Need("need-2", "song-1", Passage(first_bar=31, last_bar=34), "drums"),
        ),
        set_ups=(SetUp("set-up-1", "song-1", "Hands", ("hands",), Passage(section_id="section-3")),),
    )
    piece = PlaybackPiece("song-1", 0.0, 40.0, 0.0, 2.0)
    return replace(
        new,
        plan=plan,
        playbacks=(PlaybackFile("playback-1", MediaRef("/p.wav", 1, "p"), 40.0, (piece,)),),
    )


def cut_out(low_s: float, high_s: float) -> list[MasterPiece]:
    return [MasterPiece(0.0, low_s, 0.0), MasterPiece(high_s, 80.0, low_s)]


def test_a_longer_lead_in_moves_everything() -> None:
    before = shoot()
    after, _ = renew(before, next_master(84.0), [MasterPiece(0.0, 80.0, 4.0)], AT)
    view = on_song(after)
    assert [clip.takes[0].song_start_s for clip in view.clips] == [4.0, 48.0]
    # What the machine found is to be heard again.
    assert {clip.takes[0].verdict for clip in view.clips} == {Verdict.DOUBTFUL}
    assert sentence(view.clips[0].takes[0].reason).startswith("Carried over")
    assert view.clips[0].takes[0].rivals[0].song_start_s == 44.0
    assert view.song is not None
    song_map = view.song.map
    assert [(one.name, one.start_s, one.end_s) for one in song_map.sections] == [
        ("Part", 0.0, 4.0),
        ("Verse", 4.0, 24.0),
        ("Chorus", 24.0, 44.0),
        ("Solo", 44.0, 64.0),
        ("Chorus", 64.0, 84.0),
    ]
    assert [one.id for one in song_map.sections[1:]] == [f"section-{n}" for n in range(1, 5)]
    assert song_map.downbeats_s == (24.0,)
    assert {4.0 + 2.0 * n for n in range(40)} <= set(song_map.bars_s)
    assert view.song.lyrics[0].start_s == 25.0
    assert after.plan.needs[0] == before.plan.needs[0]
    # Bars 31 to 34 lay at 60 s; they are where 64 s is now.
    bars = after.plan.needs[1].passage
    assert song_map.bars_s[bars.first_bar - 1] == 64.0
    assert bars.last_bar - bars.first_bar == 3
    assert after.playbacks[0].pieces[0].song_start_s == 4.0
    (earlier,) = after.masters
    assert (earlier.media, earlier.at, earlier.left) == (OLD, AT, ())
    coverage(view)


def test_a_cut_splits_takes_and_keeps_what_has_no_place() -> None:
    before, _ = deciding.confirm_take(shoot(), on_song(shoot()).clips[0].takes[0].id, AT)
    before, _ = add_lock(before, "song-1", Passage(section_id="section-3"), before.angles[0].id)
    after, _ = renew(before, next_master(60.0), cut_out(40.0, 60.0), AT)
    view = on_song(after)
    first, second = view.clips[0].takes
    assert (first.clip_start_s, first.clip_end_s, first.song_start_s) == (5.0, 45.0, 0.0)
    assert (second.clip_start_s, second.clip_end_s, second.song_start_s) == (65.0, 85.0, 40.0)
    assert first.id != second.id
    # A person confirmed it: both parts stay confirmed.
    assert {first.verdict, second.verdict} == {Verdict.PLACED}
    assert first.decided is not None
    assert first.decided.action is Action.CONFIRMED
    # The clip of the solo has no place any more; nor have the need, the set-up, the lock and the section.
    assert view.clips[1].verdict is Verdict.NO_SONG
    (earlier,) = after.masters
    kinds = sorted(one.kind for one in earlier.left)
    assert kinds == ["lock", "lyric", "need", "section", "set-up", "take", "take"]
    lost = [one for one in earlier.left if one.take is not None and one.take.decided is not None]
    assert [(one.old_start_s, one.old_end_s) for one in lost] == [(40.0, 60.0)]
    assert [need.id for need in after.plan.needs] == ["need-2"]
    assert after.plan.needs[0].passage == Passage(first_bar=21, last_bar=24)
    assert [one.name for one in after.songs[0].map.sections] == ["Verse", "Chorus", "Chorus"]
    assert [(p.start_s, p.end_s, p.song_start_s) for p in after.playbacks[0].pieces] == [
        (0.0, 20.0, 0.0),
        (30.0, 40.0, 40.0),
    ]


@pytest.mark.parametrize("edge_s", [20.0, 20.0004, 19.9996])
def test_a_chorus_that_comes_again_is_a_section_of_its_own(edge_s: float) -> None:
    pieces = [
        MasterPiece(0.0, 40.0, 0.0),
        MasterPiece(edge_s, 40.0, 20.0 + edge_s, again=True),
        MasterPiece(40.0, 80.0, 60.0),
    ]
    after, _ = renew(shoot(), next_master(100.0), pieces, AT)
    view = on_song(after)
    assert view.song is not None
    assert [one.name for one in view.song.map.sections] == ["Verse", "Chorus", "Chorus", "Solo", "Chorus"]
    ids = [one.id for one in view.song.map.sections]
    assert len(set(ids)) == 5
    assert ids[:2] == ["section-1", "section-2"]
    assert len({one.letter for one in view.song.map.sections}) == 5
    assert len(view.song.map.bars_s) == 50
    # Each moment of a clip has one place: the first.
    takes = view.clips[0].takes
    assert [(one.song_start_s, round(one.song_end_s, 6)) for one in takes] == [(0.0, 40.0), (60.0, 100.0)]


def test_a_faster_master_changes_every_speed() -> None:
    before, _ = pin(shoot(), "clip-2", on_song(shoot()).clips[1].takes[0].id, 0.0, 44.0, AT)
    speed = 1 / 1.003
    after, _ = renew(before, next_master(80 * speed), [MasterPiece(0.0, 80.0, 0.0, speed, 0.0005)], AT)
    view = on_song(after)
    take = view.clips[0].takes[0]
    assert take.speed == pytest.approx(speed)
    assert take.song_end_s == pytest.approx(80 * speed)
    assert take.uncertainty_s == pytest.approx(0.00112, abs=1e-5)
    assert view.clips[1].takes[0].pins[0].song_s == pytest.approx(44.0 * speed)
    assert view.song is not None
    assert view.song.map.tempo_bpm == pytest.approx(120 / speed)


def test_undo_brings_all_back_and_what_is_another_song_is_told() -> None:
    before = shoot()
    history = History(before)
    history.push("Renew", *renew(before, next_master(60.0), cut_out(40.0, 60.0), AT))
    history.undo()
    assert history.shoot == before
    with pytest.raises(ValueError, match="another song"):
        renew(before, next_master(60.0), [], AT)
    assert renew(before, SONG, [MasterPiece(0.0, 80.0, 0.0)], AT) == (before, NOTHING)


def test_another_song_of_the_shoot_is_left_alone() -> None:
    other = replace(SONG, media=MediaRef("/songs/air.wav", 1, "air"), id="song-2")
    before = replace(shoot(), songs=(other, SONG))
    after, _ = renew(before, next_master(60.0), cut_out(40.0, 60.0), AT, "song-1")
    assert after.songs[0] == other
    assert after.songs[1].media == NEXT
