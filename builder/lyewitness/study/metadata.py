"""study.toml, checked and turned into records.

In: the bytes of study.toml. Out: `Metadata` and problems with line and key.
"""

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields, replace
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from lyewitness.study.delimited import decoded
from lyewitness.study.gathering import Gathering, listed, suggestion
from lyewitness.study.records import (
    LIMITED_METRICS,
    Choices,
    Column,
    Conditions,
    Exports,
    Limit,
    Marker,
    Person,
    Question,
)
from lyewitness.study.toml_places import key_lines, place_of

Record = TypeVar("Record")
Table = dict[str, Any]

STUDY_KEYS = (
    "id", "title", "question", "asked_by", "asked_on", "expectation", "licence", "keywords", "invented",
    "groups", "markers", "metrics", "run_time_min",
)  # fmt: skip
SECTIONS = (
    "study", "person", "stress", "test", "column", "marker", "limits", "choices", "exports", "injections",
    "question",
)  # fmt: skip
RANGES: Mapping[str, tuple[float, float]] = {
    "buffer_mM": (0, 10_000),
    "ph": (-1, 16),
    "ph_temperature_C": (0, 100),
    "organic_percent": (0, 100),
    "temperature_C": (0, 250),
    "flow_mL_min": (1e-6, 1000),
    "wavelength_nm": (100, 2000),
    "injection_uL": (0, 10_000),
    "length_mm": (0.1, 5000),
    "inner_diameter_mm": (0.01, 1000),
    "particle_um": (0.05, 500),
    "core_ratio": (0.01, 0.999),
    "pka": (-10, 25),
    "retention_min": (1e-4, 10_000),
    "run_time_min": (1e-3, 10_000),
    "reference_injections": (1, 1000),
    "confidence": (0.5, 0.9999),
    "noise_window_half_widths": (1, 100),
    "equivalence_margin_percent": (0.1, 500),
    "extrapolate_to_h": (0, 1e7),
    "sampling_interval_s": (1e-6, 3600),
}
"""Least and greatest believable value of a key, wherever it stands: catches slips of unit and point."""


@dataclass(frozen=True, slots=True)
class Metadata:
    """What study.toml says; `Study` without what lies in other files."""

    id: str = ""
    title: str = ""
    licence: str = ""
    keywords: tuple[str, ...] = ()
    invented: str = ""
    questions: tuple[Question, ...] = ()
    people: tuple[Person, ...] = ()
    stress: Conditions = field(default_factory=Conditions)
    test: Conditions = field(default_factory=Conditions)
    columns: tuple[Column, ...] = ()
    markers: tuple[Marker, ...] = ()
    limits: tuple[Limit, ...] = ()
    choices: Choices = field(default_factory=Choices)
    exports: Exports = field(default_factory=Exports)
    injection_pattern: str = ""


@dataclass(slots=True)
class _Reading:
    """One pass over study.toml: where keys stand, and what was found."""

    problems: Gathering
    lines: Mapping[str, int]

    def note(self, path: str, found: str, expected: str, cure: str) -> None:
        self.problems.note(place_of(path, self.lines), found, expected, cure)

    def unknown(self, path: str, table: Mapping[str, Any], known: tuple[str, ...]) -> None:
        for key in table:
            if key not in known:
                where = f"{path}.{key}" if path else key
                self.problems.caution(
                    place_of(where, self.lines),
                    f"the key '{key}'",
                    f"one of {listed(known, 30)}",
                    suggestion(key, known, "The key is not read."),
                )

    def record(self, path: str, table: Any, kind: type[Record], **given: Any) -> Record | None:
        """Return `table` as a `kind`, with `given` where the table is silent; None after a problem."""
        if not isinstance(table, dict):
            self.note(path, f"{table!r}", "a table", f"Write it as [{path}] with keys below it.")
            return None
        known = tuple(item.name for item in fields(kind))  # type: ignore[arg-type]
        self.unknown(path, table, known)
        wanted = {**given, **{key: value for key, value in table.items() if key in known}}
        in_range = self._in_range(path, wanted)
        try:
            record = TypeAdapter(kind).validate_python(wanted)
            return record if in_range else None
        except ValidationError as error:
            for detail in error.errors(include_url=False):
                self._explain(path, dict(detail))
            return None

    def _in_range(self, path: str, table: Mapping[str, Any]) -> bool:
        good = True
        for key, value in table.items():
            numbers = value.values() if isinstance(value, dict) else [value]
            low, high = RANGES.get(key, (float("-inf"), float("inf")))
            for number in numbers:
                if (
                    isinstance(number, int | float)
                    and not isinstance(number, bool)
                    and not low <= number <= high
                ):
                    self.note(
                        f"{path}.{key}",
                        f"{number:g}",
                        f"a number from {low:g} to {high:g}",
                        "Check the unit.",
                    )
                    good = False
        return good

    def _explain(self, path: str, detail: Mapping[str, Any]) -> None:
        """Turn one validation error into a problem with the key's line."""
        key = str(detail["loc"][0]) if detail["loc"] else ""
        where = f"{path}.{key}" if key else path
        message = str(detail["msg"])
        if detail["type"] == "missing":
            self.note(where, "nothing", f"the key '{key}'", f"Add '{key} = …' below [{path.split('[')[0]}].")
            return
        message = message.removeprefix("Input should be ").partition(", unable")[0]
        self.note(where, f"{detail['input']!r}", message, "Correct the value.")


