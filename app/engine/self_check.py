"""What this installation is and has, for whoever helps when something does not work; nothing is sent."""

import os
import platform
import shutil
import sys
import tempfile
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from app.model.storage import cache_space
from app.model.storage.cache import user_cache
from app.model.storage.home import home, is_stand_in
from app.model.storage.log_file import log_path
from app.model.storage.user_state import user_state

LIBRARIES = (
    *("numpy", "scipy", "librosa", "numba", "soundfile", "soxr", "av", "zxing-cpp", "python-stretch"),
    *("OpenTimelineIO", "pillow", "reportlab", "PySide6-Essentials", "PySide6-Addons"),
)
LEAST_FREE = 2_000_000_000
"""Bytes of disk and memory below which it is told: proxies and a song of an hour need as much."""
LEAST_FILES = 256
"""File handles: each worker takes some ten, and the window some fifty."""

Facts = dict[str, str]


def about_this_computer() -> tuple[dict[str, Facts], tuple[str, ...]]:
    """Facts under headings, and what is wrong, in sentences."""
    wrong: list[str] = []
    facts = {
        "versions": _versions(wrong),
        "codecs": _codecs(wrong),
        "cache": _folders(wrong),
        "limits": _limits(wrong),
    }
    return facts, tuple(wrong)


def version_of(name: str) -> str:
    """The version of an installed package, or ``missing``."""
    try:
        return version(name)
    except PackageNotFoundError:
        return "missing"


def _versions(wrong: list[str]) -> Facts:
    facts = {
        "anglebook": version_of("anglebook"),
        "python": f"{platform.python_version()} ({sys.executable})",
        "system": platform.platform(),
    }
    facts |= {name: version_of(name) for name in LIBRARIES}
    missing = [name for name in LIBRARIES if facts[name] == "missing"]
    if missing:
        wrong.append(f"Not installed: {', '.join(missing)}. Install Anglebook once more.")
    return facts


def _codecs(wrong: list[str]) -> Facts:
    try:
        from audio.files.codecs import library_versions, missing_codecs
    except ImportError as error:
        wrong.append(f"The media library does not load: {error}.")
        return {"media library": "does not load"}
    missing = missing_codecs()
    if missing:
        wrong.append(f"The media library lacks {', '.join(missing)}: such clips cannot be used.")
    return {"missing": ", ".join(missing) or "none", **library_versions()}


def _folders(wrong: list[str]) -> Facts:
    cache = user_cache()
    trouble = cache_space.trouble(cache)
    if trouble:
        wrong.append(trouble)
    own = home()
    if own is None or is_stand_in(own):
        wrong.append("You have no folder of your own (HOME is not set): nothing is remembered for long.")
    facts = {
        "home": str(own or "none"),
        "cache": f"{cache} ({_size(cache_space.size_bytes(cache))})",
        "remembered": str(user_state()),
        "log": str(log_path()),
    }
    for name, folder in (("cache", cache), ("temporary files", Path(tempfile.gettempdir()))):
        free = _free(folder)
        facts[f"free for {name}"] = "unknown" if free is None else _size(free)
        if free is not None and free < LEAST_FREE:
            wrong.append(f"Only {_size(free)} are free in {folder}. Free some space.")
    return facts


def _free(folder: Path) -> int | None:
    """Bytes free where a folder is or would be made."""
    for one in (folder, *folder.parents):
        try:
            return shutil.disk_usage(one).free
        except OSError:
            continue
    return None


def _limits(wrong: list[str]) -> Facts:
    facts = {"processors": str(os.cpu_count() or "unknown")}
    try:
        facts["memory"] = _size(os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES"))
    except (AttributeError, ValueError, OSError):
        facts["memory"] = "unknown"
    try:
        import resource
    except ImportError:  # Windows has none of them
        return facts
    for name, what in (("NOFILE", "open files"), ("NPROC", "processes"), ("AS", "memory of a process")):
        kind = getattr(resource, f"RLIMIT_{name}", None)
        if kind is None:
            continue
        soft, _ = resource.getrlimit(kind)
        facts[what] = "unlimited" if soft == resource.RLIM_INFINITY else f"{soft}"
        if name == "NOFILE" and 0 <= soft < LEAST_FILES:
            wrong.append(f"Only {soft} files may be open at once: allow {LEAST_FILES} or more (ulimit -n).")
    return facts


def _size(number: int) -> str:
    return f"{number / 1e9:.1f} GB" if number >= 100_000_000 else f"{number / 1e6:.1f} MB"
