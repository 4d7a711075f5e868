"""Files put on disk so that a stop at any moment leaves what was there before whole.

In: files as bytes by relative path. Out: a folder or a file, swapped in when it is complete.
"""

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path

REPORT_SIGN = "data/provenance.json"
BAG_SIGN = "bagit.txt"


class PlaceTakenError(Exception):
    """The target holds something that this program did not make; nothing was touched."""


def place_folder(files: Mapping[str, bytes], target: Path, sign: str) -> None:
    """Write `files` as the folder `target`, replacing an older one that holds the file `sign`.

    Raises PlaceTakenError where `target` is a file, or a folder with something else in it. The new folder
    is written beside the old one and swapped in by renaming; the old one is removed last.
    """
    target = target.absolute()
    _refuse_what_is_not_ours(target, sign)
    target.parent.mkdir(parents=True, exist_ok=True)
    with _scratch_beside(target) as scratch:
        fresh = scratch / "fresh"
        for name, data in files.items():
            path = fresh / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        old = scratch / "old"
        if target.exists():
            target.rename(old)
        try:
            fresh.rename(target)
        except BaseException:
            if old.exists() and not target.exists():
                old.rename(target)
            raise


def place_file(data: bytes, target: Path) -> None:
    """Write one file by way of a temporary one in the same folder."""
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}-")
    scratch = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        scratch.chmod(0o644)
        scratch.replace(target)
    finally:
        scratch.unlink(missing_ok=True)


def _refuse_what_is_not_ours(target: Path, sign: str) -> None:
    """Raise where replacing `target` would lose something that this program did not write."""
    if target.is_symlink() or (target.exists() and not target.is_dir()):
        raise PlaceTakenError(f"'{target}' is no folder; name a folder that does not exist yet")
    if target.is_dir() and any(target.iterdir()) and not (target / sign).is_file():
        raise PlaceTakenError(
            f"'{target}' holds files that are no earlier result of this command; name another folder"
        )


@contextlib.contextmanager
def _scratch_beside(target: Path) -> Iterator[Path]:
    """Give a temporary folder on the same file system, removed at the end."""
    scratch = Path(tempfile.mkdtemp(dir=target.parent, prefix=f".{target.name}-"))
    scratch.chmod(0o755)
    try:
        yield scratch
    finally:
        shutil.rmtree(scratch, ignore_errors=True)
