"""The library that maps songs is compiled by one process at a time, into a folder that may be written to.

Its functions are compiled when they are first loaded after an installation, and kept on disk in files that
refer to each other. Two processes that compile at once write over each other's and can leave files that do
not fit together: from then on every process that loads them dies. They lie beside the library's own files;
where those are read-only they lie in the cache, and where nothing can be kept they are compiled each time.
"""

import importlib
import importlib.util
import logging
import os
import sys
import tempfile
from pathlib import Path
from typing import Any

from app.model.storage.cache import user_cache
from app.model.storage.file_lock import Locked, one_at_a_time

COMPILED = ("librosa.util.utils", "librosa.core.audio", "librosa.core.pitch")
"""Modules that mapping needs, with functions compiled for several types of number as they are loaded."""
PATIENCE_S = 180.0
"""Compiling takes half a minute on a slow machine; then the other process has stopped for another reason."""
FOLDER = "NUMBA_CACHE_DIR"
"""Variable of the environment that names where the compiler keeps its work; child processes see it too."""


def load_compiled() -> None:
    """Load the modules, and have them compiled where that was not done yet."""
    _choose_folder()
    try:
        with one_at_a_time("compiling", "Another Anglebook is still being set up.", PATIENCE_S):
            _load()
    except Locked:
        _load()


def _load() -> None:
    try:
        _import()
    except OSError as error:  # the disk is full
        logging.getLogger(__name__).warning("what was compiled cannot be kept: %s", error)
        _keep_nothing()
        _import()


def _import() -> None:
    for module in COMPILED:
        importlib.import_module(module)


def _choose_folder() -> None:
    """Have the compiler keep its work in the cache where the library's own folder is read-only."""
    if FOLDER in os.environ or _writable(_beside_library()):
        return
    folder = user_cache() / "compiled"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return
    os.environ[FOLDER] = str(folder)


def _beside_library() -> Path | None:
    """Where compiled functions lie unless told otherwise; None where the library is not in a folder."""
    found = importlib.util.find_spec("librosa")
    if found is None or found.origin is None:
        return None
    return Path(found.origin).parent / "util" / "__pycache__"


def _writable(folder: Path | None) -> bool:
    if folder is None:
        return False
    try:
        with tempfile.TemporaryFile(dir=folder if folder.is_dir() else folder.parent):
            return True
    except OSError:
        return False


def _keep_nothing() -> None:
    """Have the compiler keep nothing; what was loaded by half is loaded anew."""
    caching: Any = importlib.import_module("numba.core.caching")

    def kept_nowhere(*_: object) -> None:
        """Neither kept nor found."""

    caching.IndexDataCacheFile.save = caching.IndexDataCacheFile.load = kept_nowhere
    for name in [one for one in sys.modules if one.partition(".")[0] == "librosa"]:
        del sys.modules[name]