def read_metadata(data: bytes, problems: Gathering) -> Metadata | None:
    """Return what study.toml says, or None where its TOML is broken or [study] is unusable."""
    text = decoded(data)
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message, _, place = str(error).rpartition(" (at ")
        problems.note(
            place.rstrip(")") or "somewhere",
            message or str(error),
            "TOML that can be read",
            "Look at this line and the one before it: quotes, brackets and commas.",
        )
        return None
    reading = _Reading(problems, key_lines(text))
    reading.unknown("", document, SECTIONS)
    stress = reading.record("stress", document.get("stress", {}), Conditions) or Conditions()
    columns = _columns(reading, document)
    markers = _markers(reading, document, columns)
    return Metadata(
        **_study_section(reading, document),
        people=_all(reading, document, "person", Person),
        stress=stress,
        test=_test_conditions(reading, document, stress),
        columns=columns,
        markers=markers,
        limits=_limits(reading, document, markers),
        choices=reading.record("choices", document.get("choices", {}), Choices) or Choices(),
        exports=reading.record("exports", document.get("exports", {}), Exports) or Exports(),
        injection_pattern=_pattern(reading, document),
        questions=_questions(reading, document, columns, markers),
    )


def _array(reading: _Reading, document: Table, name: str) -> list[Any]:
    """Return the tables of `[[name]]`; a single `[name]` counts as one."""
    tables = document.get(name, [])
    return tables if isinstance(tables, list) else [tables]


def _all(reading: _Reading, document: Table, name: str, kind: type[Record]) -> tuple[Record, ...]:
    """Return every `[[name]]` as a record, leaving out those with a problem."""
    records = (
        reading.record(f"{name}[{number}]", table, kind)
        for number, table in enumerate(_array(reading, document, name), start=1)
    )
    return tuple(record for record in records if record is not None)


def _study_section(reading: _Reading, document: Table) -> Table:
    """Return the plain keys of `[study]`."""
    section = document.get("study")
    if not isinstance(section, dict):
        reading.note("study", "no section [study]", "[study] with id, title and question", "Add the section.")
        return {}
    reading.unknown("study", section, STUDY_KEYS)
    result: Table = {}
    for key in ("id", "title", "licence", "invented"):
        value = section.get(key, "")
        if not isinstance(value, str):
            reading.note(f"study.{key}", f"{value!r}", "text in double quotes", "Put the value in quotes.")
            value = ""
        result[key] = value.strip()
    for key in ("id", "title"):
        if not result[key] and key not in section:
            reading.note(f"study.{key}", "nothing", f"the key '{key}'", f"Add '{key} = …' below [study].")
    if result["id"] and not all(sign.isascii() and (sign.isalnum() or sign in "-_") for sign in result["id"]):
        reading.note("study.id", f"'{result['id']}'", "letters, digits, '-' and '_'", "Choose such a name.")
    keywords = section.get("keywords", [])
    if not (isinstance(keywords, list) and all(isinstance(word, str) for word in keywords)):
        reading.note("study.keywords", f"{keywords!r}", 'a list such as ["high pH"]', "Correct the value.")
        keywords = []
    return {**result, "keywords": tuple(keywords)}


