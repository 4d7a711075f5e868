"""The tables of a report explained to a stranger: a data package (Frictionless, version 1 profile).

In: a `Report` and the files of `data/`. Out: the tables that only pages held before, `study.json` (what a
shelf
reads), and `data/datapackage.json`, in which every column of every table has a name, a type, a unit where
there is one, and its meaning.
"""

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, fields, is_dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from lyewitness.findings.medium.settings import stress_settings
from lyewitness.findings.records import Answer, Report
from lyewitness.outputs import tables
from lyewitness.outputs.tables import Cell, csv_table, json_text
from lyewitness.sheaves import Files, Piece, held_in
from lyewitness.store import NO_STORE, Store
from lyewitness.study.records import Study
from lyewitness.words.metrics import METRICS
from lyewitness.words.names import slugs

PACKAGE = "data/datapackage.json"
STUDY = "data/study.json"
NOBODY = "Not explained"
Head = tuple[str, ...]
"""The names of the columns of a table."""
GROUP_LIVES = (
    "group", "marker", "metric", "columns", "life_h", "life_low_h", "life_high_h", "life_state", "shortest_h",
    "longest_h", "tested_to_h", "conservative_life_h", "rate_per_h", "rate_low", "rate_high",
    "remaining_percent",
    "remaining_low", "remaining_high", "reason",
)  # fmt: skip
SIGNS = (
    "column",
    "mechanism",
    "verdict",
    "support",
    "speaks_for",
    "speaks_against",
    "open",
    "indistinct_from",
)
CHEMISTRY = ("id", "name", "text", "source", "bearing")
CAUTIONS = ("id", "title", "text", "called_for_by")

