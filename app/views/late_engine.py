"""The engine as the window gets it: loaded when it is first used, on the thread that uses it.

Loading the signal libraries takes seconds; the window is there before.
"""

from collections.abc import Callable, Collection, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from app.handoff.outcome import HandoffReport
from app.model.shoot import Clip, Shoot, Song

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class LateTasks:
    """The functions of `app.tasks`, each loading them on its first call."""

    def find_clips(self, paths: Sequence[Path], *, leave_out: Collection[Path] = ()) -> list[Path]:
        """See `app.tasks.find_clips`."""
        from app import tasks

        return tasks.find_clips(paths, leave_out=leave_out)

    def song_from_file(
        self, path: Path, *, stop: Callable[[], bool], progress: Callable[[float], None]
    ) -> Song:
        """See `app.tasks.song_from_file`."""
        from app import tasks

        return tasks.song_from_file(path, stop=stop, progress=progress)

    def place_clips(
        self,
        song: Song,
        paths: Sequence[Path],
        *,
        stop: Callable[[], bool],
        progress: Callable[[Path, float], None],
        answered: Callable[[Clip], None],
        workers: int | None = None,
        fresh: bool = False,
    ) -> None:
        """See `app.tasks.place_clips`."""
        from app import tasks

        tasks.place_clips(
            song, paths, stop=stop, progress=progress, answered=answered, workers=workers, fresh=fresh
        )

    def picture(self, path: Path, clip_s: float, height: int) -> "NDArray[np.uint8]":
        """See `app.tasks.picture`."""
        from app import tasks

        return tasks.picture(path, clip_s, height)

    def song_peaks(self, path: Path, count: int) -> "NDArray[np.float32]":
        """See `app.tasks.song_peaks`."""
        from app import tasks

        return tasks.song_peaks(path, count)


def hand_over(shoot: Shoot, folder: Path) -> tuple[HandoffReport, ...]:
    """See `app.handoff.all.write_all`."""
    from app.handoff.all import write_all

    return write_all(shoot, folder)
