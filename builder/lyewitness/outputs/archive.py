"""A study and its report in one bag that a later reader can verify.

In: the study's folder, all of it and nothing from elsewhere, the report's files, a date. Out: the files of
a BagIt bag (RFC 8493, version 1.0).
"""

import hashlib
import os
import posixpath
import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from types import MappingProxyType

from lyewitness.study.inside import LOOPS, StudyFiles, changed_meanwhile
from lyewitness.study.records import Study
from lyewitness.words.problems import Problem, StudyFolderError

LONGEST_NAME = 200
"""Signs of a path: Windows takes 260, and the bag's own folders come before it."""
_ILLEGAL = re.compile(r'[<>:"|?*]|[. ](/|$)|(^|/)(con|prn|aux|nul|com\d|lpt\d)(\.|/|$)', re.IGNORECASE)
"""What Windows refuses in a name: signs, an end in a point or blank, names of devices."""
_PERSON = re.compile(
    rb"(?:^|[\r\n,;\t#\"/<])\s*(?:\$*|sample\s|acq(?:uired)?[\s_.-]*(?:by)?[\s_.-]*)"
    rb"(?:operator(?:[\s_]?name)?|analyst|user(?:[\s_]?name)?|owner|acquired by)"
    rb"\"?\s*[=:,;\t>\"]+\s*([A-Za-z\xc0-\xff][^\r\n\t,;<\"=]{1,60})",
    re.IGNORECASE,
)
"""A person's name behind the word for one, as heads of exports have it (text, JCAMP-DX's OWNER, XML)."""
_HEAD_BYTES = 1 << 16
"""Heads of exports stand within this; the trace behind it names nobody."""
_ARE_NOBODY = frozenset(
    {"", "unknown", "none", "n/a", "na", "public domain", "admin", "system", "user", "name"}
)


def study_files(folder: Path) -> dict[str, bytes]:
    """Return every file of the study folder by path; hidden files and folders stay out.

    Raises StudyFolderError for what leads out of the folder, is no plain file, or cannot be read.
    """
    files = StudyFiles(folder)
    problems: list[Problem] = []
    found = {}
    for name in _names_in(folder, "", (os.path.realpath(folder),), files, problems):
        path = files.path_of(name)
        if path is not None:
            found[name] = path.read_bytes()
        elif not (files.refused.get(_printable(name)) or files.refuses(name)):
            problems.append(_problem(name, "no plain file", "Take it out of the folder."))
    problems += files.refusals()
    if problems:
        raise StudyFolderError(tuple(problems))
    return found


def file_hashes(provenance: Mapping[str, object]) -> dict[str, str]:
    """Return the SHA-256 by path that a report states of what it was computed from."""
    files = provenance.get("files")
    return {str(name): str(digest) for name, digest in files.items()} if isinstance(files, Mapping) else {}


def with_house_files(folder: Path, files: Mapping[str, bytes], stated: Mapping[str, str]) -> dict[str, bytes]:
    """Return the files with those from outside the folder that the study extends, by their relative path."""
    outside = {name: StudyFiles(folder).read_house_file(name) for name in stated if name.startswith("../")}
    return {**files, **{name: data for name, data in outside.items() if data is not None}}


def refuse_changes(
    before: Mapping[str, bytes], after: Mapping[str, bytes], stated: Mapping[str, str]
) -> None:
    """Raise StudyFolderError where the files are not those that the report was computed from.

    `stated` are SHA-256 by path as the report's provenance has them; what it does not name, such as pictures,
    must be the same before and after the work.
    """
    changed = {name for name in before.keys() | after.keys() if before.get(name) != after.get(name)}
    for name, digest in stated.items():
        plain = posixpath.normpath(name.replace("\\", "/"))
        if plain not in before or hashlib.sha256(before[plain]).hexdigest() != digest:
            changed.add(plain)
    if changed:
        raise StudyFolderError(tuple(changed_meanwhile(name) for name in sorted(changed)))


def remarks_on(files: Mapping[str, bytes]) -> tuple[Problem, ...]:
    """Return what is to be known before the study's files are given away."""
    return (*_awkward_names(files), *_persons_named(files))


def _names_in(
    folder: Path, start: str, above: tuple[str, ...], files: StudyFiles, problems: list[Problem]
) -> Iterator[str]:
    """Yield the paths of all that is shown below a folder; links to folders within the study are followed."""
    try:
        entries = sorted(os.scandir(folder), key=lambda entry: entry.name)
    except OSError as error:
        found = f"a folder that cannot be read ({error.strerror})"
        problems.append(_problem(start.rstrip("/"), found, "Give yourself the right to read it."))
        return
    for entry in entries:
        if entry.name.startswith("."):
            continue
        name, real = start + entry.name, os.path.realpath(entry.path)
        if not entry.is_dir():
            yield name
        elif real in above:
            files.refused[_printable(name)] = LOOPS
        elif entry.is_symlink() and not real.startswith(os.path.join(above[0], "")):  # noqa: PTH118
            files.path_of(name)
        else:
            yield from _names_in(Path(entry.path), f"{name}/", (*above, real), files, problems)


