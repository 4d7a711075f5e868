"""Audit of what sets columns apart within a type: do those that lasted, or failed, share what no other has?

In: `Evidence`. Out: `Point`s. Where the only column of another lot is the only one that lasted, nobody can
tell whether the type lasts or that lot.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor, inf

from lyewitness.decline.records import Life
from lyewitness.findings.audit.lots import lot_words
from lyewitness.findings.audit.points import Asked, Point, pairs_with
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import Column
from lyewitness.words.lives import bracket_of
from lyewitness.words.metrics import ANY_LIMIT, the_metric
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import counted, kind_of, listed

APART = Asked(
    "set-apart",
    "Do the columns of a type that lasted differ from those that failed in more than their lives?",
    "Whether the type lasts, or what sets these columns apart, nobody can tell.",
    "Test several columns of each, side by side.",
)

Sized = Callable[[Column], str]
Told = tuple[str, list[str]]
"""What sets columns apart, in words, and the names of the properties."""
PROPERTIES: tuple[tuple[str, Sized, str], ...] = (
    ("lot", lambda column: lot_words(column.lot.strip()) if column.lot.strip() else "", "of"),
    ("block", lambda column: _named("block", column.block), "on"),
    ("length", lambda column: _in("mm", column.length_mm), "with a bed of"),
    ("inner diameter", lambda column: _in("mm", column.inner_diameter_mm), "with an inner diameter of"),
    ("particle size", lambda column: _in("µm", column.particle_um), "with particles of"),
    ("bonding", lambda column: column.bonding.strip(), "with the bonding"),
    ("part ahead", lambda column: f"‘{own}’" if (own := column.upstream.strip()) else "", "behind"),
)
"""What is stated of each column, with the word that joins it; what it was set to is asked elsewhere."""
LEADING = {"lot", "part ahead"}
"""What is known to change lives, and is named before all else; a bed of another length hardly does."""
FAILED = 2
"""Columns that must have failed before the others lasted: one that failed alone is a straggler."""


def _named(kind: str, name: str) -> str:
    own = name.strip()
    return f"{kind} {own}" if own[:1].isdigit() or len(own) == 1 else own


def _in(unit: str, value: float | None) -> str:
    return with_unit(stated(value), unit) if value is not None else ""


@dataclass(frozen=True, slots=True)
class Lived:
    """How long one column lasted at least and at most, hours."""

    low: float
    high: float


def set_apart(evidence: Evidence) -> Iterator[Point]:
    """Ask whether what sets columns of a type apart goes with lives all beyond, or before, the others'.

    By the metric that decides, else by whichever limit was passed first where the answer rests on that.
    """
    any_counts = any(one.metric == ANY_LIMIT for one in evidence.judgement.comparisons)
    for group in evidence.study.groups:
        columns = evidence.study.replicates(group)
        by = f" by {the_metric(*evidence.judgement.deciding)}"
        others = {one.block.strip() for one in evidence.study.columns if one.group != group}
        # On a block of several types each of them tells of it: types are held against each other within it.
        planned = bool(others & {one.block.strip() for one in columns} - {""})
        told = _of_group(columns, by_deciding(evidence, columns), by, planned)
        if any_counts:
            told = told or _of_group(columns, by_any_limit(evidence, columns), "", planned)
        if told:
            words, names = told
            yield APART.says(
                "caution",
                words,
                group,
                bound="indicated",
                groups=(group,),
                pairs=pairs_with(evidence.study, [group]),
                cure=f"Test several {kind_of(group)} columns of each {listed(names)}, side by side.",
                leads=bool({*names} & LEADING),
            )


def by_deciding(evidence: Evidence, columns: Sequence[Column]) -> dict[str, Lived]:
    """Return the lives of columns by the metric that decides, where they are known."""
    found = {one.id: evidence.decline(one.id, *evidence.judgement.deciding) for one in columns}
    return {name: lived for name, d in found.items() if d is not None and (lived := _lived(d.life))}


def by_any_limit(evidence: Evidence, columns: Sequence[Column]) -> dict[str, Lived]:
    """Return the lives of columns by whichever limit was passed first, where they are known."""
    own = {column.id for column in columns}
    found = {one.column: _lived(one.life) for one in evidence.judgement.first_failures if one.column in own}
    return {name: lived for name, lived in found.items() if lived is not None}


def _lived(life: Life) -> Lived | None:
    """Return the ends between which a life lies; None where nothing is known of it."""
    low, high = bracket_of(life)
    if life.state == "reached":
        value = life.hours.value
        ends = [end for end in (life.hours.low, life.hours.high, value) if end is not None]
        # By its own interval where it has one: the injections beside it may lie wide apart.
        return Lived(min(ends), max(ends)) if value is not None else Lived(low or 0.0, high or inf)
    return Lived(life.hours.low, inf) if life.hours.low is not None else None


def _of_group(
    columns: Sequence[Column], lives: Mapping[str, Lived], by: str, planned: bool = False
) -> Told | None:
    """Return what sets the columns with the longest lives apart, or the shortest; None for nothing.

    Every split of the columns by their lives is tried, and told where a property splits them alike; but not
    where each of the others has a value of its own as well: one of them always is the first and the last.
    Of two halves that differ the smaller is told, the longer-lived where they are as large.
    """
    if len(lives) < len(columns) or len(columns) < FAILED + 1:
        return None
    order = sorted(columns, key=lambda one: (lives[one.id].low, lives[one.id].high))
    for size in range(1, len(order)):
        early, late = order[:size], order[size:]
        first = max(lives[one.id].high if lives[one.id].high < inf else lives[one.id].low for one in early)
        # Those seen within the limit as long as others lasted did not fail before them.
        if first >= min(lives[one.id].low for one in late):
            continue
        failed = sum(lives[one.id].high < inf for one in early)
        until = floor(min(lives[one.id].low for one in late))
        of_late = _shared(late, early, planned) if failed >= FAILED else {}
        of_early = _shared(early, late, planned) if failed == len(early) and len(late) >= FAILED else {}
        if of_late and (len(late) <= len(early) or not of_early):
            return _words(late, f"lasted beyond {with_unit(stated(ceil(first)), 'h')}{by}", of_late)
        if of_early:
            return _words(early, f"failed before {with_unit(stated(until), 'h')}{by}", of_early)
    return None


def _shared(apart: Sequence[Column], others: Sequence[Column], planned: bool) -> dict[str, str]:
    """Return what all of some columns share and none of the others has, of which two are alike in it.

    Blocks are left out where they were `planned`.
    """
    found = {}
    for name, of, joint in PROPERTIES:
        if planned and name == "block":
            continue
        own, rest = {of(column) for column in apart}, [of(column) for column in others]
        alike = any(one == other for one, other in pairwise(sorted(rest)))
        if len(own) == 1 and "" not in (*own, *rest) and not own & set(rest) and alike:
            found[name] = f"{joint} {own.pop()}"
    return found


def _words(apart: Sequence[Column], did: str, shared: Mapping[str, str]) -> Told:
    kind = kind_of(apart[0].group)
    ids, these, names = listed(sorted(one.id for one in apart)), listed(shared.values()), list(shared)
    if len(apart) == 1:
        return f"{ids}, the only {kind} column that {did}, is the only one {these}", names
    return f"{ids}, the {counted(len(apart), f'{kind} column')} that {did}, are the only ones {these}", names
