"""study.toml, checked and turned into records, limits among them.

In: the bytes of study.toml. Out: `Metadata` and problems with line and key.

How the study was laid out comes with it: factors, plan, editions, questions.
"""

import re
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field, fields, replace
from datetime import datetime
from typing import Any

from packaging.licenses import InvalidLicenseExpression, canonicalize_license_expression

from lyewitness.study.editions import read_revisions
from lyewitness.study.events import read_events
from lyewitness.study.inside import StudyFiles
from lyewitness.study.questions import named_factors
from lyewitness.study.records import (
    Choices,
    Column,
    Conditions,
    Event,
    Exports,
    Factor,
    Limit,
    Marker,
    Person,
    Plan,
    Question,
    Revision,
)
from lyewitness.study.toml_records import (
    BLANK,
    Table,
    TomlReading,
    key_lines,
    known_words,
    parsed,
    records_of,
    tables_of,
    with_own_ids,
)
from lyewitness.words.decoding import decoded
from lyewitness.words.metrics import LIMITED
from lyewitness.words.problems import Gathering, listed, shortened, suggestion

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
    if len(question.text) > LONGEST_QUESTION:
        found, expected = f"{len(question.text)} signs", f"a question of at most {LONGEST_QUESTION}"
        reading.note(f"{path}.question", found, expected, "Put what explains it into a note.")
        return False
    if question.text != BLANK and not any(sign.isalnum() for sign in question.text):
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


def read_factors(
    reading: TomlReading, document: Table, columns: Sequence[Column], questions: Sequence[Question]
) -> tuple[Factor, ...]:
    """Return every `[[factor]]`; a column has one level of each at most, and every level has a column."""
    factors = []
    for number, table in enumerate(tables_of(reading, document, "factor"), start=1):
        path = f"factor[{number}]"
        factor = reading.record(path, table, Factor)
        if factor is not None and _good_factor(reading, path, factor, columns, questions):
            factors.append(factor)
    return tuple(factors)


def _good_factor(
    reading: TomlReading,
    path: str,
    factor: Factor,
    columns: Sequence[Column],
    questions: Sequence[Question],
) -> bool:
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
    without = [column for column in columns if not factor.level_of(column)]
    if without and not _asked_without(factor, {column.group for column in without}, questions):
        cure = "Give each of them a level, or ask for the factor in a question of the other 'groups' alone."
        found = f"the factor ‘{factor.name}’ is not stated for {listed([column.id for column in without])}"
        reading.caution(f"{path}.levels", found, "a level for each column", cure)
    return True


def _asked_without(factor: Factor, groups: Set[str], questions: Sequence[Question]) -> bool:
    """Return whether a question about the factor limits itself to groups other than these."""
    return any(
        question.groups and not groups & set(question.groups) and named_factors(question.text, [factor.name])
        for question in questions
    )


def read_plan(reading: TomlReading, document: Table) -> Plan:
    """Return the plan that `[test]` states beside its conditions."""
    section = document.get("test", {})
    if not isinstance(section, dict):
        return Plan()
    plan = reading.record("test", {key: section[key] for key in PLANNED if key in section}, Plan) or Plan()
    return Plan(plan.ends_h, tuple(sorted(plan.looks_h)))


def merged_under(document: Table, house: Mapping[str, Any]) -> Table:
    """Return `document` with the keys of `house` where it is silent; a list is taken whole or not at all."""
    merged = dict(house) | document
    for key, value in house.items():
        own = document.get(key)
        if isinstance(own, dict) and isinstance(value, dict):
            merged[key] = merged_under(own, value)
    return merged


