"""What reading costs: no pictures read, rows that grow without copies."""

from pathlib import Path

import av
import numpy as np
import pytest

from audio.files import sample_buffers
from audio.files.media import probe, read_sound
from tests.audio.media_files import SOUND_RATE, Recipe, low_noise, make

COUNTERS = Path("/proc/self/io")
SOURCE = low_noise(4.0)


def heavy(path: Path) -> Path:
    """Four seconds of pictures of half a megabyte, so that nearly all of the file is picture."""
    with av.open(str(path), "w") as out:
        video = out.add_stream("rawvideo", rate=25)
        assert isinstance(video, av.VideoStream)
        video.width, video.height, video.pix_fmt = 512, 480, "yuyv422"
        sound = out.add_stream("pcm_s16le", rate=SOUND_RATE)
        assert isinstance(sound, av.AudioStream)
        sound.codec_context.layout = "mono"
        for number in range(100):
            frame = av.VideoFrame(512, 480, "yuyv422")
            frame.pts = number
            out.mux(video.encode(frame))
            part = np.round(SOURCE[None, number * 1920 : (number + 1) * 1920] * 32767).astype(np.int16)
            piece = av.AudioFrame.from_ndarray(part, format="s16", layout="mono")
            piece.sample_rate = SOUND_RATE
            piece.pts = number * 1920
            out.mux(sound.encode(piece))
        for stream in (video, sound):
            out.mux(stream.encode(None))
    return path


def bytes_read() -> int:
    lines = dict(line.split(": ") for line in COUNTERS.read_text().splitlines())
    return int(lines["rchar"])


@pytest.mark.skipif(not COUNTERS.exists(), reason="the system does not count bytes read")
def test_pictures_are_not_read(tmp_path: Path) -> None:
    path = heavy(tmp_path / "clip.mov")
    assert path.stat().st_size > 40_000_000
    before = bytes_read()
    sound = read_sound(path, SOUND_RATE)
    assert bytes_read() - before < 10_000_000
    assert np.max(np.abs(sound.samples[0] - SOURCE)) < 1e-4
    before = bytes_read()
    probe(path)
    assert bytes_read() - before < 5_000_000


def test_pictures_are_not_decoded(tmp_path: Path) -> None:
    """Sound and clock are the same when every picture is rubbish."""
    path = make(
        tmp_path / "clip.mp4",
        Recipe(tracks=[SOURCE], sound_codec="aac", picture_codec="libx264", b_frames=2, picture_s=4.0),
    )
    whole = read_sound(path)
    with av.open(str(path)) as container:
        places = [(packet.pos, packet.size) for packet in container.demux(video=0) if packet.size]
    data = bytearray(path.read_bytes())
    for place, size in places:
        assert place is not None
        data[place : place + size] = bytes(size)
    path.write_bytes(data)
    blind = read_sound(path)
    assert blind.start_s == whole.start_s
    assert np.array_equal(blind.samples, whole.samples)


def test_buffers_grow_over_blocks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sample_buffers, "_BLOCK", 32)
    rng = np.random.default_rng(1)
    rows, written = [sample_buffers.SampleBuffer(), sample_buffers.SampleBuffer()], [[], []]  # type: ignore[var-annotated]
    for row, parts in zip(rows, written, strict=True):
        for size in (3, 5, 0, 17, 8, 1):
            parts.append(rng.standard_normal(size).astype(np.float32))
            row.append(parts[-1])
    assert [row.size for row in rows] == [34, 34]
    out = sample_buffers.gather(rows, [-2, 3])
    assert out.shape == (2, 39)
    assert np.array_equal(out[0, :34], np.concatenate(written[0]))
    assert np.array_equal(out[1, 5:], np.concatenate(written[1]))
    assert not out[0, 34:].any()
    assert not out[1, :5].any()
    assert [row.size for row in rows] == [0, 0]


def test_buffers_change_to_16_bits_on_the_way(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sample_buffers, "_BLOCK", 32)
    values = np.random.default_rng(1).standard_normal(30).astype(np.float32)
    row = sample_buffers.SampleBuffer()
    row.append(values[:11])
    assert row.bytes == 44
    row.to_half()
    assert row.bytes == 22
    row.append(values[11:])
    assert row.bytes == 60
    out = sample_buffers.gather([row], [0])
    assert out.dtype == np.float16
    assert np.array_equal(out[0], values.astype(np.float16))
