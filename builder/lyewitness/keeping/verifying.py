"""Whether a bag is what it was, and whether today's program gives its numbers.

In: a `Bag`. Out: a `Verdict`: files damaged, missing and added; what the description says against the
files; and,
measured again from the archived exports, every number of three tables against that of the archived report.
"""

import hashlib
import json
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import unquote

from lyewitness.findings.records import Report
from lyewitness.findings.revised import ROW, cells_of, json_of, rows_of, same, versions_of
from lyewitness.keeping.crate import MADE, METADATA
from lyewitness.keeping.packing import Bag
from lyewitness.outputs.tables import data_files
from lyewitness.words.problems import StudyFolderError

MEASURED = ("measurements", "decline", "comparisons")
"""The tables that are held against those of then."""
_ALGORITHMS = ("sha512", "sha256")
Compute = Callable[[Path], Report]


@dataclass(frozen=True, slots=True)
class Difference:
    """One number that is no longer what it was."""

    table: str
    row: str
    """Key of the row, such as `H1 / toluene / retention_factor`."""
    name: str
    was: str
    now: str

    @property
    def share(self) -> float | None:
        """Return by which share of the old value the new one differs; None where one is no number."""
        try:
            was, now = float(self.was), float(self.now)
        except ValueError:
            return None
        return abs(now - was) / max(abs(was), 1e-300)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What verifying a bag found."""

    damaged: tuple[str, ...] = ()
    """Files whose bytes are not those of the manifest."""
    missing: tuple[str, ...] = ()
    added: tuple[str, ...] = ()
    description: tuple[str, ...] = ()
    """Where the crate's description and its files do not agree, a sentence each."""
    numbers: int = 0
    """Cells of tables that were compared."""
    different: tuple[Difference, ...] = ()
    versions: tuple[tuple[str, str, str], ...] = ()
    """(name, version then, version now) of program and libraries whose version is another."""
    not_measured: str = ""
    """Why it was not measured again; empty where it was."""

    @property
    def whole(self) -> bool:
        """Return whether every file is there, as it was, and described."""
        return not (self.damaged or self.missing or self.added or self.description)


def verify(bag: Bag, compute: Compute | None) -> Verdict:
    """Return the verdict on a bag; without `compute` nothing is measured again."""
    damaged, missing, added = _held_against_manifests(bag)
    described = tuple(_held_against_description(bag))
    if compute is None:
        return Verdict(damaged, missing, added, described, not_measured="it was not asked for")
    if damaged or missing or added:
        reason = "the bag is not whole, so its numbers need not be those of the study"
        return Verdict(damaged, missing, added, described, not_measured=reason)
    return _measured_again(bag, compute, described)


