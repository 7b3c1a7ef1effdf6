"""Files that are not what they should be: each gives a sentence, none an accident."""

import os
import pickle
import socket
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest

from audio.errors import AudioError, NoSound, Unreadable
from audio.files.companions import is_companion
from audio.files.frame_images import pictures_at
from audio.files.media import probe, read_song, read_sound
from tests.audio.media_files import Recipe, low_noise, make

SOURCE = low_noise(4.0)


def old(path: Path) -> Path:
    """Set the file's time back, as of one that nobody writes to any more."""
    os.utime(path, (1_700_000_000, 1_700_000_000))
    return path


def cut(path: Path, share: float) -> Path:
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    return old(path)


def in_front(path: Path, **more: object) -> Path:
    """A MOV file with its table of contents before the media, so that a cut one can still be opened."""
    facts = {"tracks": [SOURCE], "picture_s": 4.0, "options": {"movflags": "faststart"}} | more
    return make(path, Recipe(**facts))  # type: ignore[arg-type]


def written(name: str, data: bytes) -> Callable[[Path], Path]:
    def build(folder: Path) -> Path:
        path = folder / name
        path.write_bytes(data)
        return old(path)

    return build


def still_jpeg(folder: Path) -> Path:
    with av.open(str(folder / "still.mov"), "w", format="image2", options={"update": "1"}) as out:
        stream = out.add_stream("mjpeg", rate=1)
        assert isinstance(stream, av.VideoStream)
        stream.width, stream.height, stream.pix_fmt = 64, 48, "yuvj420p"
        frame = av.VideoFrame.from_ndarray(np.zeros((48, 64, 3), np.uint8), format="rgb24")
        out.mux(stream.encode(frame.reformat(format="yuvj420p")))
        out.mux(stream.encode(None))
    return folder / "still.mov"


def pipe(folder: Path) -> Path:
    if not hasattr(os, "mkfifo"):
        pytest.skip("the system has no named pipes")
    os.mkfifo(folder / "pipe.mov")
    return folder / "pipe.mov"


def a_socket(folder: Path) -> Path:
    if not hasattr(socket, "AF_UNIX"):
        pytest.skip("the system has no sockets in folders")
    with socket.socket(socket.AF_UNIX) as one:
        one.bind(str(folder / "s.mov"))
    return folder / "s.mov"


def a_folder(folder: Path) -> Path:
    (folder / "folder.mov").mkdir()
    return folder / "folder.mov"


def dangling(folder: Path) -> Path:
    (folder / "link.mov").symlink_to(folder / "gone.mov")
    return folder / "link.mov"


def unfinished(folder: Path) -> Path:
    return cut(make(folder / "clip.mov", Recipe(tracks=[SOURCE], picture_s=4.0)), 0.6)


LIST_OF_OTHERS = b"#EXTM3U\n#EXT-X-TARGETDURATION:4\n#EXTINF:4,\nother.ts\n#EXT-X-ENDLIST\n"

BAD: dict[str, tuple[Callable[[Path], Path], str]] = {
    "empty": (written("a.mov", b""), "empty"),
    "text": (written("a.mov", b"Call sheet, day two.\n" * 50), "not a recording"),
    "noise": (written("a.mp4", np.random.default_rng(1).bytes(100_000)), "not a recording"),
    "play list": (written("a.mov", LIST_OF_OTHERS), "not a recording"),
    "still picture": (still_jpeg, "still picture"),
    "pipe": (pipe, "not a plain file"),
    "socket": (a_socket, "not a plain file"),
    "folder": (a_folder, "folder"),
    "missing": (lambda folder: folder / "gone.mov", "not there"),
    "link to nothing": (dangling, "not there"),
    "not finished": (unfinished, "not finished: copy it again"),
    "header only": (written("a.mov", b"\x00\x00\x00\x14ftypqt  \x00\x00\x00\x00qt  "), "not finished"),
}


