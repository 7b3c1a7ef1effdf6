"""A shoot made up for the tests of the window, and an engine that answers for it without reading any file."""

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from app.engine.checking import Placed
from app.engine.finding_pieces import DoubtfulPiece, FoundPieces
from app.engine.side_by_side import SideBySide, patches
from app.model.answers import Answer
from app.model.document.decisions import Reference
from app.model.document.findings import Rival
from app.model.document.looks import Match
from app.model.document.masters import MasterPiece
from app.model.document.media_ref import MediaRef
from app.model.document.playback_file import PlaybackFile, PlaybackPiece
from app.model.document.shoot import Shoot
from app.model.document.song import Section, Song, SongMap
from app.model.document.verdict import Verdict
from app.model.edits import angle_edits, shoot_edits
from app.model.kit.made_file import MadeFile
from app.model.kit.planned import RATE, Planned
from app.model.on_song import Clip, SongView, Take
from app.model.reasons import NO_REASON, Reason, in_words
from app.model.seen import Seen
from app.model.storage.guard import Guard
from app.model.wrong_song import Shared
from audio.errors import Stopped, Unreadable
from tests.app.documents import answer
from tests.app.window.made_proofs import MadeFit, MadeProof, make_proof

BAR_S = 2.0
BARS = 64
FIRST_BAR_S = 0.5
PARTS = (
    ("Intro", 8),
    ("Verse 1", 8),
    ("Chorus", 8),
    ("Verse 2", 12),
    ("Chorus", 8),
    ("Bridge", 8),
    ("Chorus", 8),
    ("Outro", 4),
)


def bar_s(number: int) -> float:
    """Start of a bar."""
    return FIRST_BAR_S + (number - 1) * BAR_S


def make_song(path: str = "/shoot/harbour-waltz.wav") -> Song:
    """A song of 64 bars of two seconds in eight sections."""
    sections, bar = [], 1
    for n, (name, bars) in enumerate(PARTS):
        start = 0.0 if n == 0 else bar_s(bar)
        bar += bars
        sections.append(Section("ABCDEFGH"[n], name, start, bar_s(bar)))
    bars_s = tuple(bar_s(n) for n in range(1, BARS + 1))
    beats = tuple(start + beat * BAR_S / 3 for start in bars_s for beat in range(3))
    return Song(MediaRef(path, 1000, "song"), bar_s(BARS + 1), SongMap(90.0, beats, bars_s, tuple(sections)))


# File, first and last bar of each take, and whether the take is in doubt.
SHOT: tuple[tuple[str, tuple[tuple[float, float, bool], ...]], ...] = (
    ("Singer/C0001.mov", ((1, 30.3, False),)),
    ("Singer/C0002.mov", ((17, 28, False), (37, 64.5, False))),
    ("Accordion/C0003.mov", ((1, 27.9, False),)),
    ("Accordion/C0004.mov", ((32.3, 50, False),)),
    ("Drums/C0005.mov", ((9, 21.3, False), (22.1, 24.9, False))),
    ("Drums/C0006.mov", ((33, 60, False),)),
    ("Roaming/C0007.mov", ((5, 26, False),)),
    ("Hands/C0008.mov", ((18, 20.6, True),)),
    ("Safety/C0009.mov", ((1, 64.9, False),)),
)


def make_clip(name: str, takes: Sequence[tuple[float, float, bool]] = ()) -> Clip:
    """A clip with takes from bar to bar; the fourth word of a take tells whether it is in doubt."""
    made, at = [], 2.0
    for n, (first, last, doubtful) in enumerate(takes, 1):
        length = (last - first) * BAR_S
        rivals = (
            (Rival(bar_s(first + 32), 0.97, as_well=True), Rival(bar_s(first + 20), 0.31)) if doubtful else ()
        )
        made.append(
            Take(
                f"t{n}",
                at,
                at + length,
                bar_s(first),
                uncertainty_s=0.0008,
                verdict=Verdict.DOUBTFUL if doubtful else Verdict.PLACED,
                reason=in_words("Two places fit equally well: the chorus comes back to the sample.")
                if doubtful
                else NO_REASON,
                rivals=rivals,
            )
        )
        at += length + 5.0
    verdict = Verdict.DOUBTFUL if any(t[2] for t in takes) else Verdict.PLACED if takes else Verdict.WAITING
    return Clip(
        "",
        MediaRef(f"/shoot/{name}", 1000, name),
        "",
        duration_s=at,
        frame_rate=Fraction(25),
        width=1920,
        height=1080,
        verdict=verdict,
        takes=tuple(made),
    )


