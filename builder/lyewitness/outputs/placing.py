"""Files put on disk so that a stop at any moment leaves what was there before whole, or the new one.

In: files as bytes by relative path, a target that `targets` let pass. Out: a folder or a file, put in place
in one step when it is complete. Only what this program wrote is ever removed (`marks` knows); what is
somebody's is named and refused, or, where the user insists, kept beside under another name.

Whoever writes at a target holds its parent folder by a lock, which the system lets go when the run ends in
whatever way; so a scratch folder that is found while holding it belongs to nobody and is cleared. In the
short moments in which a stop would leave half a thing, signals wait.
"""

import contextlib
import ctypes
import errno
import hashlib
import os
import secrets
import shutil
import signal
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache, partial
from pathlib import Path
from typing import TypeVar

from lyewitness.outputs.marks import (
    REPORT_MARK,
    Kind,
    Mark,
    Origin,
    PlaceTakenError,
    UnreadableError,
    free_name,
    mark_of,
    not_ours,
    origin_in,
    origin_of,
    plainly_holds,
    report_mark,
    signature_of,
    signed,
    taken,
)
from lyewitness.sheaves import Files

try:
    import fcntl
except ImportError:
    # Windows has no such locks: there a scratch folder counts as abandoned by its age alone.
    fcntl = None  # type: ignore[assignment]

Laid = TypeVar("Laid")
Rescue = Callable[[Path], None]
PLACING = "placing"
"""While this file stands in it, a scratch folder may hold what stood at the target."""
OLD_S = 24 * 3600.0
"""Placing takes seconds: what is older than a day was left behind, even where locks cannot be had."""