@pytest.mark.parametrize("name", BAD)
@pytest.mark.parametrize(
    "read",
    [probe, read_sound, lambda path: read_song(path, 8000), lambda path: pictures_at(path, [0], 48)[0]],
)
def test_bad_files_are_refused_with_a_sentence(
    name: str, read: Callable[[Path], object], tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    build, words = BAD[name]
    with pytest.raises(Unreadable, match=words) as refused:
        read(build(tmp_path))
    sentence = str(refused.value)
    assert sentence[0].isupper()
    assert sentence.endswith(".")
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("name", ["empty", "text", "still picture", "not finished"])
def test_a_song_that_cannot_be_read_gets_no_advice_for_clips(name: str, tmp_path: Path) -> None:
    path = BAD[name][0](tmp_path)
    with pytest.raises(Unreadable) as refused:
        read_song(path, 8000)
    assert "card" not in str(refused.value)
    assert "choose" in str(refused.value)
    copy = pickle.loads(pickle.dumps(refused.value))  # it comes from another process
    assert str(copy) == str(refused.value)


def test_a_silent_video_gets_no_advice_for_clips_as_the_song(tmp_path: Path) -> None:
    path = make(tmp_path / "clip.mov", Recipe())
    with pytest.raises(NoSound, match="choose the recording that everybody played to"):
        read_song(path, 8000)
    with pytest.raises(NoSound, match="if a recorder ran along"):
        read_sound(path)


@pytest.mark.skipif(getattr(os, "geteuid", int)() == 0, reason="the superuser may read everything")
def test_no_permission(tmp_path: Path) -> None:
    path = make(tmp_path / "clip.mov", Recipe(tracks=[SOURCE]))
    path.chmod(0)
    with pytest.raises(Unreadable, match="permission"):
        probe(path)


def test_no_permission_by_the_system(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = make(tmp_path / "clip.mov", Recipe(tracks=[SOURCE]))

    def forbidden(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", forbidden)
    with pytest.raises(Unreadable, match="permission"):
        probe(path)


def test_a_clip_without_sound(tmp_path: Path) -> None:
    path = make(tmp_path / "clip.mov", Recipe())
    assert probe(path).sound_tracks == 0
    for read in (read_sound, lambda one: read_song(one, 8000)):
        with pytest.raises(NoSound, match="no sound"):
            read(path)


def test_sound_coded_in_an_unknown_way(tmp_path: Path) -> None:
    """As of a new telephone: one track can be read, the other cannot."""
    path = make(tmp_path / "clip.mov", Recipe(tracks=[SOURCE, SOURCE], picture_s=4.0))
    data = path.read_bytes()
    assert data.count(b"sowt") == 2  # the sample descriptions of both tracks
    path.write_bytes(data.replace(b"sowt", b"qzqz", 1))
    assert probe(path).sound_tracks == 2
    assert probe(path).sound_rate == 48000
    assert read_sound(path).samples.shape == (1, 32000)
    path.write_bytes(data.replace(b"sowt", b"qzqz"))
    assert probe(path).frame_rate == 25
    with pytest.raises(NoSound, match="unknown encoding"):
        read_sound(path)


def test_a_picture_coded_in_an_unknown_way(tmp_path: Path) -> None:
    """Its clock can be read all the same."""
    path = make(tmp_path / "clip.mov", Recipe(tracks=[SOURCE], picture_s=4.0, picture_codec="mjpeg"))
    data = path.read_bytes()
    assert data.count(b"jpeg") == 1
    path.write_bytes(data.replace(b"jpeg", b"qzqz"))
    info = probe(path)
    assert info.frame_rate == 25
    assert (info.duration_s, info.width) == (4.0, 0)
    assert read_sound(path).start_s == 0
    with pytest.raises(Unreadable, match="unknown encoding"):
        pictures_at(path, [0], 48)[0]


def test_sound_without_picture_shows_none(tmp_path: Path) -> None:
    with pytest.raises(Unreadable, match="no picture"):
        pictures_at(make(tmp_path / "a.wav", Recipe(tracks=[SOURCE], picture_s=0)), [0], 48)


@pytest.mark.parametrize("codec", ["pcm_s16le", "aac"])
def test_a_cut_file_gives_what_is_there(codec: str, tmp_path: Path) -> None:
    path = cut(in_front(tmp_path / "clip.mov", sound_codec=codec), 0.6)
    info = probe(path)
    assert any("cut off" in warning and "copy it again from the card" in warning for warning in info.warnings)
    sound = read_sound(path, 48000)
    (warning,) = sound.warnings
    assert warning.startswith("The file is cut off after 2.")
    assert "of 4.0 s: copy it again from the card." in warning
    assert 2.0 < sound.samples.shape[1] / 48000 < 3.0
    assert np.max(np.abs(sound.samples[0, :48000] - SOURCE[:48000])) < (1e-3 if codec == "pcm_s16le" else 0.3)


@pytest.mark.parametrize("file", ["a.wav", "a.aiff", "a.avi"])
def test_cut_files_that_do_not_tell_their_length(file: str, tmp_path: Path) -> None:
    codec = "pcm_s16be" if file == "a.aiff" else "pcm_s16le"
    seconds = 4.0 if file == "a.avi" else 0
    path = cut(
        make(
            tmp_path / file,
            Recipe(tracks=[SOURCE], sound_codec=codec, picture_s=seconds, picture_codec="mjpeg"),
        ),
        0.5,
    )
    assert any("cut off" in warning for warning in probe(path).warnings)
    assert any("cut off after" in warning for warning in read_sound(path).warnings)


def test_whole_files_are_not_called_cut(tmp_path: Path) -> None:
    for file, codec, seconds in (
        ("a.wav", "pcm_s24le", 0),
        ("a.aiff", "pcm_s24be", 0),
        ("a.avi", "pcm_s16le", 4.0),
    ):
        path = make(
            tmp_path / file,
            # An odd number of bytes: chunks are then filled to an even one.
            Recipe(tracks=[SOURCE[:-1]], sound_codec=codec, picture_s=seconds, picture_codec="mjpeg"),
        )
        assert probe(path).warnings == (), file
        assert read_sound(path).warnings == (), file


def test_a_file_still_being_written_is_told_apart(tmp_path: Path) -> None:
    path = in_front(tmp_path / "clip.mov")
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])
    assert any("wait until" in warning for warning in probe(path).warnings)


def test_a_file_that_grows_while_it_is_read(tmp_path: Path) -> None:
    path = make(
        tmp_path / "clip.ts",
        Recipe(tracks=[SOURCE], sound_codec="aac", picture_codec="libx264", picture_s=4.0),
    )

    def grow(_: float) -> None:
        with path.open("ab") as file:
            file.write(b"\x47" + bytes(187))

    with pytest.raises(Unreadable, match="grew"):
        read_sound(path, progress=grow)


def test_damage_in_the_middle_is_a_hole(tmp_path: Path) -> None:
    """Half a second of a coded track overwritten: the rest stays where it was, and there is a warning."""
    path = make(tmp_path / "clip.mp4", Recipe(tracks=[SOURCE], sound_codec="aac", picture_s=4.0))
    with av.open(str(path)) as container:
        packets = [
            (packet.pos, packet.size)
            for packet in container.demux(audio=0)
            if packet.pts is not None and 1.0 <= packet.pts * packet.time_base < 1.5
        ]
    data = bytearray(path.read_bytes())
    for place, size in packets:
        assert place is not None
        data[place : place + size] = b"\xff" * size
    path.write_bytes(data)
    sound = read_sound(path, 48000)
    assert any("could not be decoded" in warning for warning in sound.warnings)
    after = slice(round(1.7 * 48000), round(3.9 * 48000))
    assert np.corrcoef(sound.samples[0, after], SOURCE[after])[0, 1] > 0.98


def test_bad_words_in_the_tags(tmp_path: Path) -> None:
    """Bytes that are no UTF-8, as older cameras write them."""
    path = make(tmp_path / "clip.mkv", Recipe(tracks=[SOURCE], metadata={"make": "Nordlicht"}))
    path.write_bytes(path.read_bytes().replace(b"Nordlicht", b"Nordl\xedcht"))
    info = probe(path)
    assert info.make is not None
    assert info.make.startswith("Nordl")


def test_names_outside_ascii(tmp_path: Path) -> None:
    """And one that is no text at all, which some systems allow."""
    for name in ("Ångström % %03d ü.mov", os.fsdecode(b"bad\xff.mov")):
        path = make(tmp_path / "clip.mov", Recipe(tracks=[SOURCE])).rename(tmp_path / name)
        assert probe(path).duration_s == pytest.approx(2.0)
        assert read_sound(path).samples.shape[0] == 1


def test_refusals_are_of_the_package() -> None:
    assert issubclass(Unreadable, AudioError)
    assert issubclass(NoSound, AudioError)


@pytest.mark.parametrize(
    ("name", "companion"),
    [
        ("C0001.MP4", False),
        ("00012.mts", False),
        ("take 3.wav", False),
        ("._C0001.MP4", True),
        (".hidden.mov", True),
        ("C0001.THM", True),
        ("C0001M01.XML", True),
        ("GL010001.LRV", True),
        ("notes.txt", True),
        ("noending", True),
    ],
)
def test_companions_of_memory_cards(name: str, companion: bool) -> None:
    assert is_companion(Path("card") / name) is companion