def read_limits(reading: TomlReading, document: Table, markers: tuple[Marker, ...]) -> tuple[Limit, ...]:
    """Return `[limits]`; each metric has one table, or a list of tables for different markers."""
    section = document.get("limits", {})
    if not isinstance(section, dict):
        reading.note("limits", f"{section!r}", "a table", "Write [limits] with one metric a line.")
        return ()
    limits = []
    for metric, bounds in section.items():
        path = f"limits.{metric}"
        if metric not in LIMITED:
            cure = suggestion(metric, LIMITED, "Use one of these names.")
            reading.note(path, f"the metric '{metric}'", f"one of {listed(LIMITED, 20)}", cure)
            continue
        for bound in bounds if isinstance(bounds, list) else [bounds]:
            if isinstance(bound, int | float):
                cure = f"Write {metric} = {{ at_most = {bound:g} }}, or at_least, or one in percent."
                reading.note(path, f"{bound:g}", "a table with one bound", cure)
                continue
            limit = reading.record(path, bound, Limit, metric=metric)
            if limit is not None and _good_limit(reading, path, limit, markers):
                limits.append(limit)
    return tuple(limits)


WHOLE = 100.0
"""% of its reference at which every column starts."""


def _good_limit(reading: TomlReading, path: str, limit: Limit, markers: tuple[Marker, ...]) -> bool:
    """Note a limit without exactly one positive bound, or about markers that do not exist."""
    bounds = [limit.at_least_percent, limit.at_most_percent, limit.at_least, limit.at_most]
    given = [bound for bound in bounds if bound is not None]
    if len(given) != 1 or given[0] <= 0:
        reading.note(
            path,
            f"{len(given)} bounds" if len(given) != 1 else f"{given[0]:g}",
            "one of at_least_percent, at_most_percent, at_least, at_most, above zero",
            f"Write for two limits a list: {limit.metric} = [{{ at_least_percent = 90 }}, "
            "{ at_most_percent = 110 }]."
            if len(given) > 1
            else "Write for instance { at_least_percent = 80 }.",
        )
        return False
    if (limit.at_least_percent or 0.0) >= WHOLE or 0.0 < (limit.at_most_percent or WHOLE + 1) <= WHOLE:
        side, way = ("least", "below") if limit.at_least_percent is not None else ("most", "above")
        reading.note(
            path,
            f"at_{side}_percent = {given[0]:g}",
            f"a bound {way} 100 %, at which every column starts",
            "Write for instance { at_least_percent = 80 } for what falls, { at_most_percent = 150 } for "
            "what rises.",
        )
        return False
    return known_words(reading, f"{path}.markers", limit.markers, [marker.id for marker in markers], "marker")


