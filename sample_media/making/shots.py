"""The shot list: what was filmed, when the playback ran in it, and how well it was heard."""

from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

FILM, NTSC, PAL, FAST = Fraction(24000, 1001), Fraction(30000, 1001), Fraction(25), Fraction(50)


@dataclass(frozen=True, slots=True)
class Run:
    """Playback: ``song = song_start_s + (t - clip_start_s) * speed`` until the song is at ``song_end_s``."""

    clip_start_s: float
    song_start_s: float
    song_end_s: float
    speed: float = 1.0

    def song_time(self, clip_s: float) -> float:
        """Song time of a moment of the clip."""
        return self.song_start_s + (clip_s - self.clip_start_s) * self.speed

    def song_times(self, clip_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """Song times of many moments of the clip."""
        return self.song_start_s + (clip_s - self.clip_start_s) * self.speed

    @property
    def clip_end_s(self) -> float:
        """When it stops, on the clip's clock."""
        return self.clip_start_s + (self.song_end_s - self.song_start_s) / self.speed


@dataclass(frozen=True, slots=True)
class Shot:
    """One clip; levels in dB against the playback at the microphone (0 dB)."""

    file: str
    angle: str
    """What the camera shows, in the words of the score."""
    view: str
    """Class that draws it; empty for the sound recorder."""
    rate: Fraction | None
    length_s: float
    runs: tuple[Run, ...] = ()
    tune: str = "ferry"
    """``ferry``, ``salt`` or empty."""
    verdict: str = "placed"
    """What is to be said of it: ``placed``, ``doubtful`` or ``no song``."""
    live_db: dict[str, float] = field(default_factory=dict)
    """How loud each player is by the side of the playback."""
    live_run: int = 0
    """Which of the band's live performances."""
    noise_db: float = -34.0
    far: float = 0.5
    """Room against direct sound, amplitude."""
    talk_s: tuple[tuple[float, float], ...] = ()
    """When people talk, start and end in the clip."""
    talk_db: float = 0.0
    timecode: str = ""
    make: str = ""
    model: str = ""
    created: str = ""
    sound_late_s: float = 0.0
    """How much later than the picture the file's sound begins."""
    silent: bool = False
    note: str = ""


_A = ("Halvorsund", "Skerry 2")
_B = ("Brambeck", "Dorn P")
_C = ("Fennimark", "Little Four")
_D = ("Tarnwick Optics", "T-50")


def shots(bars_s: list[float], song_s: float, other_s: float) -> list[Shot]:
    """The shoot, in the order of the day; ``bars_s`` are the starts of the song's bars, bar 1 first."""

    def bar(number: float) -> float:
        whole = int(number)
        return bars_s[whole - 1] + (number - whole) * (bars_s[whole] - bars_s[whole - 1])

    band = {"accordion": -3.0, "fiddle": -4.0, "bass": -5.0, "drums": -1.0}
    safety = Run(6.2137, 0.0, song_s, 1 + 35e-6)
    roaming = Run(4.7719, 0.0, bar(47), 1 - 22e-6)
    roaming_late = Run(0.0, bar(53.4), song_s, 1 - 22e-6)
    accordion_1 = Run(5.3391, 0.0, bar(45), 1 + 48e-6)
    accordion_2 = Run(3.9063, bar(49), song_s, 1 + 62e-6)
    fiddle_1 = Run(4.1227, 0.0, bar(44.3), 1 - 41e-6)
    fiddle_2 = Run(5.0561, bar(49), song_s, 1 - 41e-6)
    drums = Run(3.4418, 0.0, bar(48), 1.0)
    false_start = Run(3.1846, 0.0, bar(10.6), 1 + 27e-6)
    restart = Run(26.8153, 0.0, bar(42), 1 + 27e-6)
    hands = Run(2.6142, bar(56.0), bar(66), 1 + 15e-6)
    brushes = Run(0.0, bar(68.2), song_s, 1.0)
    again = Run(2.2175, bar(74), bar(79), 1.0)
    recorder = Run(7.7283, bar(49), bar(79), 1 - 68e-6)
    other = Run(2.9371, 0.0, other_s, 1.0)
    return [
        Shot(
            "safety/Q0041.MP4",
            "Safety",
            "Wide",
            PAL,
            safety.clip_end_s + 4.35,
            (safety,),
            live_db=band,
            far=0.8,
            talk_s=((1.0, 5.4), (safety.clip_end_s + 0.6, safety.clip_end_s + 4.2)),
            timecode="17:31:12:08",
            make=_A[0],
            model=_A[1],
            created="2026-05-14T17:31:12Z",
            note="the whole band, the whole song",
        ),
        Shot(
            "roaming/T0112.MOV",
            "Roaming",
            "Roaming",
            FILM,
            roaming.clip_end_s + 2.2,
            (roaming,),
            live_db=band,
            far=0.6,
            noise_db=-30,
            talk_s=((0.4, 3.9),),
            timecode="17:31:14:02",
            make=_B[0],
            model=_B[1],
            created="2026-05-14T17:31:14Z",
            note="hand-held; the playback is stopped after bar 46",
        ),
        Shot(
            "roaming/T0113.MOV",
            "Roaming",
            "Roaming",
            FILM,
            (song_s - bar(53.4)) + 5.1,
            (roaming_late,),
            live_db=band,
            live_run=1,
            far=0.6,
            noise_db=-30,
            talk_s=((song_s - bar(53.4) + 0.8, song_s - bar(53.4) + 4.8),),
            timecode="18:02:40:11",
            make=_B[0],
            model=_B[1],
            created="2026-05-14T18:02:40Z",
            note="cut short at its head: the camera starts while the song runs",
        ),
        Shot(
            "accordion/B0003.MP4",
            "Accordion",
            "Accordion",
            NTSC,
            accordion_1.clip_end_s + 3.4,
            (accordion_1,),
            live_db={"accordion": 5.0, "fiddle": -9.0, "bass": -9.0, "drums": -8.0},
            far=0.3,
            talk_s=((1.2, 4.4),),
            talk_db=-4,
            make=_C[0],
            model=_C[1],
            created="2026-05-14T17:31:13Z",
            note="breaks off after bar 44",
        ),
        Shot(
            "accordion/B0004.MP4",
            "Accordion",
            "Accordion",
            NTSC,
            accordion_2.clip_end_s + 3.9,
            (accordion_2,),
            live_db={"accordion": 4.0, "fiddle": -6.0, "bass": -9.0, "drums": -8.0},
            live_run=1,
            far=0.3,
            make=_C[0],
            model=_C[1],
            created="2026-05-14T18:01:55Z",
            note="from the solo to the end; its clock drifts most",
        ),
        Shot(
            "fiddle/G0017.MOV",
            "Fiddle",
            "Fiddle",
            FAST,
            fiddle_1.clip_end_s + 1.7,
            (fiddle_1,),
            live_db={"accordion": -8.0, "fiddle": 4.0, "bass": -9.0, "drums": -8.0},
            far=0.35,
            timecode="17:31:15:22",
            make=_D[0],
            model=_D[1],
            created="2026-05-14T17:31:15Z",
        ),
        Shot(
            "fiddle/G0018.MOV",
            "Fiddle",
            "Fiddle",
            FAST,
            fiddle_2.clip_end_s + 2.6,
            (fiddle_2,),
            live_db={"accordion": -8.0, "fiddle": 4.0, "bass": -9.0, "drums": -8.0},
            live_run=1,
            far=0.35,
            sound_late_s=0.4375,
            timecode="18:01:54:05",
            make=_D[0],
            model=_D[1],
            created="2026-05-14T18:01:54Z",
            note="the file's sound begins 0.4375 s after its picture",
        ),
        Shot(
            "drums/P0230.MP4",
            "Drums",
            "Drums",
            PAL,
            drums.clip_end_s - 0.9,
            (drums,),
            live_db={"accordion": -6.0, "fiddle": -9.0, "bass": -6.0, "drums": 8.0},
            far=0.35,
            noise_db=-32,
            make=_A[0],
            model=_A[1],
            created="2026-05-14T17:31:16Z",
            note="the card is full in bar 47",
        ),
        Shot(
            "bass/O0009.MP4",
            "Bass",
            "Bass",
            NTSC,
            restart.clip_end_s + 2.3,
            (false_start, restart),
            live_db={"accordion": -7.0, "fiddle": -9.0, "bass": 2.0, "drums": -5.0},
            live_run=1,
            far=0.4,
            talk_s=((false_start.clip_end_s + 0.7, restart.clip_start_s - 1.1),),
            talk_db=2,
            make=_C[0],
            model=_C[1],
            created="2026-05-14T17:24:03Z",
            note="a false start, talk, and the song again from the top",
        ),
        Shot(
            "fiddle hands/G0021.MOV",
            "Fiddle hands",
            "Hands",
            FILM,
            hands.clip_end_s + 1.3,
            (hands,),
            live_db={"accordion": -9.0, "fiddle": 6.0, "bass": -10.0, "drums": -10.0},
            far=0.25,
            timecode="18:20:31:17",
            make=_D[0],
            model=_D[1],
            created="2026-05-14T18:20:31Z",
            note="a pick-up of the hands in the solo",
        ),
        Shot(
            "drums/P0231.MP4",
            "Drums",
            "Drums",
            PAL,
            5.2,
            (brushes,),
            live_db={"accordion": -2.0, "fiddle": -4.0, "bass": 0.0, "drums": 14.0},
            live_run=1,
            far=0.6,
            noise_db=-12,
            make=_A[0],
            model=_A[1],
            created="2026-05-14T18:24:20Z",
            note="a few bars of brushes, far louder than the playback",
        ),
        Shot(
            "roaming/T0114.MOV",
            "Roaming",
            "TeaTable",
            FILM,
            12.4,
            tune="",
            verdict="no song",
            talk_s=((0.2, 12.0),),
            noise_db=-26,
            timecode="18:11:02:00",
            make=_B[0],
            model=_B[1],
            created="2026-05-14T18:11:02Z",
            note="tea and talk",
        ),
        Shot(
            "safety/Q0042.MP4",
            "Safety",
            "Wide",
            PAL,
            other.clip_end_s - 2.6,
            (other,),
            tune="salt",
            verdict="no song",
            live_db=band,
            far=0.8,
            timecode="18:30:44:19",
            make=_A[0],
            model=_A[1],
            created="2026-05-14T18:30:44Z",
            note="another tune of the same band, in a near key and tempo",
        ),
        Shot(
            "cutaways/S0001.MP4",
            "Cutaways",
            "Quay",
            PAL,
            18.0,
            tune="",
            verdict="no song",
            silent=True,
            make=_C[0],
            model=_C[1],
            created="2026-05-14T17:02:10Z",
            note="boats and gulls, without sound",
        ),
        Shot(
            "recorder/R0005.WAV",
            "Recorder",
            "",
            None,
            recorder.clip_end_s + 1.4,
            (recorder,),
            live_run=1,
            live_db=band,
            far=0.45,
            noise_db=-44,
            make="Murrelet",
            model="Field One",
            created="2026-05-14T18:01:51Z",
            note="a sound recorder with a clock of its own",
        ),
        Shot(
            "bass/P0232.MP4",
            "Bass",
            "BassFromBoard",
            PAL,
            again.clip_end_s + 1.2,
            (again,),
            verdict="doubtful",
            live_db={"accordion": -7.0, "fiddle": -9.0, "bass": 2.0, "drums": -5.0},
            live_run=2,
            far=0.4,
            make=_A[0],
            model=_A[1],
            created="2026-05-14T18:27:36Z",
            note="a pick-up in chorus 2, which repeats chorus 1 to the sample; the board tells which bars",
        ),
    ]
