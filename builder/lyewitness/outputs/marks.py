"""What this program wrote, told apart from everything else that lies where it would write.

In: a folder, or the bytes of a file. Out: the mark it bears, and the files in it that are not, or no longer,
what was written. A report's mark is `data/written.json`; a bag's are its own manifests; a single HTML file
ends in a comment. Whatever a mark does not list is somebody's, and is never removed.
"""

import hashlib
import json
import os
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

Kind = Literal["report", "archive", "reply", "one file"]

REPORT_MARK = "data/written.json"
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
_SHARE = 1 << 20


class UnreadableError(Exception):
    """A part of a folder cannot be read, so nobody can say whose it is."""


@dataclass(frozen=True, slots=True)
class Mark:
    """What a folder or file says of itself."""

    kind: Kind
    study: str
    """Id of the study that it was made from."""
    files: Mapping[str, str] | None = None
    """SHA-256 by path; None for a report of the first version, which listed none."""


def report_mark(study: str, files: Mapping[str, bytes]) -> bytes:
    """Return the mark of a report that holds `files`."""
    hashes = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    return _written({"written_by": "lyewitness", "kind": "report", "study": study, "files": hashes})


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
    return tuple(name for name in _names_in(folder) if not _is_ours(folder / name, name, mark))


def signed(html: bytes, kind: Kind, study: str, text: bytes = b"") -> bytes:
    """Return an HTML file with its mark in a last comment; `text` is what is written beside it."""
    said = {"kind": kind, "study": study, "sha256": _sha(html)} | ({"text": _sha(text)} if text else {})
    return html + f"\n<!-- written by lyewitness: {json.dumps(said, sort_keys=True)} -->\n".encode()


def signature_of(data: bytes) -> tuple[Mark, str] | None:
    """Return the mark of an HTML file and the SHA-256 of the text beside it; None where it is no such file.

    A file that was changed after it was written is its editor's.
    """
    found = _SIGNATURE.search(data)
    said = _parsed(found.group(1)) if found else {}
    if not found or said.get("sha256") != _sha(data[: found.start()]):
        return None
    kind: Kind = "reply" if said.get("kind") == "reply" else "one file"
    return Mark(kind, str(said.get("study"))), str(said.get("text", ""))


def _names_in(folder: Path) -> Iterator[str]:
    """Yield the path of everything in the folder that is no folder; links are not followed."""

    def fail(error: OSError) -> None:
        raise UnreadableError(f"'{error.filename}' cannot be read ({error.strerror})")

    for top, folders, files in os.walk(folder, onerror=fail):
        links = [name for name in folders if (Path(top) / name).is_symlink()]
        for name in sorted(files + links):
            if name not in _LITTER and not name.startswith("._"):
                yield (Path(top) / name).relative_to(folder).as_posix()


def _is_ours(path: Path, name: str, mark: Mark | None) -> bool:
    """Return whether the mark answers for a file as it is now."""
    if mark is None or path.is_symlink() or not path.is_file():
        return False
    if mark.files is None:
        return _OF_FIRST_REPORTS.fullmatch(name) is not None
    if name in mark.files:
        return mark.files[name] in ("", _sha_of_file(path))
    return False


def _report_mark_in(folder: Path) -> Mark | None:
    """Return the mark of a report; None where the mark itself is not as it was written."""
    path = folder / REPORT_MARK
    said = _json_in(path)
    files = said.get("files")
    if said.get("written_by") != "lyewitness" or not isinstance(files, dict):
        return None
    if path.read_bytes() != _written(said):
        return None
    return Mark("report", str(said.get("study")), {**files, REPORT_MARK: ""})


def _bag_mark(folder: Path) -> Mark | None:
    """Return the mark of a bag that this program packed: its manifests name every file with its hash."""
    info = dict(line.split(": ", 1) for line in _lines_in(folder / "bag-info.txt") if ": " in line)
    if not info.get("Bag-Software-Agent", "").startswith("lyewitness"):
        return None
    listed = [
        line.split("  ", 1)
        for manifest in ("manifest-sha256.txt", "tagmanifest-sha256.txt")
        for line in _lines_in(folder / manifest)
    ]
    files = {entry[1]: entry[0] for entry in listed if len(entry) == 2}
    return Mark("archive", info.get("External-Identifier", ""), {**files, "tagmanifest-sha256.txt": ""})


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


def _sha_of_file(path: Path) -> str:
    """Return the SHA-256 of a file, a share at a time: what lies there may be of any size."""
    digest = hashlib.sha256()
    try:
        with path.open("rb") as file:
            while share := file.read(_SHARE):
                digest.update(share)
    except OSError as error:
        raise UnreadableError(f"'{path}' cannot be read ({error.strerror})") from error
    return digest.hexdigest()
