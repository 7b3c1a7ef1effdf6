"""Angles: what the cameras were set up to show."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Angle:
    """What a camera was set up to show; its takes share a stave."""

    id: str
    name: str
    safety: bool = False
    subjects: tuple[str, ...] = ()
    """Who or what it shows, such as ``singer``; empty where nobody said."""
    group: str = ""
    """Angles of one group stand together; empty for none."""
    hidden: bool = False
    """Left out of the score's staves; its takes count all the same."""
    rank: int = 0
    """How much the maker likes it: 1 is best; 0 where nobody said."""
    named: bool = True
    """A person, or words in names of files and folders, named it; False where the program made a name up."""
    place: str = ""
    """Where the camera stood; empty where nobody said."""
    camera: str = ""
    """Which camera and lens it was; empty where nobody said."""
