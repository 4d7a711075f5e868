"""How a study was laid out and how it stands: factors, plan, editions.

In: the document of study.toml and its columns. Out: records and problems.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from lyewitness.study.gathering import listed
from lyewitness.study.records import Column, Factor, Plan, Revision
from lyewitness.study.toml_records import Table, TomlReading, known_words, records_of, tables_of

PLANNED = ("ends_h", "looks_h")
"""Keys of `[test]` that are no conditions."""


def read_factors(reading: TomlReading, document: Table, columns: Sequence[Column]) -> tuple[Factor, ...]:
    """Return every `[[factor]]`; a column has one level of each at most, and every level has a column."""
    factors = []
    for number, table in enumerate(tables_of(reading, document, "factor"), start=1):
        path = f"factor[{number}]"
        factor = reading.record(path, table, Factor)
        if factor is not None and _good_factor(reading, path, factor, columns):
            factors.append(factor)
    return tuple(factors)


def _good_factor(reading: TomlReading, path: str, factor: Factor, columns: Sequence[Column]) -> bool:
    names = [column.id for column in columns] + list(dict.fromkeys(column.group for column in columns))
    members = tuple(name for level in factor.levels.values() for name in level)
    if not known_words(reading, f"{path}.levels", members, names, "column or group"):
        return False
    if len(factor.levels) < 2:
        found = f"{len(factor.levels)} level" + ("" if len(factor.levels) == 1 else "s")
        reading.note(f"{path}.levels", found, "two levels at least", "Add the other level.")
        return False
    twice = sorted({name for name in members if members.count(name) > 1})
    if twice:
        reading.note(f"{path}.levels", f"{listed(twice)} twice", "one level each", "Name it once.")
        return False
    without = [column.id for column in columns if not factor.level_of(column)]
    if without:
        cure = "Name them, or leave them out of what the factor is asked for."
        reading.caution(f"{path}.levels", f"no level for {listed(without)}", "a level for each column", cure)
    return True


def read_plan(reading: TomlReading, document: Table) -> Plan:
    """Return the plan that `[test]` states beside its conditions."""
    section = document.get("test", {})
    if not isinstance(section, dict):
        return Plan()
    plan = reading.record("test", {key: section[key] for key in PLANNED if key in section}, Plan) or Plan()
    return Plan(plan.ends_h, tuple(sorted(plan.looks_h)))


def read_revisions(reading: TomlReading, document: Table) -> tuple[Revision, ...]:
    """Return every `[[revision]]` by its number, each number once."""
    revisions = sorted(records_of(reading, document, "revision", Revision), key=lambda one: one.number)
    numbers = [one.number for one in revisions]
    for number in sorted({number for number in numbers if numbers.count(number) > 1}):
        reading.note("revision", f"the number {number} twice", "a number of its own", "Number them on.")
    return tuple(revisions)


def merged_under(document: Table, house: Mapping[str, Any]) -> Table:
    """Return `document` with the keys of `house` where it is silent; a list is taken whole or not at all."""
    merged = dict(house) | document
    for key, value in house.items():
        own = document.get(key)
        if isinstance(own, dict) and isinstance(value, dict):
            merged[key] = merged_under(own, value)
    return merged
