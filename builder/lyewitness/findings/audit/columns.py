"""Audit of the columns: are they alike in all but what is compared, and how many are there?

In: `Evidence`. Out: `Point`s.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from lyewitness.decline.factors import mixed_levels
from lyewitness.findings.audit.lots import lot_words
from lyewitness.findings.audit.points import (
    Asked,
    Point,
    all_pairs,
    groups_of,
    pairs_apart,
    pairs_with,
    subject_of,
)
from lyewitness.findings.evidence import Evidence
from lyewitness.study.factor_words import at_all, is_sampled
from lyewitness.study.records import Column, Study
from lyewitness.words.numbers import stated, with_unit
from lyewitness.words.phrases import counted, kind_of, listed, share_of, tested_columns


@dataclass(frozen=True, slots=True)
class Likeness:
    """One property in which the columns should be alike."""

    name: str
    of: Callable[[Column], float | str | None]
    unit: str
    asked: Asked


LIKENESSES = (
    Likeness(
        "length",
        lambda column: column.length_mm,
        "mm",
        Asked(
            "same-length",
            "Do the columns have the same length?",
            "A longer bed sees fewer column volumes an hour, so a life in hours flatters it.",
            "Compare the lives in column volumes, or repeat with columns of one length.",
        ),
    ),
    Likeness(
        "inner diameter",
        lambda column: column.inner_diameter_mm,
        "mm",
        Asked(
            "same-inner-diameter",
            "Do the columns have the same inner diameter?",
            "At one flow a wider bed sees fewer column volumes an hour and a lower velocity.",
            "Compare the lives in column volumes, or repeat with columns of one diameter.",
        ),
    ),
    Likeness(
        "particle size",
        lambda column: column.particle_um,
        "µm",
        Asked(
            "same-particle-size",
            "Do the columns have the same particle size?",
            "Smaller particles start with more plates and offer more outer surface: a difference in life may "
            "come from the size and not from the type.",
            "Repeat with one particle size, or ask about the columns as they are sold.",
        ),
    ),
    Likeness(
        "bonding",
        lambda column: column.bonding.strip() or None,
        "",
        Asked(
            "same-bonding",
            "Do the columns have the same bonding?",
            "The difference may lie in the bonding and not in the particle.",
            "Compare types with one bonding, or ask about the pairing of particle and bonding.",
        ),
    ),
)


def alike(evidence: Evidence) -> Iterator[Point]:
    """Ask of each property whether it is the same on all columns."""
    if len(evidence.study.columns) < 2:
        return
    for likeness in LIKENESSES:
        yield _alike(evidence, likeness)


def apart_in(study: Study, groups: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """Return in what else than their type columns of these groups differ, and the values as stated."""
    found = {}
    for likeness in LIKENESSES:
        own = {group: [likeness.of(column) for column in study.replicates(group)] for group in groups}
        sets = {frozenset(values) - {None} for values in own.values()} - {frozenset()}
        if len(sets) > 1:
            values = dict.fromkeys(one for some in own.values() for one in some if one is not None)
            found[likeness.name] = tuple(_printed(one, likeness.unit) for one in values)
    return found


def _alike(evidence: Evidence, likeness: Likeness) -> Point:
    study, asked = evidence.study, likeness.asked
    values = {column.id: likeness.of(column) for column in study.columns}
    unknown = [column for column, value in values.items() if value is None]
    by_value = _columns_by_value({c: v for c, v in values.items() if v is not None})
    said = [
        f"{_printed(value, likeness.unit)} ({listed(_by_group(evidence, ids))})"
        for value, ids in by_value.items()
    ]
    if len(by_value) > 1:
        apart = pairs_apart(study, _sets_of_group(evidence, values))
        return asked.says("caution", f"the {likeness.name}s differ: {listed(said)}", pairs=apart)
    if unknown:
        return asked.says(
            "not possible",
            f"the {likeness.name} of {listed(unknown)} is not stated",
            subject_of(evidence, unknown),
            pairs=all_pairs(study),
            cure=f"State the {likeness.name} in study.toml.",
        )
    same = _printed(next(iter(by_value)), likeness.unit)
    return asked.good(f"{share_of(len(values), len(values), 'column')}: {likeness.name} {same}")


def _by_group(evidence: Evidence, ids: list[str]) -> list[str]:
    """Return the groups where these columns are all of theirs, else the columns."""
    groups = list(dict.fromkeys(evidence.study.column(column).group for column in ids))
    whole = sum(len(evidence.study.replicates(group)) for group in groups) == len(ids)
    return groups if whole else ids


def _columns_by_value(values: Mapping[str, float | str]) -> dict[float | str, list[str]]:
    found: dict[float | str, list[str]] = {}
    for column, value in values.items():
        found.setdefault(value, []).append(column)
    return found


def _sets_of_group(evidence: Evidence, values: Mapping[str, object]) -> dict[str, frozenset[object]]:
    study = evidence.study
    return {
        group: frozenset(values[column.id] for column in study.replicates(group)) for group in study.groups
    }


def _printed(value: float | str, unit: str) -> str:
    return value if isinstance(value, str) else with_unit(stated(value), unit)


REPLICATES = Asked(
    "replicates",
    "How many columns stand for each group?",
    "Two columns give a poor idea of how much columns of one type differ.",
    "Test at least three columns a group, from different lots.",
)


def replicates(evidence: Evidence) -> Iterator[Point]:
    """Ask how many columns stand for each group: the columns are the replicates, not the injections."""
    study = evidence.study
    held = [column.group for column in study.columns if column.id not in evidence.left_out]
    number = {group: held.count(group) for group in study.groups}
    detail = listed(f"{counted(count, 'column')} of {group}" for group, count in number.items())
    single = [group for group, count in number.items() if count == 1]
    double = [group for group, count in number.items() if count == 2]

    def here(*groups: str) -> str:
        # One that is left out was tested, too, but under another stress.
        return (
            " at these conditions"
            if any(study.column(one).group in groups for one in evidence.left_out)
            else ""
        )

    if single:
        yield REPLICATES.says(
            "problem",
            f"{tested_columns(single[0], 1)}{here(single[0])}"
            if len(single) == 1
            else f"only one column each of {listed(single)} was tested{here(*single)}",
            single[0] if len(single) == 1 else "the study",
            bound="not settled",
            pairs=pairs_with(study, single),
            bearing="Nothing can be said of a type from one column: the next one may differ.",
            cure=f"Test at least two more {kind_of(single[0])} columns, from other lots."
            if len(single) == 1
            else f"Test at least two more columns each of {listed(single)}, from other lots.",
        )
    if double:
        yield REPLICATES.says(
            "caution",
            f"{tested_columns(double[0], 2)}{here(double[0])}"
            if len(double) == 1
            else f"only two columns each of {listed(double)} were tested{here(*double)}",
            double[0] if len(double) == 1 else "the study",
            bound="indicated",
            pairs=pairs_with(study, double),
            cure=f"Test at least one more {kind_of(double[0])} column, from another lot."
            if len(double) == 1
            else f"Test at least one more column each of {listed(double)}, from another lot.",
        )
    if not single and not double:
        yield REPLICATES.good(detail)


POOLED = Asked(
    "one-level",
    "Has each type one level of what was varied on purpose?",
    "The life of the type is of columns at all levels together: what was varied counts as scatter.",
    'Give each level a group of its own in study.toml, such as group = "core + guard".',
)


def pooled(evidence: Evidence) -> Iterator[Point]:
    """Ask whether a factor of the design varies between the columns of one type."""
    study = evidence.study
    within = {group: found for group in study.groups if (found := mixed_levels(study, group))}
    if not study.factors:
        return
    if not within:
        yield POOLED.good("what was varied differs between types alone")
        return
    told: dict[str, list[str]] = {}
    for group, found in within.items():
        words = listed(at_all(name, list(levels)) for name, levels in found.items())
        told.setdefault(words, []).append(group)
    detail = "; ".join(f"{listed(groups)} {'were' if len(groups) > 1 else 'was'} tested {words}"
                       for words, groups in told.items())  # fmt: skip
    subject = next(iter(within)) if len(within) == 1 else "the study"
    yield POOLED.says("caution", detail, subject, bound="indicated", pairs=pairs_with(study, within))


LOTS = Asked(
    "different-lots",
    "Do the columns of a group come from different lots?",
    "The answer is then about a lot, and lots differ.",
    "Add columns from another lot.",
)


def lots(evidence: Evidence) -> Iterator[Point]:
    """Ask whether the replicates come from different lots.

    A lot that is not stated may be the only one: saying nothing of it makes no claim stronger.
    """
    study = evidence.study
    by_group = {group: [column.lot.strip() for column in study.replicates(group)] for group in study.groups}
    if len(study.columns) < 2:
        return
    varied = [factor for factor in study.factors if is_sampled(factor.name)]
    if any(all(factor.level_of(column) for column in study.columns) for factor in varied):
        # What lots do is then what is compared, and no lot stands for a type.
        yield LOTS.good(f"{listed(f'the {factor.name}' for factor in varied)} was varied on purpose")
        return
    open_groups = {group: found for group, found in by_group.items() if len(set(found) - {""}) < 2}
    single = {group: found[0] for group, found in open_groups.items() if all(found)}
    unknown = [group for group, found in by_group.items() if not all(found)]
    bare = [group for group in unknown if not any(by_group[group])]
    partly = [group for group in unknown if group not in bare]
    told = [f"no lot is stated for any column of {listed(bare, 'or')}"] if bare else []
    unstated = "; ".join([*told, *([f"not every lot of {listed(partly, 'or')} is stated"] if partly else [])])
    if single and not unknown and len(set(single.values())) == 1 and len(single) == len(by_group) > 1:
        # What is compared on one lot is confounded with none: it is another lot of which nothing is known.
        (lot,) = set(single.values())
        yield LOTS.says(
            "caution",
            f"all columns are from one lot ({lot_words(lot)})",
            bearing="What is compared is not confounded with lots; another lot may live otherwise.",
        )
    elif single:
        yield LOTS.says(
            "caution",
            "; ".join([_one_lot_words(by_group, single), *([unstated] if unknown else [])]),
            next(iter(open_groups)) if len(open_groups) == 1 else "the study",
            bound="indicated",
            pairs=pairs_with(study, open_groups),
            parts=[]
            if unknown
            else [
                (frozenset([group]), _one_lot_words(by_group, {group: lot})) for group, lot in single.items()
            ],
        )
    elif unknown:
        yield LOTS.says(
            "not possible",
            unstated,
            unknown[0] if len(unknown) == 1 else "the study",
            bound="indicated" if open_groups else "shown",
            pairs=pairs_with(study, open_groups or unknown),
            bearing="All may be of one lot: the answer is then about a lot, and lots differ.",
            cure="State ‘lot’ in study.toml.",
        )
    else:
        numbers = [f"{counted(len(set(found)), 'lot')} of {group}" for group, found in by_group.items()]
        yield LOTS.good(listed(numbers))


def _one_lot_words(by_group: Mapping[str, Sequence[str]], single: Mapping[str, str]) -> str:
    """Return `all hybrid columns are from lot 77`; of several types, that each is from one lot."""
    if len(single) > 2 or (len(single) > 1 and all(len(by_group[group]) > 1 for group in single)):
        of: dict[str, list[str]] = {}
        for group, lot in single.items():
            of.setdefault(lot, []).append(kind_of(group))
        named = listed(f"{listed(groups)} {lot_words(lot)}" for lot, groups in of.items())
        each = "each type" if len(single) == len(by_group) else listed(kind_of(group) for group in single)
        return f"the columns of {each} are from one lot ({named})"
    return listed(
        f"all {kind_of(group)} columns are from {lot_words(lot)}"
        if len(by_group[group]) > 1
        else f"the only {kind_of(group)} column is from {lot_words(lot)}"
        for group, lot in single.items()
    )


PIECES = Asked(
    "different-pieces",
    "Are all columns different pieces?",
    "Without serial numbers nobody can see that the replicates are different pieces.",
    "State ‘serial’ in study.toml.",
)


def pieces(evidence: Evidence) -> Iterator[Point]:
    """Ask whether every column is another piece: a serial number twice is one column counted twice."""
    study = evidence.study
    if len(study.columns) < 2:
        return
    by_serial: dict[str, list[str]] = {}
    for column in study.columns:
        if column.serial.strip():
            by_serial.setdefault(column.serial.strip(), []).append(column.id)
    twice = {serial: ids for serial, ids in by_serial.items() if len(ids) > 1}
    without = [column.id for column in study.columns if not column.serial.strip()]
    if twice:
        touched = [column for ids in twice.values() for column in ids]
        groups = groups_of(evidence, touched)
        yield PIECES.says(
            "problem",
            listed(f"{listed(ids)} bear serial {serial}" for serial, ids in twice.items()),
            subject_of(evidence, touched),
            bound="not settled",
            pairs=pairs_with(study, groups),
            groups=groups,
            bearing="One column counted twice is no replicate.",
            cure="Correct the serial numbers, or enter the column once.",
        )
    elif without:
        yield PIECES.says(
            "not possible", f"no serial number is stated for {listed(without)}", subject_of(evidence, without)
        )
    else:
        yield PIECES.good(counted(len(by_serial), "different serial number"))
