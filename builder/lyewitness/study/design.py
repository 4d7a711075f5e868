"""How a study was laid out: its factors, plan, editions and the questions put to it.

In: the document of study.toml and its columns. Out: records and problems.
"""

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from typing import Any

from lyewitness.study.delimited import shortened
from lyewitness.study.records import Column, Factor, Marker, Plan, Question, Revision
from lyewitness.study.toml_records import Table, TomlReading, known_words, records_of, tables_of, with_own_ids
from lyewitness.words.metrics import LIMITED
from lyewitness.words.problems import listed, suggestion

WITHOUT_MARKER = ("pressure_bar", "hold_up_time_min")
"""Limited metrics that belong to the column, or to the one void marker."""


def read_questions(
    reading: TomlReading, document: Table, columns: tuple[Column, ...], markers: tuple[Marker, ...]
) -> tuple[Question, ...]:
    """Return the question of `[study]`, then every `[[question]]`."""
    section = document.get("study", {})
    section = section if isinstance(section, dict) else {}
    asked: list[tuple[str, Table]] = []
    if "question" in section:
        keys = tuple(item.name for item in fields(Question) if item.name not in ("id", "text"))
        asked.append(
            ("study", {"text": section["question"], **{key: section[key] for key in keys if key in section}})
        )
    elif not tables_of(reading, document, "question"):
        reading.note(
            "study.question", "nothing", "the question as it was asked", "Add 'question = …' to [study]."
        )
    for number, table in enumerate(tables_of(reading, document, "question"), start=1):
        asked.append((f"question[{number}]", table))
    questions = []
    for number, (path, table) in enumerate(asked, start=1):
        question = reading.record(path, table, Question, id=f"q{number}")
        if question is not None and _question_is_about_this_study(reading, path, question, columns, markers):
            questions.append(replace(question, text=question.text.strip()))
    return with_own_ids(reading, "question", tuple(questions), lambda question: question.id)


def _question_is_about_this_study(
    reading: TomlReading,
    path: str,
    question: Question,
    columns: tuple[Column, ...],
    markers: tuple[Marker, ...],
) -> bool:
    """Note groups, markers and metrics that a question names and the study does not have."""
    groups = list(dict.fromkeys(column.group for column in columns))
    checks = (
        known_words(reading, f"{path}.groups", question.groups, groups, "group"),
        known_words(
            reading, f"{path}.markers", question.markers, [marker.id for marker in markers], "marker"
        ),
        known_words(reading, f"{path}.metrics", question.metrics, list(LIMITED), "metric"),
    )
    if question.decides and not _decides(reading, path, question, markers):
        return False
    if not question.text.strip():
        reading.note(
            f"{path}.question", "an empty text", "the question as it was asked", "Write the question."
        )
        return False
    return all(checks)


def _decides(reading: TomlReading, path: str, question: Question, markers: tuple[Marker, ...]) -> bool:
    """Note a `decides` that names no metric, or a marker that the study does not have."""
    marker, metric = question.deciding
    ids = [one.id for one in markers]
    if metric in LIMITED and (marker or metric in WITHOUT_MARKER):
        return not marker or known_words(reading, f"{path}.decides", (marker,), ids, "marker")
    reading.note(
        f"{path}.decides",
        f"'{shortened(question.decides)}'",
        "METRIC of MARKER, such as 'plate_number_half_height of toluene'",
        suggestion(metric, LIMITED, "Write it in this form."),
    )
    return False


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
