"""A disk that fails once: at the n-th thing that is written, whatever that is."""

import errno
import io
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import pytest


class FailingDisk:
    """Counts what is written, and refuses it once."""

    def __init__(self, at: int, number: int = errno.ENOSPC) -> None:
        """``at``: which operation fails, counted from 1; ``number``: with what."""
        self.at, self.number = at, number
        self.count = 0
        self.failed = False

    def step(self, what: object) -> None:
        """One operation; raises OSError when its turn has come."""
        self.count += 1
        if self.count == self.at:
            self.failed = True
            raise OSError(self.number, os.strerror(self.number), str(what))


class _File:
    """A file whose writing may fail."""

    def __init__(self, file: Any, disk: FailingDisk) -> None:
        self._file, self._disk = file, disk

    def write(self, data: Any) -> Any:
        self._disk.step(self._file.name)
        return self._file.write(data)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def __enter__(self) -> "_File":
        return self

    def __exit__(self, *told: object) -> None:
        self._file.close()


@contextmanager
def failing(disk: FailingDisk) -> Iterator[FailingDisk]:
    """Have all writing of this process go over that disk: opened, written, forced, renamed, made."""
    opened, fsync, replace, mkdir = io.open, os.fsync, os.replace, os.mkdir

    def open_(file: Any, mode: str = "r", *more: Any, **named: Any) -> Any:
        if not set(mode) & set("wxa+") or isinstance(file, int):
            return opened(file, mode, *more, **named)
        disk.step(file)
        return _File(opened(file, mode, *more, **named), disk)

    def counted(act: Callable[..., Any]) -> Callable[..., Any]:
        def acting(*given: Any, **named: Any) -> Any:
            disk.step(given[0])
            return act(*given, **named)

        return acting

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(io, "open", open_)
        patch.setattr(os, "fsync", counted(fsync))
        patch.setattr(os, "replace", counted(replace))
        patch.setattr(os, "mkdir", counted(mkdir))
        yield disk
