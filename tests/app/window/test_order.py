"""The files of the window know each other one way only, and each has a name of its own."""

from collections import Counter
from graphlib import TopologicalSorter

from tests.test_arrows import imports, sources

LEVELS = (
    ("session", "jobs"),
    ("parts",),
    ("playing", "work"),
    ("slate", "master"),
    ("clips", "song", "plan", "check", "score", "handoff"),
    ("frame",),
)
"""Folders of the window and what lies beside them, from the lowest up; each knows those below it only."""


def known() -> dict[str, set[str]]:
    """For each module of the window, the others that it imports anywhere."""
    found = sources()
    ours = [name for name in found if name.startswith("app.window.")]
    known = {}
    for module in ours:
        names = imports(found[module].read_text(encoding="utf-8"), module)
        # A name may be a module, or something in one.
        mentioned = names | {name.rpartition(".")[0] for name in names}
        known[module] = {one for one in ours if one in mentioned and one != module}
    return known


def folder(module: str) -> str:
    return module.split(".")[2]


def test_no_two_files_import_each_other() -> None:
    """Not by way of others either, in functions, or for types alone."""
    assert list(TopologicalSorter(known()).static_order()), "raises where there is a circle"


def test_folders_know_those_below_them_only() -> None:
    level = {name: number for number, names in enumerate(LEVELS) for name in names}
    wrong = [
        f"{module} imports {other}"
        for module, others in known().items()
        for other in others
        if folder(module) != folder(other) and level[folder(module)] <= level[folder(other)]
    ]
    assert not wrong


def test_every_file_has_a_name_of_its_own() -> None:
    names = Counter(path.name for path in sources().values() if path.name != "__init__.py")
    ours = [path.name for name, path in sources().items() if name.startswith("app.window.")]
    assert not [name for name in ours if names[name] > 1]
