"""Files of the study folder, and no others: the one gate for every path that a study names or holds.

In: a path as the folder states it. Out: the file's bytes or path, or None where it is absent or refused;
what was refused is told once by `refusals`. Whoever reads a file again says which bytes it had: others are
refused, for they are not what all else was computed from.
"""

import hashlib
import os
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path, PurePosixPath

from lyewitness.words.problems import Problem, StudyFolderError, shortened

LARGEST_BYTES = 256 * 2**20
"""The largest file that is read: twice the largest export that is read unpacked."""
LARGEST_HOUSE_FILE = 2**20
"""Bytes: people, limits and a stress take some thousands."""
LEAVES = "a link that leaves the study folder"
LOOPS = "a link that leads to itself"
TOO_LARGE = f"a file of more than {LARGEST_BYTES // 2**20} MiB"
UNREADABLE = "a file that may not be read"
SHUT = "a folder that may not be opened"
STEERING = "a name with a sign that steers, such as a line break"
UNSPEAKABLE = "a name that is no UTF-8"
CURES = {
    LEAVES: ("a file of the folder itself", "Copy what it leads to into the folder."),
    LOOPS: ("a file", "Put the file itself there."),
    TOO_LARGE: ("a smaller file", "Export one run to a file."),
    UNREADABLE: ("a file that can be read", "Give yourself the right to read it."),
    SHUT: (
        "a folder whose files can be read",
        "Give yourself the right to open it and to read what it holds.",
    ),
    STEERING: ("a name that can stand in a list of names, a line each", "Rename the file."),
    UNSPEAKABLE: ("a name in UTF-8", "Rename the file."),
}
"""What was expected, and what to do, for each reason to refuse a file."""


def extended_by(study: Path) -> str:
    """Return the path that study.toml names as the file it extends; empty where it names none."""
    try:
        named = tomllib.loads((study / "study.toml").read_text(encoding="utf-8")).get("extends")
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError, ValueError, OSError):
        return ""
    return named.replace("\\", "/") if isinstance(named, str) and "\0" not in named else ""


def refuse_house_file_beyond(study: Path, root: Path) -> None:
    """Raise StudyFolderError where a study that somebody else may have made extends a file outside `root`.

    Whoever reports on a study of their own names the house's file on purpose; who reads others' does not.
    """
    named = extended_by(study)
    if named and not Path(os.path.realpath(study / named)).is_relative_to(os.path.realpath(root)):
        found = f"{shortened(named, 120)!r}, which lies outside '{root}' and was not read"
        cure = f"Put that file into '{root}' if it is to be read, or take the line out."
        raise StudyFolderError(
            (Problem("error", "study.toml", "extends", found, "a file among the studies", cure),)
        )


_STEERS = re.compile(r"[\x00-\x1f\x7f]")
"""Signs that a bag's manifest, which has a line a file, cannot hold (RFC 8493, 2.1.3)."""


