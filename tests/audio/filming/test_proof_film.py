"""A proof film read back: the right picture in each tile, sound in step, exact length, honest words."""

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from audio.errors import Stopped
from audio.files.media import probe, read_sound
from audio.filming import proof_film
from audio.filming.film_check import check_film, sound_lag_s
from audio.filming.film_foot import Stretch
from audio.filming.proof_film import SOUND_RATE, ProofFilm, make_proof_film
from audio.filming.tiles import PLATE, Showing, TilePlan, grid, heading, letters
from tests.audio.media_files import Recipe, low_noise, make, number_in

NTSC = Fraction(30000, 1001)
SIZE = (640, 360)
NOISE = low_noise(6.0)
BARS = tuple(Stretch(n * 0.5, n * 0.5 + 0.5, f"bar {n + 1}") for n in range(12))
SECTIONS = (Stretch(0.0, 2.0, "Strophe", "A"), Stretch(2.0, 6.0, "Größe", "B"))


def noise_from(from_s: float) -> proof_film.SoundMaker:
    """Noise on both sides, of which the film hears what begins at a moment."""
    start = round(from_s * SOUND_RATE)

    def sound(first: int, count: int) -> NDArray[np.float32]:
        return np.stack([NOISE[start + first : start + first + count]] * 2, axis=1)

    return sound


def planned(*angles: TilePlan, from_s: float = 0.0, frames: int = 50, rate: Fraction = NTSC) -> ProofFilm:
    return ProofFilm(angles, SECTIONS, BARS, from_s, frames, rate, *SIZE)


def whole(path: Path, *, clip_start_s: float = 0.0, end_s: float = 6.0, speed: float = 1.0) -> TilePlan:
    return TilePlan(path.stem, (Showing(0.0, end_s, path, path.name, clip_start_s, speed),))


def frames_of(path: Path) -> list[NDArray[np.uint8]]:
    with av.open(str(path)) as file:
        return [frame.to_ndarray(format="rgb24") for frame in file.decode(video=0)]