TABLES: Mapping[str, Sequence[str]] = {
    "measurements.csv": (
        *tables.MEASUREMENTS,
        *tables.MEASUREMENTS_BESIDE,
        *tables.emg_names(),
        *tables.ERRORS,
        *tables.DOUBTS,
    ),
    "decline.csv": (*tables.DECLINE, *tables.DECLINE_BESIDE),
    "comparisons.csv": (*tables.COMPARISONS, *tables.COMPARISONS_BESIDE),
    "factors.csv": tables.FACTORS,
    "events.csv": tables.EVENTS,
    "checks.csv": (*tables.CHECKS, *tables.CHECKS_BESIDE),
    "group_lives.csv": GROUP_LIVES,
    "signs.csv": SIGNS,
    "chemistry.csv": CHEMISTRY,
    "cautions.csv": CAUTIONS,
}
"""Columns of each table that a report may hold, by its name."""
_TEXT: Mapping[str, str] = {
    "injection": "Name of the injection, unique in the study",
    "column": "Id of the column; 'columns' of study.json tells what it is",
    "group": "Type of column; columns of one group are replicates of each other",
    "marker": "Id of the compound injected to see the column’s state; empty for what is the column’s own",
    "metric": "What was measured, by its name in measurements.csv",
    "flags": "Words, separated by blanks, for what may be wrong with a peak; the method page explains each",
    "absent_because": "Why the marker was not found in this injection",
    "resolution_because": "Why there is no resolution, or what it was taken against",
    "model": "Simple curve whose shape the decline resembles; a name alone, no life rests on it",
    "limit": "Limit as study.toml has it, such as 'at_least_percent = 80'; empty where none is agreed",
    "life_state": "reached, not reached, unclear or not measured",
    "measured_life_state": "The same of the life as measured, with what common steps or a logged pH did",
    "state": "State of the life (reached, not reached, unclear, not measured), or of a particle in a picture",
    "outlying": "Injections, separated by blanks, outside the band of the decline, or whose peak is "
    "doubtful ('reason' names these); shown, left out of curve and life",
    "reason": "Why a value is missing or an end of an interval is open",
    "group_a": "First type of the pair", "group_b": "Second type of the pair",
    "method": "Test or estimator by which the row was had",
    "finding": "What the numbers of this row say by themselves; claims.json weighs the audit, too",
    "rate_finding": "The same of rates of decline, where lives may tell nothing",
    "factor": "What was varied on purpose",
    "law": "Law of decline in the simulated studies of the program’s calibration",
    "level": "Level of the factor that is compared", "against": "Level that it is compared with",
    "other": "Another factor, that is held", "at": "Level of the other factor at which the effect is told",
    "than": "Level of the other factor whose effect this one is divided by: an interaction",
    "kind": "Kind of event, such as pause, power cut, leak",
    "note": "Remark in free text", "check": "What the audit asked", "subject": "What the point is about",
    "result": "good, caution, problem or not possible", "detail": "What was found, with numbers",
    "id": "Id of the row, unique in its table", "bearing": "How it bears on the answer",
    "cure": "What would mend it", "mechanism": "How a column may fail",
    "verdict": "speaks for, speaks against or cannot tell",
    "speaks_for": "What was seen that speaks for the mechanism", "speaks_against": "What speaks against it",
    "open": "What counts neither way: not known, or too near to the threshold",
    "indistinct_from": "Mechanisms that these data cannot tell from this one", "name": "What is computed",
    "text": "Value with unit and uncertainty, in words", "source": "Where the formula or constant stands",
    "particle": "Number of the particle in the picture", "image": "Id of the image it lies in",
    "quantity": "What the value is of, with its unit",
    "of": "Whether the ratio is one of lives or of rates",
    "title": "What the caution is about", "called_for_by": "Condition of the study that calls for it",
    "begin": "When it began, ISO 8601", "end": "When it ended, ISO 8601",
    "of_question": "Question that asks for these comparisons, empty for the first",
}  # fmt: skip
_NUMBER: Mapping[str, tuple[str, str]] = {
    "exposure_h": ("h", "Exposure to the stress before this"),
    "exposure_cv": ("column volumes", "Exposure: volume passed divided by the column’s void volume"),
    "confidence": ("", "How surely the peak is the marker, 0 to 1"),
    "reference_value": ("that of the metric", "Mean of the column’s reference injections"),
    "reference_sd": ("that of the metric", "Standard deviation of the reference injections"),
    "n": ("", "Number of injections"),
    "end_h": ("h", "Exposure at the end"), "begin_h": ("h", "Exposure at the begin"),
    "rate_per_h": ("1/h", "Rate constant of the decline"),
    "limit_percent": ("%", "Limit in percent of the reference"),
    "last_within_h": ("h", "Last injection seen within the limit before any was past it"),
    "first_past_h": ("h", "First injection from which all were past the limit"),
    "conservative_life_h": ("h", "Where the one-sided bound of the mean line meets the limit (ICH Q1E)"),
    "measured_life_h": ("h", "Life as measured, with what a step of all columns or a logged pH did"),
    "measured_life_low_h": ("h", "Lower end of the life as measured"),
    "measured_life_high_h": ("h", "Upper end of the life as measured"),
    "serial_correlation": ("", "Correlation of neighbouring residuals"),
    "serial_p": ("", "p value of the serial correlation"),
    "injections": ("", "Injections of each column"),
    "held_percent": ("%", "Share of the intervals of 95 % that held the true life"),
    "noise_growth": ("", "By what factor the noise grows from start to end"),
    "columns_a": ("", "Number of columns of the first type"),
    "columns_b": ("", "Number of columns of the second type"),
    "life_ratio": ("", "Life of the first type divided by that of the second"),
    "ratio": ("", "Ratio of lives between the two levels"),
    "rate_ratio": ("", "Ratio of rates of decline"),
    "p_value": ("", "p value, before adjustment"), "p_adjusted": ("", "p value after Holm"),
    "corrected_over": ("", "How many tested comparisons p_adjusted is corrected for"),
    "exact_p": ("", "p value of the exact test on ranks"), "rate_p": ("", "p value of the ratio of rates"),
    "rate_p_adjusted": ("", "p value of the ratio of rates after Holm"),
    "equivalence_p": ("", "p value of the test of equivalence within the study’s margin"),
    "columns_needed": ("", "Columns of each type that would settle the difference seen"),
    "shortest_h": (
        "h",
        "Life of the first column that reached its limit; where nobody saw which was first, the lowest lower "
        "end of the lives of those that did",
    ),
    "longest_h": (
        "h",
        "Life of the last column; where nobody saw which was last, the highest upper end of all their lives; "
        "empty where not every column reached its limit",
    ),
    "tested_to_h": ("h", "Exposure to which the group was tested"),
    "support": ("", "Weight of what speaks for, less weight of what speaks against"),
    "percent": ("%", "Value in percent of the column’s reference"),
    "remaining_percent": ("%", "What remained at the end, percent of the reference"),
    "value": ("that of the metric or quantity", "Value of the metric or quantity"),
    "residual_sd_percent": ("%", "Standard deviation about the curve, percent of the reference"),
    "baseline_doubt_percent": ("%", "By how much the baseline may falsify the area"),
    "spikes_removed": ("", "Points taken for electrical spikes and replaced in the trace"),
    "share": ("", "Share of columns still within the limit"), "hours": ("h", "Exposure"),
    "x_px": ("px", "Place of the particle across"), "y_px": ("px", "Place of the particle down"),
    "diameter_nm": ("nm", "Diameter of the circle of equal area"),
    "roundness": ("", "4 pi area / perimeter squared: 1 for a circle"),
    "convexity": ("", "Area divided by that of the convex hull"),
    "emg_center_min": ("min", "Centre of the Gaussian of the fitted peak"),
    "emg_sigma_min": ("min", "Standard deviation of the Gaussian of the fitted peak"),
    "emg_tau_min": ("min", "Time constant of the tail of the fitted peak"),
    "emg_area": ("signal x min", "Area of the fitted peak"),
    "start_min": ("min", "Begin of the peak"), "apex_min": ("min", "Apex of the peak"),
    "half_left_min": ("min", "Front of the peak at half height"),
    "half_right_min": ("min", "Rear of the peak at half height"), "end_min": ("min", "End of the peak"),
    "life_h": ("h", "Exposure at which the metric passes its limit; empty unless reached"),
    "life_cv": ("column volumes", "The life in column volumes"),
    "temperature_C": ("°C", "Temperature"), "ph": ("", "pH"),
    "low": ("that of the value", "Lower end of the interval"),
    "high": ("that of the value", "Upper end of the interval"),
    "temperature": ("°C", "Temperature of the stress"),
    "low_h": ("h", "Lower end of the interval of the life"),
    "high_h": ("h", "Upper end of the interval of the life"),
}  # fmt: skip
_TRUTH: Mapping[str, str] = {
    "used": "Whether the injection counts", "found": "Whether the marker was found",
    "extrapolated": "Whether the life lies beyond what was run",
    "exposed": "Whether the stress went on meanwhile",
}  # fmt: skip
_ENDS = {"low": "Lower end of the interval of", "high": "Upper end of the interval of"}
_ALSO_TEXT = frozenset({"columns", "columns_against"})
_INSTEAD = {
    "life": "life_h", "life_h": "life_h", "life_cv": "life_cv", "rate": "rate_per_h", "ratio": "ratio",
    "rate_ratio": "rate_ratio", "remaining": "remaining_percent",
}  # fmt: skip