@cache
def make_shoot() -> Shoot:
    """The made-up shoot: six angles, one take in doubt, a thin place in bars 30 to 32."""
    shoot, _ = shoot_edits.set_song(Shoot(name="harbour-waltz"), make_song())
    unplaced = [
        replace(
            make_clip("Roaming/C0010.mov"),
            verdict=Verdict.NO_SONG,
            reason=in_words("No stretch of the song is heard in it."),
        ),
        replace(
            make_clip("C0011.mov"),
            verdict=Verdict.UNREADABLE,
            reason=in_words("The file is cut off; copy it again from the card."),
        ),
        replace(make_clip("Drums/C0012.mov"), duration_s=0.0),
    ]
    for clip in (*(make_clip(name, takes) for name, takes in SHOT), *unplaced):
        shoot = with_clip(shoot, clip)
    safety = next(angle for angle in shoot.angles if angle.name == "Safety")
    shoot, _ = angle_edits.mark_safety(shoot, safety.id, True)
    return shoot


def with_clip(shoot: Shoot, clip: Clip) -> Shoot:
    """The shoot with a clip more, answered unless it waits."""
    shoot, _ = shoot_edits.add_clips(shoot, [clip.media])
    return shoot if clip.verdict is Verdict.WAITING else shoot_edits.answer_clip(shoot, answer(clip))[0]


