"""Which deeds of a place stand in a menu of their own below Edit, so that none is longer than a screen."""

from collections.abc import Mapping, Sequence

GROUPS: Mapping[str, Sequence[tuple[str, Sequence[str]]]] = {
    "Song": (
        ("&Tempo", ("T", "H", "D", "Shift+H", "Shift+D", "B", "Alt+Left", "Alt+Right")),
        ("&Bars", ("O", "Shift+O", "2", "3", "4", "5", "6", "7")),
        (
            "&Sections",
            (
                *("S", "Shift+S", "J", "F2", "L", "Shift+L"),
                *("Shift+Left", "Shift+Right", "Ctrl+Shift+Left", "Ctrl+Shift+Right"),
                *("Alt+Shift+Left", "Alt+Shift+Right"),
            ),
        ),
        ("&Go To", ("Left", "Right", "Ctrl+Left", "Ctrl+Right", "PgUp", "PgDown", "Home", "End")),
        ("&Zoom", ("+", "-", "0")),
    ),
    "Check": (
        ("&Go To", ("D", "F", "Up", "Down", "Ctrl+Left", "Ctrl+Right", "PgUp", "PgDown")),
        ("&Look at Place", tuple("123456789")),
        ("&Move the Take", ("Left", "Right", "Shift+Left", "Shift+Right", "Alt+Left", "Alt+Right")),
    ),
    "Score": (
        ("&Angle", ("F2", "S", "H", "Shift+H", "M", "Ctrl+G", "Alt+Up", "Alt+Down")),
        ("&Zoom", ("+", "-", "0")),
    ),
}
"""For a place, by its title: the names of the menus, and the keys of what stands in each."""


def group_of(place: str, key: str) -> str | None:
    """The menu that the deed of that key stands in; None: in Edit itself.

    >>> group_of("Check", "3"), group_of("Check", "N"), group_of("Clips", "F2")
    ('&Look at Place', None, None)
    """
    return next((name for name, keys in GROUPS.get(place, ()) if key in keys), None)
