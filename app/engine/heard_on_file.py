"""A take that was heard on a playback file: looked at on the file's clock, told on the song's.

The curves of a take that was shot to a stretched file agree with that file, not with the song.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from app.model.document.playback_file import PlaybackFile
from app.model.on_song import Take
from app.model.song_line import Line

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from audio.placement.local_fit import LocalFit
    from audio.placement.proof import Proof


@dataclass(frozen=True, slots=True)
class Played:
    """A piece of a playback file."""

    path: Path
    line: Line
    """Song time of every moment of the file."""

    def in_file(self, line: Line) -> Line:
        """A take's line as one over the file."""
        return Line(self.line.clip_time(line.song_start_s), line.speed / self.line.speed, line.clip_from_s)

    def proof_in_song(self, proof: "Proof") -> "Proof":
        """A proof made on the file, on the song's clock."""
        speed = self.line.speed
        return replace(
            proof,
            song_s=self.line.song_time(proof.song_s),
            song=_stretched(proof.song, speed),
            take=_stretched(proof.take, speed),
            fit=_stretched(proof.fit, speed),
            late_s=None if proof.late_s is None else proof.late_s * speed,
            uncertainty_s=proof.uncertainty_s * speed,
        )

    def fit_in_song(self, fit: "LocalFit") -> "LocalFit":
        """A fit found on the file, on the song's clock."""
        song_s = self.line.song_time(fit.line.song_s)
        line = replace(fit.line, song_s=song_s, speed=fit.line.speed * self.line.speed)
        return replace(fit, line=line, uncertainty_s=fit.uncertainty_s * self.line.speed)


def played_in(take: Take, playbacks: Sequence[PlaybackFile], song_id: str) -> Played | None:
    """The piece that a take was heard on; None where it was the song itself, or where it lies in none now."""
    file = next((one for one in playbacks if take.playback_id and one.id == take.playback_id), None)
    if file is None:
        return None
    middle_s = take.song_time((take.clip_start_s + take.clip_end_s) / 2)
    for piece in file.pieces:
        if piece.song_id == song_id and piece.start_s <= piece.line.clip_time(middle_s) <= piece.end_s:
            return Played(Path(file.media.path), piece.line)
    return None


def _stretched(curve: "NDArray[np.float32]", speed: float) -> "NDArray[np.float32]":
    """A curve about its middle, over time in the file, as one over song time; 0 beyond what there is."""
    import numpy as np

    about = np.arange(len(curve)) - (len(curve) - 1) / 2
    told = np.interp(about / speed, about, curve, left=0.0, right=0.0)
    return np.asarray(told, np.float32)