def _held_against_manifests(bag: Bag) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Return what is damaged, missing and added."""
    damaged: set[str] = set()
    missing: set[str] = set()
    listed: set[str] = set()
    for algorithm in _ALGORITHMS:
        for manifest in (f"manifest-{algorithm}.txt", f"tagmanifest-{algorithm}.txt"):
            for name, digest in _lines(bag.files.get(manifest, b"")):
                listed.add(name)
                if name not in bag.files:
                    missing.add(name)
                elif hashlib.new(algorithm, bag.files[name]).hexdigest() != digest.lower():
                    damaged.add(name)
    if not any(f"manifest-{one}.txt" in bag.files for one in _ALGORITHMS):
        missing.add("manifest-sha512.txt")
    tags = {f"tagmanifest-{one}.txt" for one in _ALGORITHMS}
    return tuple(sorted(damaged)), tuple(sorted(missing)), tuple(sorted(bag.files.keys() - listed - tags))


def _lines(manifest: bytes) -> Iterator[tuple[str, str]]:
    for line in manifest.decode("utf-8", "replace").splitlines():
        digest, _, name = line.partition("  ")
        if name:
            yield name, digest


def _held_against_description(bag: Bag) -> Iterator[str]:
    """Yield where the crate and its files do not agree; a bag of the first version has no crate."""
    data = bag.files.get(f"data/{METADATA}")
    if data is None:
        return
    try:
        graph = json.loads(data)["@graph"]
        files = {unquote(str(one["@id"])): one for one in graph if one.get("@type") == "File"}
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        yield f"{METADATA} cannot be read as a description"
        return
    payload = bag.below("data/")
    payload.pop(METADATA)
    for name in sorted(files.keys() - payload.keys()):
        yield f"'{name}' is described and not there"
    for name in sorted(payload.keys() - files.keys()):
        yield f"'{name}' is there and not described"
    for name in sorted(payload.keys() & files.keys()):
        stated = files[name].get("sha512")
        if stated and stated != hashlib.sha512(payload[name]).hexdigest():
            yield f"'{name}' has another hash than its description says"


def _measured_again(bag: Bag, compute: Compute, described: tuple[str, ...]) -> Verdict:
    """Measure the archived exports and hold every number against the archived one."""
    with tempfile.TemporaryDirectory(prefix="lyewitness-") as scratch:
        for name, data in bag.below("data/").items():
            if not name.startswith(MADE):
                path = Path(scratch) / name
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(data)
        try:
            report = compute(Path(scratch) / "study")
        except StudyFolderError as error:
            told = "; ".join(str(problem.found) for problem in error.problems[:3])
            return Verdict(description=described, not_measured=f"today's program refuses the study ({told})")
    now = data_files(report, ())
    numbers, different = 0, []
    for table in MEASURED:
        name = f"data/{table}.csv"
        old, new = rows_of(bag.files.get(f"data/report/{name}", b"")), rows_of(now[name])
        counted, found = compared(table, old, new)
        numbers += counted
        different += found
    then = json_of(bag.files.get("data/report/data/provenance.json", b""))
    return Verdict(
        description=described,
        numbers=numbers,
        different=tuple(different),
        versions=tuple(version_changes(then, report.provenance)),
    )


def compared(
    table: str, old: Sequence[Mapping[str, str]], new: Sequence[Mapping[str, str]]
) -> tuple[int, list[Difference]]:
    """Return how many cells two editions of a table share, and which differ; rows go by key."""
    cells = list(cells_of(table, old, new))
    found = [
        Difference(table, " / ".join(key), name, was, now)
        for key, name, was, now in cells
        if not same(was, now)
    ]
    return sum(name != ROW for _, name, _, _ in cells), sorted(found, key=lambda one: (one.row, one.name))


def version_changes(then: Mapping[str, object], now: Mapping[str, object]) -> Iterator[tuple[str, str, str]]:
    """Yield name, old and new version of each program and library that is another now."""
    before, after = versions_of(then), versions_of(now)
    for name in sorted(before.keys() | after.keys()):
        if before.get(name) != after.get(name):
            yield name, before.get(name, "none"), after.get(name, "none")


def told(verdict: Verdict) -> list[str]:
    """Return the verdict in lines, worst first."""
    lines = [f"damaged: {name}" for name in verdict.damaged]
    lines += [f"missing: {name}" for name in verdict.missing]
    lines += [f"added: {name}" for name in verdict.added]
    lines += [f"description: {sentence}" for sentence in verdict.description]
    lines += (
        ["Every file is there, byte for byte as the bag's own list has it."]
        if verdict.whole
        else ["This bag is not whole."]
    )
    if verdict.not_measured:
        return [*lines, f"Not measured again: {verdict.not_measured}."]
    if not verdict.different:
        return [
            *lines,
            f"Measured again: today's program gives the same {verdict.numbers} cells of the tables; "
            "sentences and pages are held against the bag's own hashes alone.",
        ]
    shares = [one.share for one in verdict.different if one.share is not None]
    most = f"; the largest change is {max(shares):.2g} of the old value" if shares else ""
    lines.append(f"Measured again: {len(verdict.different)} of {verdict.numbers} are different{most}.")
    lines += [f"  {one.table}: {one.row}: {one.name} was {one.was or 'empty'}, is {one.now or 'empty'}"
              for one in verdict.different[:20]]  # fmt: skip
    changes = [f"{name} {was} then, {now} now" for name, was, now in verdict.versions]
    why = "; ".join(changes) if changes else "nothing: program and libraries bear the versions of then"
    return [*lines, f"What is another than then: {why}."]
