"""The sample shoot with faults put in, as somebody would bring it home: copies with sound."""

import shutil
from pathlib import Path

import av

from tests.quality.faulty_sample import CLIPS, COPIES, Copy, make
from tests.screens.faint import SAMPLE

SILENT = "bass/flicker.MP4"
"""This one is left without sound, so that it has no take: what is proposed in it lies outside the song."""


def faulty_shoot(folder: Path) -> tuple[Path, Path]:
    """Write the song and a folder of clips; gives both."""
    clips = folder / "clips"
    shutil.copytree(SAMPLE / "clips", clips)
    for copy in COPIES:
        path = make(copy, clips)
        if copy.file != SILENT:
            _give_sound(path, copy)
    return Path(shutil.copy(SAMPLE / "song.ogg", folder)), clips


def _give_sound(path: Path, copy: Copy) -> None:
    """Put the sound of the clip it is made from beside the pictures."""
    whole = path.with_suffix(".whole.MP4")
    with (
        av.open(str(path)) as seen,
        av.open(str(CLIPS / copy.source)) as heard,
        av.open(str(whole), "w", format="mp4") as out,
    ):
        pictures, sound = seen.streams.video[0], heard.streams.audio[0]
        shown, told = out.add_stream_from_template(pictures), out.add_stream("aac", rate=48000)
        for packet in seen.demux(pictures):
            if packet.dts is not None:
                packet.stream = shown
                out.mux(packet)
        for frame in heard.decode(sound):
            if frame.time is not None and frame.time >= copy.end_s:
                break
            frame.pts = None
            out.mux(told.encode(frame))
        out.mux(told.encode(None))
    whole.replace(path)
