"""Starting matches as one ASC CDL collection (``.ccc``): a correction for each take that was compared.

Ids are those of the takes, as in the report and in the timeline's metadata. Each correction says which file
it is for, how far it brings the two together, and when not to trust it.
"""

import re
from pathlib import Path, PurePath

from app.handoff.look_text import match_words
from app.handoff.names import FreeNames
from app.handoff.outcome import HandoffError, HandoffReport, Planned, count, plain
from app.model.document.looks import Match
from app.model.guarding import guard_of
from app.model.on_song import Clip, SongView, Take, reference_take
from app.model.storage.files import write_whole
from audio.pictures.cdl import Cdl, three
from audio.pictures.cdl_files import Correction, NotCdl, collection, description, read

SUFFIX = ".ccc"
OURS = "Anglebook starting matches"
"""How a collection of ours begins to describe itself."""
_LONGEST = 4_000_000
_NOT_IN_IDS = re.compile(r"[^A-Za-z0-9._-]")


def write(shoot: SongView, path: Path) -> HandoffReport:
    """Write the collection, read it back and compare. Raises HandoffError."""
    corrections = _corrections(shoot)

    def read_back(written: Path) -> None:
        again = {one.id: one.cdl for one in read(written.read_bytes())}
        if again != {one.id: one.cdl for one, _ in corrections}:
            raise HandoffError(f"{path.name} does not read back as it was written, so it was not kept.")

    try:
        write_whole(path, _text(shoot), guard_of(shoot), read_back)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise HandoffError(f"{path.name} could not be written: {why}. Choose another folder.") from error
    return HandoffReport(path=path, lines=_lines(shoot), takes=len(corrections), worst_sub_frame_offset_s=0.0)


def plan(shoot: SongView, name: str) -> Planned:
    """What `write` would write under that name. Raises HandoffError where no take was compared."""
    return Planned(name, len(_text(shoot)), _lines(shoot))


def is_ours(path: Path) -> bool:
    """Whether an earlier hand-off wrote a collection. May raise OSError."""
    if path.suffix != SUFFIX or not path.is_file() or path.stat().st_size > _LONGEST:
        return False
    try:
        return description(path.read_bytes()).startswith(OURS)
    except NotCdl:
        return False


def cdl_of(match: Match) -> Cdl:
    """The CDL of a match. Raises ValueError for figures that no CDL has."""
    return Cdl(three(match.slope), three(match.offset), three(match.power), match.saturation)


def _text(shoot: SongView) -> bytes:
    reference = reference_take(shoot)
    against = "" if reference is None else f", reference {reference.id}"
    said = f"{OURS}: {plain(shoot.name) or 'shoot'}{against}"
    return collection([one for one, _ in _corrections(shoot)], said)


def _corrections(shoot: SongView) -> list[tuple[Correction, Match]]:
    """One for each take that was compared. Raises HandoffError where there is none."""
    if reference_take(shoot) is None:
        raise HandoffError("No reference take is chosen, so there is no match to write: choose one in Check.")
    names = FreeNames()
    found = [
        (_correction(names, clip, take, take.match), take.match)
        for clip in shoot.clips
        for take in clip.takes
        if take.match is not None
    ]
    if not found:
        raise HandoffError(
            "No take was compared with the reference take yet: look at the clips first (anglebook look)."
        )
    return found


def _correction(names: FreeNames, clip: Clip, take: Take, match: Match) -> Correction:
    # An XML name begins with a letter; ids from elsewhere may hold anything.
    name = _NOT_IN_IDS.sub("_", take.id)
    name = names.free(name if name[:1].isalpha() else f"take-{name}").replace(" ", "-")
    words = f"{PurePath(clip.media.path).name}: {match_words(match)}"
    try:
        return Correction(name, cdl_of(match), plain(words))
    except ValueError as error:
        raise HandoffError(f"The match of {take.id} is not valid: {error} Compare them again.") from error


def _lines(shoot: SongView) -> tuple[str, ...]:
    found = [match for _, match in _corrections(shoot)]
    doubted = sum(bool(match.doubts) for match in found)
    lines = [f"{count(len(found), 'take')} with a slope and an offset to begin grading with."]
    if doubted:
        lines.append(f"{doubted} of them in doubt; the collection says why.")
    return tuple(lines)
