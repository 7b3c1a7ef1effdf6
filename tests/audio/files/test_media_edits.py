"""Clips that do not begin where their media begin: edit lists, cuts inside a group of pictures."""

import struct
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from audio.files.edit_lists import Part, iso_tracks
from audio.files.frame_images import pictures_at
from audio.files.media import probe, read_sound
from tests.audio.files.test_media import SOURCE, lag, source_starts_s
from tests.audio.media_files import SOUND_RATE, Recipe, low_noise, make, number_in

SECONDS = 3.0
RATE = Fraction(25)


def trimmed(path: Path, start: Fraction, source: Path) -> Path:
    """Packets copied from the key frame before ``start`` on, with an edit list that begins at ``start``."""
    with av.open(str(source)) as clip, av.open(str(path), "w", options={"movie_timescale": "48000"}) as out:
        streams = {
            one.index: out.add_stream_from_template(one) for one in (*clip.streams.video, *clip.streams.audio)
        }
        picture = clip.streams.video[0]
        assert picture.time_base is not None
        clip.seek(round(start / picture.time_base), stream=picture)
        for packet in clip.demux(*clip.streams.video, *clip.streams.audio):
            if packet.size == 0:
                continue
            shift = round(start / packet.time_base)
            assert packet.pts is not None
            assert packet.dts is not None
            packet.pts, packet.dts = packet.pts - shift, packet.dts - shift
            packet.stream = streams[packet.stream.index]
            out.mux(packet)
    return path


@pytest.mark.parametrize("codec", ["pcm_s16le", "aac"])
@pytest.mark.parametrize("frame", [12, 17])
@pytest.mark.parametrize("inside", [Fraction(0), Fraction(13, 1000)])
def test_a_clip_trimmed_inside_a_group_of_pictures(
    codec: str, frame: int, inside: Fraction, tmp_path: Path
) -> None:
    """The first picture is the one the edit begins in; sound before the edit is not part of the clip."""
    whole = make(
        tmp_path / "whole.mov",
        Recipe(tracks=[SOURCE], sound_codec=codec, picture_codec="libx264", b_frames=2, picture_s=SECONDS),
    )
    path = trimmed(tmp_path / "clip.mov", frame / RATE + inside, whole)
    assert number_in(pictures_at(path, [0], 48)[0]) == frame % 10
    assert number_in(pictures_at(path, [float(3 / RATE) + 0.001], 48)[0]) == (frame + 3) % 10
    sound = read_sound(path, SOUND_RATE)
    assert sound.start_s == pytest.approx(float(inside), abs=1e-4)
    assert sound.warnings == ()
    assert source_starts_s(sound) == pytest.approx(-frame / 25, abs=1e-4)
    assert probe(path).duration_s == pytest.approx(SECONDS - frame / 25, abs=0.03)


def edit_list(entries: list[tuple[int, int]]) -> bytes:
    """An ``edts`` box (ISO/IEC 14496-12) of durations (movie units) and media times (-1: nothing)."""
    body = struct.pack(">II", 0, len(entries))
    for duration, media in entries:
        body += struct.pack(">IiHH", duration, media, 1, 0)
    inner = struct.pack(">I4s", 8 + len(body), b"elst") + body
    return struct.pack(">I4s", 8 + len(inner), b"edts") + inner


def boxes(data: bytes) -> list[tuple[bytes, bytes]]:
    found, at = [], 0
    while at < len(data):
        size, kind = struct.unpack_from(">I4s", data, at)
        found.append((kind, data[at + 8 : at + size]))
        at += size
    return found


def joined(parts: list[tuple[bytes, bytes]]) -> bytes:
    return b"".join(struct.pack(">I4s", 8 + len(body), kind) + body for kind, body in parts)


def with_edits(path: Path, edits: list[list[tuple[int, int]]]) -> Path:
    """Give each track of a MOV file, whose table of contents is at its end, a new edit list."""
    outer = boxes(path.read_bytes())
    assert outer[-1][0] == b"moov"
    movie, number = [], 0
    for kind, body in boxes(outer[-1][1]):
        if kind == b"trak":
            inside = [one for one in boxes(body) if one[0] != b"edts"]
            inside.insert(1, (b"edts", edit_list(edits[number])[8:]))
            body = joined(inside)
            number += 1
        movie.append((kind, body))
    path.write_bytes(joined([*outer[:-1], (b"moov", joined(movie))]))
    return path


def edited(folder: Path) -> Path:
    """0.4 s to 1.2 s of the media, then 2.0 s to 2.8 s; the picture is written with 12800 units a second."""
    path = make(
        folder / "clip.mov",
        Recipe(
            tracks=[SOURCE], picture_codec="libx264", picture_s=SECONDS, options={"movie_timescale": "1000"}
        ),
    )
    picture = [(800, round(0.4 * 12800)), (800, 2 * 12800)]
    sound = [(800, round(0.4 * 48000)), (800, 2 * 48000)]
    return with_edits(path, [picture, sound])


