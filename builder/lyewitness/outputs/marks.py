"""Where one may write, told before any work is done: what this program wrote, and what is somebody's.

In: a folder, or the bytes of a file. Out: the mark it bears, and the files in it that are not, or no longer,
what was written. A report's mark is `data/written.json`; a bag's are its own manifests; a single HTML file
ends in a comment. Whatever a mark does not list is somebody's, and is never removed.
"""

import contextlib
import errno
import hashlib
import json
import os
import re
import secrets
import shutil
import stat
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Literal

LEAST_FREE_BYTES = 32 << 20
"""A report of 200 injections stays below 15 MB: twice that, as the old one goes when the new one stands."""


class PlaceTakenError(Exception):
    """The target cannot be written, or holds what this program did not make; nothing was touched."""


def folder_target(typed: Path, source: Path | None = None, called: str = "the study folder") -> Path:
    """Return the full path of a folder that may be written apart from its source; raises PlaceTakenError."""
    target = _apart_from(typed, source, called)
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


def taken(place: Path, holds: str) -> str:
    """Say what lies at a place, and what to do."""
    return (
        f"'{place}' holds {holds}; name another place, or add --force: then it is kept beside as "
        f"'{free_name(place).name}'"
    )


def _full(typed: Path) -> Path:
    """Return the path in full, its parents' links followed and its own not."""
    if typed.name in ("", ".."):
        return typed.resolve()
    return typed.parent.resolve() / typed.name


def _apart_from(typed: Path, source: Path | None, called: str = "the study folder") -> Path:
    """Return the full path; raises where it is a link, or where it and its source contain each other."""
    try:
        target = _full(typed)
        linked = target.is_symlink()
    except (OSError, RuntimeError, ValueError) as error:
        raise PlaceTakenError(f"'{typed}' is no path that can be followed ({error})") from error
    if linked:
        raise PlaceTakenError(
            f"'{typed}' is a link; name the place itself, so that nothing is replaced unseen"
        )
    if source is None:
        return target
    folder = source.resolve()
    if _same(target, folder) or any(_same(above, folder) for above in target.parents):
        raise PlaceTakenError(f"'{typed}' lies inside {called} '{source}'; name another folder, beside it")
    if any(_same(above, target) for above in folder.parents):
        raise PlaceTakenError(f"'{typed}' contains {called} '{source}'; name another folder, beside it")
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
        raise PlaceTakenError(f"'{typed}' cannot be written ({error.strerror}); {_cure_of(error)}") from error


def _cure_of(error: OSError) -> str:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return "free some room there, or name a place on another disk"
    return "name a place where you may write"


Kind = Literal["report", "archive", "reply", "one file", "shelf", "guide"]

REPORT_MARK = "data/written.json"
MANIFESTS = (
    "manifest-sha512.txt", "tagmanifest-sha512.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt",
)  # fmt: skip
"""A bag's own, and those of a bag of the first version."""
FIRST_MARK = "data/provenance.json"
"""All that a report of the first version says of itself."""
_OF_FIRST_REPORTS = re.compile(
    r"(index|answers|audit|cautions|chemistry|data|figures|images|method|notes|search|signs|traces|columns"
    r"|markers|injections)\.html|search-index\.js|report\.pdf"
    r"|(answers|columns|injections|markers|notes)/[^/]+\.html"
    r"|data/[a-z_]+\.(csv|json)|data/figures/[^/]+\.csv|data/traces/[^/]+\.js"
    r"|figures/(images/|traces/)?[^/]+\.(svg|png|jpg)|theme/.+"
)
"""The paths of a report of the first version, which listed none: what has another path was put there."""
_LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini", ".directory"})
"""Left by the windows of file managers in every folder that was looked at; nobody wrote them."""
_SIGNATURE = re.compile(rb"\n<!-- written by lyewitness: (\{[^\n]*\}) -->\n\Z")


class UnreadableError(Exception):
    """A part of a folder cannot be read, so nobody can say whose it is."""


@dataclass(frozen=True, slots=True)
class Origin:
    """What a result says of the study that it was made from."""

    title: str
    hashes: frozenset[str]
    """The first 16 digits of the SHA-256 of each file of the study, but for its settings and notes."""

    @classmethod
    def of(cls, title: str, files: Mapping[str, str]) -> "Origin":
        """Return the origin of a study of that title whose `files` have these SHA-256, by path."""
        kept = (sha[:_DIGITS] for name, sha in files.items() if not name.endswith(_WRITTEN_ANEW))
        return cls(title, frozenset(kept))

    def is_of_another(self, other: "Origin") -> bool:
        """Return whether two origins that bear one id are two studies: two titles, and no file in common.

        A study that is copied to begin the next one keeps its id until somebody thinks of it.
        """
        return (
            bool(self.hashes and other.hashes)
            and self.title != other.title
            and not (self.hashes & other.hashes)
        )

    @property
    def some(self) -> list[str]:
        """Return the least of the hashes: a study that grows keeps them, or most."""
        return sorted(self.hashes)[:_TOLD]


