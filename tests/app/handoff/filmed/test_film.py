"""The proof film of a shoot: which take is seen where, what is told, and the sample shoot's film analysed."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from scipy.signal import resample_poly

from app.engine.watching import Proxies
from app.handoff.filmed.film import Film, FilmPlan, FilmSound, bars_s, is_ours, plan, to_engine, write
from app.handoff.outcome import HandoffError, HandoffReport, HandoffStopped
from app.model.document.angle import Angle
from app.model.document.decisions import Decision
from app.model.document.identity import media_ref
from app.model.document.media_ref import MediaRef
from app.model.document.song import Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from audio.files.media import probe
from audio.play.sound_piece import SourceChannel, read_piece
from audio.progress import never, no_progress
from tests.app.handoff.film_flashes import flashes
from tests.app.random_shoots import sensible_shoots
from tests.app.window.sample_truth import MEDIA, true_shoot
from tests.audio.media_files import Recipe, low_noise, make

BARS = tuple(n * 2.0 for n in range(20))


def shoot(*takes: tuple[str, Take], **changes: object) -> SongView:
    """A song of 40 s in bars of 2 s; takes by the name of their angle, each in a clip of its own."""
    names = list(dict.fromkeys(name for name, _ in takes))
    clips = tuple(
        Clip(
            f"c{n}",
            MediaRef(f"/nowhere/{name} {n}.mov", 1, str(n)),
            name,
            100.0,
            Fraction(25),
            verdict=take.verdict,
            takes=(take,),
        )
        for n, (name, take) in enumerate(takes)
    )
    song = Song(MediaRef("/nowhere/song.wav", 1, "song"), 40.0, SongMap(120.0, (), BARS))
    return replace(SongView("S", song, tuple(Angle(name, name) for name in names), clips), **changes)  # type: ignore[arg-type]


def take(name: str, first: float, last: float, **more: object) -> Take:
    """A take from one song time to another, 5 s into its clip."""
    return replace(Take(name, 5.0, 5.0 + last - first, first), **more)  # type: ignore[arg-type]


def seen(planned: FilmPlan, row: int = 0) -> list[tuple[str, float, float]]:
    return [(one.take.id, one.start_s, one.end_s) for one in planned.rows[row].seen]


def test_the_longest_of_those_that_run_is_seen_until_it_ends() -> None:
    made = shoot(
        ("Fiddle", take("short", 0, 10)), ("Fiddle", take("long", 0, 20)), ("Fiddle", take("late", 8, 38))
    )
    planned = plan(made, Film())
    assert seen(planned) == [("long", 0, 20), ("late", 20, 38)]
    assert "Fiddle 0.mov: not shown, because another take of its angle runs there." in planned.lines
    assert "Fiddle: nothing in bar 20." in planned.lines
    assert made.song is not None
    bare = replace(made, song=replace(made.song, map=SongMap()))
    assert not any("nothing in" in line for line in plan(bare, Film()).lines)
    # A part of the song shows what the whole film shows there.
    assert seen(plan(made, Film(from_s=9, to_s=21))) == [("long", 9, 20), ("late", 20, 21)]


def test_what_a_person_agreed_to_is_seen_first() -> None:
    agreed = take("agreed", 0, 10, decision=Decision.CONFIRMED)
    made = shoot(("Fiddle", take("long", 0, 30)), ("Fiddle", agreed))
    assert seen(plan(made, Film())) == [("agreed", 0, 10), ("long", 10, 30)]


def test_doubtful_takes_stay_out() -> None:
    unsure = take("unsure", 0, 30, verdict=Verdict.DOUBTFUL)
    made = shoot(("Fiddle", unsure), ("Fiddle", take("sure", 10, 20)))
    planned = plan(made, Film())
    assert seen(planned) == [("sure", 10, 20)]
    assert "Fiddle 0.mov: not shown, because it is in doubt. Check it first." in planned.lines


def test_a_take_is_seen_only_within_its_clip_and_the_song() -> None:
    early = Take("early", 0.0, 30.0, -10.0)
    past = replace(take("past", 30, 60), clip_end_s=35.0)
    assert seen(plan(shoot(("A", early), ("A", past)), Film())) == [("early", 0, 20), ("past", 30, 40)]


def test_angles_safeties_last_and_no_more_than_nine() -> None:
    takes = [(f"Angle {n}", take(f"t{n}", 0, 10 + n)) for n in range(11)]
    made = shoot(*takes, ("Empty", Take("none", 0.0, 1.0, 90.0)))
    angles = tuple(replace(one, safety=one.id == "Angle 5") for one in made.angles)
    planned = plan(replace(made, angles=angles), Film())
    assert [row.angle.id for row in planned.rows] == [f"Angle {n}" for n in (2, 3, 4, 6, 7, 8, 9, 10, 5)]
    assert sum("at most 9 angles" in line for line in planned.lines) == 2
    assert "Empty: not in this film, because it shows nothing in this part of the song." in planned.lines
    assert [row.angle.id for row in plan(made, Film(angle_ids=("Angle 7", "Angle 0"))).rows] == [
        "Angle 7",
        "Angle 0",
    ]


def test_sound_alone_is_a_tile_only_where_it_was_chosen() -> None:
    made = shoot(("Fiddle", take("f", 0, 30)), ("Recorder", take("r", 0, 40)))
    clips = (made.clips[0], replace(made.clips[1], frame_rate=None))
    made = replace(made, clips=clips)
    assert [row.angle.id for row in plan(made, Film()).rows] == ["Fiddle"]
    assert [row.angle.id for row in plan(made, Film(angle_ids=("Recorder", "Fiddle"))).rows] == [
        "Recorder",
        "Fiddle",
    ]


@pytest.mark.parametrize(
    ("film", "words"),
    [
        (Film(from_s=50), "shorter than a frame"),
        (Film(from_s=10, to_s=10), "shorter than a frame"),
        (Film(from_s=35), "No take is placed"),
        (Film(rate=Fraction(1000)), "fps cannot be made"),
        (Film(width=10), "cannot be made"),
        (Film(height=10_000), "cannot be made"),
        (Film(angle_ids=("Nobody",)), "no angle 'Nobody'"),
        (Film(angle_ids=tuple(f"a{n}" for n in range(10))), "no angle 'a0'"),
        (Film(sound=FilmSound.EARS), "a single angle"),
    ],
)
def test_a_wish_that_makes_no_sense_gets_a_sentence(film: Film, words: str) -> None:
    made = shoot(("Fiddle", take("f", 0, 30)), ("Drums", take("d", 0, 30)))
    with pytest.raises(HandoffError, match=words):
        plan(made, film)


def test_more_than_nine_chosen_are_refused_and_a_song_is_needed() -> None:
    made = shoot(*((f"{n}", take(f"t{n}", 0, 10)) for n in range(10)))
    with pytest.raises(HandoffError, match="9 angles at most"):
        plan(made, Film(angle_ids=tuple(f"{n}" for n in range(10))))
    with pytest.raises(HandoffError, match="no song"):
        plan(replace(made, song=None), Film())
    with pytest.raises(HandoffError, match="no bar 90"):
        bars_s(made, 90, 95)
    assert bars_s(made, 4, 2) == (2.0, 8.0)


def test_frames_fill_the_range_to_the_nearest_and_rates_stay_within_what_eyes_need() -> None:
    made = shoot(("Fiddle", take("f", 0, 40)))
    planned = plan(made, Film(from_s=1.0, to_s=3.0, rate=Fraction(24000, 1001)))
    assert (planned.frames, planned.seconds) == (48, pytest.approx(48 * 1001 / 24000))
    fast = replace(made, clips=(replace(made.clips[0], frame_rate=Fraction(240000, 1001)),))
    assert plan(fast, Film()).rate == Fraction(60000, 1001)
    assert plan(made, Film(width=1281, height=721)).width == 1280


@given(sensible_shoots())
def test_tiles_show_every_moment_that_a_take_shows_and_nothing_twice(made: SongView) -> None:
    try:
        planned = plan(made, Film())
    except HandoffError:
        return
    for row in planned.rows:
        for one, following in pairwise(row.seen):
            assert one.end_s <= following.start_s + 1e-9
        for one in row.seen:
            assert 0 <= one.start_s < one.end_s <= planned.seconds + 1 / float(planned.rate)
            first, last = one.take.clip_time(one.start_s), one.take.clip_time(one.end_s)
            assert first > max(0.0, one.take.clip_start_s) - 1e-4
            assert last < min(one.take.clip_end_s, one.clip.duration_s) + 1e-4
        shown_s = sum(one.end_s - one.start_s for one in row.seen)
        clips = [clip for clip in made.clips if clip.angle_id == row.angle.id]
        for clip in clips:
            for take in clip.takes:
                if take.verdict is Verdict.PLACED:
                    begin_s = max(0.0, take.song_time(max(0.0, take.clip_start_s)))
                    end_s = min(take.song_time(min(take.clip_end_s, clip.duration_s)), planned.seconds)
                    assert shown_s > end_s - begin_s - 1e-3


def written(
    made: SongView, path: Path, film: Film, *, stop: Callable[[], bool] = never
) -> tuple[HandoffReport, FilmPlan]:
    return write(made, path, film, stop=stop, progress=no_progress), plan(made, film)


@pytest.mark.parametrize(
    ("film", "beats"),
    [
        (Film(from_s=34.0, to_s=42.0, width=720, height=406, rate=Fraction(30)), 5),
        (Film(from_s=70.0, to_s=78.0, width=720, height=406, rate=Fraction(50)), 4),
    ],
)
def test_in_every_tile_of_the_sample_shoot_the_lamp_lights_on_the_beat(
    tmp_path: Path, film: Film, beats: int
) -> None:
    """To the very frame: the first one of the film whose middle lies in the lit frame of the clip."""
    made = true_shoot()
    path = tmp_path / "film.mp4"
    report, planned = written(made, path, film)
    assert film.rate is not None
    assert probe(path).duration_s == pytest.approx(planned.seconds, abs=1e-9)
    assert report.takes == planned.takes
    told = flashes(path, planned, to_engine(made.song, planned, Proxies()))  # type: ignore[arg-type]
    assert len(told) == beats
    for name, one in told.items():
        assert one.wanted <= one.found, name
        assert one.found <= one.wanted | one.left_out, name
        assert len(one.wanted) > 10
        if one.rate <= film.rate:
            assert len(one.wanted) == one.beats, name
        # The lit frame of the clip holds the beat; the film's frame begins less than half of its own length
        # before or after it.
        frame_s, clip_frame_s = 1 / float(film.rate), 1 / float(one.rate)
        assert one.errors_s.min() > -clip_frame_s - 1e-4, name
        assert one.errors_s.max() < frame_s + 1e-4, name


def test_its_sound_is_the_song_to_a_sample(tmp_path: Path) -> None:
    """Held against another decoder's reading of the song (libsndfile), at three places of the film."""
    made = true_shoot()
    path = tmp_path / "film.mp4"
    written(made, path, Film(angle_ids=(made.angles[0].id,), from_s=20.5, to_s=33.0, width=160, height=160))
    native, native_rate = soundfile.read(MEDIA / "song.ogg")
    rate = 48000
    song = resample_poly(native[:, 0], 160, 147)
    assert native_rate * 160 == rate * 147
    for at_s in (0.5, 5.0, 11.0):
        piece = read_piece(path, SourceChannel(0, 0, 0.0), at_s, at_s + 1.0, rate)
        heard = piece.samples[rate // 10 : rate].astype(np.float64)
        first = round((20.5 + piece.start_s) * rate) + rate // 10
        lags = range(-100, 101)
        likeness = [np.dot(heard, song[first + lag : first + lag + len(heard)]) for lag in lags]
        assert abs(lags[int(np.argmax(likeness))]) < 0.001 * rate


def test_song_left_and_take_right(tmp_path: Path) -> None:
    """The take's own sound comes on the right where the song has it, across two takes of the angle."""
    rate, song, room = 48000, low_noise(8.0, seed=3), low_noise(12.0, seed=4)
    soundfile.write(tmp_path / "song.wav", song, rate)
    (tmp_path / "clips").mkdir()
    clip = make(tmp_path / "clips" / "clip.mov", Recipe(tracks=(room,), picture_s=12.0))
    takes = (Take("one", 1.0, 4.0, 0.0), Take("two", 6.0, 9.5, 4.0))
    made = SongView(
        "S",
        Song(media_ref(tmp_path / "song.wav"), 8.0),
        (Angle("a", "Größe"),),
        (
            Clip(
                "c",
                media_ref(clip),
                "a",
                12.0,
                Fraction(25),
                verdict=Verdict.PLACED,
                takes=takes,
            ),
        ),
    )
    path = tmp_path / "film.mp4"
    written(made, path, Film(sound=FilmSound.EARS, width=160, height=160, from_s=0.5))
    for channel, at_s, expected in (
        (0, 1.0, song[round(1.5 * rate) :]),
        (1, 1.0, room[round(2.5 * rate) :]),
        (1, 5.0, room[round(7.5 * rate) :]),
    ):
        piece = read_piece(path, SourceChannel(0, channel, 0.0), at_s, at_s + 1.0, rate)
        skip = round((at_s - piece.start_s) * rate)
        heard = piece.samples[skip : skip + rate].astype(np.float64)
        likeness = [
            np.dot(heard[100:-100], expected[100 + lag : rate - 100 + lag]) for lag in range(-99, 100)
        ]
        assert abs(int(np.argmax(likeness)) - 99) <= 1, (channel, at_s)
    silent = read_piece(path, SourceChannel(0, 1, 0.0), 2.9, 3.2, rate)
    skip = round((3.05 - silent.start_s) * rate)
    assert np.abs(silent.samples[skip : skip + rate // 10]).max() < 0.01


def small(tmp_path: Path, **more: object) -> SongView:
    """The sample shoot's song and two angles of it, one of them gone."""
    made = true_shoot()
    clips = [clip for clip in made.clips if Path(clip.media.path).name in ("P0230.MP4", "O0009.MP4")]
    gone = replace(clips[1], media=replace(clips[1].media, path=str(tmp_path / "clips" / "gone.mp4")))
    return replace(made, clips=(clips[0], gone))


SHORT = Film(from_s=20.0, to_s=21.0, width=320, height=180)


def test_a_missing_file_is_told_and_the_film_goes_on(tmp_path: Path) -> None:
    report, planned = written(small(tmp_path), tmp_path / "film.mp4", SHORT)
    assert len(planned.rows) == 2
    assert any("gone.mp4 is missing" in line for line in planned.lines)
    assert any(line.startswith("gone.mp4") and "not there" in line for line in report.lines)
    assert [one.name for one in tmp_path.iterdir()] == ["film.mp4"]


def test_stopped_or_failed_it_leaves_what_was_there(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    path.write_bytes(b"an older film")
    assert not is_ours(path)
    assert not is_ours(tmp_path / "none.mp4")
    told: list[float] = []
    with pytest.raises(HandoffStopped):
        write(
            small(tmp_path),
            path,
            replace(SHORT, to_s=25.0),
            stop=lambda: bool(told),
            progress=told.append,
        )
    made = small(tmp_path)
    assert made.song is not None
    silent = replace(made.song, media=MediaRef(str(tmp_path / "none.wav"), 1, "x"))
    with pytest.raises(HandoffError, match=r"could not be made.*is missing"):
        written(replace(made, song=silent), path, SHORT)
    assert path.read_bytes() == b"an older film"
    assert [one.name for one in tmp_path.iterdir()] == ["film.mp4"]
    with pytest.raises(HandoffError, match="could not be written"):
        written(made, tmp_path / "no folder" / "film.mp4", SHORT)


def test_the_same_shoot_is_the_same_bytes(tmp_path: Path) -> None:
    for name in ("one.mp4", "two.mp4"):
        written(small(tmp_path), tmp_path / name, SHORT)
    assert (tmp_path / "one.mp4").read_bytes() == (tmp_path / "two.mp4").read_bytes()
    assert is_ours(tmp_path / "one.mp4")
    assert not is_ours(Path(true_shoot().clips[0].media.path))


def test_a_proxy_is_taken_where_it_has_enough_lines(tmp_path: Path) -> None:
    made = small(tmp_path)
    song = made.song
    assert song is not None
    proxies = Proxies(tmp_path / "cache")
    # A proxy goes by size and digest, so that of a short film serves here.
    media = replace(made.clips[0].media, path=str(make(tmp_path / "clip.mov", Recipe(picture_s=0.2))))
    target = proxies.make(replace(made.clips[0], media=media), stop=never, progress=no_progress)
    for width, path in ((1280, target), (1920, Path(made.clips[0].media.path))):
        engine = to_engine(song, plan(made, replace(SHORT, width=width, height=1080)), proxies)
        assert [one.path for one in engine.angles[0].showings] == [path]
