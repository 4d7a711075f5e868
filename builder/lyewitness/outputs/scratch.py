"""A scratch folder beside a target, that the next run finds and clears where a run was killed.

In: the target. Out: a folder on the same file system. Whoever writes at a target holds its parent folder by a
lock, which the system lets go when the run ends in whatever way; so a scratch folder that is found while
holding it belongs to nobody.
"""

import contextlib
import hashlib
import os
import secrets
import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path

try:
    import fcntl
except ImportError:
    # Windows has no such locks: there a scratch folder counts as abandoned by its age alone.
    fcntl = None  # type: ignore[assignment]

Rescue = Callable[[Path], None]
PLACING = "placing"
"""While this file stands in it, a scratch folder may hold what stood at the target."""
OLD_S = 24 * 3600.0
"""Placing takes seconds: what is older than a day was left behind, even where locks cannot be had."""


@contextlib.contextmanager
def alone_at(target: Path, rescue: Rescue) -> Iterator[None]:
    """Wait until no other run writes beside the target, and clear what dead ones left; parents are made."""
    target.parent.mkdir(parents=True, exist_ok=True)
    with _locked(target.parent) as certain:
        for path in sorted(target.parent.glob(f"{_start(target)}*")):
            if certain or time.time() - path.lstat().st_mtime > OLD_S:
                _clear(path, rescue)
        yield


@contextlib.contextmanager
def scratch_beside(target: Path, rescue: Rescue) -> Iterator[Path]:
    """Give a scratch folder beside the target; at the end `rescue` saves what is not ours, the rest goes.

    Where it cannot be saved, nothing is removed.
    """
    scratch = target.with_name(f"{_start(target)}{secrets.token_hex(4)}")
    scratch.mkdir()
    try:
        yield scratch
    finally:
        _clear(scratch, rescue)


def _start(target: Path) -> str:
    """Return how the scratch folders of a target begin; the name itself might be too long to be added to."""
    return f".lyewitness-{hashlib.sha256(os.fsencode(target.name)).hexdigest()[:8]}-"


def _clear(scratch: Path, rescue: Rescue) -> None:
    rescue(scratch)
    # A folder that is half removed has lost its mark: from here on nothing in it is looked at again.
    (scratch / PLACING).unlink(missing_ok=True)
    shutil.rmtree(scratch, ignore_errors=True)


@contextlib.contextmanager
def _locked(folder: Path) -> Iterator[bool]:
    """Hold a folder; the result is False where the system cannot tell whether another run holds it."""
    if fcntl is None:
        yield False
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX)
        except OSError:
            # Some network disks know no locks.
            yield False
        else:
            yield True
    finally:
        os.close(handle)
