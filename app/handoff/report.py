"""The report: everything found out about a shoot, as JSON for other programs."""

import json
from collections.abc import Sequence
from pathlib import PurePath

from app.handoff.layout import timeline_rate
from app.handoff.report_looks import look_told, match_told
from app.handoff.report_plan import marks_told, missing_told, plan_told
from app.handoff.sequences.chosen_pass import usual_pass
from app.model.all_songs import on_all_songs
from app.model.clip_verdict import clip_word
from app.model.coverage.coverage import SectionCoverage, coverage
from app.model.coverage.showing import covers
from app.model.coverage.staves import stave_order
from app.model.document.song import Song
from app.model.first_pass.result import first_pass_told
from app.model.on_song import Clip, SongView, Take
from app.model.reasons import sentence
from app.model.song_map.bar_spans import bar_spans
from app.model.song_map.levels import bar_levels, mean_level
from app.model.song_map.map_grid import metres_along
from app.model.speeds import nominal_speed
from app.model.timebase import rate_text

REPORT_VERSION = 1
Json = dict[str, object]


def report(shoot: SongView) -> Json:
    """The shoot as JSON values, in a stable shape.

    Paths are as in the shoot, with forward slashes. Seconds are floats: clip times count from the first
    picture frame (sound-only: first sample), song times from the first sample. Keys may be added; those here
    stay::

        {"report_version": 1,
         "name": str,
         "song": null or
           {"path": str, "duration_s": float, "tempo_bpm": float or null,
            "other_tempo_bpm": float or null             (twice or half as fast, where that makes sense too),
            "beats_s": [float, …], "bars_s": [float, …]  (an upbeat lies before bar 1),
            "metres": [{"bar": int, "beats": int}, …]    (bar 1, and every bar from where that changes),
            "bar_levels_db": [float or null, …]          (mean loudness of each bar, dBFS),
            "sections": [{"letter": str, "name": str, "start_s": float, "end_s": float,
                          "suggested": bool              (the name is a guess),
                          "family": str                  (the same for sections that sound alike; or empty),
                          "voice": bool or null          (a lead voice is heard; null: not known),
                          "level_db": float or null}, …]},
         "angles":                                       (in stave order)
           [{"name": str, "safety": bool,
             "named": bool}, …],                         (false: a made-up name for what one camera shot)
         "clips":                                        (in the order of the shoot)
           [{"path": str, "id": str, "angle": str or null, "safety": bool,
             "duration_s": float, "frame_rate": "24000/1001" or null (sound only),
             "variable_frame_rate": bool, "start_timecode": str or null,
             "verdict": "placed", "doubtful", "no song", "unreadable" or "waiting",
                                                         (doubtful as long as one of its takes is)
             "word": str                                 (what the table says: "4 of 10 placed"),
             "reason": str, "decision": "computed" or "by hand", "warnings": [str, …],
             "recording": null or id of the first clip of the recording,
             "note": str                                 (what a person noted on it; or empty),
             "marks": [{"kind": "fault" or "keeper", "clip_start_s": float, "clip_end_s": float,
                        "reason": str, "words": str, "state": "set" or "proposed",
                        "measure": float or null          (on which a check proposed it)}, …],
             "look": null                                 (nobody looked at its pictures) or
               {"group": str                              (a word shared by clips of one set-up; or empty),
                "sure": float                             (that it belongs there, from 0 to 1),
                "measures": {name: float, …},             (see `audio.pictures.faults.measures_of`)
                "proposed":                               (faults that nobody decided on yet)
                  [{"kind": "fault",
                    "reason": "black", "frozen", "over", "under", "soft", "bump", "flicker" or "dropped",
                    "clip_start_s": float, "clip_end_s": float, "measure": float}, …]},
             "takes":
               [{"id": str,
                 "clip_start_s": float, "clip_end_s": float, "song_start_s": float, "song_end_s": float,
                 "speed": float                          (song seconds to a clip second, drift included),
                 "nominal_speed": "1001/1000"            (exact, without drift),
                 "drift_ppm": float,
                 "uncertainty_s": float                  (where "deed" is "moved": of the place left),
                 "sway": null or                        (the lag changes: a camera moved, or several
                                                         loudspeakers were heard; part of uncertainty_s)
                   {"largest_s": float, "typical_s": float (root mean square), "largest_m": float},
                 "lag": [[clip time s, s later in the song than the line], …]  (smooth; empty without a sway),
                 "verdict": "placed" or "doubtful",
                 "decision": "computed", "confirmed" or "by hand", "reason": str,
                 "song": str                             (name of its file),
                 "playback": str or null                 (name of the playback file heard; null: the song),
                 "deed": null, "confirmed", "chose a rival", "moved", "settled", "pinned" or "marked",
                 "first_bar": int or null, "last_bar": int or null        (bars covered),
                 "match": null                            (not compared with the reference take) or
                   {"slope": [red, green, blue], "offset": [red, green, blue], "power": [red, green, blue],
                    "saturation": float                   (an ASC CDL that brings it near),
                    "stops": float                        (how much brighter it is than the reference),
                    "reference": take id},
                 "rivals": [{"song_start_s": float, "strength": float,
                             "as_well": bool,            (nothing in the take's sound rules the place out)
                             "computed": bool            (found there before a person put the take elsewhere)
                            }, …]}, …]}, …],
         "coverage":                                     (empty without a song)
           [{"letter": str, "name": str, "start_s": float, "end_s": float,
             "bars": [{"bar": int from 1, "start_s": float, "end_s": float, "depth": int,
                       "takes": [take id, …], "doubtful": [take id, …],
                       "usable_depth": int              (takes without a fault there, with their handles),
                       "angles": int, "safety_only": bool,        (of what is usable)
                       "not_named": bool                 (not told whether thin: its angles are not named yet)
                      }, …],
             "thin": [{"first_bar": int, "last_bar": int,
                       "kind": "nothing", "one angle" or "safety only", "words": str}, …]}, …],
         "plan":
           {"needs": [{"section": str                    ("B", "like B" for a family, or empty),
                       "first_bar": int or null, "last_bar": int or null  (null: the section is gone),
                       "subject": str, "least_bars": int  (0: all), "least_angles": int, "note": str,
                       "state": "met", "partly" or "unmet", "missing_bars": [int, …],
                       "angles": [name of an angle that shows it, …]}, …],
            "set_ups": [{"section", "first_bar", "last_bar"  (as above), "angle": str, "subjects": [str, …],
                         "speed": "5/4", "note": str, "state", "missing_bars"  (as above)}, …]},
         "missing":                                      (what gains most for its minutes first)
           [{"first_bar": int, "last_bar": int, "section": str   ("B" or "B–C"), "subjects": [str, …],
             "angle": str                                (the angle to shoot it with; empty: a new one),
             "why": str, "minutes": float}, …],
         "first_pass":                                   (of the shoot's first version, or by the usual rules)
           {"shots": [{"song_start_s": float, "song_end_s": float, "first_bar": int, "last_bar": int,
                       "take": take id, "angle": str, "reason": str}, …],
            "unsatisfied":
              [{"song_start_s": float, "song_end_s": float, "first_bar": int, "last_bar": int, "words": str,
                "gap": bool}, …]}}                       (true: nothing can be used there, so no picture)
    """
    return {
        "report_version": REPORT_VERSION,
        "name": shoot.name,
        "song": None if shoot.song is None else _song(shoot.song),
        "angles": [
            {"name": angle.name, "safety": angle.safety, "named": angle.named}
            for angle in stave_order(shoot.angles)
        ],
        "clips": [_clip(shoot, clip) for clip in shoot.clips],
        "coverage": [_section(section) for section in coverage(shoot)],
        "plan": plan_told(shoot),
        "missing": missing_told(shoot),
        "first_pass": first_pass_told(
            usual_pass(shoot, timeline_rate(shoot)), {angle.id: angle.name for angle in shoot.angles}
        ),
    }