def explained(report: Report, tables: Mapping[str, bytes], store: Store = NO_STORE) -> Files:
    """Return the files of `data/` with further tables, the study as data, and what explains all.

    The explanation of the same columns, and what is said of the same study, come from `store`.
    """
    # Both tell the cover alone.
    study = replace(
        report.study, folder=Path(), notes=(), injections=(), conditions=(), file_hashes=(), rows_read=()
    )
    told = (study, report.findings.answers)
    files: dict[str, bytes | Piece] = {
        **held_in(tables),
        **_further(report),
        STUDY: store.made("study as data", told, lambda: json_text(study_words(*told))),
    }
    heads = {name.removeprefix("data/"): _head(data) for name, data in files.items() if name.endswith(".csv")}
    package = store.made("package", (study, heads), lambda: _package_text(study, heads))
    return Files({**files, PACKAGE: package})


def study_words(study: Study, answers: Sequence[Answer]) -> dict[str, object]:
    """Return all that a study states of itself, its answers, the pH when hot, the exports of each column."""
    stresses = []
    for one in stress_settings(study):
        hot = one.medium.ph if one.medium else None
        stresses.append(
            asdict(one.conditions)
            | {"columns": list(one.columns), "ph_hot": hot.value if hot else one.conditions.ph}
            | {"ph_hot_low": hot.low if hot else None, "ph_hot_high": hot.high if hot else None}
        )
    exports: dict[str, list[str]] = {}
    for injection in study.injections:
        exports.setdefault(injection.column, []).append(injection.file)
    return {
        "id": study.id,
        "title": study.title,
        "invented": study.invented,
        "licence": study.licence,
        "keywords": list(study.keywords),
        "currency": study.currency,
        "people": _plain(study.people),
        "supersedes": study.supersedes,
        "revisions": _plain(study.revisions),
        "stresses": stresses,
        "test": asdict(study.test),
        "markers": _plain(study.markers),
        "columns": _plain(study.columns),
        "exports": {column: sorted(set(files)) for column, files in exports.items()},
        "questions": _plain(study.questions),
        "events": _plain(study.events),
        "factors": [{"id": one.name, "levels": _plain(one.levels)} for one in study.factors],
        "plan": _plain(study.plan),
        "running": study.running,
        "answers": [
            {
                "question": answer.question.text,
                "id": answer.question.id,
                "asked_on": answer.question.asked_on.isoformat() if answer.question.asked_on else "",
                "short": answer.short,
                "how_sure": answer.how_sure,
                "deciding_marker": answer.deciding[0],
                "deciding_metric": answer.deciding[1],
            }
            for answer in answers
        ],
    }