def _test_conditions(reading: _Reading, document: Table, stress: Conditions) -> Conditions:
    """Return `[test]`; what it leaves out is as in `[stress]`, unless it names another buffer or solvent."""
    section = document.get("test", {})
    given = {item.name: getattr(stress, item.name) for item in fields(Conditions)}
    if isinstance(section, dict):
        if section.get("buffer", stress.buffer) != stress.buffer:
            given |= {"buffer_mM": None, "ph": None, "ph_temperature_C": None}
        if section.get("organic", stress.organic) != stress.organic:
            given["organic_percent"] = None
    return reading.record("test", section, Conditions, **given) or stress


def _columns(reading: _Reading, document: Table) -> tuple[Column, ...]:
    """Return every `[[column]]`, each with a label, ids unique."""
    columns = []
    for number, table in enumerate(_array(reading, document, "column"), start=1):
        label = table.get("id", "") if isinstance(table, dict) else ""
        column = reading.record(f"column[{number}]", table, Column, label=label, particle="other")
        if column is None and isinstance(label, str) and label:
            # The rest of the folder may go on naming a column whose table has a mistake: one message, not 50.
            column = Column(id=label, label=label, group=str(table.get("group", "")), particle="other")
        if column is not None:
            columns.append(column)
    if not _array(reading, document, "column"):
        reading.note("column", "no [[column]]", "one [[column]] for each column", "Add the columns.")
    return _unique(reading, "column", tuple(columns), lambda column: column.id)


def _markers(reading: _Reading, document: Table, columns: tuple[Column, ...]) -> tuple[Marker, ...]:
    """Return every `[[marker]]`, ids unique, each with a retention for every column."""
    if not _array(reading, document, "marker"):
        reading.note("marker", "no [[marker]]", "one [[marker]] for each compound", "Add the markers.")
    read = []
    for number, table in enumerate(_array(reading, document, "marker"), start=1):
        marker = reading.record(f"marker[{number}]", table, Marker)
        if marker is None and isinstance(table, dict) and isinstance(table.get("id"), str):
            marker = Marker(id=table["id"], role="neutral", retention_min=1.0)
        if marker is not None:
            read.append(marker)
    markers = _unique(reading, "marker", tuple(read), lambda marker: marker.id)
    for number, marker in enumerate(markers, start=1):
        lacking = [column.id for column in columns if marker.expected_retention(column) is None]
        if lacking:
            reading.note(
                f"marker[{number}].retention_min",
                f"no retention for {listed(lacking)}",
                "one number, or one for each group or column",
                "Add the missing groups to the table.",
            )
    if sum(marker.role == "void" for marker in markers) > 1:
        reading.note("marker", "two markers with role 'void'", "one", "Give the others another role.")
    return markers


def _unique(
    reading: _Reading, name: str, records: tuple[Record, ...], key: Callable[[Record], str]
) -> tuple[Record, ...]:
    """Return the records whose id is new and usable, and note the others."""
    kept: dict[str, Record] = {}
    for number, record in enumerate(records, start=1):
        record_id = key(record)
        if record_id in kept:
            reading.note(
                f"{name}[{number}].id", f"'{record_id}' again", "an id of its own", "Rename one of them."
            )
        elif not record_id.strip() or any(ord(sign) < 32 or sign in "/\\[]|" for sign in record_id):
            reading.note(f"{name}[{number}].id", f"'{record_id}'", "a name without / \\ [ ] |", "Rename it.")
        else:
            kept[record_id] = record
    return tuple(kept.values())