def _song(song: Song) -> Json:
    return {
        "path": PurePath(song.media.path).as_posix(),
        "duration_s": song.duration_s,
        "tempo_bpm": song.map.tempo_bpm,
        "other_tempo_bpm": song.map.other_tempo_bpm,
        "beats_s": list(song.map.beats_s),
        "bars_s": list(song.map.bars_s),
        "metres": [{"bar": bar, "beats": beats} for bar, beats in metres_along(song.map)],
        "bar_levels_db": [_level(level) for level in bar_levels(song)] if song.map.bars_s else [],
        "sections": [
            {
                "letter": s.letter,
                "name": s.name,
                "start_s": s.start_s,
                "end_s": s.end_s,
                "suggested": s.suggested,
                "family": s.family,
                "voice": None,
                "level_db": _level(mean_level(song.map, s.start_s, s.end_s)),
            }
            for s in song.map.sections
        ],
    }


def _level(level: float | None) -> float | None:
    return None if level is None else round(level, 1)


def _clip(shoot: SongView, clip: Clip) -> Json:
    angle = next((angle for angle in shoot.angles if angle.id == clip.angle_id), None)
    return {
        "path": PurePath(clip.media.path).as_posix(),
        "id": clip.id,
        "angle": angle.name if angle else None,
        "safety": angle.safety if angle else False,
        "duration_s": clip.duration_s,
        "frame_rate": None if clip.frame_rate is None else rate_text(clip.frame_rate),
        "variable_frame_rate": clip.variable_frame_rate,
        "start_timecode": clip.start_timecode,
        "verdict": clip.verdict.value,
        "word": clip_word(clip.verdict, clip.reason),
        "reason": sentence(clip.reason),
        "decision": clip.decision.value,
        "warnings": list(clip.warnings),
        "recording": clip.recording,
        "note": clip.note,
        "marks": marks_told(clip.marks),
        "look": look_told(clip),
        "takes": [_take(shoot, take) for take in clip.takes],
    }