def _plain(told: Any) -> Any:
    """Return records as JSON has them: every field by its name, times after ISO 8601."""
    if is_dataclass(told) and not isinstance(told, type):
        return {one.name: _plain(getattr(told, one.name)) for one in fields(told)}
    if isinstance(told, Mapping):
        return {key: _plain(one) for key, one in told.items()}
    if isinstance(told, list | tuple):
        return [_plain(one) for one in told]
    return told.isoformat() if isinstance(told, date) else told


def _further(report: Report) -> dict[str, bytes]:
    """Return the tables of what else the pages show."""
    findings = report.findings
    return {
        "data/group_lives.csv": csv_table(GROUP_LIVES, _group_lives(report)),
        "data/signs.csv": csv_table(
            SIGNS,
            (
                [
                    sign.column,
                    sign.mechanism,
                    sign.verdict,
                    sign.support,
                    "; ".join(
                        one
                        for one in sign.reasons
                        if one not in sign.reasons_against and one not in sign.reasons_open
                    ),
                    "; ".join(sign.reasons_against),
                    "; ".join(sign.reasons_open),
                    "; ".join(sign.indistinct_from),
                ]
                for sign in findings.signs
            ),
        ),
        "data/chemistry.csv": csv_table(
            CHEMISTRY, ([getattr(one, name) for name in CHEMISTRY] for one in findings.chemistry)
        ),
        "data/cautions.csv": csv_table(
            CAUTIONS, ([getattr(one, name) for name in CAUTIONS] for one in findings.cautions)
        ),
    }


def _group_lives(report: Report) -> Iterator[list[Cell]]:
    for one in report.judgement.group_lives:
        hours, rate, left = one.life.hours, one.rate_per_h, one.remaining
        yield [
            one.group, one.marker, one.metric, " ".join(one.columns), hours.value, hours.low, hours.high,
            one.life.state, one.shortest_h, one.longest_h, one.tested_to_h, one.life.conservative_h,
            rate.value, rate.low, rate.high, left.value, left.low, left.high, one.reason,
        ]  # fmt: skip


def _head(table: bytes | Piece) -> Head:
    """Return the names of the columns of a table."""
    data = table.head if isinstance(table, Piece) else table
    return tuple(next(csv.reader(io.TextIOWrapper(io.BytesIO(data), "utf-8", newline=""))))


