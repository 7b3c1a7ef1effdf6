"""Writing clips: H.264 and AAC in MP4 or MOV, and the recorder's WAV."""

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

from making.camera_sound import CAMERA_RATE, RECORDER_RATE
from making.instruments import Wave
from making.shots import Shot

_PACKET = 1024


def _sound_frames(sound: Wave, first: int, rate: int, frame_format: str) -> Iterator[av.AudioFrame]:
    """Frames of 1024 samples from sample ``first`` on, each at its own time in the clip."""
    for start in range(first, len(sound), _PACKET):
        block = sound[start : start + _PACKET]
        data = (
            block.astype(np.float32) if frame_format == "fltp" else np.round(block * 32767).astype(np.int16)
        )
        frame = av.AudioFrame.from_ndarray(data[None, :], frame_format, "mono")
        frame.sample_rate, frame.pts, frame.time_base = rate, start, Fraction(1, rate)
        yield frame


def write_clip(path: Path, shot: Shot, pictures: Iterator[NDArray[np.uint8]], sound: Wave | None) -> None:
    """Write picture and sound; picture ``k`` is shown from ``k / rate`` on, sound sample 0 is at time 0."""
    assert shot.rate is not None
    options = {"movflags": "+faststart+use_metadata_tags", "movie_timescale": "240000"}
    kind = "mov" if path.suffix.lower() == ".mov" else "mp4"
    with av.open(str(path), "w", format=kind, options=options) as file:
        file.metadata.update({"make": shot.make, "model": shot.model, "creation_time": shot.created})
        picture = file.add_stream("libx264", rate=shot.rate)
        picture.pix_fmt = "yuv420p"
        picture.codec_context.time_base = 1 / shot.rate
        picture.codec_context.thread_count = 2
        picture.options = {"preset": "medium", "crf": "35", "g": str(round(2 * shot.rate))}
        if shot.timecode:
            picture.metadata["timecode"] = shot.timecode
        track = None
        frames: Iterator[av.AudioFrame] = iter(())
        if sound is not None:
            track = file.add_stream("aac", rate=CAMERA_RATE, layout="mono")
            track.bit_rate = 40_000
            frames = _sound_frames(sound, round(shot.sound_late_s * CAMERA_RATE), CAMERA_RATE, "fltp")
        waiting = next(frames, None)
        for number, pixels in enumerate(pictures):
            if number == 0:
                picture.height, picture.width = pixels.shape[:2]
            frame = av.VideoFrame.from_ndarray(pixels, "bgra").reformat(format="yuv420p")
            frame.pts, frame.time_base = number, 1 / shot.rate
            file.mux(picture.encode(frame))
            while (
                track is not None
                and waiting is not None
                and (waiting.pts or 0) < (number + 1) / shot.rate * CAMERA_RATE
            ):
                file.mux(track.encode(waiting))
                waiting = next(frames, None)
        file.mux(picture.encode(None))
        while track is not None and waiting is not None:
            file.mux(track.encode(waiting))
            waiting = next(frames, None)
        if track is not None:
            file.mux(track.encode(None))


def write_wave(path: Path, shot: Shot, sound: Wave) -> None:
    """Write the recorder's 16-bit broadcast wave file, stamped with its time of day."""
    hours, minutes, seconds = (int(part) for part in shot.created[11:19].split(":"))
    stamp = ((hours * 60 + minutes) * 60 + seconds) * RECORDER_RATE
    with av.open(str(path), "w", format="wav", options={"write_bext": "1"}) as file:
        file.metadata.update(
            {
                "time_reference": str(stamp),
                "originator": f"{shot.make} {shot.model}",
                "origination_date": shot.created[:10],
                "origination_time": shot.created[11:19],
            }
        )
        track = file.add_stream("pcm_s16le", rate=RECORDER_RATE, layout="mono")
        for frame in _sound_frames(sound, 0, RECORDER_RATE, "s16"):
            file.mux(track.encode(frame))
        file.mux(track.encode(None))