def _take(shoot: SongView, take: Take) -> Json:
    speed = nominal_speed(take.speed)
    bars = covered_bars(shoot, take)
    return {
        "id": take.id,
        "clip_start_s": take.clip_start_s,
        "clip_end_s": take.clip_end_s,
        "song_start_s": take.song_start_s,
        "song_end_s": take.song_end_s,
        "speed": take.speed,
        "nominal_speed": rate_text(speed.nominal),
        "drift_ppm": speed.drift_ppm,
        "uncertainty_s": take.uncertainty_s,
        "sway": _sway(take),
        "lag": [[one.clip_s, one.lag_s] for one in take.lags] if take.reason.sway is not None else [],
        "verdict": take.verdict.value,
        "decision": take.decision.value,
        "reason": sentence(take.reason),
        "song": "" if shoot.song is None else PurePath(shoot.song.media.path).name,
        "playback": _playback(shoot, take),
        "deed": None if take.decided is None else take.decided.action.value,
        "first_bar": bars[0] if bars else None,
        "last_bar": bars[1] if bars else None,
        "match": match_told(shoot, take),
        "rivals": rivals_told(take),
    }


def _sway(take: Take) -> Json | None:
    sway = take.reason.sway
    if sway is None:
        return None
    return {"largest_s": sway.largest_s, "typical_s": sway.typical_s, "largest_m": sway.largest_m}


def _playback(shoot: SongView, take: Take) -> str | None:
    """Name of the playback file on which a take was heard; None where it was the song."""
    heard = next((one for one in shoot.playbacks if one.id == take.playback_id), None)
    return None if heard is None else PurePath(heard.media.path).name


def rivals_told(take: Take) -> list[Json]:
    """The rivals of a take; where a person moved it, its computed place is among them and marked."""
    return [
        {
            "song_start_s": one.song_start_s,
            "strength": one.strength,
            "as_well": one.as_well,
            "computed": one.computed,
        }
        for one in take.rivals
    ]


def _section(part: SectionCoverage) -> Json:
    return {
        "letter": part.section.letter,
        "name": part.section.name,
        "start_s": part.section.start_s,
        "end_s": part.section.end_s,
        "bars": [
            {
                "bar": bar.bar.number,
                "start_s": bar.bar.start_s,
                "end_s": bar.bar.end_s,
                "depth": bar.depth,
                "takes": list(bar.takes),
                "doubtful": list(bar.doubtful),
                "usable_depth": bar.usable_depth,
                "angles": bar.angles,
                "safety_only": bar.safety_only,
                "not_named": bar.not_named,
            }
            for bar in part.bars
        ],
        "thin": [
            {"first_bar": t.first_bar, "last_bar": t.last_bar, "kind": t.kind.value, "words": t.words}
            for t in part.thin
        ],
    }


def covered_bars(shoot: SongView, take: Take) -> tuple[int, int] | None:
    """First and last bar that the take covers, placed or not; None where there is none."""
    if shoot.song is None or not shoot.song.map.bars_s:
        return None
    numbers = [bar.number for bar in bar_spans(shoot.song) if covers(take, bar)]
    return (numbers[0], numbers[-1]) if numbers else None


def report_on_all(views: Sequence[SongView]) -> Json:
    """The report on a shoot of several songs: that on the first one, where clips have the takes of all songs
    and the verdict that goes with them, and ``songs``, a report on each song, in the shoot's order."""
    reports = [report(view) for view in views]
    if len(views) == 1:
        return reports[0]
    clips = [_on_all_songs([view.clips[number] for view in views], views) for number in _numbers(views)]
    return reports[0] | {"clips": clips, "songs": reports}


def _numbers(views: Sequence[SongView]) -> range:
    return range(len(views[0].clips))


def _on_all_songs(clips: Sequence[Clip], views: Sequence[SongView]) -> Json:
    """A clip with its takes on all songs."""
    verdict, reason = on_all_songs(clips)
    takes = [(take, view) for clip, view in zip(clips, views, strict=True) for take in clip.takes]
    takes.sort(key=lambda one: (one[0].clip_start_s, one[0].clip_end_s))
    return _clip(views[0], clips[0]) | {
        "verdict": verdict.value,
        "word": clip_word(verdict, reason),
        "reason": sentence(reason),
        "takes": [_take(view, take) for take, view in takes],
    }


def report_bytes(*views: SongView) -> bytes:
    """The report on a shoot, as it stands on each of its songs, as a file holds it.

    Bytes of a file name that are no text become question marks.
    """
    text = json.dumps(report_on_all(views), indent=1, ensure_ascii=False)
    return f"{text}\n".encode(errors="replace")
