"""What the window has the engine do for the shoot: find clips, read the song, place clips."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject, Signal

from app.model.answers import Answer, answers_on_all
from app.model.document.change import NOTHING, Change
from app.model.document.identity import media_ref
from app.model.document.media_ref import MediaRef
from app.model.document.playback_file import PlaybackFile
from app.model.document.shoot import Shoot
from app.model.document.song import Song
from app.model.document.verdict import Verdict
from app.model.edits import shoot_edits, song_edits
from app.model.renewing.what_changes import unheard
from app.window.jobs import Jobs, Tasks, Ticket
from app.window.parts.dialogs import SOUND, VIDEO, Dialogs
from app.window.parts.words import count
from app.window.session import Session
from app.window.work.asking_songs import songs_asked
from app.window.work.found_words import here_already, left_out, nothing_new
from app.window.work.heard_again import heard_again
from app.window.work.how_far import HowFar
from app.window.work.running import Running
from app.window.work.what_sound import Sound, ask_what_sound, ask_whether_next

SOUND_SUFFIXES = frozenset(SOUND.replace("*", "").split())
MEDIA_SUFFIXES = SOUND_SUFFIXES | frozenset(VIDEO.replace("*", "").split())
ORIGIN = "work"


@dataclass(frozen=True, slots=True)
class _Found:
    clips: list[MediaRef]
    sounds: list[Path]
    """Sound-only files among them."""
    named: list[Path]
    """Those of them that were handed over by name, not found in a folder."""
    remark: str = ""
    """What was left out or here already, or why there is nothing new, in sentences."""
    dropped: tuple[Path, ...] = ()
    """What was handed over; names of folders below it may name angles."""


class Work(QObject):
    """Starts the engine's jobs and puts their answers into the shoot."""

    moved = Signal()
    """What is being read or placed, or how far it is, changed."""
    message = Signal(str)
    """A sentence for the person; nothing went wrong."""
    next_master = Signal(object)
    """A path: it was dropped, and is a new master of the song in hand."""

    def __init__(
        self,
        session: Session,
        jobs: Jobs,
        running: Running,
        tasks: Tasks,
        dialogs: Dialogs,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._jobs, self._tasks, self._dialogs = session, jobs, tasks, dialogs
        self._running = running
        self._batch = HowFar({})
        self._once_more: set[str] = set()
        self._reading: Path | None = None
        self._playbacks: Sequence[PlaybackFile] = ()  # those known last
        self._songs_next: list[Path] = []
        """Files that are read as further songs when that is done."""
        running.moved.connect(self.moved)
        running.ended.connect(self._on_ended)
        session.changed.connect(self._on_session_changed)

    @property
    def reading(self) -> str:
        """Name of the file that is being read as the song; empty where none is."""
        return self._reading.name if self._reading is not None else ""

    @property
    def song_path(self) -> Path | None:
        """The song's file, or the one that is being read as the song."""
        if self._reading is not None:
            return self._reading
        song = self._session.view.song
        return None if song is None else Path(song.media.path)

    @property
    def progress(self) -> dict[str, float]:
        """For the path of each clip being placed how far it is."""
        return self._batch.fractions

    @property
    def placing(self) -> bool:
        """Whether clips are being looked for or placed."""
        return self._jobs.busy("find") or self._jobs.busy("place")

    @property
    def waiting(self) -> int:
        """How many clips wait to be placed and are not being placed."""
        if self._session.view.song is None:
            return 0
        running = self._batch if self._jobs.busy("place") else ()
        return sum(path not in running for path in self._waiting())

    def begin_with(self, song: Path, clips: Path) -> None:
        """Begin a new shoot with a song and a folder of clips; nothing of that is a step to be undone."""
        self.read_song(song, step=False)
        self.take_in([clips], step=False)

    def take_in(self, paths: Sequence[Path], *, step: bool = True) -> None:
        """Take in what was dropped or chosen: files and folders, the song among them or not.

        ``step``: what comes in is a step that can be undone.
        """
        if not paths:
            return
        shoot = self._session.view
        first = paths[0]
        if len(paths) == 1 and first.suffix.lower() in SOUND_SUFFIXES and first.is_file():
            self._take_sound(first)
            return
        clips_here = {Path(clip.media.path) for clip in shoot.clips}
        known = clips_here | ({self.song_path} if self.song_path is not None else set())
        tasks = self._tasks

        def work(ticket: Ticket) -> _Found:
            closed: list[str] = []
            everything = tasks.find_clips(paths, passed_over=closed.append)
            found = [path for path in everything if path not in known]
            # Named by hand, a file with a suffix that nobody knows may still be a recording.
            odd = [path for path in found if path in paths and path.suffix.lower() not in MEDIA_SUFFIXES]
            odd = [path for path in odd if tasks.trouble(path)]
            found = [path for path in found if path not in odd]
            clips = []
            for n, path in enumerate(found):
                if ticket.stop():
                    break
                ticket.progress(n / len(found))
                clips.append(reference(path))
            sounds = [path for path in found if path.suffix.lower() in SOUND_SUFFIXES]
            remarks = [left_out(odd), here_already(clips_here & set(everything))]
            if not found and not odd:
                remarks = [nothing_new(paths, bool(everything))]
            remark = " ".join(filter(None, [*remarks, *closed]))
            named = [path for path in sounds if path in paths]
            return _Found(clips, sounds, named, remark, tuple(path.absolute() for path in paths))

        self._running.start("find", "Looking for clips", work, lambda found: self._found(found, step))

    def take_watched(self, clips: Sequence[MediaRef], folder: Path) -> None:
        """Take in clips of the watched folder; those that could not be read before are placed once more.

        Nobody did anything for it, so it is no step: no undo takes them out again.
        """
        known = {clip.media.path for clip in self._session.view.clips}
        self._once_more |= {media.path for media in clips} & known
        self._session.arrive(clips, ORIGIN, folder)
        self._place_next()

    def add_clips(self) -> None:
        """Ask for clips and add them."""
        self.take_in(self._dialogs.choose_clips())

    def add_folder(self) -> None:
        """Ask for a folder and add the clips in it."""
        folder = self._dialogs.choose_folder("Add a folder of clips")
        if folder is not None:
            self.take_in([folder])

    def choose_song(self) -> None:
        """Ask for the song and read it; what takes were placed on may have a new master."""
        path, view = self._dialogs.choose_song(), self._session.view
        if path is None:
            return
        song, placed = view.song, any(clip.takes for clip in view.clips)
        if song is None or not placed or path.absolute() == Path(song.media.path):
            self.read_song(path)
            return
        following = ask_whether_next(self._dialogs, path, song.called)
        if following:
            self.next_master.emit(path)
        elif following is not None:
            self.read_song(path)

    def add_song(self) -> None:
        """Ask for one more song, read it, and hold all clips against it."""
        path = self._dialogs.choose_song()
        if path is not None:
            self.read_song(path, further=True)

    def remove_song(self) -> None:
        """Take the song in hand out of the shoot; its clips stay."""
        song = self._session.view.song
        if song is not None:
            self._running.abandon("place")
            self._put("Remove Song", lambda shoot: song_edits.remove_song(shoot, song.id), True)
            self.place_waiting()

    def read_song(self, path: Path, *, step: bool = True, further: bool = False) -> None:
        """Read a file as the song, then place the clips that wait.

        ``step``: as a step that can be undone; ``further``: as one more song, not in the place of the one in
        hand.
        """
        tasks = self._tasks
        self._reading = path.absolute()

        def work(ticket: Ticket) -> Song:
            return tasks.song_from_file(path, stop=ticket.stop, progress=ticket.progress, in_subprocess=True)

        doing = f"Reading {path.name}: beats, bars and sections"
        failing = f"{path.name} can't be used as the song."
        self._running.start(
            "song", doing, work, lambda song: self._take_song(song, step, further), failing=failing
        )

    def place_waiting(self) -> None:
        """Place every clip that was not placed yet."""
        self._place(self._waiting())

    def place_again(self, clip_ids: Collection[str]) -> None:
        """Place clips once more, whatever is known of them from before."""
        if self._jobs.busy("place"):
            self.message.emit("Clips are being placed. Place these again when that's done.")
            return
        self._place([c.media.path for c in self._session.view.clips if c.id in clip_ids], use_cache=False)

    def _place(self, batch: Sequence[str], *, use_cache: bool = True) -> None:
        songs, playbacks = self._session.songs, self._session.whole.playbacks
        if not songs or not batch or self._jobs.busy("place"):
            return  # clips added meanwhile are placed when the running job is done
        tasks = self._tasks
        sizes = {clip.media.path: clip.media.size_bytes for clip in self._session.view.clips}
        far = self._batch = HowFar({path: sizes.get(path, 0) for path in batch})
        beside = [one for one in answers_on_all(self._session.whole) if one.media.path not in batch]

        # Written by the job and read here: only the newest figures count.
        fractions: dict[str, float] = {}
        counts: list[tuple[int, int]] = []

        def work(ticket: Ticket) -> None:
            def progress(path: Path, fraction: float) -> None:
                fractions[str(path)] = fraction
                ticket.progress(0.0)

            def comparing(done: int, whole: int) -> None:
                counts.append((done, whole))
                ticket.progress(0.0)

            tasks.place_clips(
                songs,
                [Path(path) for path in batch],
                playbacks=playbacks,
                beside=beside,
                stop=ticket.stop,
                progress=progress,
                comparing=comparing,
                answered=ticket.report,
                use_cache=use_cache,
            )

        def moved(*_: object) -> None:
            far.told(fractions.copy())
            if counts:
                far.compared(*counts[-1])
            self._running.show("place", far.doing)

        def report(answer: Answer) -> None:
            self._answer(answer, songs)

        def placed(_: object) -> None:
            self._place_next(batch)

        self._running.start("place", "Placing clips", work, placed, report=report, progress=moved)
        self._running.show("place", far.doing)

    def _place_next(self, just_placed: Sequence[str] = ()) -> None:
        """Place what came meanwhile; nothing twice in a row, even where it still waits."""
        if self._jobs.busy("place"):
            return  # done when that ends
        waiting = self._waiting()
        once_more, self._once_more = sorted(self._once_more), set()
        self._place([path for path in waiting if path not in just_placed] + once_more)

    def _on_ended(self, slot: str) -> None:
        if slot == "place":
            self._batch = HowFar({})
        elif slot == "song":
            self._reading = None

    def _take_sound(self, path: Path) -> None:
        """A single sound-only file: the song if there is none, else the person says."""
        if self._session.view.song is None and not self._jobs.busy("song"):
            self.read_song(path)
            return
        said = ask_what_sound(self._dialogs, path)
        if said is Sound.CLIP:
            self._add([reference(path)], [path.absolute()])
        elif said is Sound.NEXT_MASTER:
            self.next_master.emit(path)
        elif said is not None:
            self.read_song(path, further=said is Sound.MORE)

    def _found(self, found: _Found, step: bool) -> None:
        clips = found.clips
        if not clips:
            if found.remark:
                self.message.emit(found.remark)
            return
        if found.sounds and self._session.view.song is None and not self._jobs.busy("song"):
            songs = songs_asked(self._dialogs, found.sounds, found.named)
            if songs:
                clips = [media for media in clips if Path(media.path) not in songs]
                self._songs_next = songs[1:]
                self.read_song(songs[0])
        self._add(clips, found.dropped, step=step)
        if found.remark:
            self.message.emit(found.remark)

    def _add(self, clips: Sequence[MediaRef], dropped: Sequence[Path], *, step: bool = True) -> None:
        label = f"Add {count(len(clips), 'Clip')}"
        self._put(label, lambda shoot: shoot_edits.add_clips(shoot, clips, dropped), step)
        self.place_waiting()

    def _take_song(self, song: Song, step: bool, further: bool) -> None:
        self._running.abandon("place")  # its answers are for the songs before
        further = further and self._session.view.song is not None

        def take(shoot: Shoot) -> tuple[Shoot, Change]:
            if further:
                return song_edits.add_song(shoot, song)
            before = shoot.song()
            shoot, change = shoot_edits.set_song(shoot, song)
            # A name that came from the song before, such as a wrong one, goes with it; a typed one stays.
            if shoot.name and (before is None or shoot.name != Path(before.media.path).stem):
                return shoot, change
            shoot, named = shoot_edits.set_name(shoot, Path(song.media.path).stem)
            return shoot, change | named

        self._put("Add Song" if further else "Choose Song", take, step)
        if self._songs_next:
            self.read_song(self._songs_next.pop(0), step=step, further=True)
        else:
            self.place_waiting()

    def _put(self, label: str, edit: Callable[[Shoot], tuple[Shoot, Change]], step: bool) -> None:
        if step:
            self._session.apply(label, edit(self._session.shoot), ORIGIN)
        else:
            self._session.find_out(edit, ORIGIN)

    def _waiting(self) -> list[str]:
        """Paths of the clips that some song was not compared with, or that were carried over unheard."""
        ids = unheard(self._session.whole)
        clips = self._session.everywhere.clips
        return [c.media.path for c in clips if c.verdict is Verdict.WAITING or c.id in ids]

    def _answer(self, answer: Answer, songs: Sequence[Song]) -> None:
        song = next((one for one in songs if one.id == answer.song_id), songs[0])

        def edit(shoot: Shoot) -> tuple[Shoot, Change]:
            if all(one.id != song.id for one in shoot.songs):
                return shoot, NOTHING  # it was taken out meanwhile, or is not there yet before an undone step
            return shoot_edits.answer_clip(shoot, answer, song_id=song.id, heard_on=song.media.digest)

        self._session.find_out(edit, ORIGIN)
        if self._batch.answered(answer.media.path):
            self._running.show("place", self._batch.doing)

    def _on_session_changed(self, change: Change, origin: str) -> None:
        known, self._playbacks = self._playbacks, self._session.whole.playbacks
        if origin not in ("open", "song"):
            again = heard_again(known, self._playbacks, self._session.everywhere.clips)
            if again:
                self._once_more |= again
                self._place_next()
        if origin == "open":
            self._once_more, self._songs_next = set(), []
            for slot in ("find", "song", "place", "relink"):
                self._running.abandon(slot)


def reference(path: Path) -> MediaRef:
    """The file's identity; of one that cannot be read only its place: the engine says what is wrong."""
    try:
        return media_ref(path)
    except OSError:
        return MediaRef(str(path.absolute()), 0, "")
