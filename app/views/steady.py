"""A guard against one release of PySide6 that ends the process.

PySide6 6.12.0 gives up a reference to ``None`` with every call that returns nothing. From Python 3.12 on
``None`` cannot run out of references (PEP 683); before that, some thousand calls later, the interpreter stops
with "deallocating None". Measured with ``sys.getrefcount(None)``: 6.8.3 and 6.11.3 lose none, 6.12.0 one a
call.
"""

import ctypes
import platform
import sys

import PySide6

PLENTY = 1 << 40
"""References given to ``None``: more than a window can lose in years."""


def keep_none_alive() -> None:
    """Give ``None`` references that do not run out, where the release in use takes them away."""
    if PySide6.__version__ != "6.12.0" or sys.version_info >= (3, 12):
        return
    if platform.python_implementation() != "CPython" or sys.getrefcount(None) > PLENTY // 2:
        return
    # The count of references is the first field of every object of CPython.
    ctypes.c_ssize_t.from_address(id(None)).value += PLENTY
