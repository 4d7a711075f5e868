"""Where one may write: told before any work is done.

In: a path as it was typed, and the study folder. Out: the path in full, or PlaceTakenError with what is in
the way and what to do.
"""

import os
import secrets
import shutil
from pathlib import Path

LEAST_FREE_BYTES = 64 << 20
"""A report of 200 injections stays below 15 MB; with its PDF, twice (old and new), well below this."""


class PlaceTakenError(Exception):
    """The target cannot be written, or holds what this program did not make; nothing was touched."""


def folder_target(typed: Path, study: Path) -> Path:
    """Return the full path of a folder that may be written; raises PlaceTakenError."""
    target = _apart_from(typed, study)
    if target.exists() and not target.is_dir():
        raise PlaceTakenError(f"'{typed}' is no folder; name a folder that does not exist yet")
    _refuse_what_is_needed(target, typed)
    _refuse_what_cannot_be_written(target, typed)
    return target


def file_target(typed: Path, ending: str, study: Path) -> Path:
    """Return the full path of a file that may be written, with its ending; raises PlaceTakenError.

    An ending is added, never put in the place of another: 'Study-v1.2' becomes 'Study-v1.2.html'.
    """
    named = typed if typed.suffix.lower() == ending else typed.with_name(typed.name + ending)
    target = _apart_from(named, study)
    if target.is_dir():
        raise PlaceTakenError(f"'{named}' is a folder; name a file")
    _refuse_what_cannot_be_written(target, named)
    return target


def stem_of(typed: Path, endings: tuple[str, ...]) -> Path:
    """Return the path without an ending that is one of `endings`; any other ending is part of the name."""
    return typed.with_suffix("") if typed.suffix.lower() in endings else typed


def new_study_target(typed: Path) -> None:
    """Refuse to lay out a study inside another one; raises PlaceTakenError."""
    for folder in _full(typed).parents:
        if (folder / "study.toml").exists():
            raise PlaceTakenError(f"'{typed}' lies inside the study '{folder}'; name a folder outside it")
    _refuse_what_cannot_be_written(_full(typed), typed)


def free_name(path: Path) -> Path:
    """Return a path beside `path` at which nothing lies yet, for what is to be kept."""
    number = 1
    while os.path.lexists(path.with_name(f"{path.name}.earlier-{number}")):
        number += 1
    return path.with_name(f"{path.name}.earlier-{number}")


def _full(typed: Path) -> Path:
    """Return the path in full, its parents' links followed and its own not."""
    if typed.name in ("", ".."):
        return typed.resolve()
    return typed.parent.resolve() / typed.name


def _apart_from(typed: Path, study: Path) -> Path:
    """Return the full path; raises where it is a link, or where it and the study contain each other."""
    try:
        target = _full(typed)
        linked = target.is_symlink()
    except (OSError, RuntimeError, ValueError) as error:
        raise PlaceTakenError(f"'{typed}' is no path that can be followed ({error})") from error
    if linked:
        raise PlaceTakenError(
            f"'{typed}' is a link; name the place itself, so that nothing is replaced unseen"
        )
    folder = study.resolve()
    if _same(target, folder) or any(_same(above, folder) for above in target.parents):
        raise PlaceTakenError(
            f"'{typed}' lies inside the study folder; name another folder, beside the study"
        )
    if any(_same(above, target) for above in folder.parents):
        raise PlaceTakenError(f"'{typed}' contains the study folder; name another folder, beside the study")
    return target


def _same(one: Path, other: Path) -> bool:
    """Return whether two paths are one place, whichever way the file system spells it."""
    try:
        return one == other or one.samefile(other)
    except OSError:
        return False


def _refuse_what_is_needed(target: Path, typed: Path) -> None:
    """Raise where replacing the folder would pull away the ground: where one stands, one's home, a disk."""
    here = Path.cwd()
    if _same(target, here) or any(_same(above, target) for above in here.parents):
        raise PlaceTakenError(f"'{typed}' is the folder you are in, or holds it; name a new folder")
    if _same(target, Path.home()) or os.path.ismount(target):
        raise PlaceTakenError(f"'{typed}' is a whole disk or home folder; name a new folder in it")


def _refuse_what_cannot_be_written(target: Path, typed: Path) -> None:
    """Raise where no file can be made at the target, or the disk is nearly full."""
    ground = next(above for above in target.parents if os.path.lexists(above))
    if not ground.is_dir():
        raise PlaceTakenError(f"'{typed}' cannot be written: '{ground}' is no folder; name another place")
    free = shutil.disk_usage(ground).free
    if free < LEAST_FREE_BYTES:
        raise PlaceTakenError(
            f"'{typed}' cannot be written: {free >> 20} MB are free there, and {LEAST_FREE_BYTES >> 20} MB "
            "are wanted; free some, or name a place on another disk"
        )
    probe = ground / f".lyewitness-{secrets.token_hex(4)}"
    try:
        probe.mkdir()
        probe.rmdir()
    except OSError as error:
        raise PlaceTakenError(
            f"'{typed}' cannot be written ({error.strerror}); name a place where you may write"
        ) from error
