"""Which files are those of a sequence; asked of any file, so it loads no library of timelines."""

from pathlib import Path

from app.handoff.event_list import sequence_list
from app.handoff.names import safe_name
from app.handoff.saved_json import has_value
from app.handoff.sequences.sequence import Kind
from app.model.storage.own_bundle import KEY

TIMELINE, LIST = ".otio", ".edl"
"""How they end."""
_LONGEST_BYTES = 90
"""Of the shoot's name and of the sequence's each, so that neither is lost."""


def stem(shoot_name: str, name: str) -> str:
    """What the files of a sequence are called, without their ending; each name is cut where it is long.

    >>> stem("Evening", "string-out singer")
    'Evening string-out singer'
    """
    return f"{safe_name(shoot_name, _LONGEST_BYTES)} {safe_name(name, _LONGEST_BYTES)}"


def is_ours(path: Path, kind: Kind) -> bool:
    """Whether a file is a timeline or an event list of a sequence of that kind."""
    if path.suffix == TIMELINE:
        return has_value(path, kind.value, "metadata", KEY, "sequence")
    return path.suffix == LIST and sequence_list.is_ours(path, kind)
