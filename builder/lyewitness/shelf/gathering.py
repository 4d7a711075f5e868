"""The studies in a folder, whichever form each was kept in: report, bag, packed bag, or study folder.

In: a folder, what was known of it last time. Out: `Shelf`: each study read, or the reason why it cannot be.
What did not change since last time (path, size, time of every file) is not read again.
"""

import csv
import hashlib
import io
import json
import os
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from lyewitness.findings.records import Report
from lyewitness.keeping.packing import Bag, NoBagError, is_packed, read_bag
from lyewitness.keeping.verifying import verify
from lyewitness.outputs.datapackage import study_words
from lyewitness.outputs.tables import data_files
from lyewitness.shelf.records import TEST, ColumnLife, Shelved, ShelvedAnswer, ShelvedColumn, ShelvedOrder
from lyewitness.study.folder import read_study
from lyewitness.study.inside import refuse_house_file_beyond
from lyewitness.words.lives import limit_read
from lyewitness.words.metrics import metric_name
from lyewitness.words.phrases import counted, listed
from lyewitness.words.problems import StudyFolderError
from lyewitness.words.settings import SETTINGS, setting_text

Compute = Callable[[Path], Report]
# Files of a study folder are read anew by this version of the records; raised whenever a field is added.
EDITION = 4


@dataclass(frozen=True, slots=True)
class Shelf:
    """All studies of a folder, by their place."""

    studies: tuple[Shelved, ...]
    memory: Mapping[str, object]
    """What to hand in next time."""
    read_anew: int = 0


def gather(folder: Path, memory: Mapping[str, object], compute: Compute) -> Shelf:
    """Return every study below the folder, in the order of their ids."""
    known = memory.get("studies") if memory.get("edition") == EDITION else None
    before = known if isinstance(known, Mapping) else {}
    found: list[Shelved] = []
    kept: dict[str, object] = {}
    anew = 0
    for path in _places(folder):
        place = path.relative_to(folder).as_posix()
        print_ = _fingerprint(path)
        old = before.get(place)
        if isinstance(old, Mapping) and old.get("fingerprint") == print_:
            study, kept[place] = _restored(old["study"]), old
        else:
            study, anew = _read(path, folder, compute), anew + 1
            kept[place] = {"fingerprint": print_, "study": asdict(study)}
        found.append(study)
    found.sort(key=lambda one: (one.id, one.place))
    return Shelf(tuple(found), {"edition": EDITION, "studies": kept}, anew)


def _places(folder: Path) -> Iterator[Path]:
    """Yield what looks like a study, in any of its forms; nothing within one is another."""
    for entry in sorted(os.scandir(folder), key=lambda one: one.name):
        path = Path(entry.path)
        if entry.name.startswith("."):
            continue
        if entry.is_file():
            if is_packed(path):
                yield path
        elif entry.is_dir(follow_symlinks=False):
            marks = ("bagit.txt", "study.toml", "data/provenance.json")
            if any((path / name).is_file() for name in marks):
                yield path
            elif not (path / "data/shelf.json").is_file():
                yield from _places(path)


def _fingerprint(path: Path) -> str:
    """Return a hash of names, sizes and times of all that is read of a study.

    Of a report that is its tables; 200 reports have 100,000 pages and pictures, which would take seconds.
    """
    digest = hashlib.sha256()
    for name, about in sorted(_looked_at(path)):
        digest.update(f"{name}\0{about.st_size}\0{about.st_mtime_ns}\n".encode())
    return digest.hexdigest()


def _looked_at(path: Path) -> Iterator[tuple[str, os.stat_result]]:
    """Yield name and state of each file that is read of a study; of a bag and a study folder that is all."""
    if path.is_file():
        yield path.name, path.stat()
        return
    report = not any((path / name).is_file() for name in ("bagit.txt", "study.toml"))
    waiting = [str(path / "data") if report else str(path)]
    while waiting:
        for entry in os.scandir(waiting.pop()):
            if entry.is_dir(follow_symlinks=False):
                waiting += [] if report else [entry.path]
            elif entry.is_file():
                yield entry.path[len(str(path)) :], entry.stat()


def _read(path: Path, folder: Path, compute: Compute) -> Shelved:
    """Return what is known of one study; a damaged one is told as that."""
    place = path.relative_to(folder).as_posix()
    if is_packed(path) or (path / "bagit.txt").is_file():
        return _from_bag(path, place)
    if (path / "study.toml").is_file():
        try:
            refuse_house_file_beyond(path, folder)
            report = compute(path)
        except StudyFolderError as error:
            told = "; ".join(str(problem.found) for problem in error.problems[:2])
            return _damaged(path, place, f"The study folder cannot be read: {told}.")
        words = study_words(report.study, report.findings.answers)
        return _shelved(words, data_files(report, ()), place, f"{place}/study.toml")
    files = {
        f"data/{one.name}": one.read_bytes() for one in sorted((path / "data").iterdir()) if one.is_file()
    }
    held = _json(files.get("data/study.json", b""))
    if "data/study.json" in files and not isinstance(held.get("id"), str):
        return _damaged(path, place, "The report's data/study.json is not what a report has.")
    return _shelved(held, files, place, f"{place}/index.html")