USUAL_LICENCES = ("CC-BY-4.0", "CC0-1.0", "CC-BY-SA-4.0", "CC-BY-NC-4.0", "CC-BY-ND-4.0", "MIT", "ODbL-1.0")
"""Named where a licence is misspelt; every SPDX identifier is taken."""
LONGEST_ID = 100
"""Signs of a study's id, which names files and links."""
EXPECTED_ID = f"letters, digits, '-' and '_', at most {LONGEST_ID}"
LONGEST_QUESTION = 10_000
"""Signs of a question: more is no question, and reading it takes minutes."""
STUDY_KEYS = (
    "id", "title", "question", "asked_by", "asked_on", "expectation", "licence", "keywords", "invented",
    "groups", "markers", "metrics", "run_time_min", "decides", "span_h", "running", "supersedes", "currency",
)  # fmt: skip
SECTIONS = (
    "study", "person", "stress", "test", "column", "marker", "limits", "choices", "exports", "injections",
    "question", "event", "factor", "revision", "extends",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Metadata:
    """What study.toml says; `Study` without what lies in other files."""

    id: str = ""
    title: str = ""
    licence: str = ""
    keywords: tuple[str, ...] = ()
    currency: str = ""
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
    left_out: tuple[tuple[str, str], ...] = ()
    """(injection, why) of what is left out of those that the pattern finds."""
    events: tuple[Event, ...] = ()
    factors: tuple[Factor, ...] = ()
    plan: Plan = field(default_factory=Plan)
    running: bool = False
    revisions: tuple[Revision, ...] = ()
    supersedes: str = ""
    extends: str = ""


def read_metadata(data: bytes, problems: Gathering, files: StudyFiles) -> Metadata | None:
    """Return what study.toml says, or None where its TOML is broken; `files` finds what it extends."""
    text = decoded(data)
    document = parsed(text, problems)
    if document is None:
        return None
    reading = TomlReading(problems, key_lines(text))
    document = _extended(reading, document, files)
    reading.unknown("", document, SECTIONS)
    reading.blanks("", document)
    stress = reading.record("stress", document.get("stress", {}), Conditions) or Conditions()
    columns = _columns(reading, document)
    markers = _markers(reading, document, columns)
    questions = read_questions(reading, document, columns, markers)
    return Metadata(
        **_study_section(reading, document),
        people=_people(reading, document),
        stress=stress,
        test=_test_conditions(reading, document, stress),
        columns=columns,
        markers=markers,
        limits=read_limits(reading, document, markers),
        choices=_choices(reading, document, columns),
        exports=_exports(reading, document),
        injection_pattern=_pattern(reading, document),
        left_out=_left_out(reading, document),
        questions=questions,
        events=read_events(reading, document, columns),
        factors=read_factors(reading, document, columns, questions),
        plan=read_plan(reading, document),
        revisions=read_revisions(reading, document, files),
        extends=document.get("extends", "") if isinstance(document.get("extends", ""), str) else "",
    )


def _extended(reading: TomlReading, document: Table, files: StudyFiles) -> Table:
    """Return the document with the keys of the file that it extends where it is silent itself."""
    name = document.get("extends", "")
    if not name:
        return document
    if not isinstance(name, str) or (data := files.read_house_file(name)) is None:
        expected = "the relative path of a .toml file, such as ../laboratory.toml"
        found = f"{name!r}, which is no such file"
        reading.note("extends", shortened(found, 120), expected, "Correct the path, or take the line out.")
        return document
    problems = Gathering(name)
    house = parsed(decoded(data), problems)
    reading.problems.problems += problems.problems
    if house is not None and "extends" in house:
        found = f"{name}, which extends a further file"
        reading.note("extends", found, "one file", "Take that line out of it.")
    return merged_under(document, house or {})


def _study_section(reading: TomlReading, document: Table) -> Table:
    """Return the plain keys of `[study]`."""
    section = document.get("study")
    if not isinstance(section, dict):
        reading.note("study", "no section [study]", "[study] with id, title and question", "Add the section.")
        return {}
    reading.unknown("study", section, STUDY_KEYS)
    result: Table = {}
    for key in ("id", "title", "licence", "invented", "supersedes", "currency"):
        value = section.get(key, "")
        if not isinstance(value, str):
            reading.note(f"study.{key}", f"{value!r}", "text in double quotes", "Put the value in quotes.")
            value = ""
        result[key] = value.strip()
    for key in ("id", "title"):
        if not result[key] and key not in section:
            reading.note(f"study.{key}", "nothing", f"the key '{key}'", f"Add '{key} = …' below [study].")
    usual = all(sign.isascii() and (sign.isalnum() or sign in "-_") for sign in result["id"])
    usual = usual and (len(result["id"]) <= LONGEST_ID) and (bool(result["id"]) or "id" not in section)
    if result["id"] != BLANK and not usual:
        reading.note("study.id", f"'{result['id']}'", EXPECTED_ID, "Choose such a name.")
    if result["supersedes"] and result["supersedes"] == result["id"]:
        reading.note("study.supersedes", "the study's own id", "that of an earlier study", "Name that study.")
    keywords = section.get("keywords", [])
    if not (isinstance(keywords, list) and all(isinstance(word, str) for word in keywords)):
        reading.note("study.keywords", f"{keywords!r}", 'a list such as ["high pH"]', "Correct the value.")
        keywords = []
    running = section.get("running", False)
    if not isinstance(running, bool):
        reading.note("study.running", f"{running!r}", "true or false", "Write true or false, without quotes.")
        running = False
    _check_licence(reading, result["licence"])
    return {**result, "keywords": tuple(keywords), "running": running}


def _check_licence(reading: TomlReading, licence: str) -> None:
    """Note a licence that no program will know: one that is no expression of SPDX identifiers."""
    try:
        canonicalize_license_expression(licence or USUAL_LICENCES[0])
    except InvalidLicenseExpression:
        cure = suggestion(licence, USUAL_LICENCES, "Write LicenseRef-NAME for a licence of your own.")
        expected = "an SPDX identifier, such as CC-BY-4.0"
        reading.caution("study.licence", f"'{shortened(licence)}'", expected, cure)


def _people(reading: TomlReading, document: Table) -> tuple[Person, ...]:
    """Return every `[[person]]`, the ORCID as its sixteen signs."""
    people = records_of(reading, document, "person", Person)
    for number, table in enumerate(tables_of(reading, document, "person"), start=1):
        orcid = table.get("orcid", "") if isinstance(table, dict) else ""
        if isinstance(orcid, str) and orcid and not is_orcid(plain_orcid(orcid)):
            found = f"'{shortened(orcid)}', whose check digit or form is wrong"
            expected = "an ORCID, such as 0000-0002-1825-0097"
            reading.caution(f"person[{number}].orcid", found, expected, "Copy it from its owner's page.")
    return tuple(replace(one, orcid=plain_orcid(one.orcid)) for one in people)


def plain_orcid(text: str) -> str:
    """Return an ORCID without the address that often stands before it."""
    return re.sub(r"^(https?://)?([a-z.]*orcid\.org/)?", "", text.strip())


def is_orcid(text: str) -> bool:
    """Say whether the last of the sixteen signs follows from the others (ISO 7064, MOD 11-2)."""
    if not re.fullmatch(r"(\d{4}-){3}\d{3}[\dX]", text, re.ASCII):
        return False
    signs = text.replace("-", "")
    total = 0
    for digit in signs[:-1]:
        total = (total + int(digit)) * 2
    return "0123456789X"[(12 - total % 11) % 11] == signs[-1]


def _test_conditions(reading: TomlReading, document: Table, stress: Conditions) -> Conditions:
    """Return `[test]`; what it leaves out is as in `[stress]`, unless it names another buffer or solvent."""
    section = document.get("test", {})
    given = {item.name: getattr(stress, item.name) for item in fields(Conditions)}
    if isinstance(section, dict):
        section = {key: value for key, value in section.items() if key not in PLANNED}
        if section.get("buffer", stress.buffer) != stress.buffer:
            given |= {"buffer_mM": None, "ph": None, "ph_temperature_C": None}
        if section.get("organic", stress.organic) != stress.organic:
            given["organic_percent"] = None
    return reading.record("test", section, Conditions, **given) or stress


def _columns(reading: TomlReading, document: Table) -> tuple[Column, ...]:
    """Return every `[[column]]`, each with a label, ids unique."""
    columns = []
    for number, table in enumerate(tables_of(reading, document, "column"), start=1):
        label = table.get("id", "") if isinstance(table, dict) else ""
        column = reading.record(f"column[{number}]", table, Column, label=label, particle="other")
        if column is None and isinstance(label, str) and label:
            # The rest of the folder may go on naming a column whose table has a mistake: one message, not 50.
            column = Column(id=label, label=label, group=str(table.get("group", "")), particle="other")
        if column is not None:
            columns.append(column)
            for key in ("label", "group"):
                if not str(getattr(column, key)).strip():
                    reading.note(f"column[{number}].{key}", "an empty text", "a name", "Write one.")
    if not tables_of(reading, document, "column"):
        reading.note("column", "no [[column]]", "one [[column]] for each column", "Add the columns.")
    own = with_own_ids(reading, "column", tuple(columns), lambda column: column.id)
    for number, column in enumerate(own, start=1):
        others = [other.id for other in own if other.id != column.id]
        replaced = (column.replaces,) if column.replaces else ()
        known_words(reading, f"column[{number}].replaces", replaced, others, "column")
        if column.ended is not None and not column.because:
            reading.caution(f"column[{number}].ended", "an end", "why", "Add 'because = …' below it.")
    return tuple(_ended_in_own_zone(column) for column in own)


def _ended_in_own_zone(column: Column) -> Column:
    """Return the column with the time of its end in the zone of its start, where it bears none."""
    start, end = column.exposure_start, column.ended
    if start is None or not isinstance(end, datetime) or end.tzinfo is not None:
        return column
    return replace(column, ended=end.replace(tzinfo=start.tzinfo))


def _markers(reading: TomlReading, document: Table, columns: tuple[Column, ...]) -> tuple[Marker, ...]:
    """Return every `[[marker]]`, ids unique, each with a retention for every column."""
    if not tables_of(reading, document, "marker"):
        reading.note("marker", "no [[marker]]", "one [[marker]] for each compound", "Add the markers.")
    read = []
    for number, table in enumerate(tables_of(reading, document, "marker"), start=1):
        marker = reading.record(f"marker[{number}]", table, Marker)
        if marker is None and isinstance(table, dict) and isinstance(table.get("id"), str):
            marker = Marker(id=table["id"], role="neutral", retention_min=1.0)
        if marker is not None:
            read.append(marker)
    markers = with_own_ids(reading, "marker", tuple(read), lambda marker: marker.id)
    for number, marker in enumerate(markers, start=1):
        lacking = [column.id for column in columns if marker.expected_retention(column) is None]
        if lacking and isinstance(marker.retention_min, dict):
            groups = {column.group for column in columns if column.id in lacking}
            cure = "Add the missing groups or columns to the table."
            for group in sorted(groups):
                cure = suggestion(group, marker.retention_min, cure)
            reading.note(
                f"marker[{number}].retention_min",
                f"no retention for {listed(lacking)} of {listed(sorted(groups))}",
                "one number, or one for each group or column",
                cure,
            )
    if sum(marker.role == "void" for marker in markers) > 1:
        reading.note("marker", "two markers with role 'void'", "one", "Give the others another role.")
    return markers


def _choices(reading: TomlReading, document: Table, columns: tuple[Column, ...]) -> Choices:
    """Return `[choices]`; a control must be one of the groups."""
    choices = reading.record("choices", document.get("choices", {}), Choices) or Choices()
    groups = list(dict.fromkeys(column.group for column in columns))
    known_words(reading, "choices.control", (choices.control,) if choices.control else (), groups, "group")
    return choices


def _exports(reading: TomlReading, document: Table) -> Exports:
    """Return `[exports]`; a clock is a distance from UTC."""
    exports = reading.record("exports", document.get("exports", {}), Exports) or Exports()
    if exports.clock and exports.zone is None:
        cure = 'Write clock = "-05:00" for a clock five hours behind UTC.'
        reading.note("exports.clock", f"'{exports.clock}'", "a distance from UTC", cure)
    return exports


def _left_out(reading: TomlReading, document: Table) -> tuple[tuple[str, str], ...]:
    """Return `[injections] leave_out`: the reason by injection, as `leave_out."A1-07" = "a bubble"`."""
    section = document.get("injections", {})
    stated = section.get("leave_out", {}) if isinstance(section, dict) else {}
    if not isinstance(stated, dict):
        cure = 'Write leave_out."A1-07" = "a bubble".'
        reading.note("injections.leave_out", shortened(f"{stated!r}"), "a reason for each injection", cure)
        return ()
    found = []
    for name, why in stated.items():
        if isinstance(why, str) and why.strip():
            found.append((name, why.strip()))
        else:
            cure = "Write it in double quotes."
            reading.note(f"injections.leave_out.{name}", shortened(f"{why!r}"), "the reason why", cure)
    return tuple(found)


def _pattern(reading: TomlReading, document: Table) -> str:
    """Return `[injections] pattern`, or an empty text."""
    section = document.get("injections", {})
    pattern = section.get("pattern", "") if isinstance(section, dict) else section
    if not isinstance(pattern, str):
        reading.note(
            "injections.pattern", f"{pattern!r}", "text in double quotes", "Put the pattern in quotes."
        )
        return ""
    return pattern