def _printable(name: str) -> str:
    return name.encode("utf-8", "backslashreplace").decode()


def _problem(name: str, found: str, cure: str) -> Problem:
    return Problem("error", _printable(name), "", found, "a file of the study that stays as it is", cure)


def _awkward_names(files: Mapping[str, bytes]) -> Iterator[Problem]:
    """Yield a caution for each name that another system does not take, or takes for another's."""
    alike: dict[str, list[str]] = defaultdict(list)
    for name in files:
        alike[unicodedata.normalize("NFC", name).casefold()].append(name)
        if _ILLEGAL.search(name) or len(name) > LONGEST_NAME:
            yield _caution(name, "a name that Windows does not take", "a short name of letters and digits")
    for names in alike.values():
        if len(names) > 1:
            yield _caution(
                names[0],
                f"a name that differs from '{names[1]}' by capitals or the spelling of accents only",
                "names that every system tells apart",
            )


def _persons_named(files: Mapping[str, bytes]) -> Iterator[Problem]:
    """Yield a caution for each person that exports name: they go into the bag as they are."""
    named: dict[str, list[str]] = defaultdict(list)
    for name, data in files.items():
        if name.startswith("chromatograms/") or not name.endswith((".toml", ".md", ".csv")):
            head = data[:_HEAD_BYTES].replace(b"\0", b"")
            for person in {found.decode("latin-1").strip() for found in _PERSON.findall(head)}:
                if person.lower() not in _ARE_NOBODY:
                    named[person].append(name)
    for person, where in named.items():
        more = f" and {len(where) - 1} further files" if len(where) > 1 else ""
        yield _caution(
            where[0],
            f"'{person}' named as operator or owner{more}",
            "nobody's name, where the bag leaves the house",
            "It goes into the bag as it is; ask, or export again without it.",
        )


def _caution(
    name: str, found: str, expected: str, cure: str = "Rename the file before others unpack the bag."
) -> Problem:
    return Problem("caution", name, "", found, expected, cure)


def payload_of(
    of_study: Mapping[str, bytes],
    of_report: Mapping[str, bytes],
    beside: Mapping[str, bytes] = MappingProxyType({}),
) -> dict[str, bytes]:
    """Return the payload by path below `data/`: the study below `study/`, its report below `report/`.

    A file that the study extends, such as `../laboratory.toml`, keeps its place relative to the study.
    Raises StudyFolderError for file names that a manifest line cannot hold without an escape (`%`, CR, LF).
    """
    payload = {posixpath.normpath(f"study/{name}"): data for name, data in of_study.items()}
    taken = ("..", "/", "report/")
    outside = [name for name in payload if name.startswith(taken) or name in beside or name == "report"]
    if outside:
        raise StudyFolderError(tuple(_too_far(name) for name in outside))
    payload |= {f"report/{name}": data for name, data in of_report.items()} | dict(beside)
    _refuse_awkward_names(payload)
    return payload


def bag_files(study: Study, payload: Mapping[str, bytes], bagged_on: date, builder: str) -> dict[str, bytes]:
    """Return the files of a bag with this payload, people as its contacts: they are no organisation."""
    held = {f"data/{name}": data for name, data in payload.items()}
    octets = sum(len(data) for data in held.values())
    info = [
        *(("Contact-Name", person.name) for person in study.people),
        ("External-Identifier", study.id),
        ("External-Description", study.title),
        ("Bagging-Date", bagged_on.isoformat()),
        ("Payload-Oxum", f"{octets}.{len(held)}"),
        ("Bag-Software-Agent", builder),
    ]
    tags = {
        "bagit.txt": b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
        "bag-info.txt": "".join(
            f"{key}: {' '.join(value.split())}\n" for key, value in info if value
        ).encode(),
        "manifest-sha512.txt": _manifest(held),
    }
    return {**tags, "tagmanifest-sha512.txt": _manifest(tags), **held}


def _too_far(name: str) -> Problem:
    return Problem(
        "error",
        "study.toml",
        "extends",
        f"a file that would lie at '{name}' of the bag",
        "a file right beside the study folder",
        "Put the file beside the study folder, and name it '../NAME.toml'.",
    )


def _manifest(files: Mapping[str, bytes]) -> bytes:
    """Return one line a file: checksum, two blanks, path; sorted by path."""
    lines = (f"{hashlib.sha512(files[name]).hexdigest()}  {name}\n" for name in sorted(files))
    return "".join(lines).encode("utf-8")


def _refuse_awkward_names(files: Mapping[str, bytes]) -> None:
    """Raise for names that other programs are known to read differently (RFC 8493, 2.1.3)."""
    bad = [name for name in files if any(sign in name for sign in "%\r\n")]
    problems = tuple(
        Problem(
            "error",
            name.removeprefix("study/"),
            "",
            "a file name with '%' or a line break",
            "a name without them",
            "Rename the file: an archive with this name cannot be verified everywhere.",
        )
        for name in bad
    )
    if problems:
        raise StudyFolderError(problems)