def inside(film: ProofFilm, number: int, picture: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """What is seen in one tile, its ground left out: the picture, as far as it is brighter."""
    box = grid(len(film.angles), film.width, film.height - film.foot().lines)[number]
    tile = picture[box.y : box.y + box.height, box.x : box.x + box.width][heading(letters(film.height)) :]
    columns = np.flatnonzero(tile.mean(axis=(0, 2)) > 19.5)
    return tile[:, columns.min() : columns.max() + 1] if columns.size else tile[:, :0]


def made(tmp_path: Path, film: ProofFilm) -> tuple[list[NDArray[np.uint8]], dict[str, str]]:
    path = tmp_path / "film.part"
    troubles = make_proof_film(path, film, noise_from(film.from_s))
    left = noise_from(film.from_s)(0, film.sound_frames)[:, 0]
    assert check_film(path, film, 0.0, left) == ""
    return frames_of(path), troubles


def test_every_tile_shows_the_picture_of_the_moment(tmp_path: Path) -> None:
    """Of a constant and of a varying rate, of a start within the clip, at another speed, and turned."""
    uneven = [Fraction(n, 25) + Fraction(n % 3, 100) for n in range(150)]
    paths = [
        make(tmp_path / "even.mov", Recipe(picture_codec="libx264", b_frames=2, picture_s=6.0)),
        make(tmp_path / "uneven.mp4", Recipe(frame_times_s=uneven)),
        make(tmp_path / "turned.mov", Recipe(picture_s=6.0, rotation=180)),
        make(tmp_path / "double.mov", Recipe(picture_s=6.0, frame_rate=Fraction(50))),
    ]
    starts, speeds = [0.31, 0.0, 0.0, 0.2], [1.0, 1.00006, 1.0, 0.5]
    film = planned(
        *(
            whole(path, clip_start_s=start, speed=speed)
            for path, start, speed in zip(paths, starts, speeds, strict=True)
        ),
        from_s=1.2345,
    )
    times = [[Fraction(n, 25) for n in range(150)], uneven, [Fraction(n, 25) for n in range(150)]]
    times.append([Fraction(n, 50) for n in range(300)])
    pictures, troubles = made(tmp_path, film)
    assert troubles == {}
    assert len(pictures) == 50
    for frame, picture in enumerate(pictures):
        middle = 1.2345 + (frame + 0.5) * 1001 / 30000
        for number in range(4):
            clip_s = starts[number] + middle / speeds[number]
            shown = max(n for n, at in enumerate(times[number]) if at <= clip_s)
            part = inside(film, number, picture)[:, ::-1] if number == 2 else inside(film, number, picture)
            assert number_in(part) == shown % 10, (frame, number)


@pytest.mark.parametrize("rate", [Fraction(24000, 1001), Fraction(25), Fraction(60000, 1001), Fraction(50)])
def test_length_and_sound_are_exact(tmp_path: Path, rate: Fraction) -> None:
    clip = make(tmp_path / "clip.mov", Recipe(picture_s=1.0))
    film = planned(whole(clip), from_s=0.7, frames=61, rate=rate)
    path = tmp_path / "film.mp4"
    make_proof_film(path, film, noise_from(0.7))
    info = probe(path)
    assert (info.frame_rate, info.variable_frame_rate, info.width, info.height) == (rate, False, *SIZE)
    assert info.duration_s == pytest.approx(float(61 / rate), abs=1e-9)
    # Another way of reading than the film's own check has: the whole sound, as clips are read.
    sound = read_sound(path, SOUND_RATE)
    start = round((0.7 + sound.start_s) * SOUND_RATE)
    lags = np.arange(-200, 201)
    middle = slice(12_000, 36_000)
    found = sound.samples[0].astype(np.float64)[middle]
    likeness = [
        np.dot(found, NOISE[start + 12_000 - lag : start + 12_000 - lag + len(found)]) for lag in lags
    ]
    assert abs(lags[int(np.argmax(likeness))]) < 0.001 * SOUND_RATE
    assert sound.start_s == pytest.approx(0.0, abs=1e-9)
    with av.open(str(path)) as file:
        audio = file.streams.audio[0]
        assert audio.duration is not None
        assert audio.time_base is not None
        assert abs(float(audio.duration * audio.time_base - 61 / rate)) < 1 / SOUND_RATE + 1e-9


def test_the_check_sees_what_is_wrong(tmp_path: Path) -> None:
    clip = make(tmp_path / "clip.mov", Recipe(picture_s=1.0))
    film = planned(whole(clip))
    path = tmp_path / "film.mp4"
    make_proof_film(path, film, noise_from(0.0))
    left = NOISE[: film.sound_frames]
    assert check_film(path, film, 0.0, left) == ""
    assert sound_lag_s(path, 0.0, left) == 0.0
    late = np.concatenate([np.zeros(96, np.float32), left[:-96]])
    assert "-2.0 ms late" in check_film(path, film, 0.0, late)
    assert "not the song" in check_film(path, film, 0.0, low_noise(2.0, seed=5)[: len(left)])
    assert "instead of 51" in check_film(path, planned(whole(clip), frames=51), 0.0, left)
    assert "their times" in check_film(path, planned(whole(clip), rate=Fraction(30)), 0.0, left)


def test_colours_come_back_and_are_tagged(tmp_path: Path) -> None:
    """ITU-T H.273: 1 is BT.709 in primaries, transfer and matrix; range 1 is the library's limited one."""
    path = tmp_path / "colours.mov"
    colours = [(180, 40, 60), (30, 150, 70), (40, 60, 190)]
    with av.open(str(path), "w") as out:
        stream = out.add_stream("mjpeg", rate=25)
        assert isinstance(stream, av.VideoStream)
        stream.width, stream.height, stream.pix_fmt = 96, 96, "yuvj444p"
        picture = np.repeat(np.repeat(np.array([colours], np.uint8), 96, axis=0), 32, axis=1)
        for _ in range(25):
            out.mux(stream.encode(av.VideoFrame.from_ndarray(picture, "rgb24")))
        out.mux(stream.encode(None))
    film = planned(whole(path), frames=10)
    pictures, _ = made(tmp_path, film)
    seen = inside(film, 0, pictures[5])
    third = seen.shape[1] // 3
    for number, colour in enumerate(colours):
        found = seen[100:200, number * third + 20 : (number + 1) * third - 20].mean(axis=(0, 1))
        assert np.abs(found - colour).max() < 6, (colour, found)
    with av.open(str(tmp_path / "film.part")) as file:
        coder = file.streams.video[0].codec_context
        tags = (coder.color_primaries, coder.color_trc, coder.colorspace, coder.color_range)
        assert tags == (1, 1, 1, 1)
        assert coder.pix_fmt == "yuv420p"


def test_its_table_stands_before_its_media(tmp_path: Path) -> None:
    """ISO/IEC 14496-12: boxes have names of four letters; a player that has moov first can begin at once."""
    clip = make(tmp_path / "clip.mov", Recipe(picture_s=1.0))
    made(tmp_path, planned(whole(clip), frames=5))
    data = (tmp_path / "film.part").read_bytes()
    boxes, at = [], 0
    while at < len(data):
        boxes.append(data[at + 4 : at + 8])
        at += int.from_bytes(data[at : at + 4], "big")
    assert boxes.index(b"moov") < boxes.index(b"mdat")


def test_odd_shapes_are_whole_in_their_tile(tmp_path: Path) -> None:
    """A tall phone clip, stored lying and turned by its tag, and a picture of wide pixels."""
    tall = make(tmp_path / "tall.mov", Recipe(picture_s=2.0, size=(96, 54), rotation=90))
    wide = make(tmp_path / "wide.mov", Recipe(picture_s=2.0, size=(72, 60), pixel_shape=Fraction(2)))
    film = planned(whole(tall), whole(wide), frames=3)
    pictures, _ = made(tmp_path, film)
    for number, shape in enumerate((54 / 96, 144 / 60)):
        seen = inside(film, number, pictures[1])
        rows = np.flatnonzero(seen.mean(axis=(1, 2)) > 25)
        assert seen.shape[1] / (rows.max() - rows.min() + 1) == pytest.approx(shape, rel=0.04)


def plate_share(film: ProofFilm, number: int, picture: NDArray[np.uint8]) -> float:
    """How much of a tile is the plate behind words."""
    box = grid(len(film.angles), film.width, film.height - film.foot().lines)[number]
    tile = picture[box.y : box.y + box.height, box.x : box.x + box.width][heading(letters(film.height)) :]
    return float((np.abs(tile.astype(int) - np.array(PLATE)).max(axis=2) < 5).mean())


def test_where_there_is_no_picture_words_stand_and_the_film_goes_on(tmp_path: Path) -> None:
    good = make(tmp_path / "good.mov", Recipe(picture_s=6.0))
    broken = tmp_path / "broken.mov"
    broken.write_bytes(b"nothing of a film")
    gone = tmp_path / "gone.mov"
    angles = (
        TilePlan(
            "mixed",
            (
                Showing(0.0, 0.5, gone, "gone.mov", 0.0),
                Showing(0.5, 1.0, good, "good.mov", 0.5),
                Showing(1.0, 1.3, broken, "broken.mov", 0.0),
                Showing(1.4, 1.5, None, "sound.wav", 0.0),
            ),
        ),
        whole(good),
        TilePlan("nothing", ()),
    )
    film = planned(*angles)
    pictures, troubles = made(tmp_path, film)
    assert set(troubles) == {"gone.mov", "broken.mov"}
    assert "not there" in troubles["gone.mov"]
    for frame, picture in enumerate(pictures):
        middle = (frame + 0.5) * 1001 / 30000
        assert (plate_share(film, 0, picture) < 0.1) == (0.5 <= middle < 1.0), frame
        assert number_in(inside(film, 1, picture)) == int(middle * 25) % 10
        assert plate_share(film, 2, picture) > 0.8


def test_a_stretch_without_pictures_is_told(tmp_path: Path) -> None:
    """Two seconds are missing in the middle, as after damage, and the end: an old picture is no proof."""
    times = [Fraction(n, 25) for n in range(25)] + [3 + Fraction(n, 25) for n in range(25)]
    clip = make(tmp_path / "hole.mp4", Recipe(frame_times_s=times))
    film = planned(whole(clip), frames=60, rate=Fraction(10))
    pictures, troubles = made(tmp_path, film)
    assert set(troubles) == {"hole.mp4"}
    dark = [float(np.median(picture[120:160, 330:400].max(axis=2))) < 60 for picture in pictures]
    times_s = [(n + 0.5) / 10 for n, one in enumerate(dark) if one]
    assert all(1.9 < at < 3.0 or at > 4.9 for at in times_s)
    assert len(times_s) == 10 + 10


def test_section_bar_and_time_are_burnt_in(tmp_path: Path) -> None:
    clip = make(tmp_path / "clip.mov", Recipe(picture_s=6.0))
    film = planned(whole(clip), from_s=1.4, frames=30, rate=Fraction(25))
    foot = film.foot()
    pictures, _ = made(tmp_path, film)
    for frame in (0, 2, 3, 14, 15, 29):
        middle = 1.4 + (frame + 0.5) / 25
        wanted = np.zeros((SIZE[1], SIZE[0], 3), np.uint8)
        foot.paint(wanted, middle)
        difference = np.abs(pictures[frame][-foot.lines :].astype(int) - wanted[-foot.lines :]).mean()
        assert difference < 6, frame
    other = np.zeros((SIZE[1], SIZE[0], 3), np.uint8)
    foot.paint(other, 2.6)
    assert np.abs(pictures[0][-foot.lines :].astype(int) - other[-foot.lines :]).mean() > 6


def test_it_stops_when_told(tmp_path: Path) -> None:
    clip = make(tmp_path / "clip.mov", Recipe(picture_s=6.0))
    reported: list[float] = []
    with pytest.raises(Stopped):
        make_proof_film(
            tmp_path / "film.part",
            planned(whole(clip), frames=150),
            noise_from(0.0),
            stop=lambda: bool(reported),
            progress=reported.append,
        )
    assert len(reported) == 1


def test_the_same_film_is_the_same_bytes(tmp_path: Path) -> None:
    clip = make(tmp_path / "clip.mov", Recipe(picture_s=2.0))
    film = planned(whole(clip))
    reported: list[float] = []
    for name in ("one", "two"):
        make_proof_film(tmp_path / name, film, noise_from(0.0), progress=reported.append)
    assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes()
    half = reported[: len(reported) // 2]
    assert half == sorted(half)
    assert half[-1] == 1.0


def test_without_the_better_coder_the_other_one_does(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    known = proof_film.CODERS
    monkeypatch.setattr(proof_film, "CODERS", {"no such coder": {}, "mpeg4": known["mpeg4"]})
    clip = make(tmp_path / "clip.mov", Recipe(picture_s=2.0))
    film = planned(whole(clip))
    pictures, _ = made(tmp_path, film)
    for frame, picture in enumerate(pictures):
        assert number_in(inside(film, 0, picture)) == int((frame + 0.5) * 1001 / 30000 * 25) % 10
    with av.open(str(tmp_path / "film.part")) as file:
        assert file.streams.video[0].codec_context.name == "mpeg4"


@pytest.mark.parametrize("count", range(1, 10))
@pytest.mark.parametrize("size", [(1280, 680), (160, 90), (607, 1001)])
def test_tiles_lie_apart_and_inside(count: int, size: tuple[int, int]) -> None:
    taken = np.zeros(size[::-1], int)
    boxes = grid(count, *size)
    for box in boxes:
        assert box.width > 0
        assert box.height > 0
        assert box.x + box.width <= size[0]
        assert box.y + box.height <= size[1]
        taken[box.y : box.y + box.height, box.x : box.x + box.width] += 1
    assert taken.max() == 1
    assert len(boxes) == count
