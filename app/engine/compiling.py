"""The library that maps songs is compiled by one process at a time.

Its functions are compiled when they are first loaded after an installation, and kept on disk in files that
refer to each other. Two processes that compile at once write over each other's and can leave files that do
not fit together: from then on every process that loads them dies.
"""

import importlib

from app.model.storage.file_lock import Locked, one_at_a_time

COMPILED = ("librosa.util.utils", "librosa.core.audio", "librosa.core.pitch")
"""Modules that mapping needs, with functions compiled for several types of number as they are loaded."""
PATIENCE_S = 180.0
"""Compiling takes half a minute on a slow machine; then the other process has stopped for another reason."""


def load_compiled() -> None:
    """Load the modules, and have them compiled where that was not done yet."""
    try:
        with one_at_a_time("compiling", "Another Anglebook is still being set up.", PATIENCE_S):
            _load()
    except Locked:
        _load()


def _load() -> None:
    for module in COMPILED:
        importlib.import_module(module)
