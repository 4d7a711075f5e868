"""A report given out again where nothing that it was made from has changed.

In: where the study lies, what was asked for. Out: the very files of the earlier build, from the store; loaded
without any of the stages, for that alone would take longer.
"""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from posixpath import normpath

from lyewitness.outputs.marks import REPORT_MARK, mark_of
from lyewitness.outputs.placing import place_folder, refuse_folder
from lyewitness.sheaves import Files
from lyewitness.shipped import shipped_folder
from lyewitness.store import Store, code_digest, digest_of, files_in, folder_digest, names_in
from lyewitness.study.inside import extended_by
from lyewitness.words.problems import Problem

NO_KEY = ""
MOST_KEPT_BYTES = 64 << 20
"""A larger report is put together from the pieces that are kept about as quickly as it would be copied."""


@dataclass(frozen=True, slots=True)
class Source:
    """What a report is made from, as it was before any of it was read for a build."""

    key: str
    """What tells this report from every other; `NO_KEY` where that cannot be told beforehand."""
    files: dict[str, tuple[str, str]]
    """Of each file of the study by its path: where it leads, if a link, and its SHA-256."""
    house: dict[str, str]
    """SHA-256 of the file that the study extends, by its path."""

    def was_read(self, study: Path, hashes: Mapping[str, str]) -> bool:
        """Say whether a build read each file as it was before; `hashes` are those of the files that it read.

        What it did not find, and what it had no use for, is still in its place.
        """
        known = {name: sha for name, (_, sha) in self.files.items()} | self.house
        read = {normpath(name.replace("\\", "/")): sha for name, sha in hashes.items()}
        if any(known.get(name) != sha for name, sha in read.items()):
            return False
        try:
            return dict(names_in(study)) == {name: led for name, (led, _) in self.files.items()}
        except OSError:
            return False


@dataclass(frozen=True, slots=True)
class Imprint:
    """What is known of a report that was built, without its files."""

    study: str
    """Id of the study."""
    problems: tuple[Problem, ...]
    """What was told when it was built."""
    files: Mapping[str, str]
    """SHA-256 of every file by its path."""


def source_of(study: Path, theme: str, with_pdf: bool) -> Source:
    """Return what tells this report from every other.

    All that the study folder holds goes into it, and the one file outside that it may name. A theme that did
    not come with the program may inherit from anywhere: for one of these nothing can be told.
    """
    if not (shipped_folder("themes") / theme).is_dir() or theme != Path(theme).name:
        return NO_SOURCE
    try:
        files, house = files_in(study), dict(_house_file(study))
        themes = folder_digest(shipped_folder("themes"))
        seen = (sorted(files.items()), house, themes, theme, with_pdf)
    except OSError:
        return NO_SOURCE
    return Source(digest_of("report", code_digest(), *seen), files, house)


NO_SOURCE = Source(NO_KEY, {}, {})


def keep_report(
    store: Store, key: str, study: str, problems: tuple[Problem, ...], files: Mapping[str, bytes]
) -> None:
    """Keep a report that was built under its key."""
    files = files if isinstance(files, Files) else Files(files)
    store.keep(_imprint_key(key), Imprint(study, problems, files.hashes))
    if files.size <= MOST_KEPT_BYTES:
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


def _house_file(study: Path) -> Iterator[tuple[str, str]]:
    """Yield path and SHA-256 of the file that the study extends; none where none can be read."""
    plain = extended_by(study)
    if not plain:
        return
    if (study / plain).is_file():
        yield normpath(plain), hashlib.sha256((study / plain).read_bytes()).hexdigest()