@dataclass
class StudyFiles:
    """Reads files below one folder, remembers the SHA-256 of each, and what it refused."""

    folder: Path
    hashes: dict[str, str] = field(default_factory=dict)
    refused: dict[str, str] = field(default_factory=dict)
    """Reason by name as it can be printed."""
    rows_read: dict[str, int] = field(default_factory=dict)
    """Number of rows by table."""
    stated: Mapping[str, str] = field(default_factory=dict)
    """SHA-256 by name of what was read before."""
    _folders: dict[str, str] = field(default_factory=dict)
    """Folders with all links followed, by their paths as they are named."""
    _shut: dict[str, str] = field(default_factory=dict)
    """The folder on the way to each folder that may not be opened, empty for none."""

    @cached_property
    def _home(self) -> str:
        """Return the folder with all links followed, once: a table may name 100,000 files."""
        return os.path.realpath(self.folder)

    def _real(self, path: str) -> str:
        """Return a path with all links followed; those of a folder once, for it may hold 100,000 files."""
        folder, name = os.path.split(path)
        if name in ("", ".") or os.path.islink(path):  # noqa: PTH114 (of thousands)
            return os.path.realpath(path)
        if folder not in self._folders:
            self._folders[folder] = os.path.realpath(folder)
        return os.path.join(self._folders[folder], name)  # noqa: PTH118 (of thousands)

    def path_of(self, name: str) -> Path | None:
        """Return the path of `name`; None where it is no file below the folder (links out of it included)."""
        plain = name.replace("\\", "/")
        if not name or "\0" in name or plain.startswith("/") or ".." in plain.split("/"):
            return None
        path = os.path.join(self._home, plain)  # noqa: PTH118 (ten times as fast, for 100,000 rows)
        if not os.path.lexists(path):
            # What lies in a folder that may not be opened is not there to whoever looks for it.
            self._is_shut(plain.rpartition("/")[0])
            return None
        real = self._real(path)
        reason = self._reason(name, Path(path), real)
        if reason:
            self.refused[name.encode("utf-8", "backslashreplace").decode()] = reason
            return None
        return Path(real) if os.path.isfile(real) else None  # noqa: PTH113

    def refuses(self, name: str) -> bool:
        """Return whether a file is not read for a reason that is told, such as a folder that is shut."""
        plain = name.replace("\\", "/")
        return name in self.refused or self._is_shut(plain.rpartition("/")[0])

    def _is_shut(self, folder: str) -> bool:
        """Return whether a folder on the way, or `folder` itself, may not be opened; that one is refused."""
        if folder not in self._shut:
            parts = folder.split("/") if folder else []
            ways = ("/".join(parts[: count + 1]) for count in range(len(parts)))
            shut = next((way for way in ways if _may_not_be_opened(self.folder / way)), "")
            self._shut[folder] = shut
            if shut:
                self.refused[shut] = SHUT
        return bool(self._shut[folder])

    def _reason(self, name: str, path: Path, real: str) -> str:
        """Return why what stands at `path` is not read, nothing where it may be."""
        if not name.isascii() and not _in_utf8(name):
            return UNSPEAKABLE
        if _STEERS.search(name):
            return STEERING
        if real != self._home and not real.startswith(os.path.join(self._home, "")):  # noqa: PTH118
            return LEAVES
        try:
            size = path.stat().st_size
        except PermissionError:
            return UNREADABLE
        except OSError:
            return LOOPS if path.is_symlink() else ""
        if size > LARGEST_BYTES:
            return TOO_LARGE
        return "" if os.access(real, os.R_OK) else UNREADABLE

    def read(self, name: str) -> bytes | None:
        """Return the bytes of `name`, None where it is no file below the folder.

        Raises StudyFolderError where it was read before, and is another one now.
        """
        path = self.path_of(name)
        data = path.read_bytes() if path is not None else None
        digest = hashlib.sha256(data).hexdigest() if data is not None else ""
        if self.stated.get(name, digest) != digest:
            raise StudyFolderError((changed_meanwhile(name),))
        if data is not None:
            self.hashes[name] = digest
        return data

    def read_house_file(self, name: str) -> bytes | None:
        """Return the bytes of the one file that may lie outside: a TOML file at a relative path."""
        plain = PurePosixPath(name.replace("\\", "/"))
        if "\0" in name or plain.is_absolute() or plain.suffix != ".toml" or not _in_utf8(name):
            return None
        real = Path(os.path.realpath(self.folder / plain))
        if real.suffix != ".toml" or not real.is_file() or real.stat().st_size > LARGEST_HOUSE_FILE:
            return None
        try:
            data = real.read_bytes()
        except OSError:
            return None
        self.hashes[plain.as_posix()] = hashlib.sha256(data).hexdigest()
        return data

    def names_below(self, subfolder: str, pattern: str = "*") -> tuple[str, ...]:
        """Return the files right below `subfolder` as names with `/`, sorted; hidden files are left out."""
        plain = PurePosixPath(subfolder)
        start = self.folder / plain
        if plain.is_absolute() or ".." in plain.parts or "\0" in subfolder:
            return ()
        if self._is_shut(plain.as_posix() if plain.parts else "") or not start.is_dir():
            return ()
        found = (path for path in start.glob(pattern) if not path.name.startswith("."))
        names = (path.relative_to(self.folder).as_posix() for path in found)
        return tuple(sorted(name for name in names if self.path_of(name) is not None))

    def refusals(self) -> tuple[Problem, ...]:
        """Return an error for each file that was refused; one that is only absent is told by who named it."""
        return tuple(
            Problem("error", name, "", reason, *CURES[reason])
            for name, reason in sorted(self.refused.items())
        )


def names_not_kept(files: StudyFiles) -> tuple[Problem, ...]:
    """Return a caution for each file that no table names and whose name no archive can hold."""
    found: dict[str, str] = {}
    for top, folders, names in os.walk(files.folder):
        folders[:] = [name for name in folders if not name.startswith(".")]
        for name in names:
            below = os.path.relpath(os.path.join(top, name), files.folder).replace(os.sep, "/")  # noqa: PTH118
            reason = STEERING if _STEERS.search(below) else "" if _in_utf8(below) else UNSPEAKABLE
            printed = below.encode("utf-8", "backslashreplace").decode()
            if reason and printed not in files.refused:
                found[printed] = reason
    return tuple(
        Problem("caution", name, "", f"{reason}, which no archive can hold", *CURES[reason])
        for name, reason in sorted(found.items())
    )


def changed_meanwhile(name: str) -> Problem:
    """Return the error that a file is another one than was read when the work began."""
    return Problem(
        "error",
        name.encode("utf-8", "backslashreplace").decode(),
        "",
        "a file that changed during the work",
        "a file of the study that stays as it is",
        "Wait until nothing writes there, and run the command again.",
    )


def _may_not_be_opened(folder: Path) -> bool:
    try:
        return folder.is_dir() and not os.access(folder, os.R_OK | os.X_OK)
    except PermissionError:
        return False  # a folder above it is shut, and is told


def _in_utf8(name: str) -> bool:
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True