_DIGITS, _TOLD = 16, 12
_WRITTEN_ANEW = (".toml", ".md")
"""Settings and notes, of which a next study may keep some as they are."""


@dataclass(frozen=True, slots=True)
class Mark:
    """What a folder or file says of itself."""

    kind: Kind
    study: str
    """Id of the study that it was made from."""
    files: Mapping[str, str] | None = None
    """SHA-256 by path; None for a report of the first version, which listed none."""
    origin: Origin | None = None
    """Of a file: what it says of the study itself; of a folder `origin_in` says so."""


def report_mark(study: str, hashes: Mapping[str, str], kind: Kind = "report") -> bytes:
    """Return the mark of a report, a shelf or the guide, whose files have these hashes."""
    return _written({"written_by": "lyewitness", "kind": kind, "study": study, "files": hashes})


def mark_of(folder: Path) -> Mark | None:
    """Return what the folder says of itself; None where this program did not make it."""
    if (folder / "bagit.txt").is_file():
        return _bag_mark(folder)
    if (folder / REPORT_MARK).is_file():
        return _report_mark_in(folder)
    said = _json_in(folder / FIRST_MARK)
    builder = said.get("builder")
    if isinstance(builder, dict) and builder.get("name") == "lyewitness":
        return Mark("report", str(said.get("study")))
    return None


def not_ours(folder: Path, mark: Mark | None) -> tuple[str, ...]:
    """Return the paths in the folder that the mark does not answer for; all of them where it bears none.

    Raises UnreadableError where a subfolder or file cannot be read.
    """
    return tuple(name for name in _names_in(folder) if not _is_ours(f"{folder}/{name}", name, mark))


def signed(
    html: bytes,
    kind: Kind,
    study: str,
    beside: Mapping[str, bytes] = MappingProxyType({}),
    origin: Origin | None = None,
) -> bytes:
    """Return an HTML file with its mark in a last comment; `beside` is what is written with it, by ending.

    The ending `.txt` is said as `text`, as the first version did.
    """
    hashes = {_SAID.get(ending, ending): _sha(data) for ending, data in beside.items()}
    said: dict[str, object] = {"kind": kind, "study": study, "sha256": _sha(html), **hashes}
    if origin is not None:
        said |= {"title": origin.title, "from": origin.some}
    return html + f"\n<!-- written by lyewitness: {_in_comment(said)} -->\n".encode()


def _in_comment(said: Mapping[str, object]) -> str:
    """Return JSON in which no word of a study can end the comment that it stands in, or open an element."""
    text = json.dumps(said, sort_keys=True)
    for sign in "-<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


_SAID = {".txt": "text", ".pdf": "pdf"}


def signature_of(data: bytes) -> tuple[Mark, Mapping[str, str]] | None:
    """Return the mark of an HTML file and the SHA-256 of what is beside it; None where it is no such file.

    A file that was changed after it was written is its editor's.
    """
    found = _SIGNATURE.search(data)
    said = _parsed(found.group(1)) if found else {}
    if not found or said.get("sha256") != _sha(data[: found.start()]):
        return None
    kind: Kind = "reply" if said.get("kind") == "reply" else "one file"
    beside = {ending: str(said[word]) for ending, word in _SAID.items() if word in said}
    held = said.get("from")
    some = frozenset(map(str, held)) if isinstance(held, list) else frozenset()
    origin = Origin(str(said.get("title")), some) if some else None
    return Mark(kind, str(said.get("study")), origin=origin), beside


def _names_in(folder: Path) -> Iterator[str]:
    """Yield the path of everything in the folder that is no folder, and of empty folders with a `/`.

    Links are not followed. An empty folder was made by somebody, who may mean to fill it.
    """

    def fail(error: OSError) -> None:
        raise UnreadableError(f"'{error.filename}' cannot be read ({error.strerror})")

    for top, folders, files in os.walk(folder, onerror=fail):
        below = "" if (inside := os.path.relpath(top, folder)) == "." else f"{inside.replace(os.sep, '/')}/"
        links = [name for name in folders if os.path.islink(f"{top}/{name}")]  # noqa: PTH114 (of thousands)
        for name in sorted(files + links):
            if name not in _LITTER and not name.startswith("._"):
                yield f"{below}{name}"
        if below and not folders and not files:
            yield below


_TELLING = ("data/study.json", "data/provenance.json")


def origin_of(files: Mapping[str, bytes]) -> Origin | None:
    """Return the origin that the files of a report or bag state; None where they state none."""
    for folder in ("", "data/report/"):
        study, provenance = (_parsed(files.get(f"{folder}{name}", b"")) for name in _TELLING)
        hashes = provenance.get("files")
        if study and isinstance(hashes, dict):
            return Origin.of(str(study.get("title")), {name: str(sha) for name, sha in hashes.items()})
    return None


