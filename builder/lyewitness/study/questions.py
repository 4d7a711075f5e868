"""The questions that are put to a study: that of [study], and those added later.

In: the document, columns and markers. Out: `Question`s and problems.
"""

from dataclasses import fields, replace

from lyewitness.study.delimited import shortened
from lyewitness.study.gathering import suggestion
from lyewitness.study.records import Column, Marker, Question
from lyewitness.study.toml_records import Table, TomlReading, known_words, tables_of, with_own_ids
from lyewitness.words.metrics import LIMITED

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
