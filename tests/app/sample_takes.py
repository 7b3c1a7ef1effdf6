"""The sample shoot as a document, its takes where truth.json says they are."""

from fractions import Fraction
from typing import Any

from app.model.document.angle import Angle
from app.model.document.identity import media_ref
from app.model.document.media_ref import MediaRef
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take
from tests.test_sample_media import CLIPS, MEDIA, SONG


def _media(file: str) -> MediaRef:
    return media_ref(MEDIA / file)


def _clip(number: int, truth: dict[str, Any], angle: str) -> Clip:
    verdict = Verdict(truth["verdict"])
    takes = tuple(
        Take(
            f"t{number}-{n}",
            one["clip_start_s"],
            one["clip_end_s"],
            one["song_start_s"],
            one["speed"],
            verdict=verdict,
        )
        for n, one in enumerate(truth["takes"])
    )
    return Clip(
        f"c{number}",
        _media(truth["file"]),
        angle,
        truth["duration_s"],
        Fraction(truth["fps"]) if truth["fps"] else None,
        start_timecode=truth["timecode"],
        verdict=verdict,
        takes=takes,
    )


def sample_takes() -> SongView:
    """The song and every clip of the sample shoot."""
    names = sorted({truth["angle"] for truth in CLIPS.values()})
    angles = tuple(Angle(f"a{n}", name) for n, name in enumerate(names))
    clips = tuple(_clip(n, one, f"a{names.index(one['angle'])}") for n, one in enumerate(CLIPS.values()))
    return SongView("Ferry", Song(_media("song.ogg"), SONG["duration_s"]), angles, clips)
