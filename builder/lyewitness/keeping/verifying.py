"""Whether a bag is what it was, and whether today's program gives its numbers.

In: a `Bag`. Out: a `Verdict`: files damaged, missing and added; what the description says against the
files; and, measured and built again from the archived exports, every number of the tables, every claim, and
every file of the payload against those of the bag.
"""

import hashlib
import json
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path
from typing import Literal
from urllib.parse import unquote

from lyewitness.findings.records import Report
from lyewitness.findings.revised import (
    ROW,
    TABLES,
    ClaimChange,
    between,
    cells_of,
    issued,
    json_of,
    rows_of,
    same,
    versions_of,
)  # fmt: skip
from lyewitness.keeping.agreement import contradictions
from lyewitness.keeping.crate import MADE, METADATA
from lyewitness.keeping.discrepancies import AS_LINES, Altered, Held, Rebuilt, held_against
from lyewitness.keeping.packing import Bag
from lyewitness.keeping.seals import NO_SEALS, Seals, sealed
from lyewitness.outputs.datapackage import explained
from lyewitness.outputs.tables import data_files
from lyewitness.words.phrases import counted, listed
from lyewitness.words.problems import StudyFolderError

MOST_TOLD = 20
"""Differences of one kind that are told; who needs all of them builds the report and compares."""
NOT_THERE = "not there"
_ALGORITHMS = ("sha512", "sha256")
# Another library sums in another order and stops an iteration elsewhere: fits agree to about this share.
LIBRARY_SHARE = 1e-5
Outcome = Literal["same", "version", "differs", "broken"]
"""All came out again; not all, which another version may explain; not all; not whole, or not at one."""
Compute = Callable[[Path], Report]
Rebuild = Callable[[Report, Path], Rebuilt]
"""Makes the files of the bag again, from the report and the folder of its study."""


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
        """Return by which share of the old value the new one differs; None of nothing, or of no number."""
        try:
            was, now = float(self.was), float(self.now)
        except ValueError:
            return None
        return abs(now - was) / abs(was) if was else None


@dataclass(frozen=True, slots=True)
class Verdict:
    """What verifying a bag found."""

    damaged: tuple[str, ...] = ()
    """Files whose bytes are not those of the manifest."""
    missing: tuple[str, ...] = ()
    added: tuple[str, ...] = ()
    description: tuple[str, ...] = ()
    """Where the crate's description and its files do not agree, a sentence each."""
    contradictions: tuple[str, ...] = ()
    """Where it says two things of one, a clause each."""
    numbers: int = 0
    """Cells of tables that were compared."""
    different: tuple[Difference, ...] = ()
    claims: tuple[ClaimChange, ...] = ()
    """Sentences of the answers that are others than today's program says."""
    held: Held | None = None
    """The files against those that were built again; None where that was not asked for."""
    versions: tuple[tuple[str, str, str], ...] = ()
    """(name, version then, version now) of program and libraries whose version is another."""
    seals: Seals = NO_SEALS
    """What binds it to what was kept elsewhere."""
    not_measured: str = ""
    """Why it was not measured again; empty where it was."""
    refused: bool = False
    """Whether it was to be measured again, and could not be."""

    @property
    def whole(self) -> bool:
        """Return whether every file is there, as it was, and described."""
        return not (self.damaged or self.missing or self.added or self.description)

    @property
    def holds(self) -> bool:
        """Return whether it is whole and at one with itself, and all came out again that was made again."""
        return self.outcome == "same"

    @property
    def outcome(self) -> Outcome:
        """Return whether all came out again, or what of it only another version would explain."""
        if not self.whole or self.contradictions or self.refused or self.seals.differ:
            return "broken"
        if not (self.different or self.claims or self._files_differ):
            return "same"
        return "version" if self._version_explains else "differs"

    @property
    def unlike(self) -> tuple[str, ...]:
        """Return the files that differ in more than the versions that they tell."""
        held = self.held or Held()
        return tuple(name for name in held.altered if name not in held.restated)

    @property
    def _files_differ(self) -> bool:
        return self.held is not None and bool(self.held.gone or self.held.foreign or self.unlike)

    @property
    def _version_explains(self) -> bool:
        """Return whether another version can explain what differs.

        Of the program that is anything, of a library what it draws, and last figures.
        """
        if any(name.startswith("lyewitness") for name, _, _ in self.versions):
            return True
        held = self.held or Held()
        worded = {name for one in held.texts for name in one.files} | {
            name for name in self.unlike if not name.endswith((*NOT_READ, *AS_LINES, ".html"))
        }
        words = self.claims or held.gone or held.foreign or worded & set(self.unlike)
        figures = all(one.share is not None and one.share <= LIBRARY_SHARE for one in self.different)
        return bool(self.versions) and not words and figures