@contextlib.contextmanager
def alone_at(target: Path, rescue: Rescue) -> Iterator[None]:
    """Wait until no other run writes beside the target, and clear what dead ones left; parents are made."""
    with _named(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        with _locked(target.parent) as certain:
            for path in sorted(target.parent.glob(f"{_start(target)}*")):
                if certain or time.time() - path.lstat().st_mtime > OLD_S:
                    _clear(path, rescue)
            yield


@contextlib.contextmanager
def _named(target: Path) -> Iterator[None]:
    """Let what the system refuses be told of the target: nobody knows a scratch file."""
    try:
        yield
    except OSError as error:
        if error.errno is None:
            raise
        raise OSError(error.errno, os.strerror(error.errno), str(target)) from error


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


# More names than these push the message off the screen.
MOST_NAMED = 5
MOST_TRIES = 20
"""Two builds that end in the same millisecond take each other's place a few times at most."""


def place_folder(
    files: Mapping[str, bytes], target: Path, kind: Kind, study: str, force: bool = False
) -> Path | None:
    """Write `files` as the folder `target`, replacing an older result of the same kind and study.

    Raises PlaceTakenError where anything else lies there. With `force` that is kept beside, and its new path
    returned.
    """
    origin = origin_of(files)
    if not force:
        refuse_folder(target, kind, study, origin)
    foreign = partial(_foreign_folder, kind=kind, study=study, origin=origin)
    listed = kind in ("report", "shelf", "guide")
    files = files if isinstance(files, Files) else Files(files)
    hashes = files.hashes
    marked = Files({**files.held, REPORT_MARK: report_mark(study, hashes, kind)}) if listed else files
    rescue = partial(_rescue, target)
    with alone_at(target, rescue), scratch_beside(target, rescue) as scratch:
        fresh = scratch / "fresh"
        for name in {os.path.dirname(name) for name in marked}:  # noqa: PTH120 (names with '/', not paths)
            (fresh / name).mkdir(parents=True, exist_ok=True)
        for name in marked:
            # What is kept beside with `force` shall share nothing with the new report.
            if force or not _taken_over(f"{target}/{name}", f"{fresh}/{name}", hashes.get(name, "")):
                (fresh / name).write_bytes(marked[name])
        (scratch / PLACING).touch()
        with undisturbed():
            _swap(fresh, target, scratch / "old")
            return _dismiss(scratch, target, foreign, force)


def _taken_over(standing: str, fresh: str, sha: str) -> bool:
    """Give what stands at a path a second name where it holds what has this hash; False where it does not.

    Of thousands of pages one more injection changes a few: to write all anew, and to remove as many, is most
    of what such a build does to a disk. Nothing is ever changed in place, so a second name is safe.
    """
    if not sha:
        return False
    try:
        os.link(standing, fresh, follow_symlinks=False)
        # What was linked is looked at, whatever stands at the path by now.
        if plainly_holds(fresh, sha):
            return True
        os.unlink(fresh)  # noqa: PTH108 (half the time of a Path, for thousands)
    # Some disks know no second names; what cannot be read is written anew.
    except (OSError, NotImplementedError, UnreadableError):
        with contextlib.suppress(OSError):
            os.unlink(fresh)  # noqa: PTH108
    return False


def refuse_folder(target: Path, kind: Kind, study: str = "", origin: Origin | None = None) -> None:
    """Raise PlaceTakenError where replacing the folder would lose what is no earlier result of this kind.

    `study` and `origin` are left out where they are not read yet. What a killed run left there is mended
    first.
    """
    if not target.parent.is_dir():
        return
    with alone_at(target, partial(_rescue, target)):
        wrong = _foreign_folder(target, kind, study, origin) if os.path.lexists(target) else ""
    if wrong:
        raise PlaceTakenError(wrong)


def place_files(
    files: Mapping[Path, bytes], foreign: Callable[[], Mapping[Path, str]] = dict, force: bool = False
) -> tuple[Path, ...]:
    """Write files of one folder, each in one step, when all of them are on the disk.

    `foreign` tells why what stands at a path may not be replaced: then PlaceTakenError is raised, or with
    `force` that is kept beside, and the new paths are returned.
    """
    first = next(iter(files))
    rescue = partial(_rescue, first)
    with alone_at(first, rescue), scratch_beside(first, rescue) as scratch:
        wrong = foreign()
        if wrong and not force:
            raise PlaceTakenError("; ".join(wrong.values()))
        fresh = {path: scratch / f"{number}" for number, path in enumerate(files)}
        for path, data in files.items():
            fresh[path].write_bytes(data)
        with undisturbed():
            before = {path: _spared(path, scratch) for path in files if os.path.lexists(path)}
            kept = {path: _set_aside(path, path) for path in wrong}
            try:
                for path, whole in fresh.items():
                    whole.replace(path)
            except OSError:
                for path, spare in before.items():
                    kept.get(path, spare).replace(path)
                raise
    return tuple(kept.values())


def _spared(path: Path, scratch: Path) -> Path:
    """Return a second name for what lies at `path`, by which it can be put back."""
    spare = scratch / f"before-{path.name[-40:]}"
    try:
        os.link(path, spare, follow_symlinks=False)
    except OSError:
        # Some disks know no second names.
        shutil.copy2(path, spare, follow_symlinks=False)
    return spare


def place_new(lay_out: Callable[[Path], Laid], target: Path) -> Laid:
    """Let `lay_out` write a new folder, which stands at the target when it is whole; return what it returns.

    Raises PlaceTakenError where anything lies there already.
    """
    target = target.resolve()
    rescue = partial(_rescue, target)
    with alone_at(target, rescue), scratch_beside(target, rescue) as scratch:
        if os.path.lexists(target) and (not target.is_dir() or any(target.iterdir())):
            raise PlaceTakenError(f"'{target}' is there already and is not empty; name a new folder")
        laid = lay_out(scratch / "fresh")
        with undisturbed():
            if not target.is_dir():
                (scratch / "fresh").rename(target)
            # An empty folder may be the one that somebody stands in: it is filled, not exchanged.
            else:
                for path in (scratch / "fresh").iterdir():
                    path.rename(target / path.name)
    return laid


def place_html(
    html: bytes, target: Path, study: str, force: bool = False, origin: Origin | None = None
) -> Path | None:
    """Write the one file, marked; what is not ours there is refused, or kept beside with `force`."""

    def foreign() -> dict[Path, str]:
        return _reasons((target, _foreign_html(target, "one file", study, origin)))

    data = signed(html, "one file", study, origin=origin)
    return next(iter(place_files({target: data}, foreign, force)), None)


def refuse_html(target: Path, kind: Kind) -> None:
    """Raise PlaceTakenError where the file is none that this program wrote."""
    if wrong := _foreign_html(target, kind, ""):
        raise PlaceTakenError(wrong)


def place_reply(
    html: bytes,
    beside: Mapping[str, bytes],
    target: Path,
    study: str,
    force: bool = False,
    origin: Origin | None = None,
) -> tuple[Path, ...]:
    """Write a reply as marked HTML, and beside it by ending as text and PDF, whose hashes the HTML bears.

    A PDF of an earlier reply that is not written again is removed: it would tell another state.
    Returns what was kept beside with `force`; raises PlaceTakenError where something else lies there.
    """
    places = {ending: target.with_suffix(ending) for ending in REPLY_ENDINGS}

    def foreign() -> dict[Path, str]:
        return _reasons(
            (target, _foreign_html(target, "reply", study, origin)),
            *((path, _foreign_beside(path, target, beside.get(ending))) for ending, path in places.items()),
        )

    files = {places[ending]: data for ending, data in beside.items()}
    kept = place_files({**files, target: signed(html, "reply", study, beside, origin)}, foreign, force)
    for ending in places.keys() - beside.keys():
        places[ending].unlink(missing_ok=True)
    return kept


def _reasons(*told: tuple[Path, str]) -> dict[Path, str]:
    """Return the paths for which there is a reason."""
    return {path: reason for path, reason in told if reason}


REPLY_ENDINGS = (".txt", ".pdf")
"""Of what stands beside the HTML of a reply."""


def refuse_reply(target: Path) -> None:
    """Raise PlaceTakenError where a reply, or what stands beside it, would replace a file of someone's."""
    refuse_html(target, "reply")
    for ending in REPLY_ENDINGS:
        beside = target.with_suffix(ending)
        if os.path.lexists(beside) and not os.path.lexists(target):
            raise PlaceTakenError(taken(beside, "a file that this command did not write"))


def _rescue(target: Path, scratch: Path) -> None:
    """Save what stood at the target, where a run ended before it could do so itself."""
    if not (scratch / PLACING).exists():
        return
    for path in (scratch / "old", scratch / "fresh"):
        if not os.path.lexists(path):
            continue
        if path.name == "old" and not os.path.lexists(target):
            path.rename(target)
        elif _holds_others(path):
            _set_aside(path, target)


def _swap(fresh: Path, target: Path, old: Path) -> None:
    """Put `fresh` at the target; what stood there is then at `fresh`, or at `old` where it took two steps."""
    for _ in range(MOST_TRIES):
        if exchanged(fresh, target):
            return
        try:
            if os.path.lexists(target):
                target.rename(old)
            fresh.rename(target)
            return
        except BaseException as error:
            if os.path.lexists(old) and not os.path.lexists(target):
                old.rename(target)
            # Another build took or left the place between the two looks at it.
            if not isinstance(error, OSError) or error.errno not in (
                errno.ENOENT,
                errno.ENOTEMPTY,
                errno.EEXIST,
            ):
                raise
    raise PlaceTakenError(f"'{target}' is being written by another run; wait for it, and run this again")


def _dismiss(scratch: Path, target: Path, foreign: Callable[[Path], str], force: bool) -> Path | None:
    """Look once more at what stood at the target: keep what is not ours, or give the place back to it."""
    old = next((path for path in (scratch / "old", scratch / "fresh") if os.path.lexists(path)), None)
    wrong = foreign(old) if old else ""
    if old is None or not wrong:
        # All of it is known to be ours: nobody need look again before it goes.
        (scratch / PLACING).unlink()
        return None
    if force:
        return _set_aside(old, target)
    if not exchanged(old, target):
        target.rename(scratch / "withdrawn")
        old.rename(target)
    raise PlaceTakenError(wrong.replace(str(old), str(target)))


def _holds_others(path: Path) -> bool:
    """Return whether anything there is not ours, or cannot be looked at."""
    try:
        return not path.is_dir() or bool(not_ours(path, mark_of(path)))
    except UnreadableError:
        return True


def _set_aside(path: Path, target: Path) -> Path:
    """Give what lies at `path` a free name beside the target, and return it."""
    kept = free_name(target)
    path.rename(kept)
    return kept


def _foreign_folder(folder: Path, kind: Kind, study: str, origin: Origin | None = None) -> str:
    """Return why a folder may not be replaced, empty where nothing is lost by it."""
    mark = mark_of(folder)
    try:
        names = not_ours(folder, mark)
    except UnreadableError as error:
        return f"{error}, so that nobody can say whose it is; name another folder"
    if mark is None:
        return (
            taken(folder, f"files that are no earlier result of this command ({_some(names)})")
            if names
            else ""
        )
    if mark.kind != kind:
        return taken(folder, f"the {mark.kind} of study '{mark.study}', not of this command's making")
    if study and mark.study != study:
        return taken(folder, f"the {mark.kind} of another study, '{mark.study}'")
    stood = origin_in(folder) if origin else None
    if _is_another(stood, origin):
        return taken(folder, _of_another(mark, stood))
    return taken(folder, f"what was added or changed since it was written ({_some(names)})") if names else ""


def _is_another(stood: Origin | None, origin: Origin | None) -> bool:
    return stood is not None and origin is not None and stood.is_of_another(origin)


def _of_another(mark: Mark, stood: Origin | None) -> str:
    """Say whose a result is that bears the id of this study."""
    title = stood.title if stood else ""
    return (
        f"the {mark.kind} of '{title}', another study of the same id '{mark.study}': give this one an id of "
        "its own"
    )


def _foreign_html(file: Path, kind: Kind, study: str, origin: Origin | None = None) -> str:
    """Return why an HTML file may not be replaced, empty where nothing is lost by it."""
    if not os.path.lexists(file):
        return ""
    signature = signature_of(file.read_bytes())
    if signature is None:
        return taken(file, "a file that this command did not write, or that was changed since")
    mark, _ = signature
    if mark.kind != kind or (study and mark.study != study):
        return taken(file, f"the {mark.kind} of study '{mark.study}'")
    return taken(file, _of_another(mark, mark.origin)) if _is_another(mark.origin, origin) else ""


def _foreign_beside(file: Path, html: Path, data: bytes | None) -> str:
    """Say why what stands beside a reply is no earlier one's; empty where it may be replaced."""
    if not os.path.lexists(file):
        return ""
    found = file.read_bytes() if file.is_file() and not file.is_symlink() else None
    signature = signature_of(html.read_bytes()) if html.is_file() else None
    stated = signature[1].get(file.suffix, "") if signature else ""
    if found is not None and (found == data or hashlib.sha256(found).hexdigest() == stated):
        return ""
    return taken(file, "a file that this command did not write, or that was changed since")


def _some(names: Sequence[str]) -> str:
    """Return the first names, and how many more there are."""
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(f"'{name}'" for name in names[:MOST_NAMED]) + more
