"""File names that every system takes, each used once."""

import re
import unicodedata
from pathlib import PurePath

LONGEST_BYTES = 200
_LONGEST_COPY_BYTES = 180
"""For a name, so that there is room behind it for what makes copies unique."""
_SUFFIX = re.compile(r"\.[A-Za-z0-9]{1,5}")
# Names that Windows keeps for devices, with or without a suffix ("Naming Files, Paths, and Namespaces",
# Microsoft).
_DEVICE = re.compile(r"^(?:con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])(?=\.|$)", re.IGNORECASE)


def safe_name(name: str, longest_bytes: int = LONGEST_BYTES, *, otherwise: str = "shoot") -> str:
    """A file name, without suffix, made of any text: no folders, no reserved names, not too long.

    >>> safe_name("../Grüße: Teil 1/2"), safe_name("aux"), safe_name(" .. ")
    ('Grüße- Teil 1-2', 'aux_', 'shoot')
    """
    text = unicodedata.normalize("NFC", name).encode("utf-8", errors="replace").decode("utf-8")
    text = "".join("-" if c in '<>:"/\\|?*' or not c.isprintable() else c for c in text)
    text = text.strip(" .-")
    text = text.encode("utf-8")[:longest_bytes].decode("utf-8", errors="ignore").rstrip(" .")
    if _DEVICE.match(text):
        text += "_"
    return text or otherwise


class FreeNames:
    """Gives each name once: what differs in capitals only is the same file on many systems."""

    def __init__(self) -> None:
        self._used: set[str] = set()

    def free(self, stem: str, suffix: str = "") -> str:
        """The name with its suffix, and with a number before that where it was given before.

        >>> names = FreeNames()
        >>> names.free("Take", ".mov"), names.free("TAKE", ".mov"), names.free("Take", ".wav")
        ('Take.mov', 'TAKE 2.mov', 'Take.wav')
        """
        name, number = f"{stem}{suffix}", 1
        while name.casefold() in self._used:
            number += 1
            name = f"{stem} {number}{suffix}"
        self._used.add(name.casefold())
        return name


def copy_name(names: FreeNames, called: str, more: str = "", suffix: str | None = None) -> str:
    """A free name after what a file is called, with ``more`` behind it; its own suffix where none is given.

    Folders by which files of one name are told apart stand before it, unless that would become too long.

    >>> names = FreeNames()
    >>> copy_name(names, "B0003.MP4"), copy_name(names, "b0003.mp4"), copy_name(names, "Drums/B0003.MP4")
    ('B0003.MP4', 'b0003 2.mp4', 'Drums - B0003.MP4')
    >>> copy_name(names, "aux.wav", " take 2")
    'aux_ take 2.wav'
    """
    own = PurePath(called)
    if suffix is None:
        suffix = own.suffix if _SUFFIX.fullmatch(own.suffix) else ""
    name = own.stem if own.suffix else own.name
    whole = " - ".join([*(part for part in own.parent.parts if part != own.anchor), name])
    if len(whole.encode("utf-8", "replace")) > _LONGEST_COPY_BYTES:
        whole = name
    stem = safe_name(whole, _LONGEST_COPY_BYTES, otherwise="clip")
    # A device's name counts up to its first point, whatever follows.
    return names.free(_DEVICE.sub(r"\g<0>_", stem) + more, suffix)
