"""What else a key of a place is called: names and tips of its deeds, so that a search finds it by them."""

from collections.abc import Iterator, Sequence

from PySide6.QtGui import QAction

SIGNS = {"←": "Left", "→": "Right", "↑": "Up", "↓": "Down", "−": "-", "Enter": "Return", "Escape": "Esc"}


def shortcuts(told: str) -> Iterator[str]:
    """The shortcuts that a line of the list of keys tells of, as Qt spells them.

    >>> list(shortcuts("Shift+← →")), list(shortcuts("Page ↑ ↓")), list(shortcuts("+ − 0"))
    (['Shift+Left', 'Shift+Right'], ['PgUp', 'PgDown'], ['+', '-', '0'])
    >>> list(shortcuts("Ctrl+Enter")), list(shortcuts("1 … 3"))
    (['Ctrl+Return'], ['1', '2', '3'])
    """
    before, last, page, on = "", "", False, False
    for word in told.split():
        if word in ("Page", "…"):
            page, on = page or word == "Page", word == "…"
            continue
        head, _, key = word[:-1].rpartition("+")
        key += word[-1]
        if head:
            before = f"{head}+"
        elif key not in SIGNS:
            before = ""
        name = SIGNS.get(key, key)
        if page and name in ("Up", "Down"):
            name = f"Pg{name}"
        if on and last.isdecimal() and name.isdecimal():
            yield from (f"{before}{number}" for number in range(int(last) + 1, int(name)))
        yield before + name
        last, on = name, False


def other_words(told: str, actions: Sequence[QAction]) -> str:
    """Names and tips of the deeds that have one of the keys told in a line of the list."""
    keys = set(shortcuts(told))
    found = [a for a in actions if any(one.toString() in keys for one in a.shortcuts())]
    return " ".join(f"{action.text()} {action.toolTip()}".replace("&", "") for action in found)
