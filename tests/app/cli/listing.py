"""What lies below a folder, to see that nothing changed."""

from pathlib import Path


def listing(folder: Path) -> dict[str, tuple[int, int]]:
    """Every file below a folder with its size and time of change."""
    return {
        path.relative_to(folder).as_posix(): (path.stat().st_size, path.stat().st_mtime_ns)
        for path in sorted(folder.rglob("*"))
    }