def _limits(reading: _Reading, document: Table, markers: tuple[Marker, ...]) -> tuple[Limit, ...]:
    """Return `[limits]`; each metric has one table, or a list of tables for different markers."""
    section = document.get("limits", {})
    if not isinstance(section, dict):
        reading.note("limits", f"{section!r}", "a table", "Write [limits] with one metric a line.")
        return ()
    limits = []
    for metric, bounds in section.items():
        path = f"limits.{metric}"
        if metric not in LIMITED_METRICS:
            cure = suggestion(metric, LIMITED_METRICS, "Use one of these names.")
            reading.note(path, f"the metric '{metric}'", f"one of {listed(LIMITED_METRICS, 20)}", cure)
            continue
        for bound in bounds if isinstance(bounds, list) else [bounds]:
            limit = reading.record(path, bound, Limit, metric=metric)
            if limit is not None and _good_limit(reading, path, limit, markers):
                limits.append(limit)
    return tuple(limits)


def _good_limit(reading: _Reading, path: str, limit: Limit, markers: tuple[Marker, ...]) -> bool:
    """Note a limit without exactly one positive bound, or about markers that do not exist."""
    bounds = [limit.at_least_percent, limit.at_most_percent, limit.at_least, limit.at_most]
    given = [bound for bound in bounds if bound is not None]
    if len(given) != 1 or given[0] <= 0:
        reading.note(
            path,
            f"{len(given)} bounds" if len(given) != 1 else f"{given[0]:g}",
            "one of at_least_percent, at_most_percent, at_least, at_most, above zero",
            "Write for instance { at_least_percent = 80 }.",
        )
        return False
    return _known_words(
        reading, f"{path}.markers", limit.markers, [marker.id for marker in markers], "marker"
    )


def _known_words(reading: _Reading, path: str, words: tuple[str, ...], known: list[str], what: str) -> bool:
    """Note each word that is not the name of a known thing."""
    wrong = [word for word in words if word not in known]
    for word in wrong:
        cure = suggestion(word, known, f"Use the name of a {what} of this study.")
        reading.note(path, f"the {what} '{word}'", f"one of {listed(known)}", cure)
    return not wrong


def _pattern(reading: _Reading, document: Table) -> str:
    """Return `[injections] pattern`, or an empty text."""
    section = document.get("injections", {})
    pattern = section.get("pattern", "") if isinstance(section, dict) else section
    if not isinstance(pattern, str):
        reading.note(
            "injections.pattern", f"{pattern!r}", "text in double quotes", "Put the pattern in quotes."
        )
        return ""
    return pattern


def _questions(
    reading: _Reading, document: Table, columns: tuple[Column, ...], markers: tuple[Marker, ...]
) -> tuple[Question, ...]:
    """Return the question of `[study]`, then every `[[question]]`."""
    section = document.get("study", {})
    section = section if isinstance(section, dict) else {}
    asked: list[tuple[str, Table]] = []
    if "question" in section:
        keys = ("asked_by", "asked_on", "expectation", "groups", "markers", "metrics", "run_time_min")
        asked.append(
            ("study", {"text": section["question"], **{key: section[key] for key in keys if key in section}})
        )
    elif not _array(reading, document, "question"):
        reading.note(
            "study.question", "nothing", "the question as it was asked", "Add 'question = …' to [study]."
        )
    for number, table in enumerate(_array(reading, document, "question"), start=1):
        asked.append((f"question[{number}]", table))
    questions = []
    for number, (path, table) in enumerate(asked, start=1):
        question = reading.record(path, table, Question, id=f"q{number}")
        if question is not None and _question_is_about_this_study(reading, path, question, columns, markers):
            questions.append(replace(question, text=question.text.strip()))
    return _unique(reading, "question", tuple(questions), lambda question: question.id)


def _question_is_about_this_study(
    reading: _Reading, path: str, question: Question, columns: tuple[Column, ...], markers: tuple[Marker, ...]
) -> bool:
    """Note groups, markers and metrics that a question names and the study does not have."""
    groups = list(dict.fromkeys(column.group for column in columns))
    checks = (
        _known_words(reading, f"{path}.groups", question.groups, groups, "group"),
        _known_words(
            reading, f"{path}.markers", question.markers, [marker.id for marker in markers], "marker"
        ),
        _known_words(reading, f"{path}.metrics", question.metrics, list(LIMITED_METRICS), "metric"),
    )
    if not question.text.strip():
        reading.note(
            f"{path}.question", "an empty text", "the question as it was asked", "Write the question."
        )
        return False
    return all(checks)
