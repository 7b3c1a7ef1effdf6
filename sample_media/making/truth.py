"""What is true of the shoot, as values for truth.json."""

from typing import Any

from making.check import Decoded
from making.drawing import HEIGHT, WIDTH
from making.notes import BEATS_PER_BAR
from making.record import Performance
from making.shooting import view
from making.shots import Shot
from making.tunes import Tune

CLOCKS = (
    "song time = song_start_s + (t - clip_start_s) * speed; t counts from the first presented picture "
    "frame (in the WAV from its first sample); song time 0 is the first decoded sample of song.ogg. "
    "The loudspeaker stands at the microphone: truth is time at the microphone, and the way of the "
    "sound through the air is 0. The beat lamp is lit in the frame during which a beat falls, "
    "brighter on the first of a bar."
)


def song_truth(tune: Tune, played: Performance, song_s: float) -> dict[str, Any]:
    """Beats, bars and sections on the song's clock, and bars that are there twice, the same to the sample."""
    assert tune.copied is not None
    beats, bars = played.beats.beats_s[:-1], played.beats.bars_s
    starts = [0.0] + [float(bars[first]) for _, _, first, _ in tune.sections[1:]]
    ends = [*starts[1:], song_s]
    return {
        "file": "song.ogg",
        "title": tune.title,
        "clocks": CLOCKS,
        "duration_s": round(song_s, 6),
        "tempo_bpm": round(60 * (len(beats) - 13) / float(beats[-13] - beats[0]), 3),
        "beats_per_bar": BEATS_PER_BAR,
        "beats_s": [round(float(b), 6) for b in beats],
        "bars_s": [round(float(b), 6) for b in bars],
        "bars_end_s": round(float(played.beats.beats_s[-1]), 6),
        "copied": {
            "first_bar": tune.copied.first + 1,
            "again_bar": tune.copied.again + 1,
            "bars": tune.copied.bars,
            "apart_s": round(float(bars[tune.copied.again] - bars[tune.copied.first]), 6),
        },
        "sections": [
            {
                "letter": letter,
                "name": name,
                "start_s": round(start, 6),
                "end_s": round(end, 6),
                "first_bar": first + 1,
            }
            for (letter, name, first, _), start, end in zip(tune.sections, starts, ends, strict=True)
        ],
    }


def clip_truth(shot: Shot, decoded: Decoded) -> dict[str, Any]:
    """One clip; a take ends with its run or with the clip."""
    end = decoded.picture_end_s if shot.rate else len(decoded.samples) / decoded.rate
    entry: dict[str, Any] = {
        "file": f"clips/{shot.file}",
        "angle": shot.angle,
        "safety": shot.angle == "Safety",
        "verdict": shot.verdict,
        "fps": f"{shot.rate.numerator}/{shot.rate.denominator}" if shot.rate else None,
        "duration_s": round(end, 6),
        "note": shot.note,
        "timecode": shot.timecode or None,
        "make": shot.make,
        "model": shot.model,
        "takes": [
            {
                "clip_start_s": run.clip_start_s,
                "clip_end_s": round(float(min(run.clip_end_s, end)), 6),
                "song_start_s": round(float(run.song_start_s), 6),
                "speed": run.speed,
            }
            for run in (() if shot.verdict == "no song" else shot.runs)
        ],
    }
    if shot.view:
        shown = view(shot.view)
        if shown.steady and shown.lamp is not None:
            x, y, size = shown.lamp
            entry["lamp"] = {"x": x / WIDTH, "y": y / HEIGHT, "height": size / HEIGHT}
    return entry
