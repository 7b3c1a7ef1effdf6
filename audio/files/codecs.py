"""Which recordings this installation can read and write."""

import av

WANTED = {
    "picture": ("h264", "hevc", "av1", "vp9", "mpeg2video", "prores", "dnxhd", "mjpeg", "dvvideo"),
    "sound": ("aac", "mp3", "opus", "vorbis", "flac", "ac3", "pcm_s16le", "pcm_s24le", "pcm_f32le"),
}
"""Codecs of cameras and recorders, by the media library's names."""
WRITTEN = ("mpeg4", "libx264", "mjpeg", "aac", "pcm_s16le", "pcm_s24le", "flac")
"""What proxies, films and playback files are written in."""


def missing_codecs() -> tuple[str, ...]:
    """Codecs of cameras that cannot be decoded here, and codecs that cannot be written."""
    missing = [name for names in WANTED.values() for name in names if not _has(name, "r")]
    return (*missing, *(f"{name} (to write)" for name in WRITTEN if not _has(name, "w")))


def library_versions() -> dict[str, str]:
    """The parts of the media library with their versions."""
    return {name: ".".join(map(str, version)) for name, version in sorted(av.library_versions.items())}


def _has(name: str, mode: str) -> bool:
    try:
        av.Codec(name, mode)  # type: ignore[arg-type]  # one of the two words
    except av.codec.codec.UnknownCodecError:
        return False
    return True
