"""Files opened in a process of their own: one that ends or halts its reader costs itself only."""

from collections.abc import Callable, Sequence
from pathlib import Path

from app.engine.probing import Looked, look
from app.engine.workers import Progress, Stop, Workers
from app.model.document.media_ref import MediaRef
from app.model.reasons import Reason, sentence


def look_apart(
    paths: Sequence[Path], *, workers: int | None = None, stop: Stop, looked: Callable[[Looked], None]
) -> None:
    """Tell what files are; ``looked`` gets each, in any order. With 0 ``workers`` here. Raises Stopped."""
    processes = 1 if workers is None else min(workers, 1)
    with Workers(_tools, workers=processes, stop=stop, progress=lambda path, fraction: None) as apart:
        apart.each(_look, paths, lambda _, file: looked(file), _broken, _stuck)


def _tools() -> Callable[[Stop, Progress], None]:
    return _nothing


def _nothing(stop: Stop, progress: Progress) -> None:
    """Looking needs no tools."""


def _look(path: Path, _: None) -> Looked:
    return look(path)


def _broken(path: Path) -> Looked:
    return Looked(path, MediaRef(str(path), 0, ""), None, sentence(Reason("reader broke")))


def _stuck(path: Path) -> Looked:
    return Looked(path, MediaRef(str(path), 0, ""), None, sentence(Reason("reader stuck")))
