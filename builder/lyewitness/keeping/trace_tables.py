"""Traces as tidy tables, for those who cannot read the exports: a row a point, a file a column.

In: a report. Out: `traces/` of a bag by path: packed CSV tables and a data package that explains them, the
same bytes for the same traces.
"""

import gzip
from collections.abc import Iterator, Mapping

from lyewitness.findings.records import Report
from lyewitness.outputs.tables import json_text
from lyewitness.traces.records import Trace
from lyewitness.words.names import slugs

FOLDER = "traces"
PACKAGE = f"{FOLDER}/datapackage.json"
HEAD = "injection,exposure_h,time_min,signal,signal_unit\n"
_FIELDS = (
    ("injection", "string", "", "Id of the injection, as in injections.csv of the study"),
    ("exposure_h", "number", "h", "Exposure of the column before the injection"),
    ("time_min", "number", "min", "Time since the injection"),
    ("signal", "number", "", "Signal of the detector as it was exported, in the unit of its row"),
    ("signal_unit", "string", "", "Unit of the signal; empty where neither file nor study states one"),
)


def trace_tables(report: Report) -> dict[str, bytes]:
    """Return the tables of all traces that were read, and the descriptor of their data package.

    Numbers have every digit: reading one gives the very value that was measured on.
    """
    used = [one for one in report.study.injections if one.id in report.traces]
    names = slugs(one.column for one in used)
    tables: dict[str, bytes] = {}
    for column in dict.fromkeys(one.column for one in used):
        rows = [HEAD]
        for one in used:
            if one.column == column:
                rows += _rows(one.id, one.exposure_h, report.traces[one.id])
        tables[f"{FOLDER}/{names[column]}.csv.gz"] = gzip.compress("".join(rows).encode(), mtime=0)
    return {**tables, PACKAGE: json_text(_package(report, tables))} if tables else {}


def _rows(injection: str, exposure_h: float | None, trace: Trace) -> Iterator[str]:
    hours = "" if exposure_h is None else repr(exposure_h)
    first, last = f"{_quoted(injection)},{hours},", f",{_quoted(trace.signal_unit)}\n"
    for time, signal in zip(trace.time_min.tolist(), trace.signal.tolist(), strict=True):
        yield f"{first}{time!r},{signal!r}{last}"


def _quoted(text: str) -> str:
    """Return a text as a cell of CSV (RFC 4180)."""
    return '"' + text.replace('"', '""') + '"' if any(sign in text for sign in ',"\r\n') else text


def _package(report: Report, tables: Mapping[str, bytes]) -> dict[str, object]:
    """Return the descriptor (Frictionless Data Package): a resource a table."""
    fields = [
        {"name": name, "type": kind, "description": words, **({"unit": unit} if unit else {})}
        for name, kind, unit, words in _FIELDS
    ]
    return {
        "profile": "tabular-data-package",
        "name": "traces",
        "title": f"Traces of {report.study.id}",
        "description": "Every detector trace, point by point; the exports themselves lie in study/.",
        "resources": [
            {
                "profile": "tabular-data-resource",
                "name": name.lower(),
                "path": f"{name}.csv.gz",
                "format": "csv",
                "compression": "gz",
                "mediatype": "text/csv",
                "encoding": "utf-8",
                "schema": {"fields": fields, "missingValues": [""]},
            }
            for name in (path.removeprefix(f"{FOLDER}/").removesuffix(".csv.gz") for path in tables)
        ],
    }