def verify(bag: Bag, compute: Compute | None, rebuild: Rebuild | None = None, given: str = "") -> Verdict:
    """Return the verdict on a bag; nothing is measured without `compute`, nor built without `rebuild`.

    `given` is a seal or a fingerprint that was kept elsewhere.
    """
    damaged, missing, added = _held_against_manifests(bag)
    described, odd = tuple(_held_against_description(bag)), contradictions(bag)
    found = Verdict(damaged, missing, added, described, odd, seals=sealed(bag, given))
    if compute is None:
        return replace(found, not_measured="it was not asked for")
    if damaged or missing or added:
        reason = "the bag is not whole, so its numbers need not be those of the study"
        return replace(found, not_measured=reason, refused=True)
    if found.seals.differ:
        reason = "the hash that was given is another bag's"
        return replace(found, not_measured=reason, refused=True)
    return _measured_again(bag, compute, rebuild, found)


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
    added = (
        *(bag.files.keys() - listed - tags),
        *(f"{name} (no plain file: not followed)" for name in bag.odd),
    )
    return tuple(sorted(damaged)), tuple(sorted(missing)), tuple(sorted(added))


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


def _measured_again(bag: Bag, compute: Compute, rebuild: Rebuild | None, found: Verdict) -> Verdict:
    """Measure the archived exports, build the report, and hold all of it against what the bag has."""
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
            return replace(found, not_measured=f"today's program refuses the study ({told})", refused=True)
        provenance = json_of(bag.files.get("data/report/data/provenance.json", b""))
        statements = tuple(_statements(provenance, report.provenance))
        made = rebuild(report, Path(scratch) / "study") if rebuild else None
    held = held_against(bag.files, made, statements) if made else None
    then, now = bag.below("data/report/"), explained(report, data_files(report, ()))
    numbers, different = 0, []
    for table in TABLES:
        name = f"data/{table}.csv"
        cells, others = compared(table, rows_of(then.get(name, b"")), rows_of(now[name]))
        numbers += cells
        different += others
    return replace(
        found,
        numbers=numbers,
        different=tuple(different),
        claims=between(issued(then), issued(now)).claims,
        held=held,
        versions=tuple(version_changes(provenance, report.provenance)),
    )


def _statements(then: Mapping[str, object], now: Mapping[str, object]) -> Iterator[tuple[str, str]]:
    """Yield what of a version stands in texts, then and now: a digest of the program whole."""
    digests = [_digest(one) for one in (then, now)]
    if digests[0] != digests[1]:
        yield digests[0], digests[1]
    for name, was, after in version_changes(then, now):
        if name != "lyewitness, its files":
            yield was, after


def _digest(provenance: Mapping[str, object]) -> str:
    builder = provenance.get("builder")
    return str(builder.get("sha256", "")) if isinstance(builder, Mapping) else ""


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
    faults = {
        "damaged": verdict.damaged,
        "missing": verdict.missing,
        "added": verdict.added,
        "description": verdict.description,
    }
    lines = [line for word, found in faults.items() for line in _first([f"{word}: {one}"] for one in found)]
    lines += (
        ["Every file is there, byte for byte as the bag's own list has it."]
        if verdict.whole
        else ["This bag is not whole."]
    )
    if verdict.contradictions:
        lines.append("This bag contradicts itself; whoever changed it did not change all of it alike:")
        lines += [f"  {one}" for one in verdict.contradictions]
    lines += verdict.seals.told(verdict.whole)
    if verdict.not_measured:
        lines.append(f"Not measured again: {verdict.not_measured}.")
        unseen = verdict.seals.unseen() if verdict.whole and not verdict.contradictions else ""
        return [*lines, unseen] if unseen else lines
    lines += [*_numbers_told(verdict), *_claims_told(verdict.claims), *_files_told(verdict.held)]
    if verdict.different or verdict.claims or (verdict.held and verdict.held.differs):
        lines.append(_explained(verdict))
    return lines


