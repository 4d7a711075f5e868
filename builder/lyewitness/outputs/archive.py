"""A study and its report in one bag that a later reader can verify.

In: files as bytes, a date. Out: the files of a BagIt bag (RFC 8493, version 1.0).
"""

import hashlib
import posixpath
from collections.abc import Mapping
from datetime import date

from lyewitness.study.records import Study
from lyewitness.words.problems import Problem, StudyFolderError


def bag_files(
    study: Study, of_study: Mapping[str, bytes], of_report: Mapping[str, bytes], bagged_on: date, builder: str
) -> dict[str, bytes]:
    """Return the files of a bag with the study below `data/study/` and its report below `data/report/`.

    A file that the study extends, such as `../laboratory.toml`, keeps its place relative to the study.
    Raises StudyFolderError for file names that a manifest line cannot hold without an escape (`%`, CR, LF).
    """
    payload = {posixpath.normpath(f"data/study/{name}"): data for name, data in of_study.items()}
    outside = [name for name in payload if not name.startswith("data/") or name.startswith("data/report/")]
    if outside:
        raise StudyFolderError(tuple(_too_far(name) for name in outside))
    payload |= {f"data/report/{name}": data for name, data in of_report.items()}
    _refuse_awkward_names(payload)
    manifest = _manifest(payload)
    octets = sum(len(data) for data in payload.values())
    info = {
        "Source-Organization": "; ".join(person.name for person in study.people),
        "External-Identifier": study.id,
        "External-Description": study.title,
        "Bagging-Date": bagged_on.isoformat(),
        "Payload-Oxum": f"{octets}.{len(payload)}",
        "Bag-Software-Agent": builder,
    }
    tags = {
        "bagit.txt": b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n",
        "bag-info.txt": "".join(
            f"{key}: {' '.join(value.split())}\n" for key, value in info.items() if value
        ).encode(),
        "manifest-sha256.txt": manifest,
    }
    return {**tags, "tagmanifest-sha256.txt": _manifest(tags), **payload}


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
    lines = (f"{hashlib.sha256(files[name]).hexdigest()}  {name}\n" for name in sorted(files))
    return "".join(lines).encode("utf-8")


def _refuse_awkward_names(files: Mapping[str, bytes]) -> None:
    """Raise for names that other programs are known to read differently (RFC 8493, 2.1.3)."""
    bad = [name for name in files if any(sign in name for sign in "%\r\n")]
    problems = tuple(
        Problem(
            "error",
            name.removeprefix("data/study/"),
            "",
            "a file name with '%' or a line break",
            "a name without them",
            "Rename the file: an archive with this name cannot be verified everywhere.",
        )
        for name in bad
    )
    if problems:
        raise StudyFolderError(problems)
