"""Libraries are loaded on first use, on whichever threads need them first."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FILES = [
    path
    for room in ("audio", "app")
    for path in sorted((ROOT / room).rglob("*.py"))
    if "av." in path.read_text(encoding="utf-8")
]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_av_is_loaded_whole_before_any_part_of_it(path: Path) -> None:
    """Two threads that load it at once, one from a part and one as a whole, would wait for each other."""
    names = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names += [(node.lineno, alias.name) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            names.append((node.lineno, node.module or ""))
    loaded = [name for _, name in sorted(names) if name.partition(".")[0] == "av"]
    assert loaded[:1] in ([], ["av"])
