"""Traces kept from one run to the next, so that no clip is decoded again as long as it did not change.

What counts as unchanged is as in `app.engine.answer_cache`. Keys hold the code that looks at pictures, and
no other: a better ear makes nobody look again.
"""

import hashlib
import io
import zipfile
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

import audio
from app.engine.answer_cache import as_seen, code_digest
from app.model.storage.cache import Cache, user_cache

if TYPE_CHECKING:
    from audio.pictures.trace import Trace

LIBRARIES = ("av", "numpy", "scipy")
SOURCES = (
    "files/*.py",
    "pictures/sampling.py",
    "pictures/trace.py",
    "pictures/picture_measures.py",
    "pictures/shifts.py",
)
"""What a trace hangs on, below ``audio``. What is made of traces is worked out each time."""
MOST_BYTES = 1_000_000_000
"""The folder's size; the trace of a long clip takes 2 to 4 MB."""


class KeptTraces:
    """What is known of clips' pictures from earlier runs.

    A trace belongs to the content from *before* it was made, and is kept only if the file is still the same
    after.
    """

    def __init__(self, store: Cache | None = None) -> None:
        self._cache = store or Cache(user_cache() / "looks", MOST_BYTES)
        self._seen: dict[Path, str | None] = {}

    def get(self, path: Path) -> "Trace | None":
        """The trace of a clip's file, where it is known."""
        key = self._key(path)
        content = None if key is None else self._cache.get_bytes(key)
        if content is None:
            return None
        from audio.pictures.trace import Trace

        try:
            with np.load(io.BytesIO(content), allow_pickle=False) as arrays:
                return Trace.from_arrays(dict(arrays))
        except (OSError, ValueError, KeyError, zipfile.BadZipFile):
            return None

    def put(self, path: Path, trace: "Trace") -> None:
        """Keep the trace of a clip's file."""
        key = self._key(path)
        if key is not None and as_seen(path) == self._seen[path]:
            content = io.BytesIO()
            arrays: dict[str, Any] = dict(trace.arrays())
            np.savez_compressed(content, **arrays)
            self._cache.put_bytes(key, content.getvalue())

    def tidy(self) -> None:
        """Keep the folder to its size."""
        self._cache.tidy()

    def _key(self, path: Path) -> str | None:
        if path not in self._seen:
            self._seen[path] = as_seen(path)
        seen = self._seen[path]
        return None if seen is None else hashlib.sha256(f"{looking_code()} {seen}".encode()).hexdigest()


@cache
def looking_code() -> str:
    """SHA-256, as hex, over the code and the libraries that traces hang on."""
    here = Path(audio.__file__).parent
    return code_digest(LIBRARIES, [path for pattern in SOURCES for path in sorted(here.glob(pattern))])
