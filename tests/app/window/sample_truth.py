"""The sample shoot as its truth tells it, without placing anything."""

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

from app.model.document.angle import Angle
from app.model.document.identity import media_ref
from app.model.document.media_ref import MediaRef
from app.model.document.song import Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.on_song import Clip, SongView, Take

MEDIA = Path(__file__).resolve().parents[3] / "sample_media"
TRUTH: dict[str, Any] = json.loads((MEDIA / "truth.json").read_text(encoding="utf-8"))
PIXELS = (480, 270)
"""Of every picture."""


def media(file: str) -> MediaRef:
    return media_ref(MEDIA / file)


def true_shoot() -> SongView:
    """Song, map, angles and every take where it truly lies; take ids are ``FILE 1``, ``FILE 2`` …"""
    angles: dict[str, Angle] = {}
    clips = []
    for number, told in enumerate(TRUTH["clips"]):
        verdict = Verdict(told["verdict"])
        angle = angles.setdefault(
            told["angle"], Angle(f"a{len(angles)}", told["angle"], safety=told.get("safety", False))
        )
        takes = tuple(
            Take(
                f"{Path(told['file']).name} {count}",
                one["clip_start_s"],
                one["clip_end_s"],
                one["song_start_s"],
                one["speed"],
                verdict=verdict,
            )
            for count, one in enumerate(told.get("takes", ()), 1)
        )
        rate = Fraction(told["fps"]) if told.get("fps") else None
        clips.append(
            Clip(
                f"c{number}",
                media(told["file"]),
                angle.id,
                told["duration_s"],
                rate,
                width=PIXELS[0] if rate else 0,
                height=PIXELS[1] if rate else 0,
                verdict=verdict,
                takes=takes,
            )
        )
    song = TRUTH["song"]
    sections = tuple(
        Section(one["letter"], one["name"], one["start_s"], one["end_s"]) for one in song["sections"]
    )
    song_map = SongMap(song["tempo_bpm"], tuple(song["beats_s"]), tuple(song["bars_s"]), sections)
    return SongView(
        song["title"],
        Song(media(song["file"]), song["duration_s"], song_map),
        tuple(angles.values()),
        tuple(clips),
    )
