"""How a worker process behaves: it ends with the process that began it, and takes no more memory than it may.

Every process that reads media begins with `behave`: decoders are other people's code, and a file may ask for
anything.
"""

import contextlib
import multiprocessing
import os
import signal
import sys
import threading
from multiprocessing.connection import wait

from app.model.storage.log_file import begin_log

MOST_BYTES = 1_600_000_000
"""Memory that a worker may ask for. The longest recording that is placed takes some 700 MB; the rest is room
for what the system counts and nobody uses."""


THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")
"""What tells libraries of linear algebra how many threads they may begin; each reads its own when it is
loaded."""


def behave(most_bytes: int = MOST_BYTES) -> None:
    """Called first in a worker process."""
    # Ctrl+C reaches every process of a terminal; the first one ends the others in its own way.
    with contextlib.suppress(ValueError):  # not the main thread
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    begin_log(worker=True)
    # There is a worker for every core: more threads would only wait for each other.
    for name in THREADS:
        os.environ.setdefault(name, "1")
    _end_with_parent()
    _limit_memory(most_bytes)


def _end_with_parent() -> None:
    """End at once when the parent is gone, also when it was killed and could tell nobody."""
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def watch() -> None:
        wait([parent.sentinel])
        os._exit(1)

    threading.Thread(target=watch, name="parent watch", daemon=True).start()


def _limit_memory(most_bytes: int) -> None:
    """Where the system counts what a process may write to (Linux: RLIMIT_DATA), more is a MemoryError."""
    if not sys.platform.startswith("linux"):
        return
    import resource

    _, hard = resource.getrlimit(resource.RLIMIT_DATA)
    if hard == resource.RLIM_INFINITY or hard > most_bytes:
        resource.setrlimit(resource.RLIMIT_DATA, (most_bytes, hard))
