"""A report given out again where nothing that it was made from has changed.

In: where the study lies, what was asked for. Out: the very files of the earlier build, from the store; loaded
without any of the stages, for that alone would take longer.
"""

import hashlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from lyewitness.outputs.marks import REPORT_MARK, mark_of
from lyewitness.outputs.placing import place_folder, refuse_folder
from lyewitness.shipped import shipped_folder
from lyewitness.store import Store, code_digest, digest_of, folder_digest
from lyewitness.words.problems import Problem

NO_KEY = ""


@dataclass(frozen=True, slots=True)
class Imprint:
    """What is known of a report that was built, without its files."""

    study: str
    """Id of the study."""
    problems: tuple[Problem, ...]
    """What was told when it was built."""
    files: Mapping[str, str]
    """SHA-256 of every file by its path."""


def key_of(study: Path, theme: str, with_pdf: bool) -> str:
    """Return what tells this report from every other; `NO_KEY` where that cannot be told beforehand.

    All that the study folder holds goes into it, and the one file outside that it may name. A theme that did
    not come with the program may inherit from anywhere: for one of these nothing can be told.
    """
    if not (shipped_folder("themes") / theme).is_dir() or theme != Path(theme).name:
        return NO_KEY
    try:
        house = _house_file(study)
        themes = folder_digest(shipped_folder("themes"))
        return digest_of("report", code_digest(), folder_digest(study), house, themes, theme, with_pdf)
    except OSError:
        return NO_KEY


def keep_report(
    store: Store, key: str, study: str, problems: tuple[Problem, ...], files: Mapping[str, bytes]
) -> None:
    """Keep a report that was built under its key."""
    hashes = {name: hashlib.sha256(data).hexdigest() for name, data in files.items()}
    store.keep(_imprint_key(key), Imprint(study, problems, hashes))
    store.keep(key, dict(files))
    store.trim()


def reissued(store: Store, key: str, target: Path) -> tuple[Problem, ...] | None:
    """Put the report of `key` at `target` and return what was told of it; None where it has to be built.

    Where it stands there already, nothing is written. Raises PlaceTakenError where other files lie there.
    """
    if key == NO_KEY:
        return None
    found, imprint = store.recall(_imprint_key(key))
    if not found or not isinstance(imprint, Imprint):
        return None
    refuse_folder(target, "report", imprint.study)
    if _stands(target, imprint):
        return imprint.problems
    found, files = store.recall(key)
    if not found:
        return None
    place_folder(files, target, "report", imprint.study)
    return imprint.problems


def _stands(target: Path, imprint: Imprint) -> bool:
    """Say whether this very report stands at a target; that nothing of it was changed is known already."""
    mark = mark_of(target) if target.is_dir() else None
    if mark is None or mark.study != imprint.study or mark.files != {**imprint.files, REPORT_MARK: ""}:
        return False
    return all((target / name).is_file() for name in imprint.files)


def _imprint_key(key: str) -> str:
    return digest_of("imprint", key)


def _house_file(study: Path) -> bytes:
    """Return the bytes of the file that the study extends; none where it names none that can be read."""
    try:
        named = tomllib.loads((study / "study.toml").read_text(encoding="utf-8")).get("extends")
    except (tomllib.TOMLDecodeError, UnicodeDecodeError):
        return b""
    if not isinstance(named, str) or "\0" in named:
        return b""
    house = study / named.replace("\\", "/")
    return house.read_bytes() if house.is_file() else b""
