"""Clips of a shoot placed: what is known is looked up, the rest is heard, and all are compared at the end.

The signal libraries are loaded by what needs them: when every answer is known from an earlier run, nothing
does.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from app.engine.answer_cache import Kept, Remembered
from app.model.answers import Answer
from app.model.document.song import Song
from app.model.storage.json_node import WrongShape
from audio.errors import BadSignal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from app.engine.cross_checks import Inquiry, Member
    from app.engine.place_recording import PlacedAlone
    from app.engine.probing import Looked
    from app.engine.worker_pool import WorkerPool
    from audio.pictures.silent_series import SilentSeries
    from audio.placement.answer import Placement


@dataclass(slots=True)
class Placing:
    """Clips being placed on a song; see `app.engine.tasks.place_clips`."""

    song: Song
    kept: Kept
    stop: Callable[[], bool]
    progress: Callable[[Path, float], None]
    comparing: Callable[[int, int], None]
    answered: Callable[[Answer], None]
    workers: int | None
    use_cache: bool
    """Whether an answer of an earlier run stands for hearing a file again; what is heard is kept anyhow."""
    _looked: "dict[Path, Looked]" = field(default_factory=dict)

    def place(self, paths: Sequence[Path], beside: Sequence[Answer]) -> None:
        """Place the clips at ``paths``, beside clips of the shoot that were placed before."""
        own: list[Remembered] = []
        left: list[list[Path]] = []
        for recording in self._recordings(paths):
            known = self.kept.heard(recording) if self.use_cache else None
            if known is None:
                left.append(recording)
            else:
                own.append(known)
        self._look_at_all(path for recording in left for path in recording)
        groups = self._readable([self._look_at(path) for path in recording] for recording in left)
        others = self._remembered(beside)
        # With nothing to hear, an earlier run may know how the comparison comes out: one answer is enough.
        changed = {} if groups else self._known_before([*own, *others])
        for answer in (answer for known in own for answer in known.answers):
            self.answered((changed or {}).get(Path(answer.media.path), answer))
        if groups or changed is None:
            changed = self._listen(groups, own, others)
        self._tell_others(beside, others, changed)

    def _listen(
        self, groups: "Sequence[Sequence[Looked]]", own: list[Remembered], others: Sequence[Remembered]
    ) -> dict[Path, Answer]:
        """Hear recordings, then compare all; gives the answers that comparing changed."""
        from app.engine.placement_json import placement_to_json
        from app.engine.worker_pool import WorkerPool
        from audio.rate import ENGINE_RATE

        def heard(answer: "PlacedAlone") -> None:
            placement = None if answer.placement is None else placement_to_json(answer.placement)
            files = [Path(one.media.path) for one in answer.answers]
            own.append(Remembered(files, answer.answers, placement))
            self.kept.keep_heard(own[-1])
            for one in answer.answers:
                self.answered(one)

        try:
            with WorkerPool(
                self._samples,
                ENGINE_RATE,
                workers=self.workers,
                stop=self.stop,
                progress=self.progress,
                song_digest=self.song.media.digest,
            ) as pool:
                if groups:
                    pool.hear(groups, heard)
                changed = self._compared_before([*own, *others])
                if changed is None:
                    changed = self._compared(_comparable([*own, *others]), pool)
                changed = changed | self._seen(pool, [*own, *others], changed)
        finally:
            self.kept.tidy()
        mine = {path for known in own for path in known.files}
        for path, one in changed.items():
            if path in mine:
                self.answered(one)
        return changed

    def _known_before(self, all_: Sequence[Remembered]) -> dict[Path, Answer] | None:
        """What comparing, and looking at clips without sound, changed in an earlier run; None where that is
        not known."""
        changed = self._compared_before(all_)
        if changed is None or not _silent(all_):
            return changed
        seen = self.kept.seen(_by_path(all_)) if self.use_cache else None
        return None if seen is None else changed | seen

    def _seen(
        self, pool: "WorkerPool", all_: Sequence[Remembered], changed: dict[Path, Answer]
    ) -> dict[Path, Answer]:
        """What the pictures tell of clips without sound, beside the others as they came out."""
        from app.engine.by_sight import Heard, by_sight, heard
        from audio.rate import ENGINE_RATE

        silent, all_ = _silent(all_), _by_path(all_)
        if not silent:
            return {}
        known = self.kept.seen(all_) if self.use_cache else None
        if known is not None:
            return known

        def song() -> Heard:
            return heard(self._samples(), ENGINE_RATE)

        def series_of(files: Sequence[Path]) -> "dict[Path, SilentSeries]":
            out = {}
            for path in files:
                kept = self.kept.series(path) if self.use_cache else None
                if kept is not None:
                    out[path] = kept

            left = [path for path in files if path not in out]

            def looked(path: Path, series: "SilentSeries") -> None:
                out[path] = series
                self.kept.keep_series(path, series)
                self.comparing(sum(one in out for one in left), len(left))

            if left:
                self.comparing(0, len(left))
            pool.look(left, looked)
            return out

        placed = [changed.get(Path(one.media.path), one) for known in all_ for one in known.answers]
        found = by_sight(silent, placed, song, series_of)
        self.kept.keep_seen(all_, found)
        return found

    def _compared_before(self, all_: Sequence[Remembered]) -> dict[Path, Answer] | None:
        """What comparing changed in an earlier run; None where that is not known."""
        members = _comparable(all_)
        if not members:
            return {}
        return self.kept.compared(members) if self.use_cache else None

    def _compared(self, members: Sequence[Remembered], pool: "WorkerPool") -> dict[Path, Answer]:
        from app.engine.cross_checks import compared

        def ask(inquiries: "Sequence[Inquiry]") -> "Sequence[Placement]":
            self.comparing(0, len(inquiries))
            return pool.ask(inquiries, lambda done: self.comparing(done, len(inquiries)))

        self._look_at_all(path for known in members for path in known.files)
        present = [member for known in members if (member := self._member(known)) is not None]
        changed = compared(present, ask)
        self.kept.keep_compared(members, changed)
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
        known = self.kept.recordings(paths) if self.use_cache else None
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
        self.kept.keep_recordings(paths, recordings)
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

                self.answered(told(group[0]))
            else:
                out.append(group)
        return out

    def _remembered(self, beside: Sequence[Answer]) -> list[Remembered]:
        """The recordings of clips placed before, as far as they are known from then."""
        groups: dict[str, list[Path]] = {}
        for answer in beside:
            groups.setdefault(answer.recording or answer.media.path, []).append(Path(answer.media.path))
        return [known for paths in groups.values() if (known := self.kept.heard(paths)) is not None]

    def _tell_others(
        self, beside: Sequence[Answer], others: Sequence[Remembered], changed: dict[Path, Answer]
    ) -> None:
        """Tell the answers on clips placed before, where they are not what they were."""
        had = {Path(answer.media.path): _as_found(answer) for answer in beside}
        for answer in (answer for known in _by_path(others) for answer in known.answers):
            path = Path(answer.media.path)
            if path not in changed and not any(known.comparable for known in others if path in known.files):
                continue
            now = changed.get(path, answer)
            if _as_found(now) != had[path]:
                self.answered(now)

    def _samples(self) -> "NDArray[np.float32]":
        from audio.files.media import read_song
        from audio.rate import ENGINE_RATE

        samples = read_song(Path(self.song.media.path), ENGINE_RATE, stop=self.stop)
        if not samples.any():
            raise BadSignal("The song is silent: choose another file.")
        return samples


def _comparable(recordings: Iterable[Remembered]) -> list[Remembered]:
    """Those that have takes, in an order that does not hang on who came first."""
    return sorted((one for one in recordings if one.comparable), key=lambda one: one.files[0])


def _by_path(recordings: Iterable[Remembered]) -> list[Remembered]:
    return sorted(recordings, key=lambda one: one.files[0])


def _silent(recordings: Iterable[Remembered]) -> list[Answer]:
    """The answers on clips with pictures whose sound tells nothing."""
    from app.engine.by_sight import is_silent

    return [answer for known in _by_path(recordings) for answer in known.answers if is_silent(answer)]


def _as_found(answer: Answer) -> tuple[object, ...]:
    """What was found out about a clip, apart from the facts of its file."""
    return answer.verdict, answer.reason, answer.takes
