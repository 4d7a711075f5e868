"""The short moments in which a stop would leave half a thing, closed to Ctrl-C and its kin.

In: nothing. Out: a context in which signals wait. Where the system cannot hold them back they come through,
and the next run mends what was left (see `placing`).
"""

import contextlib
import signal
from collections.abc import Iterator

STOPS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
"""What asks a program to stop, on the systems that have it."""


@contextlib.contextmanager
def undisturbed() -> Iterator[None]:
    """Hold back every stop until the end of the block."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, STOPS)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
