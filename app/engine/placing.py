"""Clips of a shoot placed: what is known is looked up, the rest is heard, and all are compared at the end.

The signal libraries are loaded by what needs them: when every answer is known from an earlier run, nothing
does.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from app.engine.answer_cache import Kept, Remembered
from app.engine.on_songs import (
    Changed,
    OnSongs,
    answers_of,
    as_found,
    by_path,
    comparable,
    files_of,
    kept_of,
    of_one_song,
    silent_among,
)
from app.model.answers import Answer
from app.model.document.playback_file import PlaybackFile
from app.model.document.song import Song
from app.model.song_names import song_names
from app.model.storage.cache import Cache
from app.model.storage.json_node import WrongShape

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from app.engine.cross_checks import Inquiry, Member
    from app.engine.place_recording import HeardRecording, PlacedAlone
    from app.engine.probing import Looked
    from app.engine.worker_pool import WorkerPool
    from audio.pictures.silent_series import SilentSeries
    from audio.placement.answer import Placement


@dataclass(slots=True)
class Placing:
    """Clips being placed on songs; see `app.engine.tasks.place_clips`."""

    songs: Sequence[Song]
    playbacks: Sequence[PlaybackFile]
    store: Cache
    stop: Callable[[], bool]
    progress: Callable[[Path, float], None]
    comparing: Callable[[int, int], None]
    answered: Callable[[Answer], None]
    workers: int | None
    use_cache: bool
    """Whether an answer of an earlier run stands for hearing a file again; what is heard is kept anyhow."""
    _kept: dict[str, Kept] = field(default_factory=dict)
    """By song and playback file."""
    _looked: "dict[Path, Looked]" = field(default_factory=dict)
    _read: "dict[str, NDArray[np.float32]]" = field(default_factory=dict)

    def place(self, paths: Sequence[Path], beside: Sequence[Answer]) -> None:
        """Place the clips at ``paths``, beside clips of the shoot that were placed before."""
        self._kept = kept_of(self.songs, self.playbacks, self.store)
        own: list[OnSongs] = []
        left: list[list[Path]] = []
        for recording in self._recordings(paths):
            known = self._told(recording) if self.use_cache else None
            if known is None:
                left.append(recording)
            else:
                own.append(known)
        self._look_at_all(path for recording in left for path in recording)
        groups = self._readable([self._look_at(path) for path in recording] for recording in left)
        others = self._remembered(beside)
        # With nothing to hear, an earlier run may know how the comparison comes out: one answer is enough.
        changed = {} if groups else self._known_before([*own, *others])
        for song, answer in answers_of(own):
            self._answer(song, (changed or {}).get((song, Path(answer.media.path)), answer))
        if groups or changed is None:
            changed = self._listen(groups, own, others)
        self._tell_others(beside, others, changed)

    @property
    def _kept_first(self) -> Kept:
        return self._kept[self.songs[0].id]

    def _answer(self, song: str, answer: Answer) -> None:
        self.answered(replace(answer, song_id=song))

    def _listen(
        self, groups: "Sequence[Sequence[Looked]]", own: list[OnSongs], others: Sequence[OnSongs]
    ) -> Changed:
        """Hear recordings, then compare all; gives the answers that comparing changed."""
        from app.engine.references import playback_reference, song_references
        from app.engine.worker_pool import ToHear, WorkerPool
        from audio.rate import ENGINE_RATE

        def heard(answer: "HeardRecording") -> None:
            own.append(self._keep(answer))
            for song, one in answers_of(own[-1:]):
                self._answer(song, one)

        references = [*song_references(self.songs), *map(playback_reference, self.playbacks)]
        try:
            with WorkerPool(
                references,
                self._samples,
                ENGINE_RATE,
                workers=self.workers,
                stop=self.stop,
                progress=self.progress,
                digests={song.id: song.media.digest for song in self.songs},
            ) as pool:
                if groups:
                    pool.hear([ToHear(group, self._alone(group)) for group in groups], heard)
                changed: Changed = {}
                for song in self.songs:
                    on_song = [known[song.id] for known in [*own, *others]]
                    compared = self._compared_before(song, on_song)
                    if compared is None:
                        compared = self._compared(song, comparable(on_song), pool)
                    changed |= {(song.id, path): one for path, one in compared.items()}
                changed = changed | self._seen(pool, [*own, *others], changed)
        finally:
            self._kept_first.tidy()
        mine = {path for known in own for path in files_of(known)}
        for (song_id, path), one in changed.items():
            if path in mine:
                self._answer(song_id, one)
        return changed

    def _told(self, recording: Sequence[Path]) -> OnSongs | None:
        """What an earlier run told of a recording."""
        if len(self._kept) > 1:
            return self._kept_first.told(recording, [song.id for song in self.songs])
        known = self._kept_first.heard(recording)
        return None if known is None or known.beside else {self.songs[0].id: known}

    def _alone(self, group: "Sequence[Looked]") -> "dict[str, PlacedAlone]":
        """What earlier runs found of a recording on references by themselves, as far as that still counts."""
        from app.engine.place_recording import PlacedAlone
        from app.engine.placement_json import placement_from_json

        files = [file.path for file in group]
        if len(self._kept) == 1 or not self.use_cache:
            return {}
        keys = {kept.digest: key for key, kept in self._kept.items()}
        out = {}
        for key, kept in self._kept.items():
            known = kept.heard(files)
            if known is None or not set(known.beside) <= keys.keys():
                continue
            if known.placement is None and len(files) > 1:
                continue  # heard file by file: such answers cannot be weighed against each other
            try:
                placement = None if known.placement is None else placement_from_json(known.placement)
            except WrongShape:
                continue
            beside = tuple(keys[digest] for digest in known.beside)
            out[key] = PlacedAlone(list(known.answers), placement, beside)
        return out

    def _keep(self, answer: "HeardRecording") -> OnSongs:
        """Keep what came of a recording; gives what it is of each song."""
        from app.engine.placement_json import placement_to_json

        def remembered(one: "PlacedAlone") -> Remembered:
            placement = None if one.placement is None else placement_to_json(one.placement)
            digests = (self._kept[key].digest for key in one.beside)
            files = [Path(clip.media.path) for clip in one.answers]
            return Remembered(files, one.answers, placement, tuple(filter(None, digests)))

        for key, one in answer.alone.items():
            self._kept[key].keep_heard(remembered(one))
        out = {song: remembered(one) for song, one in answer.songs.items()}
        if len(self._kept) > 1:
            self._kept_first.keep_told(out)
        return out

    def _known_before(self, all_: Sequence[OnSongs]) -> Changed | None:
        """What comparing, and looking at clips without sound, changed in an earlier run; None where that is
        not known."""
        changed: Changed = {}
        seen: dict[str, dict[Path, Answer]] = {}
        for song in self.songs:
            on_song = [known[song.id] for known in all_]
            compared = self._compared_before(song, on_song)
            found = {} if not silent_among(on_song) else self._seen_before(song, on_song)
            if compared is None or found is None:
                return None
            changed |= {(song.id, path): one for path, one in compared.items()}
            seen[song.id] = found
        return changed | of_one_song(seen, song_names(self.songs))

    def _seen_before(self, song: Song, on_song: Sequence[Remembered]) -> dict[Path, Answer] | None:
        return self._kept[song.id].seen(by_path(on_song)) if self.use_cache else None

    def _seen(self, pool: "WorkerPool", all_: Sequence[OnSongs], changed: Changed) -> Changed:
        """What the pictures tell of clips without sound, beside the others as they came out."""
        seen = {}
        for song in self.songs:
            on_song = [known[song.id] for known in all_]
            own = {path: one for (song_id, path), one in changed.items() if song_id == song.id}
            seen[song.id] = self._seen_on(song, pool, on_song, own)
        return of_one_song(seen, song_names(self.songs))

    def _seen_on(
        self, song: Song, pool: "WorkerPool", on_song: Sequence[Remembered], changed: dict[Path, Answer]
    ) -> dict[Path, Answer]:
        from app.engine.by_sight import Heard, by_sight, heard
        from audio.rate import ENGINE_RATE

        silent, all_ = silent_among(on_song), by_path(on_song)
        if not silent:
            return {}
        known = self._seen_before(song, all_)
        if known is not None:
            return known

        def sound() -> Heard:
            return heard(self._samples()[song.id], ENGINE_RATE)

        def series_of(files: Sequence[Path]) -> "dict[Path, SilentSeries]":
            out = {}
            for path in files:
                kept = self._kept_first.series(path) if self.use_cache else None
                if kept is not None:
                    out[path] = kept

            left = [path for path in files if path not in out]

            def looked(path: Path, series: "SilentSeries") -> None:
                out[path] = series
                self._kept_first.keep_series(path, series)
                self.comparing(sum(one in out for one in left), len(left))

            if left:
                self.comparing(0, len(left))
            pool.look(left, looked)
            return out

        placed = [changed.get(Path(one.media.path), one) for known in all_ for one in known.answers]
        found = by_sight(silent, placed, sound, series_of)
        self._kept[song.id].keep_seen(all_, found)
        return found

    def _compared_before(self, song: Song, on_song: Sequence[Remembered]) -> dict[Path, Answer] | None:
        """What comparing changed in an earlier run; None where that is not known."""
        members = comparable(on_song)
        if not members:
            return {}
        return self._kept[song.id].compared(members) if self.use_cache else None

    def _compared(self, song: Song, members: Sequence[Remembered], pool: "WorkerPool") -> dict[Path, Answer]:
        from app.engine.cross_checks import compared

        def ask(inquiries: "Sequence[Inquiry]") -> "Sequence[Placement]":
            self.comparing(0, len(inquiries))
            return pool.ask(inquiries, lambda done: self.comparing(done, len(inquiries)))

        self._look_at_all(path for known in members for path in known.files)
        present = [member for known in members if (member := self._member(known)) is not None]
        changed = compared(present, song.id, ask)
        self._kept[song.id].keep_compared(members, changed)
        return changed

    def _member(self, known: Remembered) -> "Member | None":
        """A recording as it is compared; None where its files cannot be read any more."""
        from app.engine.cross_checks import Member
        from app.engine.placement_json import placement_from_json

        files = [self._look_at(path) for path in known.files]
        if known.placement is None or any(file.info is None for file in files):
            return None
        try:
            return Member(files, known.answers, placement_from_json(known.placement))
        except WrongShape:
            return None

    def _recordings(self, paths: Sequence[Path]) -> list[list[Path]]:
        """Sort files into recordings; each that cannot be read stands by itself."""
        known = self._kept_first.recordings(paths) if self.use_cache else None
        if known is not None:
            sorted_in = {path for recording in known for path in recording}
            others = [path for path in paths if path not in sorted_in]
            # What could not be read before may be readable now, and belong to a recording.
            self._look_at_all(others)
            if all(self._look_at(path).info is None for path in others):
                return known + [[path] for path in others]
        from audio.files.recordings import recording_groups

        self._look_at_all(paths)
        infos = [info for path in paths if (info := self._look_at(path).info) is not None]
        recordings = [[infos[number].path for number in group] for group in recording_groups(infos)]
        self._kept_first.keep_recordings(paths, recordings)
        return recordings + [[path] for path in paths if self._look_at(path).info is None]

    def _look_at(self, path: Path) -> "Looked":
        self._look_at_all([path])
        return self._looked[path]

    def _look_at_all(self, paths: Iterable[Path]) -> None:
        """Look at files as yet unseen, all at once."""
        unseen = [path for path in dict.fromkeys(paths) if path not in self._looked]
        if not unseen:
            return
        from app.engine.probing_apart import look_apart

        def looked(file: "Looked") -> None:
            self._looked[file.path] = file
            self.progress(file.path, 0.0)

        look_apart(unseen, workers=self.workers, stop=self.stop, looked=looked)

    def _readable(self, groups: "Iterable[Sequence[Looked]]") -> "list[Sequence[Looked]]":
        """The groups that can be heard; files that cannot be read are answered."""
        out = []
        for group in groups:
            if len(group) == 1 and group[0].info is None:
                from app.engine.probing import told

                for song in self.songs:
                    self._answer(song.id, told(group[0]))
            else:
                out.append(group)
        return out

    def _remembered(self, beside: Sequence[Answer]) -> list[OnSongs]:
        """The recordings of clips placed before, as far as they are known from then."""
        groups: dict[str, dict[Path, None]] = {}
        for answer in beside:
            group = groups.setdefault(answer.recording or answer.media.path, {})
            group[Path(answer.media.path)] = None
        return [known for paths in groups.values() if (known := self._told(list(paths))) is not None]

    def _tell_others(self, beside: Sequence[Answer], others: Sequence[OnSongs], changed: Changed) -> None:
        """Tell the answers on clips placed before, where they are not what they were."""
        first = self.songs[0].id
        had = {(one.song_id or first, Path(one.media.path)): as_found(one) for one in beside}
        for song in (song.id for song in self.songs):
            on_song = by_path(known[song] for known in others)
            for answer in (answer for known in on_song for answer in known.answers):
                path = Path(answer.media.path)
                if (song, path) not in changed and not any(
                    known.comparable for known in on_song if path in known.files
                ):
                    continue
                now = changed.get((song, path), answer)
                if as_found(now) != had.get((song, path)):
                    self._answer(song, now)

    def _samples(self) -> "dict[str, NDArray[np.float32]]":
        """The sound of all references, by their ids."""
        if not self._read:
            from app.engine.references import read_references

            self._read = read_references(self.songs, self.playbacks, self.stop)
        return self._read