def _names_of(paths: Iterable[str]) -> dict[str, str]:
    """Return the name of each resource by its path."""
    stems = {path: path.removesuffix(".csv").lower() for path in sorted(paths)}
    names = slugs(stems.values())
    return {path: names[stem].lower() for path, stem in stems.items()}


_NAME, _PATH, _RESOURCES = "\0name", "\0path", "\0resources"
"""In their place stands what differs from table to table."""


def _package_text(study: Study, heads: Mapping[str, Head]) -> bytes:
    """Return the descriptor as JSON: a resource for each table, in the order of their paths; `heads` by path.

    The tables of traces have one head: each head is told once, and name and path are set into it. Told one by
    one, those of 10,000 injections took 100 MB.
    """
    told = {head: _indented(json_text(_resource(_NAME, _PATH, head))) for head in set(heads.values())}
    names = _names_of(heads)
    resources = ",\n".join(
        told[heads[path]].replace(_quoted(_NAME), _quoted(names[path])).replace(_quoted(_PATH), _quoted(path))
        for path in sorted(heads)
    )
    whole = json_text(_package(study)).decode("utf-8")
    place = f'\n "resources": {_quoted(_RESOURCES)}'
    return whole.replace(place, f'\n "resources": [\n{resources}\n ]').encode("utf-8")


def _indented(told: bytes) -> str:
    return "\n".join(f"  {line}" for line in told.decode("utf-8").splitlines())


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


def _package(study: Study) -> dict[str, object]:
    """Return the descriptor, its resources still to be set in."""
    licence = {"licenses": [{"name": study.licence}]} if study.licence else {}
    people = [
        {"title": one.name, "role": "contributor"}
        | ({"path": f"https://orcid.org/{one.orcid}"} if one.orcid else {})
        for one in study.people
    ]
    return {
        "profile": "tabular-data-package",
        "name": slugs([study.id.lower()])[study.id.lower()].lower(),
        "id": study.id,
        "title": study.title,
        "description": "Tables of a column-stability report. An empty cell is 'not measured', never zero.",
        **licence,
        **({"contributors": people} if people else {}),
        "resources": _RESOURCES,
    }


def _resource(name: str, path: str, head: Head) -> dict[str, object]:
    return {
        "profile": "tabular-data-resource",
        "name": name,
        "path": path,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "schema": {"fields": [field_of(column) for column in head], "missingValues": [""]},
    }


def field_of(column: str) -> dict[str, object]:
    """Return the descriptor of one column; a test holds that nobody's are explained as `NOBODY`."""
    if column in _TRUTH:
        return {
            "name": column,
            "type": "boolean",
            "trueValues": ["yes"],
            "falseValues": ["no"],
            "description": _TRUTH[column],
        }
    if column in _TEXT or column in _ALSO_TEXT:
        return {
            "name": column,
            "type": "string",
            "description": _TEXT.get(column, "Ids of the columns, by blanks"),
        }
    try:
        unit, meaning = _quantity(column)
    except KeyError:
        return {"name": column, "type": "any", "description": NOBODY}
    told = f"{meaning} [{unit}]" if unit else meaning
    return {
        "name": column,
        "type": "number",
        "description": told,
        **({"unit": unit} if unit else {}),
    }


def meaning_of_column(name: str) -> str:
    """Return what a column of a table means, in the words of the data package; nothing where nobody says."""
    told = str(field_of(name)["description"])
    return "" if told == NOBODY else f"{told}."


def _quantity(column: str) -> tuple[str, str]:
    """Return unit and meaning of a column of numbers; KeyError for one that nobody explained."""
    if column in _NUMBER:
        return _NUMBER[column]
    if column.endswith("_se"):
        unit, meaning = _quantity(column.removesuffix("_se"))
        return unit, f"Standard error of: {meaning}"
    for end, words in _ENDS.items():
        for stem in (column.removesuffix(f"_{end}"), column.replace(f"_{end}_", "_")):
            if stem != column:
                unit, meaning = _quantity(_INSTEAD.get(stem, stem))
                return unit, f"{words}: {meaning}"
    metric = METRICS[column]
    unit = " x ".join(part for part in ("signal" if metric.of_signal else "", metric.unit) if part)
    return unit, metric.explanation or metric.words