def _from_bag(path: Path, place: str) -> Shelved:
    try:
        bag = read_bag(path)
    except NoBagError as error:
        return _damaged(path, place, str(error))
    verdict = verify(bag, compute=None)
    if verdict.outcome == "broken":
        wrong = (*verdict.damaged, *verdict.missing, *verdict.added, *verdict.description)
        what = "is not whole" if wrong else "contradicts itself"
        wrong = wrong or verdict.contradictions
        more = f", and {counted(len(wrong) - 1, 'further fault')}" if len(wrong) > 1 else ""
        return _damaged(path, place, f"The bag {what}: {wrong[0]}{more}.", bag.info)
    files = bag.below("data/report/")
    words = _json(files.get("data/study.json", b""))
    if "exports" not in words:
        words = {**_of_its_study(bag), **{key: words[key] for key in ("answers",) if key in words}}
    page = place if is_packed(path) else f"{place}/data/report/index.html"
    return _shelved(words, files, place, page)


def _damaged(path: Path, place: str, why: str, info: Mapping[str, str] | None = None) -> Shelved:
    named = (info or {}).get("External-Identifier", path.name)
    return Shelved(named, (info or {}).get("External-Description", path.name), place, place, damage=why)


def _of_its_study(bag: Bag) -> Mapping[str, Any]:
    """Return what a report of an earlier version did not say of its study, from the study beside it."""
    with tempfile.TemporaryDirectory(prefix="lyewitness-") as scratch:
        for name, data in bag.below("data/").items():
            if not name.startswith("report/"):
                path = Path(scratch) / name
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(data)
        study = read_study(Path(scratch) / "study").study
    return study_words(study, ()) if study else {}


def _shelved(words: Mapping[str, Any], files: Mapping[str, bytes], place: str, page: str) -> Shelved:
    """Return the record made of a study's data and its report's tables."""
    claims = _json(files.get("data/claims.json", b""))
    listed = [one for one in _list(claims, "claims") if one.get("part") == "claim"]
    said = " ".join(str(one.get("text", "")) for one in listed)
    answers = tuple(
        ShelvedAnswer(*(str(one.get(key, "")) for key in
                        ("question", "short", "asked_on", "deciding_marker", "deciding_metric")))
        for one in _list(words, "answers")
    )  # fmt: skip
    if not answers:
        answers = (ShelvedAnswer(str(words.get("title", "")), str(listed[0]["text"]) if listed else ""),)
    revisions = [str(one.get("number", "")) for one in _list(words, "revisions")]
    provenance = _json(files.get("data/provenance.json", b""))
    columns = tuple(_columns(words, provenance))
    lives = tuple(_lives(words, files.get("data/decline.csv", b"")))
    return Shelved(
        id=str(words.get("id") or claims.get("study") or place),
        title=str(words.get("title") or claims.get("study") or place),
        place=place,
        page=page,
        invented=str(words.get("invented", "")),
        supersedes=str(words.get("supersedes", "")),
        revision=revisions[-1] if revisions else "",
        asked_on=answers[0].asked_on,
        keywords=tuple(str(one) for one in words.get("keywords", ())),
        people=tuple(str(one.get("name", "")) for one in _list(words, "people")),
        answers=answers,
        lives=lives,
        orders=tuple(_orders(files.get("data/comparisons.csv", b""))),
        columns=columns,
        settings=tuple(_common_settings(words, provenance, lives)),
        exports=tuple(sorted({*_exports(provenance), *(mark for one in columns for mark in one.exports)})),
        words=said,
    )


# Of SHA-256, 48 bits: of a million exports on a shelf two are alike by chance once in 500 shelves.
_MARK = 12
_NO_EXPORTS = ("study.toml", "injections.csv", "conditions.csv", "images.csv", "images/", "notes/", "../")
"""Beginnings of paths that a report read and that are no exports."""


def _exports(provenance: Mapping[str, Any]) -> Iterator[str]:
    """Yield the digest of each file read that may be an export."""
    for name, digest in _mapping(provenance, "files").items():
        if not str(name).startswith(_NO_EXPORTS):
            yield str(digest)[:_MARK]


def _columns(words: Mapping[str, Any], provenance: Mapping[str, Any]) -> Iterator[ShelvedColumn]:
    """Yield each column with what its study states of it and of its stress, and its own exports."""
    hashes, exports = _mapping(provenance, "files"), _mapping(words, "exports")
    stresses = {str(column): one for one in _list(words, "stresses") for column in one.get("columns", ())}
    for column in _list(words, "columns"):
        name = str(column.get("id", ""))
        own = exports.get(name)
        read = sorted({str(hashes[one])[:_MARK] for one in own if one in hashes}) if own else ()
        yield ShelvedColumn(name, tuple(_settings(column | stresses.get(name, {}))), tuple(read))