class MadeUpTasks:
    """Answers like the engine. Files are known by name; what is not known is unreadable."""

    def __init__(self) -> None:
        self.files: list[Path] = []
        self.answers = {f"/shoot/{name}": make_clip(name, takes) for name, takes in SHOT}
        self.before_answer: Callable[[Callable[[], bool]], None] = lambda stop: None
        self.digests: dict[str, str] = {}
        """Of song files that are other recordings than the usual one, by their names."""
        self.song_error: Exception | None = None
        self.pieces: tuple[MasterPiece, ...] = ()
        """What of an old master lives on in a new one."""
        self.closed: dict[str, str] = {}
        """Why a file of that name does not open."""
        self.reports_per_clip = 1
        self.before_picture: Callable[[], None] = lambda: None
        self.pictures_taken = 0
        self.used_cache: list[bool] = []
        """For each time clips were placed, whether known answers were to be left aside."""
        self.placed_beside: list[set[str]] = []
        """For each time, the paths of the clips they were placed beside."""
        self.compared: list[Clip] = []
        """What comparing clips changes."""
        self.found_again = SongMap()
        """What another look at the song finds."""
        self.mapped_again: list[tuple[SongMap, float]] = []
        """For each such look, the map that was known and where it began."""
        self.late_s: float | None = 0.004
        """How late every take is at every moment; None: no lag can be made out."""
        self.silent = False
        """Clips have no sound that could be compared."""
        self.proved: list[tuple[Placed, tuple[float, ...]]] = []
        """What was looked at."""
        self.fit: MadeFit | None = None
        """What settling finds."""
        self.before_proofs: Callable[[Callable[[], bool]], None] = lambda stop: None
        self.shared: Shared | None = None
        """What clips without the song share."""
        self.shared_among: list[list[Path]] = []
        """For each time that was asked, of which clips."""
        self.before_shared: Callable[[Callable[[], bool]], None] = lambda stop: None
        self.seen: list[Seen] = []
        """What looking at clips gives."""
        self.looked_at: list[list[str]] = []
        """For each time that was asked, the paths of the shoot's clips."""
        self.before_look: Callable[[Callable[[], bool]], None] = lambda stop: None
        self.matched: Callable[[SongView], tuple[Match, ...]] = lambda shoot: ()
        """How takes compare with the reference."""
        self.matched_with: list[Reference | None] = []
        """For each time that was asked, the reference."""
        self.unmatched: dict[str, str] = {}
        """Why a file (by its path) cannot be compared."""
        self.before_match: Callable[[Callable[[], bool]], None] = lambda stop: None
        self.beside: list[tuple[tuple[Path, float], tuple[Path, float] | None, Match | None]] = []
        """Which moments were asked for side by side."""
        self.beside_trouble = ""
        self.before_made: Callable[[Callable[[], bool]], None] = lambda stop: None
        self.tags: dict[str, str] = {}
        """Transfer functions that files tell of, by the file's name; BT.709 where nothing is said here."""
        self.passed_over: list[str] = []
        """What is said of folders that cannot be opened."""
        self.before_compared: Callable[[Callable[[], bool]], None] = lambda stop: None

    def find_clips(
        self,
        paths: Sequence[Path],
        *,
        leave_out: Collection[Path] = (),
        passed_over: Callable[[str], None] = lambda sentence: None,
    ) -> list[Path]:
        for sentence in self.passed_over:
            passed_over(sentence)
        found = [f for f in self.files if any(f == p or p in f.parents for p in paths)]
        found += [p for p in paths if p.suffix and p not in found]
        return sorted(p for p in found if p not in leave_out)

    def trouble(self, path: Path) -> str:
        return self.closed.get(path.name, "")

    def song_from_file(
        self,
        path: Path,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        in_subprocess: bool = False,
    ) -> Song:
        self.before_answer(stop)
        if self.song_error is not None:
            raise self.song_error
        progress(1.0)
        song = make_song(str(path))
        return replace(song, media=replace(song.media, digest=self.digests.get(path.name, "song")))

    def map_again(
        self,
        song: Song,
        from_s: float,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        in_subprocess: bool = False,
    ) -> SongMap:
        self.before_answer(stop)
        self.mapped_again.append((song.map, from_s))
        progress(1.0)
        return self.found_again

    def look_at_clips(
        self,
        shoot: SongView,
        *,
        stop: Callable[[], bool],
        progress: Callable[[Path, float], None],
        answered: Callable[[Seen], None],
        workers: int | None = None,
        use_cache: bool = True,
    ) -> None:
        self.looked_at.append([clip.media.path for clip in shoot.clips])
        self.before_look(stop)
        for one in self.seen:
            progress(Path(one.media.path), 1.0)
            answered(one)

    def match_takes(
        self,
        shoot: SongView,
        *,
        stop: Callable[[], bool],
        progress: Callable[[Path, float], None],
        troubled: Callable[[Path, str], None],
        workers: int | None = None,
        use_cache: bool = True,
    ) -> tuple[Match, ...]:
        self.matched_with.append(shoot.reference)
        self.before_match(stop)
        for path, sentence in self.unmatched.items():
            troubled(Path(path), sentence)
        return self.matched(shoot)

    def transfer_functions(self) -> tuple[tuple[str, str], ...]:
        return ("bt709", "BT.709"), ("slog3", "S-Log3")

    def tagged_transfer(self, path: Path) -> str:
        return self.tags.get(path.name, "bt709")

    def side_by_side(
        self,
        reference: tuple[Path, float],
        take: tuple[Path, float] | None,
        match: Match | None,
        height: int,
    ) -> SideBySide:
        self.beside.append((reference, take, match))
        if self.beside_trouble:
            raise Unreadable(self.beside_trouble)
        count = 1 if take is None else 2 if match is None else 3
        pictures = tuple(np.full((height, 2 * height, 3), 60 * (n + 1), np.uint8) for n in range(count))
        return SideBySide(pictures, tuple(patches(one) for one in pictures))

    def shared_sound(
        self,
        paths: Sequence[Path],
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        in_subprocess: bool = False,
    ) -> Shared | None:
        self.shared_among.append(list(paths))
        self.before_shared(stop)
        return self.shared

    def place_clips(
        self,
        songs: Sequence[Song],
        paths: Sequence[Path],
        *,
        playbacks: Sequence[PlaybackFile] = (),
        beside: Sequence[Answer],
        stop: Callable[[], bool],
        progress: Callable[[Path, float], None],
        comparing: Callable[[int, int], None],
        answered: Callable[[Answer], None],
        workers: int | None = None,
        use_cache: bool = True,
    ) -> None:
        self.used_cache.append(use_cache)
        self.placed_beside.append({clip.media.path for clip in beside})
        for path in paths:
            for n in range(self.reports_per_clip):
                progress(path, 0.5 * (n + 1) / self.reports_per_clip)
            self.before_answer(stop)
            if stop():
                return
            unreadable = replace(
                make_clip(path.name),
                media=MediaRef(str(path), 1000, path.name),
                duration_s=0.0,
                verdict=Verdict.UNREADABLE,
                reason=in_words("This is not a file with sound or pictures."),
            )
            first = answer(self.answers.get(str(path), unreadable))
            answered(first)
            for song in songs[1:]:
                answered(replace(first, verdict=Verdict.NO_SONG, takes=(), song_id=song.id))
        for number, clip in enumerate(self.compared):
            comparing(number, len(self.compared))
            self.before_compared(stop)
            if stop():
                return
            answered(answer(clip))

    def pictures(self, path: Path, times: Sequence[float], height: int) -> list[NDArray[np.uint8]]:
        """A sky over a floor, and a round head for each letter of the folder."""
        self.before_picture()
        self.pictures_taken += len(times)
        return [self._picture(path, clip_s, height) for clip_s in times]

    def _picture(self, path: Path, clip_s: float, height: int) -> NDArray[np.uint8]:
        width = height * 16 // 9
        y, x = np.mgrid[0:height, 0:width]
        hue = np.array(
            [[90, 70, 110], [60, 85, 115], [60, 105, 90], [95, 95, 105]][len(path.parent.name) % 4]
        )
        image = hue * (1.0 - 0.5 * y[..., None] / height)
        image[y > 0.8 * height] *= 0.6
        heads = 1 if path.parent.name != "Safety" else 4
        for n in range(heads):
            middle = width * (n + 1) / (heads + 1) + 3 * np.sin(clip_s)
            radius = height * (0.14 if heads == 1 else 0.09)
            image[(x - middle) ** 2 + (y - height * 0.42) ** 2 < radius**2] = (205, 185, 160)
            image[((x - middle) / 1.4) ** 2 + (y - height * 0.8) ** 2 < (radius * 1.9) ** 2] = (35, 35, 40)
        return image.astype(np.uint8)

    def proofs(
        self,
        placed: Placed,
        moments: Sequence[float],
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
    ) -> list[MadeProof]:
        self.before_proofs(stop)
        self.proved.append((placed, tuple(moments)))
        found = [make_proof(placed, clip_s, None if self.silent else self.late_s) for clip_s in moments]
        return [replace(one, silent=self.silent) for one in found]

    def settle(
        self, placed: Placed, *, stop: Callable[[], bool], progress: Callable[[float], None]
    ) -> MadeFit | None:
        self.before_proofs(stop)
        return self.fit

    def make_files(
        self,
        song: Song,
        wanted: Sequence[tuple[Planned, Path]],
        guard: Guard,
        *,
        loudness_lufs: float | None = None,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
    ) -> Iterator[MadeFile]:
        for number, (plan, path) in enumerate(wanted, 1):
            self.before_made(stop)
            if stop():
                raise Stopped("Stopped.")
            guard.check(path)
            progress(number / len(wanted))
            media = MediaRef(str(path), 1, path.name)
            playback = PlaybackFile("", media, plan.length / RATE, (plan.piece,), made=True, note=plan.what)
            yield MadeFile(plan, playback, loudness_lufs or -20.0, -1.0, 0.0)

    def master_pieces(
        self,
        old: Path,
        new: Path,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        in_subprocess: bool = False,
    ) -> tuple[MasterPiece, ...]:
        self.before_answer(stop)
        progress(1.0)
        return self.pieces

    def playback_pieces(
        self,
        songs: Sequence[Song],
        path: Path,
        *,
        stop: Callable[[], bool],
        progress: Callable[[float], None],
        in_subprocess: bool = False,
    ) -> FoundPieces:
        if path.name in self.closed:
            raise Unreadable(self.closed[path.name])
        pieces = tuple(PlaybackPiece(one.id, 1.0, 61.0, 5.0, 1.25) for one in songs[:1])
        playback = PlaybackFile("", MediaRef(str(path), 7, path.name), 70.0, pieces)
        doubtful = tuple(
            DoubtfulPiece(PlaybackPiece(one.id, 58.0, 69.0, 80.0, 1.1, 0.02), Reason("unsteady tempo"))
            for one in songs[:1]
        )
        return FoundPieces(playback, doubtful)

    def known_pieces(self, songs: Sequence[Song], path: Path) -> FoundPieces | None:
        return self.playback_pieces(songs, path, stop=lambda: False, progress=lambda far: None)

    def song_loudness(self, path: Path, from_s: float, to_s: float, count: int) -> NDArray[np.float32]:
        return np.abs(np.sin(np.linspace(from_s, to_s, count) * 4)).astype(np.float32)

    def song_peaks(self, path: Path, count: int) -> NDArray[np.float32]:
        t = np.linspace(0, 1, count)
        loud = 0.25 + 0.5 * np.abs(np.sin(t * 9)) * (0.6 + 0.4 * np.abs(np.sin(t * 400)))
        return np.stack([-loud, loud], axis=1).astype(np.float32)