def _numbers_told(verdict: Verdict) -> Iterator[str]:
    if not verdict.different:
        yield f"Measured again: today's program gives the same in all {verdict.numbers} cells of the tables."
        return
    shares = [one.share for one in verdict.different if one.share is not None]
    most = f"; the largest change is {max(shares):.2g} of the old value" if shares else ""
    what = "cell of the tables is" if verdict.numbers == 1 else "cells of the tables"
    are = "" if verdict.numbers == 1 else " is" if len(verdict.different) == 1 else " are"
    yield f"Measured again: {len(verdict.different)} of {verdict.numbers} {what}{are} different{most}."
    yield from _first(
        (f"  {one.table}: {one.row}: {one.name} was {one.was or 'empty'}, is {one.now or 'empty'}",)
        for one in verdict.different
    )


def _claims_told(claims: Sequence[ClaimChange]) -> Iterator[str]:
    if not claims:
        yield "Said again: today's program makes the claims of claims.json in the same sentences."
        return
    yield f"Said again: {counted(len(claims), 'sentence')} of the answers, otherwise today:"
    yield from _first(
        _was_and_is(
            f"{one.question}, {one.part}",
            _strong(one.was_strength, one.was),
            _strong(one.now_strength, one.now),
        )
        for one in claims
    )


def _strong(strength: str, text: str) -> str:
    return f"{strength}: {text}" if text else ""


def _files_told(held: Held | None) -> Iterator[str]:
    if held is None:
        yield "Not built again: pages and texts are held against the bag's own hashes alone."
        return
    if not held.differs:
        yield f"Built again: {counted(held.same, 'file')}, the same byte for byte."
    else:
        yield f"Built again: {counted(held.same, 'file')} the same byte for byte, {len(held.altered)} not."
        yield from _first((f"  in the bag, and not made today: {name}",) for name in held.foreign)
        yield from _first((f"  made today, and not in the bag: {name}",) for name in held.gone)
        read = {name for one in held.texts for name in one.files}
        if held.restated:
            yield f"  {counted(len(held.restated), 'file')} of these in nothing but the versions told"
        silent = [name for name in held.altered if name not in read and name not in held.restated]
        yield from _first((f"  {name}: {_unread(name)}",) for name in silent)
        yield from _first(_text_told(one) for one in held.texts if not set(one.files) <= set(held.restated))
    for why in dict.fromkeys(held.left_out.values()):
        names = [name for name, reason in held.left_out.items() if reason == why]
        yield f"Not built again: {listed(names)} ({why})."


def _unread(name: str) -> str:
    """Say of a file with other bytes why nothing of it is told."""
    if name.endswith(".xlsx"):
        return "other bytes; its cells are those of the tables in the bag"
    if name.endswith(NOT_READ):
        return "other bytes; what it shows was not read: look at it"
    if name.endswith(RUN):
        return "other bytes, of what a browser runs: do not open it before you have seen what differs"
    return "other bytes, but nothing that is read (numbers to nine figures)"


RUN = (".html", ".js", ".svg")
"""What may hold a script."""


NOT_READ = (".pdf", ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".svg", ".xlsx", ".gz")
"""Endings of files whose words are not taken out and compared."""


def _text_told(one: Altered) -> tuple[str, ...]:
    more = f" and {counted(len(one.files) - 1, 'further file')}" if len(one.files) > 1 else ""
    return _was_and_is(f"{one.files[0]}{more}", *one.parts)


def _was_and_is(what: str, was: str, now: str) -> tuple[str, ...]:
    return f"  {what}", f"    was  {was or NOT_THERE}", f"    is   {now or NOT_THERE}"


def _explained(verdict: Verdict) -> str:
    changes = "; ".join(f"{name} {was} then, {now} now" for name, was, now in verdict.versions)
    if not changes:
        return (
            "Program and libraries bear the versions of then, so no version explains what differs. On a "
            "machine of another kind last figures can differ; sentences do not."
        )
    if verdict.outcome == "same":
        return f"The versions are others ({changes}), and nothing differs but that they are told."
    if verdict.outcome != "version":
        return f"The versions are others ({changes}), which does not explain what differs."
    return (
        f"The versions are others, which may explain what differs: {changes}. Whether it does, or somebody "
        "changed the bag and its hashes, only a hash that was kept elsewhere tells."
    )


def _first(told: Iterable[Sequence[str]]) -> Iterator[str]:
    """Yield the lines of the first of many, and how many more there are."""
    every = list(told)
    yield from chain.from_iterable(every[:MOST_TOLD])
    if len(every) > MOST_TOLD:
        yield f"  and {len(every) - MOST_TOLD} more"
