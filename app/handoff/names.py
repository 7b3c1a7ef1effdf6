"""File names that every system takes, each used once."""

import re
import unicodedata

LONGEST_BYTES = 200
# Names that Windows keeps for devices, with or without a suffix ("Naming Files, Paths, and Namespaces",
# Microsoft).
_DEVICES = re.compile(r"(?:CON|PRN|AUX|NUL|COM[0-9¹²³]|LPT[0-9¹²³])(?:\..*)?", re.IGNORECASE)


def safe_name(name: str, longest_bytes: int = LONGEST_BYTES, *, otherwise: str = "shoot") -> str:
    """A file name, without suffix, made of any text: no folders, no reserved names, not too long.

    >>> safe_name("../Grüße: Teil 1/2"), safe_name("aux"), safe_name(" .. ")
    ('Grüße- Teil 1-2', 'aux_', 'shoot')
    """
    text = unicodedata.normalize("NFC", name).encode("utf-8", errors="replace").decode("utf-8")
    text = "".join("-" if c in '<>:"/\\|?*' or not c.isprintable() else c for c in text)
    text = text.strip(" .-")
    text = text.encode("utf-8")[:longest_bytes].decode("utf-8", errors="ignore").rstrip(" .")
    if _DEVICES.fullmatch(text):
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