def origin_in(folder: Path) -> Origin | None:
    """Return the origin that a folder states; None where it states none that can be read."""
    held = {}
    for name in (f"{below}{name}" for below in ("", "data/report/") for name in _TELLING):
        with contextlib.suppress(OSError):
            held[name] = (folder / name).read_bytes()
    return origin_of(held)


def _is_ours(path: str, name: str, mark: Mark | None) -> bool:
    """Return whether the mark answers for a file as it is now."""
    if mark is None:
        return False
    if mark.files is None:
        return is_plain_file(path) and _OF_FIRST_REPORTS.fullmatch(name) is not None
    if name in mark.files:
        return plainly_holds(path, mark.files[name]) if mark.files[name] else is_plain_file(path)
    return False


def is_plain_file(path: str) -> bool:
    """Return whether a path is a file itself, and no link to one."""
    try:
        return stat.S_ISREG(os.lstat(path).st_mode)
    except OSError:
        return False


def plainly_holds(path: str, sha: str) -> bool:
    """Say whether a path is a file itself, and no link to one, that holds what has this hash.

    One that this run has read, and that is as it was, is told by one look at it. Raises UnreadableError.
    """
    try:
        told = os.lstat(path)
    except OSError:
        return False
    if not stat.S_ISREG(told.st_mode):
        return False
    known = _seen.get(_as_seen(told, sha))
    return holds(path, sha) if known is None else known == sha


def _as_seen(told: os.stat_result, sha: str) -> tuple[int, ...]:
    """Return what tells a file as it is now from every other, and from itself when it was another."""
    return (told.st_dev, told.st_ino, told.st_size, told.st_mtime_ns, len(sha))


def _report_mark_in(folder: Path) -> Mark | None:
    """Return the mark of a report; None where the mark itself is not as it was written."""
    try:
        return _report_mark_of((folder / REPORT_MARK).read_bytes())
    except OSError:
        return None


@lru_cache(maxsize=2)
def _report_mark_of(data: bytes) -> Mark | None:
    """Return the mark of a report that is written so: a run looks at it before, while and after it writes."""
    said = _parsed(data)
    files = said.get("files")
    if said.get("written_by") != "lyewitness" or not isinstance(files, dict):
        return None
    if data != _written(said):
        return None
    said_kind = said.get("kind")
    kind: Kind = said_kind if said_kind in ("shelf", "guide") else "report"
    return Mark(kind, str(said.get("study")), {**files, REPORT_MARK: ""})


def _bag_mark(folder: Path) -> Mark | None:
    """Return the mark of a bag that this program packed: its manifests name every file with its hash."""
    info = dict(line.split(": ", 1) for line in _lines_in(folder / "bag-info.txt") if ": " in line)
    if not info.get("Bag-Software-Agent", "").startswith("lyewitness"):
        return None
    listed = [line.split("  ", 1) for manifest in MANIFESTS for line in _lines_in(folder / manifest)]
    files = {entry[1]: entry[0] for entry in listed if len(entry) == 2}
    unlisted = {name: "" for name in MANIFESTS if name.startswith("tag")}
    return Mark("archive", info.get("External-Identifier", ""), {**files, **unlisted})


def _lines_in(path: Path) -> list[str]:
    """Return the lines of a text file, none where it cannot be read."""
    try:
        return path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return []


def _json_in(path: Path) -> dict[str, object]:
    """Return the object in a JSON file, an empty one where there is none."""
    try:
        return _parsed(path.read_bytes())
    except OSError:
        return {}


def _parsed(data: bytes) -> dict[str, object]:
    try:
        said = json.loads(data)
    except (ValueError, RecursionError):
        return {}
    return said if isinstance(said, dict) else {}


def _written(content: Mapping[str, object]) -> bytes:
    return (json.dumps(content, ensure_ascii=False, indent=1, sort_keys=True) + "\n").encode("utf-8")


def _sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


SETTLED_S = 2.0
"""A file written longer ago than this bears another time when it is written again: disks count finer."""
_seen: dict[tuple[int, ...], str] = {}
"""Hashes of files that this run has read, by the file itself, its size and its time."""


def holds(path: str, sha: str) -> bool:
    """Say whether a file holds what has this hash (SHA-256, or SHA-512 where it is as long).

    One run asks this of each of thousands before, while and after it puts a report in its place; a file that
    has settled is read once. Raises UnreadableError.
    """
    try:
        with open(path, "rb") as file:  # noqa: PTH123 (half the time of a Path, for thousands)
            told = os.fstat(file.fileno())
            one = _as_seen(told, sha)
            if one in _seen:
                return _seen[one] == sha
            # A share at a time: it may be of any size.
            found = hashlib.file_digest(file, "sha512" if len(sha) == 128 else "sha256").hexdigest()
    except OSError as error:
        raise UnreadableError(f"'{path}' cannot be read ({error.strerror})") from error
    if time.time() - told.st_mtime > SETTLED_S:
        _seen[one] = found
    return found == sha
