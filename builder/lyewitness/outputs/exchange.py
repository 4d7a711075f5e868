"""Two paths exchanged in one step, where the system can.

In: two paths on one file system. Out: whether they were exchanged.
"""

import ctypes
import os
from collections.abc import Callable
from functools import cache
from pathlib import Path

_HERE = -100
"""AT_FDCWD: paths are taken as they stand."""
_EXCHANGE = 2
"""RENAME_EXCHANGE of renameat2 (Linux 3.15, glibc 2.28)."""


def exchanged(one: Path, other: Path) -> bool:
    """Exchange two paths so that at no moment either is absent; False where that cannot be done here."""
    rename = _renameat2()
    return rename is not None and rename(_HERE, os.fsencode(one), _HERE, os.fsencode(other), _EXCHANGE) == 0


@cache
def _renameat2() -> Callable[[int, bytes, int, bytes, int], int] | None:
    """Return the C library's function, None on systems without it."""
    try:
        function = ctypes.CDLL(None).renameat2
    except (OSError, TypeError, AttributeError):
        return None
    function.argtypes = (ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_uint)
    function.restype = ctypes.c_int
    called: Callable[[int, bytes, int, bytes, int], int] = function
    return called
