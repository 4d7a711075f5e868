"""Audit of the beginnings: did columns of one type begin alike?

In: `Evidence`. Out: `Point`s. A life is read against the column's own beginning, so that a poor bed may look
as lasting as a good one; and what a user of the type gets is not told by it.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from math import log
from statistics import fmean, median

from lyewitness.findings.audit.points import Asked, Point, subject_of
from lyewitness.findings.evidence import Evidence
from lyewitness.study.records import Column
from lyewitness.words.metrics import metric_name, metric_of_marker, unit_of
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import listed

ALIKE = Asked(
    "begin-alike",
    "Did columns of one type begin alike?",
    "A column that begins so far from its type may be badly packed or hurt: its life may be no life of the "
    "type, and in per cent of such a beginning it looks as good as the others.",
    "Test each column against its certificate before the stress; replace one that begins so far off, or read "
    "its life apart.",
)


PLATES, SYMMETRY, PRESSURE = "plate_number_half_height", "symmetry_factor", "pressure_bar"
APART: Mapping[str, float] = {PLATES: 1.5, SYMMETRY: 1.4, PRESSURE: 1.4}
"""By which factor columns of one type do not differ: certificates allow a fifth either way of a type's plates
and symmetry factors of 0.9 to 1.2, and instruments add a tenth or two to the pressure (common practice)."""
EARLY = 0.05
"""Share of the longest exposure within which the first look at a column shows its beginning."""
FIRST_READINGS = 3
"""Readings of the pressure whose mean is that of the beginning."""


def begin_alike(evidence: Evidence) -> Iterator[Point]:
    """Ask whether a column's plates, symmetry or pressure began far from those of its type."""
    asked, parts, odd = 0, [], []
    for columns in _comparable(evidence):
        asked += 1
        for column, said in _odd_ones(evidence, columns):
            odd.append(column)
            parts.append((frozenset((column.group,)), said))
    if parts:
        groups = dict.fromkeys(column.group for column in odd)
        yield ALIKE.says(
            "caution",
            "; ".join(said for _, said in parts),
            subject_of(evidence, [column.id for column in odd]),
            groups=groups,
            parts=parts,
        )
    elif asked:
        yield ALIKE.good("plates, symmetry and pressure of columns of one type began alike")


def _comparable(evidence: Evidence) -> Iterator[Sequence[Column]]:
    """Yield the columns of each type that have one size and were looked at when fresh, two or more."""
    longest = max(
        (hours[-1] for one in evidence.study.columns if (hours := evidence.hours(one.id))), default=0.0
    )
    for group in evidence.study.groups:
        alike: dict[tuple[object, ...], list[Column]] = {}
        for one in evidence.study.replicates(group):
            seen = evidence.hours(one.id)
            if seen and seen[0] <= EARLY * longest:
                size = (
                    one.length_mm,
                    one.inner_diameter_mm,
                    one.particle_um,
                    one.temperature_C,
                    one.upstream,
                )
                alike.setdefault(size, []).append(one)
        yield from (columns for columns in alike.values() if len(columns) > 1)


def _odd_ones(evidence: Evidence, columns: Sequence[Column]) -> Iterator[tuple[Column, str]]:
    """Yield each column that began far from the others of its type, with its numbers beside theirs."""
    retained = evidence.roles("neutral", "base", "acid")
    plates = {marker: _firsts(evidence, columns, marker, PLATES) for marker in retained}
    skews = {marker: _firsts(evidence, columns, marker, SYMMETRY) for marker in retained}
    pressures = {
        one.id: fmean(read[:FIRST_READINGS])
        for one in columns
        if (read := [bar for _, bar in evidence.logged(one.id, PRESSURE)])
    }
    for column in columns:
        told = [
            *_told(column.id, plates, PLATES, APART[PLATES], lambda own, other: own < other),
            *_told(column.id, skews, SYMMETRY, APART[SYMMETRY], lambda own, other: _skew(own) > _skew(other)),
            *_told(column.id, {"": pressures}, PRESSURE, APART[PRESSURE], lambda own, other: own > other),
        ]
        if told:
            yield column, f"{column.id} began with {listed(told)}"


def _skew(symmetry: float) -> float:
    return abs(log(symmetry))


def _firsts(evidence: Evidence, columns: Sequence[Column], marker: str, metric: str) -> Mapping[str, float]:
    """Return the median of the reference injections by column, where it is known and positive."""
    first = evidence.study.choices.reference_injections
    found = {one.id: evidence.values(one.id, marker, metric)[:first] for one in columns}
    return {column: median(values) for column, values in found.items() if values and min(values) > 0}


def _told(
    column: str,
    values: Mapping[str, Mapping[str, float]],
    metric: str,
    apart: float,
    is_worse: Callable[[float, float], bool],
) -> Iterator[str]:
    """Yield what a column began with where it is far from the others for most markers; of two, the worse."""
    others = {marker: [v for name, v in own.items() if name != column] for marker, own in values.items()}
    known = {
        marker: values[marker][column] for marker in values if column in values[marker] and others[marker]
    }
    off = {m: log(own / median(others[m])) for m, own in known.items()}
    far = {marker: by for marker, by in off.items() if abs(by) > log(apart)}
    if not far or 2 * len(far) <= len(off) or len({by > 0 for by in far.values()}) > 1:
        return
    marker = max(far, key=lambda name: abs(far[name]))
    own, other = known[marker], median(others[marker])
    if len(others[marker]) == 1 and not is_worse(own, other):
        return
    names = listed(name for name in values[marker] if name != column)
    of = metric_of_marker(marker, metric) if marker else metric_name(metric)
    size, usual = (with_unit(stated(float(f"{value:.2g}")), unit_of(metric)) for value in (own, other))
    yield f"{of} {size}, beside {usual} on {names}"
