"""Where the sample shoot lies: beside the program, in a checkout as well as where it was installed."""

from dataclasses import dataclass
from pathlib import Path

NAME = "Six O'Clock Ferry"


@dataclass(frozen=True, slots=True)
class Sample:
    """The files of the sample shoot; they are only read."""

    song: Path
    clips: Path
    """Folder of the clips."""


def sample_shoot(beside: Path = Path(__file__).parents[2]) -> Sample | None:
    """The sample shoot; None where it did not come along."""
    folder = beside / "sample_media"
    sample = Sample(folder / "song.ogg", folder / "clips")
    return sample if sample.song.is_file() and sample.clips.is_dir() else None
