"""What the system refuses, and what nobody expected, in sentences."""

import errno
import logging

from app.model.storage.log_file import log_path

FEW_FILES = "Too few files may be open at once here. Allow more (ulimit -n 1024), or use --workers 1."
FEW_PROCESSES = (
    "No more processes or threads may be begun here. End others, allow more (ulimit -u), or use --workers 1."
)
FULL = "The disk is full. Free some space, and run the command again. What was read is kept."
NO_MEMORY = "There is not enough memory. End other programs, or use --workers 1."
LIMITS = {
    errno.EMFILE: FEW_FILES,
    errno.ENFILE: FEW_FILES,
    errno.EAGAIN: FEW_PROCESSES,
    errno.ENOMEM: NO_MEMORY,
    errno.ENOSPC: FULL,
}
if hasattr(errno, "EDQUOT"):
    LIMITS[errno.EDQUOT] = FULL


def sentence_of(error: Exception) -> str:
    """Why a command could not go on, and what to do; what nobody expected goes to the log with all it has."""
    if isinstance(error, OSError) and error.errno in LIMITS:
        return LIMITS[error.errno]
    if isinstance(error, MemoryError):
        return NO_MEMORY
    if isinstance(error, RuntimeError) and "thread" in str(error):
        return FEW_PROCESSES
    logging.getLogger(__name__).error("a command ended", exc_info=error)
    if isinstance(error, OSError) and error.strerror:
        name = f"{error.filename}: " if error.filename else ""
        return f"{name}{error.strerror}. Check the disk and the permissions, and run the command again."
    return (
        f"Something went wrong that nobody expected ({type(error).__name__}). What was saved is whole. "
        f"Please report it, with the end of {log_path()} and what “anglebook doctor” says."
    )