def test_a_clip_of_two_parts(tmp_path: Path) -> None:
    path = edited(tmp_path)
    sound = read_sound(path, SOUND_RATE)
    expected = np.concatenate([SOURCE[19200:57600], SOURCE[96000:134400]])
    assert sound.start_s == 0
    assert sound.warnings == ()
    assert sound.gaps == ()
    assert sound.samples.shape == (1, expected.size)
    assert lag(sound.samples[0], expected) == pytest.approx(0, abs=0.01)
    assert np.max(np.abs(sound.samples[0] - expected)) < 1e-3
    assert probe(path).duration_s == pytest.approx(1.6)
    # Pictures 10 to 29, then 50 to 69.
    shown = [number_in(one) for one in pictures_at(path, [0.02, 0.34, 0.78, 0.82, 1.14, 1.58], 48)]
    assert shown == [0, 8, 9, 0, 8, 9]


def test_a_part_that_goes_back_is_told(tmp_path: Path) -> None:
    path = make(tmp_path / "clip.mov", Recipe(tracks=[SOURCE], picture_codec="libx264", picture_s=SECONDS))
    back = [(24000, 96000), (24000, 0)]
    sound = read_sound(with_edits(path, [[(48000, 0)], back]), SOUND_RATE)
    assert sound.samples.shape == (1, 24000)
    assert any("back and forth" in warning for warning in sound.warnings)


def test_edit_lists_are_read_as_written(tmp_path: Path) -> None:
    path = make(tmp_path / "clip.mov", Recipe(tracks=[SOURCE], picture_codec="libx264", picture_s=SECONDS))
    with_edits(path, [[(4800, -1), (48000, 1280)], [(48000, 0), (24000, 96000)]])
    first, second = iso_tracks(path).values()
    assert first.parts == (Part(Fraction(1, 10), Fraction(11, 10), Fraction(0)),)
    assert second.parts == (
        Part(Fraction(0), Fraction(1), Fraction(0)),
        Part(Fraction(2), Fraction(5, 2), Fraction(-1)),
    )


def test_damaged_boxes_are_passed_over(tmp_path: Path) -> None:
    """Whatever the boxes say, reading them ends, and without an accident."""
    whole = make(tmp_path / "clip.mov", Recipe(tracks=[SOURCE], picture_s=1.0)).read_bytes()
    start = whole.rindex(b"moov")
    rng = np.random.default_rng(7)
    path = tmp_path / "damaged.mov"
    for _ in range(200):
        data = bytearray(whole)
        for place in rng.integers(start + 4, len(data), 8):
            data[place] = rng.integers(256)
        path.write_bytes(data)
        iso_tracks(path)


@pytest.mark.parametrize("open_groups", [False, True])
@pytest.mark.parametrize("share", [0.1, 0.27, 0.4])
def test_a_transport_stream_that_begins_in_the_middle(
    open_groups: bool, share: float, tmp_path: Path
) -> None:
    """A recorder switched on in a running stream: moment 0 is the first picture that can be shown."""
    path = make(
        tmp_path / "clip.ts",
        Recipe(
            tracks=[low_noise(SECONDS)],
            sound_codec="aac",
            picture_codec="libx264",
            b_frames=2,
            open_groups=open_groups,
            picture_s=SECONDS,
        ),
    )
    data = path.read_bytes()
    path.write_bytes(data[round(len(data) * share / 188) * 188 :])
    with av.open(str(path)) as container:
        shown = next(frame for frame in container.decode(video=0) if frame.pts is not None)
        number = number_in(np.asarray(shown.to_ndarray(format="rgb24"), dtype=np.uint8))
    assert number_in(pictures_at(path, [0], 48)[0]) == number
    # Which of the pictures with this number it is, the sound tells.
    start_s = -source_starts_s(read_sound(path))
    frames = start_s * float(RATE)
    assert frames == pytest.approx(round(frames), abs=0.003)
    assert round(frames) % 10 == number


def test_stamps_that_begin_anew_are_told(tmp_path: Path) -> None:
    """Two transport streams joined end to end: the second half follows the first, whatever its stamps say."""
    facts = {"sound_codec": "aac", "picture_codec": "libx264", "picture_s": SECONDS}
    other = low_noise(SECONDS, seed=8)
    first = make(tmp_path / "first.ts", Recipe(tracks=[SOURCE], **facts))  # type: ignore[arg-type]
    second = make(tmp_path / "second.ts", Recipe(tracks=[other], **facts))  # type: ignore[arg-type]
    path = tmp_path / "clip.ts"
    path.write_bytes(first.read_bytes() + second.read_bytes())
    sound = read_sound(path)
    assert any("time stamps" in warning for warning in sound.warnings)
    assert source_starts_s(sound) == pytest.approx(0, abs=1e-4)
    assert source_starts_s(sound, 0, other) == pytest.approx(SECONDS, abs=0.1)