def _common_settings(
    words: Mapping[str, Any], provenance: Mapping[str, Any], lives: Sequence[ColumnLife]
) -> Iterator[tuple[str, str]]:
    """Yield what holds for every column: markers, limits, how it was computed; the test by `test` and key."""
    markers = listed(sorted(str(one.get("id")) for one in _list(words, "markers")))
    limits = {f"{metric_name(one.metric)} {limit_read(one.limit, one.metric)}" for one in lives}
    yield from (pair for pair in (("followed", markers), ("limits", listed(sorted(limits)))) if pair[1])
    yield from _settings(_mapping(provenance, "choices"))
    yield from ((f"{TEST}{key}", told) for key, told in _settings(_mapping(words, "test")))


def _settings(told: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield key and value of what is stated and can bear on a life, in the order of the table of settings."""
    for key, setting in SETTINGS.items():
        if setting.bears and (value := setting_text(key, told.get(key))):
            yield key, value


def _mapping(content: Mapping[str, Any], key: str) -> dict[str, Any]:
    held = content.get(key)
    return held if isinstance(held, dict) else {}


def _orders(comparisons: bytes) -> Iterator[ShelvedOrder]:
    """Yield which group lasts longer than which, wherever the report says so."""
    for row in csv.DictReader(io.StringIO(decode(comparisons))):
        pair = [row.get("group_a") or "", row.get("group_b") or ""]
        if row.get("finding") in ("a lasts longer", "b lasts longer"):
            longer, shorter = pair if row["finding"].startswith("a") else pair[::-1]
            yield ShelvedOrder(longer, shorter, row.get("marker") or "", row.get("metric") or "")


def _lives(words: Mapping[str, Any], decline: bytes) -> Iterator[ColumnLife]:
    """Yield the life of each column by each metric that has a limit."""
    columns = {str(one.get("id")): one for one in _list(words, "columns")}
    roles = {str(one.get("id")): str(one.get("role", "")) for one in _list(words, "markers")}
    stresses = {str(column): one for one in _list(words, "stresses") for column in one.get("columns", ())}
    for row in csv.DictReader(io.StringIO(decode(decline))):
        if not row.get("limit"):
            continue
        column, stress = columns.get(row["column"], {}), stresses.get(row["column"], {})
        yield ColumnLife(
            column=row["column"],
            group=row["group"],
            particle=str(column.get("particle", "")),
            bonding=str(column.get("bonding", "")),
            lot=str(column.get("lot", "")),
            buffer=str(stress.get("buffer", "")),
            buffer_mM=stress.get("buffer_mM"),
            organic=str(stress.get("organic", "")),
            temperature_C=stress.get("temperature_C"),
            ph=stress.get("ph"),
            ph_hot=stress.get("ph_hot"),
            marker=row["marker"],
            role=roles.get(row["marker"], ""),
            metric=row["metric"],
            limit=row["limit"],
            life_h=_number(row["life_h"]) if row["life_state"] == "reached" else None,
            low_h=_number(row["life_low_h"]),
            high_h=_number(row["life_high_h"]),
            state=row["life_state"],
            tested_h=_number(row.get("end_h") or ""),
            upstream=str(column["upstream"] or "") if "upstream" in column else None,
        )


def decode(data: bytes) -> str:
    """Return the text of a table; a sign that is none becomes a mark, the rest stays readable."""
    return data.decode("utf-8", "replace")


def _number(cell: str) -> float | None:
    try:
        return float(cell)
    except ValueError:
        return None


def _json(data: bytes) -> Mapping[str, Any]:
    try:
        content = json.loads(data)
    except (ValueError, RecursionError):
        return {}
    return content if isinstance(content, dict) else {}


def _list(content: Mapping[str, Any], key: str) -> list[dict[str, Any]]:
    held = content.get(key)
    return [one for one in held if isinstance(one, dict)] if isinstance(held, list) else []


def _restored(kept: object) -> Shelved:
    """Return a record from what JSON made of it."""
    assert isinstance(kept, Mapping)
    told = dict(kept)
    told["keywords"], told["people"] = tuple(told["keywords"]), tuple(told["people"])
    told["answers"] = tuple(ShelvedAnswer(**one) for one in told["answers"])
    told["orders"] = tuple(ShelvedOrder(**one) for one in told["orders"])
    told["lives"] = tuple(ColumnLife(**one) for one in told["lives"])
    told["exports"] = tuple(told["exports"])
    told["settings"] = tuple((key, value) for key, value in told["settings"])
    told["columns"] = tuple(
        ShelvedColumn(one["id"], tuple((key, value) for key, value in one["settings"]), tuple(one["exports"]))
        for one in told["columns"]
    )
    return Shelved(**told)
